"""The patient's copy: a letter of its own, addressed to the patient, in plain English.

It tells what was found and what was normal, then the clinician's own words with each trade word explained in a sentence
of its own, then who does what. It adds no finding, no reassurance and no advice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from letterkit.catalogue import Catalogue
from letterkit.catalogue.american import spelling
from letterkit.catalogue.glossary import glossary
from letterkit.catalogue.traps import traps
from letterkit.findings.facts import Facts
from letterkit.findings.models import Encounter, Recipient
from letterkit.letter.compose import DRAFT_MARK, ApprovalWords
from letterkit.letter.display import NO_BREAK, address_line, address_lines, display_identifier, spoken_name
from letterkit.letter.markup import parse
from letterkit.letter.model import Letter, Lines, Paragraph, Properties, Sentence
from letterkit.letter.templates import run
from letterkit.prose.plain import OWN_WORDS, PlainWriter, otherwise_normal, unexamined
from letterkit.prose.plain_places import spots, takes_side, with_both, with_side
from letterkit.prose.words import listed, long_date
from letterkit.prose.writer import Said
from letterkit.summary.statement import PlaceRef, Statement, Summary, Tier

DEFAULT_TEMPLATE = "letters/patient.j2"
_SENTENCES_A_PARAGRAPH = 3  # NHS content style guide: paragraphs of at most three sentences (confirmed)
_LARGE_PRINT = re.compile(r"\b(?:large|larger|big|bigger)[ -](?:print|text|type|font)\b", re.IGNORECASE)
_MET = {
    "telephone": "We spoke to you by telephone on",
    "video": "We spoke to you by video on",
    "face to face": "We saw you in the clinic on",
}

_AMERICAN_UNITS = {"millimetre": "millimeter", "centimetre": "centimeter"}

Entry = tuple[Sentence, ...]


def wants_large_print(encounter: Encounter) -> bool:
    """Whether the patient's copy is to be in large print: by option, or because the patient needs it."""
    needs = encounter.patient.communication_needs
    return encounter.options.large_print or any(_LARGE_PRINT.search(need) for need in needs)


class _Explainer:
    """Sets the explanation of each trade word after the words in which it first stands."""

    def __init__(self, language: str) -> None:
        self._known: set[str] = set()
        pairs = {**{pair.british: pair.american for pair in traps().spellings}, **_AMERICAN_UNITS}
        self._spell = spelling(pairs if language == "en-US" else {})

    def entry(self, text: str, side: str | None = None) -> Entry:
        """The clinician's words as they stand, with the side they gave, and what they mean."""
        words = " ".join(text.split())
        if side and not re.search(rf"\b{side}\b", words, re.IGNORECASE):
            words = f"{words.rstrip('.')} ({'both sides' if side == 'both' else side})"
        own = Sentence(words if words.endswith((".", "!", "?", ":")) else f"{words}.", origin="clinician")
        return (own, *self._meanings(words))

    def _meanings(self, text: str) -> Entry:
        return tuple(Sentence(self._spell(told)) for told in glossary().explained(text, self._known))

    def findings(self, said: Iterable[Said]) -> Entry:
        """Sentences about findings, then what their trade words mean where they first stand.

        A meaning waits until all is told: between a finding and "It was severe" the "it" would be the explained thing.
        """
        told: list[Sentence] = []
        meanings: list[Sentence] = []
        for each in said:
            text = each.text if each.text.startswith(OWN_WORDS) else self._spell(each.text)
            told.append(Sentence(text, each.facts, "finding"))
            meanings += self._meanings(text)
        return (*told, *meanings)


def _paragraphs(said: Sequence[Entry]) -> tuple[Paragraph, ...]:
    """Statements in short paragraphs; the sentences of one statement stay together."""
    paragraphs: list[list[Sentence]] = []
    for entry in said:
        if not paragraphs or len(paragraphs[-1]) + len(entry) > _SENTENCES_A_PARAGRAPH:
            paragraphs.append([])
        paragraphs[-1] += entry
    return tuple(Paragraph(tuple(each)) for each in paragraphs if each)


def _is_normal(statement: Statement, catalogue: Catalogue) -> bool:
    """Whether a negative may stand under 'what was normal'.

    A figure is told as found: nobody recorded that it was normal, and the other hand may say otherwise. So is a
    negative that is no comfort, such as a lump that light does not pass.
    """
    items = [catalogue.items[item] for item in statement.parts[0].items]
    return not items[0].is_measured and all(item.reassuring for item in items)


def _examination(facts: Facts, summary: Summary, catalogue: Catalogue, explain: _Explainer) -> dict[str, Any]:
    writer = PlainWriter(facts, catalogue)
    told = explain.findings
    found = [told(writer.statement(each)) for each in summary.of(Tier.URGENT, Tier.BEARING, Tier.REST)]
    negatives = summary.of(Tier.PERTINENT_NEGATIVE, Tier.OTHER_NEGATIVE)
    found += [told(writer.statement(each)) for each in negatives if not _is_normal(each, catalogue)]
    # A doctor reads the rest in the table of measurements; the patient's copy has none and tells them all.
    stated = {fact for statement in summary.statements for fact in statement.facts}
    rest = [fact for fact in facts.facts if fact.id not in stated]
    for subject in dict.fromkeys((fact.item, fact.place[3]) for fact in rest):
        found.append(told(writer.facts([fact for fact in rest if (fact.item, fact.place[3]) == subject])))
    normal = [told(writer.statement(each)) for each in negatives if _is_normal(each, catalogue)]
    return {
        "found": tuple(found),
        "normal": _paragraphs(normal),
        "rest": told(otherwise_normal(summary.otherwise_normal, summary.stages_with_findings)),
        "unexamined": _paragraphs([told(unexamined([each], catalogue)) for each in summary.unexamined]),
    }


def _cautions(summary: Summary, catalogue: Catalogue) -> tuple[Paragraph, ...]:
    """What was found that calls for care, each text once with its places, then the words that defer to the clinic."""
    places: dict[str, list[PlaceRef]] = {}
    called: dict[str, list[str]] = {}
    for chosen in summary.cautions:
        places.setdefault(chosen.caution.patient, []).extend(chosen.places)
        called.setdefault(chosen.caution.patient, []).extend(chosen.facts)
    told = []
    for text, found in places.items():
        where = spots(dict.fromkeys(found), catalogue)
        about = f" This was about {listed(where)}." if where else ""
        told.append(Paragraph((Sentence(text + about, tuple(dict.fromkeys(called[text])), "caution"),), "caution"))
    if told:
        urgent = any(chosen.caution.urgent for chosen in summary.cautions)
        deferral = catalogue.deferrals["urgent" if urgent else "other"].patient
        told.append(Paragraph((Sentence(deferral, origin="caution"),), "caution"))
    return tuple(told)


def _opening(encounter: Encounter, catalogue: Catalogue) -> Entry:
    """When the patient was seen, and about what, in the words of the catalogue."""
    visit, reason = encounter.visit, encounter.reason
    told = []
    if visit:
        met = _MET.get(visit.method or "", "Your appointment was on")
        told.append(f"{met} {long_date(visit.date)}.")
    if reason and reason.problem:
        about = catalogue.problems[catalogue.problem_terms[reason.problem.casefold()]].patient
        if reason.side == "both":
            about = with_both(about) if takes_side(about) else f"{about}, on both sides"
        elif reason.side:
            about = with_side(about, reason.side) if takes_side(about) else f"{about}, on your {reason.side} side"
        told.append(f"This was about {about}.")
    return tuple(Sentence(text) for text in told)


def _salutation(encounter: Encounter) -> str:
    """Title and family name where both are known, else the name as given."""
    patient = encounter.patient
    name = patient.name
    if name.prefix and name.family:
        return f"{' '.join(name.prefix)} {name.family}"
    return patient.preferred_name or spoken_name(name)


def _identity(encounter: Encounter) -> str:
    """Name, date of birth and identifiers in words, for the subject line and every further page."""
    patient = encounter.patient
    parts = [spoken_name(patient.name)]
    if patient.birth_date:
        parts.append(f"Born{NO_BREAK}{long_date(patient.birth_date)}")
    parts += [display_identifier(each).replace("No.", "number") for each in patient.identifier]
    return "  ".join(parts)


def _sender(encounter: Encounter) -> tuple[str, ...]:
    clinic = encounter.clinic
    if clinic is None:
        return ()
    address = address_line(clinic.address) if clinic.address else None
    who = ", ".join(part for part in (clinic.name, clinic.specialty, clinic.organization) if part)
    return tuple(line for line in (who, address, clinic.telecom) if line)


def _signature(encounter: Encounter) -> Lines:
    author = encounter.author
    if author is None:
        return Lines(("The author of this letter has not been recorded",), "signature")
    return Lines(tuple(line for line in (author.name, author.role, author.telecom) if line), "signature")


def _receivers(encounter: Encounter) -> tuple[str, ...]:
    """Who else gets a letter about the visit, by name and role; the patient is left out."""
    given = [each for each in (encounter.recipient, encounter.gp_practice, *encounter.copies) if each]
    own = {spoken_name(encounter.patient.name).casefold(), (encounter.patient.name.text or "").casefold()}
    named: dict[str, Recipient] = {}
    for each in given:
        if each.name.casefold() not in own and (each.role or "").casefold() != "patient":
            named.setdefault(each.name, each)
    return tuple(", ".join(part for part in (each.name, each.role, each.organization) if part)
                 for each in named.values())  # fmt: skip


def _needs(encounter: Encounter) -> Entry:
    needs = encounter.patient.communication_needs
    return (Sentence(f"Our records say that you need: {listed(list(needs))}."),) if needs else ()


def _contact(encounter: Encounter) -> Entry:
    """How to reach the clinic, in the words in which it was given; nothing is made up."""
    telecom = (encounter.clinic and encounter.clinic.telecom) or (encounter.author and encounter.author.telecom)
    return (Sentence(f"You can reach us here: {telecom.rstrip('.')}."),) if telecom else ()


def values_for(
    encounter: Encounter,
    facts: Facts,
    summary: Summary,
    drafted: date,
    catalogue: Catalogue,
    approval: ApprovalWords | None = None,
) -> Mapping[str, Any]:
    """Everything a template of the patient's copy may name. Fields that were not recorded are empty, never absent."""
    explain = _Explainer(encounter.options.language)
    # Trade words are explained where they first stand, so the order here is that of the letter.
    examination = _examination(facts, summary, catalogue, explain)
    diagnoses = tuple(explain.entry(each.text, each.side) for each in encounter.diagnoses)
    impression = tuple(explain.entry(each.text, each.side) for each in encounter.impression)
    actions = {
        actor: tuple(explain.entry(each.text, each.side) for each in encounter.plan if each.actor == actor)
        for actor in ("patient", "clinic", "recipient")
    }
    information = tuple(explain.entry(text) for text in encounter.information_given)
    recipient = encounter.recipient or encounter.gp_practice
    address = (spoken_name(encounter.patient.name), *address_lines(encounter.patient.address))
    return {
        "sender": Lines(_sender(encounter), "sender"),
        "dates": Lines((long_date(drafted),), "dates"),
        "recipient": Lines(address, "recipient"),
        "salutation": _salutation(encounter),
        "subject": _identity(encounter),
        "opening": _opening(encounter, catalogue),
        "findings": examination,
        "diagnoses": diagnoses,
        "impression": impression,
        "actions": actions,
        "recipient_name": recipient.name if recipient else "your doctor",
        "information": information,
        "cautions": _cautions(summary, catalogue),
        "needs": _needs(encounter),
        "contact": _contact(encounter),
        "signature": _signature(encounter),
        "receivers": _receivers(encounter),
        "is_draft": approval is None,
        "approval": {
            "statement": approval.statement if approval else (),
            "correction": (approval.correction if approval else None) or (),
        },
    }


def compose_patient_copy(
    encounter: Encounter,
    facts: Facts,
    summary: Summary,
    catalogue: Catalogue,
    *,
    drafted: date,
    template: str = DEFAULT_TEMPLATE,
    folder: Path | None = None,
    approval: ApprovalWords | None = None,
) -> Letter:
    """The letter to the patient, a draft or, with the words of its approval, final.

    Raises `LetterheadError` where the clinic's template cannot be used.
    """
    values = values_for(encounter, facts, summary, drafted, catalogue, approval)
    text, tokens = run(template, values, folder)
    return Letter(
        properties=Properties(
            title="Letter to the patient, hand and wrist",
            author=encounter.author.name if encounter.author else "Author not supplied",
            language=encounter.options.language,
            created=drafted,
            status="Final" if approval else "Draft",
            large_print=wants_large_print(encounter),
        ),
        blocks=parse(text, tokens, template),
        continuation=_identity(encounter),
        draft_mark=None if approval else DRAFT_MARK,
    )
