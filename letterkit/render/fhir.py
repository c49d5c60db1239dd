"""A letter as a FHIR R4 document Bundle: its sections in words, and the Observations that each section states.

A letter alone does not say who the patient is in data, nor what an observation's code is; so this takes the draft with
its record, and is not one of the formats that are made from a letter alone.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from letterkit.catalogue import catalogue
from letterkit.catalogue.codes import DocumentStatus, codes
from letterkit.errors import InvalidInput, Problem
from letterkit.findings.facts import Facts
from letterkit.findings.fhir_codes import SYSTEMS
from letterkit.findings.fhir_out import Expressed, Maker, express, root_of
from letterkit.findings.fhir_out_people import identifier_out
from letterkit.findings.models import Encounter, Identifier
from letterkit.letter.approval import Approval, ApprovedLetter, content_digest
from letterkit.letter.model import Letter, Paragraph, Sentence, Title
from letterkit.render.base import renderer
from letterkit.render.fhir_narrative import narrative
from letterkit.render.fhir_sections import sections_of

MEDIA_TYPE = "application/fhir+json"
SUFFIX = ".fhir.json"
DIGEST_SYSTEM = "urn:letterkit:content-digest"
LETTER_SYSTEM = "urn:letterkit:letter"
_DIGEST = re.compile(r"[0-9a-f]{64}")


class Drafted(Protocol):
    """A draft letter with the record it was made from."""

    @property
    def encounter(self) -> Encounter:
        """The record."""

    @property
    def facts(self) -> Facts:
        """What the record asserts."""

    @property
    def letter(self) -> Letter:
        """The draft letter."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """The letter as a file, to travel inside the Bundle; `title` names no patient."""

    content: bytes
    media_type: str
    title: str = "Clinic letter, hand and wrist"


def _document_type() -> dict[str, Any]:
    return {
        "coding": [
            {"system": SYSTEMS[each.system], "code": each.code, "display": each.display}
            for each in codes().document_type
        ],
        "text": "Outpatient letter",
    }


def _replaced(name: str) -> dict[str, str]:
    return {"system": DIGEST_SYSTEM if _DIGEST.fullmatch(name) else LETTER_SYSTEM, "value": name}


def _approver(approval: Approval, encounter: Encounter, made: Expressed, maker: Maker) -> dict[str, str]:
    """The clinician who approved: the author, or somebody else with their role."""
    author = encounter.author
    if author is not None and made.author is not None and author.name.casefold() == approval.by.casefold():
        return made.author
    identifier = [identifier_out(Identifier(value=approval.identifier))] if approval.identifier else None
    practitioner = maker.add("approver", {
        "resourceType": "Practitioner",
        **({"identifier": identifier} if identifier else {}),
        "name": [{"text": approval.by}],
    })  # fmt: skip
    if approval.role is None:
        return practitioner
    return maker.add("approver role", {
        "resourceType": "PractitionerRole", "practitioner": practitioner, "code": [{"text": approval.role}]
    })  # fmt: skip


def _attach(
    attachment: Attachment, at: int, maker: Maker, head: Mapping[str, Any], status: DocumentStatus, letter: Letter
) -> dict[str, str]:
    """A DocumentReference and the Binary it names; gives the reference to the former."""
    content = attachment.content
    binary = maker.add(f"binary {at} {hashlib.sha256(content).hexdigest()}", {
        "resourceType": "Binary",
        "contentType": attachment.media_type,
        "data": base64.b64encode(content).decode(),
    })  # fmt: skip
    digest = hashlib.sha1(content, usedforsecurity=False).digest()  # R4 asks for SHA-1
    return maker.add(f"document {at} {status.composition}", {
        "resourceType": "DocumentReference",
        "status": "entered-in-error" if status.state == "withdrawn" else "current",
        "docStatus": status.document,
        **head,
        "description": attachment.title,
        "content": [{"attachment": {
            "contentType": attachment.media_type,
            "language": letter.properties.language,
            "url": binary["reference"],
            "size": len(content),
            "hash": base64.b64encode(digest).decode(),
            "title": attachment.title,
            "creation": letter.properties.created.isoformat(),
        }}],
    })  # fmt: skip


def _references(value: Any) -> Iterator[str]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in {"reference", "url"} and isinstance(inner, str) and inner.startswith("urn:uuid:"):
                yield inner
            else:
                yield from _references(inner)
    elif isinstance(value, list):
        for each in value:
            yield from _references(each)


def _reachable(first: Mapping[str, Any], entries: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The entries that the first leads to, in their order: a document holds nothing else."""
    by_url = {entry["fullUrl"]: entry for entry in entries}
    seen: set[str] = set()
    waiting = list(_references(first))
    while waiting:
        url = waiting.pop()
        if url not in seen:
            seen.add(url)
            waiting += _references(by_url[url]["resource"])
    return [entry for entry in entries if entry["fullUrl"] in seen]


def bundle(
    draft: Drafted,
    *,
    approved: ApprovedLetter | None = None,
    letter: Letter | None = None,
    withdrawn: bool = False,
    attachments: Sequence[Attachment] = (),
) -> dict[str, Any]:
    """The document Bundle of a draft or, with its approval, of the final letter; the same input gives the same one.

    `letter` stands in for the draft's letter where another one of the same facts is meant, such as the patient's copy.
    A withdrawn letter is one that was approved. Raises `InvalidInput` for a letter that can be in no such state.
    """
    if withdrawn and approved is None:
        raise InvalidInput((Problem("withdrawn", "only an approved letter can be withdrawn; a draft is left unsent"),))
    told = letter or (approved.letter if approved else draft.letter)
    state = "draft" if approved is None else "withdrawn" if withdrawn else "approved"
    if state == "approved" and approved is not None and approved.replaces:
        state = "corrected"
    status = next(each for each in codes().document_status if each.state == state)
    encounter = draft.encounter
    maker = Maker(root_of(encounter))
    made = express(encounter, draft.facts, catalogue(), maker, status="final" if approved else "preliminary")
    digest = content_digest(told)
    day = told.properties.created.isoformat()
    at = approved.approval.at.isoformat(timespec="seconds") if approved else f"{day}T00:00:00+00:00"
    author = made.author or {"display": "Author not supplied"}
    title = next((block.text for block in told.blocks if isinstance(block, Title)), told.properties.title)
    mark = [] if told.draft_mark is None else [Paragraph((Sentence(told.draft_mark),), "note")]
    head: dict[str, Any] = {"type": _document_type(), "subject": made.patient}
    related = _replaced(approved.replaces) if approved and approved.replaces else None
    composition: dict[str, Any] = {
        "resourceType": "Composition",
        "language": told.properties.language,
        "text": narrative([Title(title), *mark, Paragraph((Sentence(told.continuation),))], told.properties.language),
        "identifier": {"system": DIGEST_SYSTEM, "value": digest},
        "status": status.composition,
        **head,
        **({"encounter": made.encounter} if made.encounter else {}),
        "date": at if approved else day,
        "author": [author],
        "title": title if told.draft_mark is None else f"{title} ({told.draft_mark})",
    }
    if approved is not None:
        party = _approver(approved.approval, encounter, made, maker)
        composition["attester"] = [{"mode": "legal", "time": at, "party": party}]
    if made.custodian:
        composition["custodian"] = made.custodian
    if related:
        composition["relatesTo"] = [{"code": "replaces", "targetIdentifier": related}]
    sections = sections_of(told, made)
    head |= {"date": at, "author": [author]} | ({"custodian": made.custodian} if made.custodian else {})
    head |= {"relatesTo": [{"code": "replaces", "target": {"identifier": related}}]} if related else {}
    files = [_attach(each, number, maker, head, status, told) for number, each in enumerate(attachments)]
    if files:
        words = [Paragraph((Sentence(f"The letter as a file: {each.media_type}."),)) for each in attachments]
        text = narrative(words, told.properties.language)
        sections.append({"title": "Letter as a file", "text": text, "entry": files})
    composition["section"] = sections
    key = f"{digest} {status.composition}"
    own = Maker(root_of(encounter))
    own.add(f"composition {key}", composition)
    return {
        "resourceType": "Bundle",
        "identifier": {"system": "urn:ietf:rfc:3986", "value": maker.url(f"bundle {key}")},
        "type": "document",
        "timestamp": at,
        "entry": [*own.entries, *_reachable(composition, maker.entries)],
    }


def document(
    draft: Drafted,
    *,
    approved: ApprovedLetter | None = None,
    letter: Letter | None = None,
    letterhead: Path | None = None,
) -> bytes:
    """The file of a letter's document Bundle with its DOCX inside, on the clinic's letterhead where one is given.

    Raises LetterheadError for a letterhead that cannot be used.
    """
    told = letter or (approved.letter if approved else draft.letter)
    docx = renderer("docx", letterhead)
    file = Attachment(docx.render(told), docx.media_type, told.properties.title)
    return to_json(bundle(draft, approved=approved, letter=letter, attachments=[file]))


def to_json(document: Mapping[str, Any]) -> bytes:
    """A Bundle as the bytes of its file."""
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()
