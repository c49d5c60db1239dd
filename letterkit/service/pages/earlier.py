"""Earlier letters: found by reference, date or name; opened, corrected, or taken as the visit before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from letterkit.records.content import letter_from_json
from letterkit.records.errors import Erased
from letterkit.records.store import Doing, Store
from letterkit.service.pages.desk import Desk
from letterkit.service.pages.page import PageRoute, Reading, day, page
from letterkit.service.pages.preview import page_of
from letterkit.service.pages.worktable import name_of
from letterkit.service.problems import Refusal
from letterkit.service.resources import LETTER_ID
from letterkit.service.state import The

router = APIRouter(prefix="/letters", route_class=PageRoute, include_in_schema=False)
_PAGE = 50  # letters shown at once
_AT_ONCE = 200  # letters asked of the records at a time
_LOOKED_AT = 2000  # letters that one search goes through


@dataclass(frozen=True, slots=True)
class Found:
    """A letter in the list."""

    id: str
    state: str
    name: str
    birth_date: str
    reference: str
    visit: str
    at: datetime
    by: str

    def matches(self, words: tuple[str, ...]) -> bool:
        """Whether every word stands in the reference, the name or a date."""
        here = " ".join((self.name, self.reference, self.visit, day(self.visit), self.birth_date, day(self.birth_date)))
        folded = here.casefold()
        return all(word in folded for word in words)


def _letters(store: Store, after: str | None) -> Iterator[Found]:
    last = after
    while True:
        rows = store.listed(_AT_ONCE, last)
        for info in rows:
            try:
                content = store.version(info.letter_id).content
            except Erased:
                continue
            encounter = content.encounter
            patient = encounter.get("patient") or {}
            yield Found(
                info.letter_id, info.state, name_of(encounter), str(patient.get("birthDate") or ""),
                str(encounter.get("reference") or ""), str((encounter.get("visit") or {}).get("date") or ""), info.at,
                str((content.approval or {}).get("by") or ""),
            )  # fmt: skip
        if len(rows) < _AT_ONCE:
            return
        last = rows[-1].letter_id


@router.get("")
def listed(
    viewer: Reading, service: The, table: Desk, q: Annotated[str, Query(max_length=100)] = "",
    after: Annotated[str | None, Query(pattern=LETTER_ID)] = None,
) -> Response:  # fmt: skip
    """The letters, newest first, or those that every word of the search is found in."""
    words = tuple(q.casefold().split())
    found: list[Found] = []
    looked = 0
    more = None
    for looked, each in enumerate(_letters(service.records, after), start=1):
        if each.matches(words):
            found.append(each)
        if len(found) == _PAGE or looked == _LOOKED_AT:
            more = each.id
            break
    waiting = [each for each in table.listed() if not words or any(w in each.title.casefold() for w in words)]
    return page("earlier.j2", {
        "viewer": viewer, "here": "earlier", "title": "Earlier letters", "q": q, "letters": found, "more": more,
        "looked": looked, "waiting": waiting,
    })  # fmt: skip


@router.get("/{letter_id}")
def letter(
    request: Request, viewer: Reading, service: The, letter_id: Annotated[str, Path(pattern=LETTER_ID)],
    copy: bool = False,  # noqa: FBT001, FBT002 - of the address
) -> Response:  # fmt: skip
    """One letter as it was kept, with its files, and what may be done with it."""
    stored = service.records.version(letter_id, reader=Doing(viewer.caller.id, request.state.request_id))
    content = stored.content
    if copy and content.patient_copy is None:
        raise Refusal("not-found", "A patient's copy is kept with an approved letter only.")
    shown = content.patient_copy if copy and content.patient_copy is not None else content.letter
    return page("letter.j2", {
        "viewer": viewer, "here": "earlier", "title": "Letter", "info": stored.info, "copy": copy,
        "name": name_of(content.encounter), "reference": content.encounter.get("reference") or "",
        "approval": content.approval, "letter": page_of(letter_from_json(shown)), "id": letter_id,
        "has_copy": content.patient_copy is not None,
    })  # fmt: skip
