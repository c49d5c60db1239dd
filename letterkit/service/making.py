"""From an encounter to what is kept and answered: the drafting, the approval and the letter resource."""

from __future__ import annotations

import gc
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from letterkit import __version__
from letterkit.consistency.answers import blocks_approval
from letterkit.consistency.rule import Query
from letterkit.errors import InvalidInput
from letterkit.findings.fhir_bundle import Notice
from letterkit.findings.models import Answer, Encounter
from letterkit.findings.read_input import read_encounter
from letterkit.letter.approval import Approval, ApprovedLetter, approve, content_digest
from letterkit.letter.model import Letter
from letterkit.measures.result import NotComputable
from letterkit.pipeline import Draft, draft
from letterkit.records.content import Content, letter_from_json, letter_to_json
from letterkit.records.store import Version, VersionInfo, now
from letterkit.render.base import Renderer, renderer
from letterkit.render.fhir import document
from letterkit.service.documented import example_encounter
from letterkit.service.problems import Refusal, counted, faults
from letterkit.service.resources import LetterOut
from letterkit.service.turns import Turns
from letterkit.settings import Settings
from letterkit.summary.statement import Score


def queries_out(unanswered: Sequence[Query], settled: Sequence[Query]) -> list[dict[str, Any]]:
    """Queries in their JSON shape: those that are open, then those that an answer settles."""
    return [
        {
            "rule": query.rule, "class": query.query_class.value, "message": query.message,
            "findings": list(query.paths), "settle": query.settle, "source": query.source,
            "open": is_open, "blocksApproval": is_open and blocks_approval(query),
        }
        for queries, is_open in ((unanswered, True), (settled, False))
        for query in queries
    ]  # fmt: skip


def _statements(made: Draft) -> list[dict[str, Any]]:
    places = {fact.id: tuple(f"examination.findings[{index}]" for index in fact.findings) for fact in made.facts.facts}
    # Stages, normal or not examined, carry their position in the record in their id.
    places |= {fact.id: (f"examination.normal[{fact.id[1:]}]",) for fact in made.facts.normal}
    places |= {fact.id: (f"examination.notExamined[{fact.id[1:]}]",) for fact in made.facts.unexamined}
    return [
        {
            "text": text, "facts": list(facts),
            "findings": list(dict.fromkeys(place for fact in facts for place in places.get(fact, ()))),
        }
        for text, facts in made.sentences()
    ]  # fmt: skip


def _measure(score: Score) -> dict[str, Any]:
    outcome = score.outcome
    told: dict[str, Any] = {
        "instrument": outcome.instrument, "side": score.place.side, "site": score.place.site,
        "inputs": dict(outcome.inputs), "source": str(outcome.source), "limits": list(outcome.limits),
        "facts": list(score.facts), "value": None, "arithmetic": None, "missing": [],
    }  # fmt: skip
    if isinstance(outcome, NotComputable):
        return told | {"missing": list(outcome.missing)}
    return told | {"value": str(outcome.value), "arithmetic": outcome.arithmetic}


def encounter_json(encounter: Encounter) -> dict[str, Any]:
    """An encounter in its JSON shape."""
    return encounter.model_dump(mode="json", by_alias=True, exclude_none=True)


def content_of(made: Draft, notices: Sequence[Notice] = ()) -> Content:
    """What the records keep of a draft, with the notices about the record it came from."""
    return Content(
        encounter=encounter_json(made.encounter),
        letter=letter_to_json(made.letter),
        letter_digest=content_digest(made.letter),
        statements=_statements(made),
        queries=queries_out(made.queries, made.settled),
        measures=[_measure(score) for score in made.summary.scores],
        notices=[{"path": each.path, "kind": each.kind, "message": each.message} for each in notices],
        release=__version__,
    )


def with_answers(encounter: Encounter, given: Sequence[Answer]) -> Encounter:
    """The encounter with those answers in place of earlier ones to the same query."""
    again = {(answer.rule, answer.findings) for answer in given}
    kept = tuple(answer for answer in encounter.answers if (answer.rule, answer.findings) not in again)
    return encounter.model_copy(update={"answers": (*kept, *given)})


@dataclass(frozen=True)
class Maker:
    """Makes letters with the clinic's letterhead and templates."""

    settings: Settings

    @cached_property
    def _renderers(self) -> Mapping[str, Renderer]:
        return {
            name: renderer(name, self.settings.letterhead if name == "docx" else None)
            for name in ("docx", "html", "text", "pdf")
        }

    @cached_property
    def _turn(self) -> Turns:
        """Drafting keeps one core busy: a second draft beside it would only make both late."""
        return Turns()

    def warm(self) -> None:
        """Loads what the first letter would otherwise wait for, and keeps it out of the collector's way."""
        made = self.draft(read_encounter(example_encounter()))
        for form in self._renderers:
            self.file(made.letter, form)
        gc.collect()
        gc.freeze()

    def draft(self, encounter: Encounter, drafted: date | None = None) -> Draft:
        """A draft letter. Raises LetterkitError."""
        with self._turn:
            return draft(encounter, drafted=drafted, templates=self.settings.templates)

    def again(self, stored: Version) -> Draft:
        """The draft of a stored version, made again. Raises Refusal where this release words it otherwise."""
        day = date.fromisoformat(stored.content.letter["properties"]["created"])
        made = self.draft(read_encounter(stored.content.encounter), day)
        if content_digest(made.letter) != stored.info.letter_digest:
            raise Refusal(
                "not-approvable",
                "The service or its templates changed since this version was drafted, and now word it otherwise. Post "
                "the encounter again as a new version, and check that.",
            )
        return made

    def approved(
        self, made: Draft, notices: Sequence[Mapping[str, Any]] = (), *, by: str, role: str | None,
        identifier: str | None, replaces: str | None,
    ) -> Content:  # fmt: skip
        """What the records keep of the final letter of a draft. Raises Refusal where it cannot be approved."""
        try:
            final: ApprovedLetter = approve(
                made, by=by, role=role, identifier=identifier, replaces=replaces, at=now().astimezone(),
                templates=self.settings.templates,
            )  # fmt: skip
        except InvalidInput as error:
            raise Refusal("not-approvable", counted(error.problems), faults(error.problems)) from None
        told = final.approval.model_dump(mode="json", exclude_none=True)
        base = content_of(made)
        return Content(
            encounter=base.encounter, letter=letter_to_json(final.letter), letter_digest=final.digest,
            statements=base.statements, queries=base.queries, measures=base.measures, notices=notices,
            release=base.release,
            patient_copy=letter_to_json(final.patient) if final.patient else None, approval=told,
        )  # fmt: skip

    def stored_patient_copy(self, stored: Version) -> Letter:
        """The patient's copy of a stored version: as it was kept with a final letter, made anew for a draft."""
        if stored.content.patient_copy is not None:
            return letter_from_json(stored.content.patient_copy)
        day = date.fromisoformat(stored.content.letter["properties"]["created"])
        return self.draft(read_encounter(stored.content.encounter), day).patient_copy(self.settings.templates)

    def bundle(self, made: Draft) -> bytes:
        """A draft as a FHIR document Bundle with its DOCX inside."""
        return document(made, letterhead=self.settings.letterhead)

    def stored_bundle(self, stored: Version) -> bytes:
        """A stored version as a FHIR document Bundle with its DOCX inside."""
        letter = letter_from_json(stored.content.letter)
        made = self.draft(read_encounter(stored.content.encounter), letter.properties.created)
        approved = None
        if stored.content.approval is not None:
            approval = Approval.model_validate(stored.content.approval)
            approved = ApprovedLetter(letter, approval, stored.info.letter_digest)
        return document(made, approved=approved, letter=letter, letterhead=self.settings.letterhead)

    def file(self, letter: Letter, form: str) -> tuple[bytes, str, str]:
        """The file of a letter with its media type and how its name ends."""
        chosen = self._renderers[form]
        return chosen.render(letter), chosen.media_type, chosen.suffix

    def resource(self, content: Content, letter: Letter, info: VersionInfo | None) -> LetterOut:
        """The letter resource; without `info` that of a letter that is not stored."""
        text, _, _ = self.file(letter, "text")
        base = f"/v1/letters/{info.letter_id}/versions/{info.number}" if info else ""
        links = {
            "self": base, **{form: f"{base}?format={form}" for form in ("docx", "pdf", "html", "text", "fhir")},
            "patientCopy": f"/v1/letters/{info.letter_id}/patient-copy",
            "versions": f"/v1/letters/{info.letter_id}/versions",
        } if info else None  # fmt: skip
        return LetterOut.model_validate({
            "id": info.letter_id if info else None,
            "version": info.number if info else None,
            "state": "final" if content.approval else "draft",
            "kind": info.kind if info else None,
            "at": info.at if info else None,
            "drafted": content.letter["properties"]["created"],
            "digest": content.letter_digest,
            "text": text.decode(),
            "statements": content.statements,
            "queries": content.queries,
            "measures": content.measures,
            "notices": content.notices,
            "approval": content.approval,
            "links": links,
        })  # fmt: skip
