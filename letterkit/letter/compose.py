"""Composition: the encounter and its worded summary become the values of a template, and the template a letter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from letterkit.catalogue import Catalogue
from letterkit.consistency.rule import Query
from letterkit.errors import LetterheadError
from letterkit.findings.models import Action, Encounter, Recipient, Statement
from letterkit.letter.changes import change_paragraphs
from letterkit.letter.display import (
    address_line,
    banner,
    short_date,
)
from letterkit.letter.kinds import letter_template
from letterkit.letter.markup import parse
from letterkit.letter.missing import missing_elements
from letterkit.letter.model import Letter, Lines, Paragraph, Picture, Properties, Sentence
from letterkit.letter.remarks import remarks_of
from letterkit.letter.table import expected_sources, measurement_table
from letterkit.letter.templates import run
from letterkit.prose.places import site_phrases, where
from letterkit.prose.scores import scale_sources, score_words, symptom_words
from letterkit.prose.words import capital, listed
from letterkit.prose.writer import Said, Writer, otherwise_normal, unexamined
from letterkit.summary.statement import PlaceRef, Summary, Tier
from letterkit.summary.statement import Statement as Told

DRAFT_MARK = "DRAFT - not checked or approved by a clinician"
_KINDS = {"new": "New patient", "follow-up": "Follow-up", "discharge": "Discharge", "other": "Clinic contact"}
_REASON = ("reason.text", "reason.problem", "reason.side")
_TITLES = frozenset({"Dr", "Mr", "Mrs", "Miss", "Ms", "Mx", "Professor", "Prof", "Sir", "Dame"})
_SENTENCES_A_PARAGRAPH = 6  # more is hard to scan
_DRAFT_ONLY = re.compile(r"\bdraft\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ApprovalWords:
    """What a final letter says of its approval: who and when and, of a correction, what it replaces."""

    statement: Sentence
    correction: Sentence | None = None


def _own_words(text: str, *places: str) -> Sentence:
    """The clinician's words as they stand, with a full stop where they have none; `places` are where they stand."""
    words = " ".join(text.split())
    return Sentence(words if words.endswith((".", "!", "?", ":")) else f"{words}.", origin="clinician", places=places)


def _sided(text: str, side: str | None) -> str:
    """The clinician's words with the side they gave after them, where the words do not say it themselves."""
    if side is None or re.search(rf"\b{side}\b", text, re.IGNORECASE):
        return text
    return f"{text.rstrip('.')} ({'both sides' if side == 'both' else side})"


def _words(place: str, entries: Iterable[Statement | Action]) -> dict[int, Sentence]:
    """The clinician's words of each entry by its position; `place` is the name of the list."""
    return {
        index: _own_words(_sided(entry.text, entry.side), f"{place}[{index}]") for index, entry in enumerate(entries)
    }


def _sentences(said: Iterable[Said]) -> tuple[Sentence, ...]:
    return tuple(Sentence(each.text, each.facts, "finding") for each in said)


def _paragraphs(statements: Sequence[Told], writer: Writer) -> tuple[Paragraph, ...]:
    """Statements as paragraphs of a few sentences, parted where a new stage of the examination begins if possible."""
    paragraphs: list[list[Sentence]] = [[]]
    stage = None
    for statement in statements:
        sentences = _sentences(writer.write([statement]))
        room = _SENTENCES_A_PARAGRAPH - len(paragraphs[-1]) - len(sentences)
        if paragraphs[-1] and (room < 0 or (statement.stage is not stage and room < 1)):
            paragraphs.append([])
        paragraphs[-1] += sentences
        stage = statement.stage
    if len(paragraphs) > 1 and len(paragraphs[-1]) == 1:  # a last sentence does not stand alone
        last = paragraphs.pop()
        paragraphs[-1] += last
    return tuple(Paragraph(tuple(each)) for each in paragraphs if each)


def _person(recipient: Recipient) -> str:
    """A recipient on one line, for the list of all who receive the letter."""
    name = f"{recipient.name} ({recipient.role[:1].lower()}{recipient.role[1:]})" if recipient.role else recipient.name
    return f"{name}, {recipient.organization}" if recipient.organization else name


def _copies(encounter: Encounter) -> tuple[str, ...]:
    """Everybody who receives the letter, each once, the practice included."""
    receivers = [each for each in (encounter.recipient, *encounter.copies) if each]
    names = {each.name for each in receivers}
    practice = encounter.gp_practice
    if practice and practice.name not in names:
        receivers.append(practice)
    return tuple(_person(each) for each in receivers)


def _together(parts: Sequence[str]) -> tuple[Sentence, ...]:
    """Short entries in one sentence, parted by semicolons."""
    return (Sentence(f"{capital('; '.join(parts))}."),) if parts else ()


def _salutation(recipient: Recipient | None) -> str:
    """How the recipient is addressed: as given, or title and last name."""
    if recipient is None:
        return "colleague"
    if recipient.salutation:
        return recipient.salutation
    title, *rest = recipient.name.split()
    return f"{title} {rest[-1]}" if title.rstrip(".") in _TITLES and rest else recipient.name


def _recipient(recipient: Recipient | None) -> tuple[str, ...]:
    if recipient is None:
        return ()
    name = ", ".join(part for part in (recipient.name, recipient.role, recipient.organization) if part)
    address = address_line(recipient.address) if recipient.address else None
    return tuple(line for line in (name, address) if line)


def _sender(encounter: Encounter) -> tuple[str, ...]:
    """The clinic in two lines, so that what the reader is asked to do stands in the first third of the page."""
    clinic = encounter.clinic
    if clinic is None:
        return ()
    who = ", ".join(part for part in (clinic.name, clinic.specialty, clinic.organization) if part)
    place = address_line(clinic.address) if clinic.address else None
    return tuple(line for line in (who, "  ".join(part for part in (place, clinic.telecom) if part)) if line)


def _professionals(encounter: Encounter) -> list[str]:
    """Who saw the patient and who is responsible, which the record standard keeps apart; one person is named once."""
    author = encounter.author
    responsible = encounter.visit.responsible if encounter.visit else None
    if author is None:
        return [f"Responsible professional {responsible}"] if responsible else []
    seen_by = f"{author.name} ({author.role})" if author.role else author.name
    if responsible is None or responsible == author.name:
        return [f"Seen by and responsible {seen_by}"]
    return [f"Seen by {seen_by}", f"Responsible professional {responsible}"]


def _dates(encounter: Encounter, drafted: date) -> tuple[str, ...]:
    """Clinic date and date of drafting, each labelled, and who answers for the contact."""
    first, second = [], []
    if visit := encounter.visit:
        how = f", {visit.method}" if visit.method else ""
        first.append(f"Clinic date {short_date(visit.date)} ({_KINDS[visit.kind].lower()}{how})")
        second += _professionals(encounter)
        if visit.accompanied_by:
            second.append(f"Accompanied by {visit.accompanied_by}")
    else:
        first.append("Clinic date Not recorded")
    first.append(f"Drafted {short_date(drafted)}")
    if encounter.reference:
        first.append(f"Our reference {encounter.reference}")
    return tuple("   ".join(line) for line in (first, second) if line)


def _identity(encounter: Encounter) -> tuple[str, ...]:
    patient = encounter.patient
    about = [f"Preferred name {patient.preferred_name}"] if patient.preferred_name else []
    if patient.address:
        about.append(address_line(patient.address))
    if patient.handedness and patient.handedness != "unknown":
        about.append("Ambidextrous" if patient.handedness == "both" else f"{capital(patient.handedness)}-handed")
    if patient.occupation:
        about.append(f"Occupation {patient.occupation}")
    if patient.communication_needs:
        about.append(f"Individual requirements {listed(list(patient.communication_needs))}")
    return ("   ".join(about),) if about else ()


def _allergies(encounter: Encounter) -> Sentence:
    if encounter.allergies is None:
        return Sentence("Not supplied to this letter.")
    if encounter.allergies == "none known" or not encounter.allergies:
        return Sentence("No known allergies or adverse reactions.", origin="clinician", places=("allergies",))
    told = [f"{each.agent} ({each.reaction})" if each.reaction else each.agent for each in encounter.allergies]
    return _own_words(capital("; ".join(told)), "allergies")


def _reason(encounter: Encounter, catalogue: Catalogue) -> tuple[Sentence, ...]:
    reason = encounter.reason
    if reason is None:
        return ()
    if reason.text:
        told = [_own_words(_sided(reason.text, reason.side), *_REASON)]
    elif reason.problem:
        name = catalogue.problems[catalogue.problem_terms[reason.problem.casefold()]].name
        told = [_own_words(capital(_sided(name, reason.side)), *_REASON)]
    else:
        told = []
    return tuple(told) + ((_own_words(f"Question: {reason.question}", "reason.question"),) if reason.question else ())


def _history(encounter: Encounter) -> tuple[Sentence, ...]:
    history = encounter.history
    if history is None:
        return ()
    sentences = [_own_words(history.presenting, "history.presenting")] if history.presenting else []
    if history.since_last_contact:
        sentences.append(
            _own_words(f"Since the last contact: {history.since_last_contact}", "history.sinceLastContact")
        )
    if history.past:
        told = [text.rstrip(".") for text in history.past]
        fragments = any(text[:1].islower() for text in told[1:])
        sentences.append(_own_words(f"Past history: {('; ' if fragments else '. ').join(told)}", "history.past"))
    sentences += [
        Sentence(text, origin="clinician", places=("history.symptoms",)) for text in symptom_words(history.symptoms)
    ]
    if history.concerns:
        sentences.append(_own_words(f"Concerns and wishes: {history.concerns}", "history.concerns"))
    return tuple(sentences)


def _medication(encounter: Encounter) -> tuple[Sentence, ...]:
    """The medicines as given; an empty list says that there are none, no list says nothing."""
    if encounter.medication is None:
        return ()
    if not encounter.medication:
        return (Sentence("No medicines or devices.", origin="clinician", places=("medication",)),)
    return (_own_words(capital("; ".join(encounter.medication)), "medication"),)


def _signature(encounter: Encounter) -> Lines:
    author = encounter.author
    if author is None:
        return Lines(("Person completing the record: not supplied",), "signature")
    name = ", ".join(part for part in (author.name, author.qualification, author.role) if part)
    return Lines(tuple(line for line in (name, author.telecom) if line), "signature")


def _findings(summary: Summary, catalogue: Catalogue) -> dict[str, Any]:
    writer = Writer(catalogue)
    positives = summary.of(Tier.URGENT, Tier.BEARING, Tier.REST)
    table = measurement_table(summary.measurements, catalogue)
    sources = expected_sources(summary.measurements, catalogue)
    return {
        "change": change_paragraphs(summary, catalogue),
        "positive": _paragraphs(positives, writer),
        "negative": _paragraphs(summary.of(Tier.PERTINENT_NEGATIVE, Tier.OTHER_NEGATIVE), writer),
        "normal": _sentences(otherwise_normal(summary.otherwise_normal, summary.stages_with_findings)),
        "measurements": table,
        "sources": (Sentence(f"Expected ranges: {'; '.join(sources)}."),) if table and sources else (),
        "unexamined": _sentences(unexamined(summary.unexamined, catalogue)),
    }


def _scales(summary: Summary, catalogue: Catalogue) -> dict[str, Any]:
    """The published scales that were chosen: an entry for each place, then the sources of them all."""
    entries = []
    for score in summary.scores:
        first, *rest = score_words(score, catalogue)
        entries.append((Sentence(first, score.facts, "score"), *(Sentence(text, origin="score") for text in rest)))
    sources = tuple(Sentence(text, origin="score") for text in scale_sources(summary.scores))
    return {"entries": tuple(entries), "sources": sources}


def _cautions(summary: Summary, catalogue: Catalogue, *, urgent: bool) -> tuple[Sentence, ...]:
    """The cautions that the findings call for, each text once with its places, and one sentence that defers."""
    places: dict[str, list[PlaceRef]] = {}
    for chosen in summary.cautions:
        if chosen.caution.urgent is urgent:
            places.setdefault(chosen.caution.doctor, []).extend(chosen.places)
    by_lead: dict[str, list[str]] = {}
    for text, found in places.items():
        phrases = site_phrases(where(dict.fromkeys(found), catalogue), catalogue)
        lead = f"Caution, {listed(phrases).removeprefix('the ')}:" if phrases else "Caution:"
        by_lead.setdefault(lead, []).append(text)
    # Cautions about one place are told after each other, and the place once.
    told = [
        Sentence(f"{lead} {texts[0][:1].lower()}{texts[0][1:]} {' '.join(texts[1:])}".strip(), origin="caution")
        for lead, texts in by_lead.items()
    ]
    if told:
        told.append(Sentence(catalogue.deferrals["urgent" if urgent else "other"].doctor, origin="caution"))
    return tuple(told)


def values_for(
    encounter: Encounter,
    summary: Summary,
    drafted: date,
    catalogue: Catalogue,
    approval: ApprovalWords | None = None,
    drawing: Picture | None = None,
) -> Mapping[str, Any]:
    """Everything a letter template may name. Fields that were not recorded are empty, never absent."""
    plan = _words("plan", encounter.plan)
    by_actor = {
        actor: tuple(plan[index] for index, each in enumerate(encounter.plan) if each.actor == actor)
        for actor in ("recipient", "clinic", "patient")
    }
    recipient = encounter.recipient
    return {
        "sender": Lines(_sender(encounter), "sender"),
        "dates": Lines(_dates(encounter, drafted), "dates"),
        "recipient": Lines(_recipient(recipient), "recipient") if recipient else None,
        "recipient_name": recipient.name if recipient else None,
        "salutation": _salutation(recipient),
        "subject": _continuation(encounter),
        "identity": Lines(identity, "identity") if (identity := _identity(encounter)) else None,
        "urgent": _cautions(summary, catalogue, urgent=True),
        "cautions": _cautions(summary, catalogue, urgent=False),
        "diagnoses": tuple(_words("diagnoses", encounter.diagnoses).values()),
        "actions": by_actor,
        "impression": tuple(_words("impression", encounter.impression).values()),
        "reason": _reason(encounter, catalogue),
        "is_first_visit": encounter.visit is None or encounter.visit.kind == "new",
        "history": _history(encounter),
        "findings": _findings(summary, catalogue),
        "scales": _scales(summary, catalogue),
        "drawing": drawing,
        "service": (recipient.organization or recipient.name) if recipient else None,
        "information": tuple(
            _own_words(text, f"informationGiven[{index}]") for index, text in enumerate(encounter.information_given)
        ),
        "medication": _medication(encounter),
        "allergies": _allergies(encounter),
        "missing": _together(missing_elements(encounter)),
        "has_author": encounter.author is not None,
        "signature": _signature(encounter),
        "copies": _together(_copies(encounter)),
        "is_draft": approval is None,
        "approval": {
            "statement": approval.statement if approval else (),
            "correction": (approval.correction if approval else None) or (),
        },
        "draft_mark": "" if approval else DRAFT_MARK,
    }


def compose(
    encounter: Encounter,
    summary: Summary,
    catalogue: Catalogue,
    *,
    drafted: date,
    template: str | None = None,
    folder: Path | None = None,
    approval: ApprovalWords | None = None,
    drawing: Picture | None = None,
    queries: Sequence[Query] = (),
) -> Letter:
    """The draft letter of an encounter or, with the words of its approval, the final one.

    `template` is by default the one of the kind of letter; `drawing` is a picture of the findings; `queries`
    are those still open, and stand beside a draft only. Raises `LetterheadError` where the clinic's template cannot be
    used, or calls a final letter a draft.
    """
    template = template or letter_template(encounter, folder)
    text, values = run(template, values_for(encounter, summary, drafted, catalogue, approval, drawing), folder)
    # Here stand the template's own words only; whatever a record says is still a token.
    if approval and _DRAFT_ONLY.search(text):
        raise LetterheadError(
            f"template {template}: it calls a final letter a draft; put those words under {{% if is_draft %}}"
        )
    author = encounter.author.name if encounter.author else "Author not supplied"
    return Letter(
        properties=Properties(
            title="Clinic letter, hand and wrist",
            author=author,
            language=encounter.options.language,
            created=drafted,
            status="Final" if approval else "Draft",
        ),
        blocks=parse(text, values, template),
        continuation=_continuation(encounter),
        draft_mark=None if approval else DRAFT_MARK,
        remarks=() if approval else remarks_of(queries),
    )


def _continuation(encounter: Encounter) -> str:
    """The line that identifies the patient: under the salutation, and on every further page."""
    return banner(encounter.patient, encounter.visit.date if encounter.visit else None)
