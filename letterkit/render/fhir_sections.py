"""The sections of a letter as those of a FHIR Composition, coded by the outpatient letter's record standard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from letterkit.catalogue.codes import codes
from letterkit.errors import InvalidValue
from letterkit.findings.fhir_codes import SYSTEMS
from letterkit.findings.fhir_out import Expressed
from letterkit.letter.model import Block, BulletList, Heading, Letter, Lines, Paragraph, Sentence, Table, Title
from letterkit.render.fhir_narrative import narrative

_OPENING = {  # role of a block before the first section -> the section it stands in
    "sender": "Attendance details",
    "dates": "Attendance details",
    "identity": "Patient demographics",
    "subject": "Patient demographics",
    "recipient": "Recipient",
    "salutation": "Recipient",
    "caution": "Caution",
}


@dataclass(slots=True)
class _Section:
    """One section: its heading and what stands under it."""

    title: str
    blocks: list[Block] = field(default_factory=list)


def _sections(letter: Letter) -> list[_Section]:
    """The letter cut at its headings of level 1; what stands before the first is cut by what it is for."""
    sections: list[_Section] = []
    in_opening = True
    for block in letter.blocks:
        if isinstance(block, Title):
            continue
        if isinstance(block, Heading) and block.level == 1:
            sections.append(_Section(block.text))
            in_opening = False
            continue
        if in_opening:
            role = block.role if isinstance(block, (Lines, Paragraph)) else ""
            name = _OPENING.get(role, "Note")
            if not sections or sections[-1].title != name:
                sections.append(_Section(name))
        sections[-1].blocks.append(block)
    return [each for each in sections if each.blocks]


def _sentences(blocks: Sequence[Block]) -> Iterator[Sentence]:
    for block in blocks:
        if isinstance(block, Paragraph):
            yield from block.sentences
        elif isinstance(block, BulletList):
            yield from (sentence for entry in block.entries for sentence in entry)


def _stated(blocks: Sequence[Block]) -> dict[str, None]:
    """The ids of the facts that blocks state, each once, in order."""
    found = dict.fromkeys(fact for sentence in _sentences(blocks) for fact in sentence.facts)
    for block in blocks:
        if isinstance(block, Table):
            found |= dict.fromkeys(fact for row in block.rows for cell in row for fact in cell.facts)
    return found


def _also(title: str, made: Expressed) -> tuple[dict[str, str] | None, ...]:
    """The resources, beside Observations, that a section is about."""
    match codes().sections.headings.get(title, title):
        case "Patient demographics":
            return (made.patient,)
        case "Attendance details":
            return (made.encounter,)
        case "Diagnoses":
            return made.diagnoses
        case "Examination findings":
            return made.earlier
        case "Person completing record":
            return (made.author,)
        case "Distribution list":
            return (made.copies,)
        case _:
            return ()


def _section(section: _Section, made: Expressed, language: str) -> dict[str, Any]:
    entries: list[dict[str, str]] = []
    for fact in _stated(section.blocks):
        if fact not in made.facts:
            raise InvalidValue(f"letter: section {section.title!r} states {fact}, which the record does not hold")
        entries += made.facts[fact]
    entries += [each for each in _also(section.title, made) if each is not None]
    code = codes().section(section.title)
    found: dict[str, Any] = {"title": section.title}
    if code is not None:
        found["code"] = {"coding": [{"system": SYSTEMS["snomed"], "code": code, "display": _standard(section.title)}]}
    found["text"] = narrative(section.blocks, language)
    return found | ({"entry": entries} if entries else {})


def _standard(title: str) -> str:
    return codes().sections.headings.get(title, title)


def sections_of(letter: Letter, made: Expressed) -> list[dict[str, Any]]:
    """The sections of a letter as those of a Composition, each with references to the Observations it states.

    Raises InvalidValue where the letter states a fact that the record does not hold.
    """
    return [_section(each, made, letter.properties.language) for each in _sections(letter)]
