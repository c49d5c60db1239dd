"""The columns of a sheet: what each is matched to and why, changed by hand, kept beside the sheet, then drafted."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, TypeAlias, cast

from fastapi import APIRouter, Depends
from fastapi import Path as PathOf
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from letterkit.bulk.columns import Field, Target, Unmatched, fields, folded, match, target_words
from letterkit.bulk.looking import Look, look
from letterkit.bulk.mapping import (
    ColumnRead,
    SheetMapping,
    load_mapping,
    mapping_path,
    mapping_text,
    missing,
    read_columns,
)
from letterkit.catalogue import catalogue
from letterkit.records.audit import Act
from letterkit.records.store import Doing
from letterkit.service.keeper import put
from letterkit.service.pages.page import PageRoute, Running, Viewer, go, known_json, page
from letterkit.service.pages.targets import SIDES, Choice, known_targets
from letterkit.service.problems import Refusal
from letterkit.service.resources import LETTER_ID
from letterkit.service.state import Service, The

router = APIRouter(prefix="/sheets", route_class=PageRoute, include_in_schema=False)
RunId: TypeAlias = Annotated[str, PathOf(pattern=LETTER_ID)]
_HOW = {
    "name": "✓ by its name", "synonym": "✓ by a synonym", "chosen": "✓ chosen by hand", "ignored": "– not used",
    "nameless": "– has no name, not used", "unknown": "! not matched", "unclear": "? needs a choice",
}  # fmt: skip
Wrong: TypeAlias = tuple[Choice, str]
"""What was chosen for a column, and why it is not enough."""
_FIELDS_MOST = 10_000  # of a form: a sheet may have two thousand columns


async def form_of(request: Request) -> FormData:
    """A dependency: the form as it was sent."""
    return await request.form(max_files=0, max_fields=_FIELDS_MOST)


Form: TypeAlias = Annotated[FormData, Depends(form_of)]


@dataclass(frozen=True, slots=True)
class Shown:
    """A column as the page shows it. `options` are the choices it begins with, `twin` an earlier column of its name."""

    at: int
    name: str
    how: str
    words: str
    fault: str
    examples: tuple[str, ...]
    choice: Choice
    options: Sequence[tuple[str, str]]
    twin: int | None

    def with_choice(self, choice: Choice, fault: str) -> Shown:
        """The column with what a person chose and is not enough yet."""
        item = catalogue().items.get(choice.holds.partition(":")[2])
        more = [(choice.holds, item.name)] if item and choice.holds not in dict(self.options) else []
        return replace(self, how="unclear", fault=fault, choice=choice, options=[*self.options, *more])

    @property
    def badge(self) -> str:
        """How it was matched, in words."""
        return _HOW[self.how]

    @property
    def needs(self) -> bool:
        """Whether a person must choose."""
        return bool(self.fault)


def _own(name: str) -> str:
    """What a column's name says by itself, or nothing."""
    try:
        return target_words(match(name))
    except Unmatched:
        return ""


def _options(read: ColumnRead) -> tuple[Choice, list[tuple[str, str]]]:
    own = _own(read.name)
    options = [("", f"{own} (as its name says)" if own else "Choose what it holds"), ("-", "Not used for the letter")]
    if read.how == "ignored":
        return Choice("-"), options
    if read.how != "chosen" or read.target is None:
        return Choice(""), options
    choice = Choice.of_target(read.target)
    try:
        known = match(choice.name()) == read.target
    except (ValueError, Unmatched):
        known = False
    if not known:  # of several places at once, as only a mapping file can say
        return Choice("="), [*options, ("=", f"As in the mapping file: {target_words(read.target)}")]
    return choice, [*options, (choice.holds, target_words(_alone(read.target)))]


def _alone(target: Target) -> Target:
    """A column's item alone: side, place and part have lists of their own."""
    if isinstance(target, Field):
        return target
    return replace(target, side=None, site=None, mode=None, qualifier=None)


def _why(read: ColumnRead) -> str:
    """Why a person must choose, and what to do."""
    match read.how:
        case "unknown":
            more = " The list begins with what may be meant." if read.meant else ""
            return f"Nothing is known by this name. Choose what it holds, or that it is not used.{more}"
        case "unclear" if len(read.meant) == 1:
            return (
                f"It may be {_named(read.meant[0])}, but its name does not say which place. Choose it, then the place."
            )
        case "unclear" if read.meant:
            return f"It may mean {' or '.join(map(_named, read.meant))}. Choose which."
    fault = read.fault.replace(
        "; ignore one of them in the mapping file", "; set one of them to “Not used for the letter”"
    )
    return f"Not clear: {fault}." if fault else ""


def _named(path_or_slug: str) -> str:
    """A field or an item in words."""
    item = catalogue().items.get(path_or_slug)
    return item.name if item is not None else target_words(fields()[path_or_slug])


def _meant(read: ColumnRead, options: list[tuple[str, str]]) -> list[tuple[str, str]]:
    known = {value for value, _ in options}
    for each in read.meant:
        try:
            choice = Choice.of_target(match(each))
        except Unmatched:  # an item that needs a place
            choice = Choice(f"i:{each}")
        if choice.holds not in known:
            options.append((choice.holds, f"Perhaps: {_named(choice.holds.partition(':')[2])}"))
    return options


def shown_columns(found: Look, read: Sequence[ColumnRead]) -> list[Shown]:
    """The columns for the page."""
    first: dict[str, int] = {}
    columns = []
    for each, examples in zip(read, found.examples, strict=True):
        choice, options = _options(each)
        plain = folded(each.name)
        twin = first.setdefault(plain, each.at) if plain else each.at
        columns.append(Shown(
            each.at, each.name, each.how, target_words(each.target) if each.target else "",
            _why(each), examples, choice, _meant(each, options), twin if twin != each.at else None,
        ))  # fmt: skip
    return columns


def _state(path: Path) -> str:
    return hashlib.sha256(path.read_bytes() if path.is_file() else b"").hexdigest()[:16]


def _page(
    service: Service, viewer: Viewer, run_id: str, mapping: SheetMapping, *, fault: str = "",
    wrong: Mapping[int, Wrong] = MappingProxyType({}), status: int = 200,
) -> Response:  # fmt: skip
    sheet = service.runs.sheet(run_id)
    found = look(sheet, mapping)
    if found is None:
        return go(f"/sheets/{run_id}")
    read = read_columns(found.header, mapping)
    columns = [each.with_choice(*wrong[each.at]) if each.at in wrong else each for each in shown_columns(found, read)]
    holds = {each.target.path for each in read if isinstance(each.target, Field)}
    return page("columns.j2", {
        "viewer": viewer, "here": "sheets", "title": "Columns", "run_id": run_id, "columns": columns,
        "unclear": [each for each in columns if each.needs], "clear": [each for each in columns if not each.needs],
        "missing": missing(read, mapping), "no_reference": "reference" not in holds, "notes": found.notes,
        "mapping": mapping, "fault": fault, "seen": _state(mapping_path(sheet)), "begun": service.runs.begun(run_id),
        "given": service.runs.given(run_id), "sides": SIDES,
    }, status)  # fmt: skip


@router.get("/known.json")
def targets(request: Request, viewer: Running) -> Response:  # noqa: ARG001 - the viewer is checked
    """What a column can hold, for the lists of the page."""
    return known_json(request, *known_targets())


@router.get("/{run_id}/columns")
def columns(viewer: Running, service: The, run_id: RunId) -> Response:
    """How the columns are matched, as it is kept beside the sheet."""
    return _page(service, viewer, run_id, load_mapping(mapping_path(service.runs.sheet(run_id))))


def _text(form: FormData, key: str) -> str:
    value = form.get(key, "")
    return value if isinstance(value, str) else ""


def _mapped(form: FormData, header: Sequence[str], before: SheetMapping) -> tuple[SheetMapping, dict[int, Wrong]]:
    """The mapping with the choices of a form, and what is wrong with a choice, by column."""
    columns, ignore = dict(before.columns), set(before.ignore)
    wrong: dict[int, Wrong] = {}
    done: set[str] = set()
    for at, name in enumerate(header):
        plain, key = folded(name), f"holds-{at}"
        if not plain or plain in done or key not in form:
            continue
        done.add(plain)
        choice = Choice(*(_text(form, f"{part}-{at}") for part in ("holds", "site", "side", "of")))
        if choice.holds == "=":
            continue
        columns.pop(plain, None)
        ignore.discard(plain)
        if choice.holds == "-":
            ignore.add(plain)
        elif choice.holds:
            try:
                chosen = choice.name()
            except ValueError as error:
                wrong[at] = choice, f"Not clear yet: {error}."
                continue
            if not _says(name, chosen):
                columns[plain] = chosen
    dates, side = _text(form, "dates"), _text(form, "findings_side")
    return replace(
        before, columns=MappingProxyType(columns), ignore=frozenset(ignore),
        dates=cast("Any", dates) if dates in {"refuse", "day first", "month first"} else before.dates,
        findings_side=cast("Any", side) if side in {"column", "row"} else before.findings_side,
    ), wrong  # fmt: skip


def _says(name: str, chosen: str) -> bool:
    """Whether a column's name says what was chosen by itself."""
    try:
        return match(name) == match(chosen)
    except Unmatched:
        return False


@router.post("/{run_id}/columns")
def keep(request: Request, viewer: Running, service: The, run_id: RunId, form: Form) -> Response:
    """Keeps the matching beside the sheet and, where that is asked for and everything is clear, drafts."""
    sheet = service.runs.sheet(run_id)
    path = mapping_path(sheet)
    before = load_mapping(path)
    if _text(form, "seen") != _state(path):
        message = (
            "Somebody changed the matching since you opened this page. This is how it stands now; look at it again."
        )
        return _page(service, viewer, run_id, before, fault=message, status=409)
    found = look(sheet, before)
    if found is None:
        return go(f"/sheets/{run_id}")
    mapping, wrong = _mapped(form, found.header, before)
    read = read_columns(found.header, mapping)
    lacking = missing(read, mapping)
    open_ones = len({each.at for each in read if each.fault} | set(wrong))
    begun = service.runs.begun(run_id)
    doing = Doing(viewer.caller.id, request.state.request_id)
    unclear = begun and bool(open_ones or lacking)  # a run is never begun again with columns unclear
    if not wrong and not unclear and mapping != before:
        put(path, mapping_text(mapping, found.header))
        service.records.note(Act(doing.actor, "bulk.columns", run_id, request_id=doing.request_id))
    if wrong or (_text(form, "then") == "draft" and (open_ones or lacking)):
        told = [f"{open_ones} column{'s need' if open_ones > 1 else ' needs'} a choice."] if open_ones else []
        return _page(service, viewer, run_id, mapping, fault=" ".join([*told, *lacking]), wrong=wrong, status=422)
    if _text(form, "then") != "draft":
        return go(f"/sheets/{run_id}/columns#kept")
    if not begun:
        given = service.runs.given(run_id)
        if given is None:
            raise Refusal("not-found", "This sheet was not given in on a page.")
        service.records.begin(run_id, "bulk.begun", doing)
        service.runs.begin(run_id, given.asked)
    else:
        service.runs.see_to(run_id)
    return go(f"/sheets/{run_id}")
