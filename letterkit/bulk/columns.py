"""Columns by name: which field or which item, side, site and qualifier each holds, and what could not be matched."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, TypeAlias

from letterkit.bulk.cells import shown
from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.model import Item, Qualifier
from letterkit.findings.places import UnreadSite, parse_site
from letterkit.findings.sides import Sides, parse_sides

_PUNCTUATION = re.compile(r"[\s_:.,()\[\]/–-]+")  # the dashes people type
_UNIT = re.compile(
    r"[(\[]\s*(kg|kgs|mm|cm|deg|degrees|°|s|secs?|seconds|%|lbs?|pounds|inches|in)\s*[)\]]", re.IGNORECASE
)
_UNITS = {"kgs": "kg", "degrees": "deg", "°": "deg", "sec": "s", "secs": "s", "seconds": "s"}
_SIDE_WORDS = {"r", "l", "right", "left", "rt", "lt", "rhs", "lhs", "both", "bilateral", "b/l"}
_MODES = {"active": "active", "passive": "passive"}
# The words after which a column holds a qualifier of a finding, and its name in the record.
_QUALIFIERS: Mapping[str, str] = {
    "severity": "severity", "onset": "onsetS", "seconds": "onsetS", "onset s": "onsetS", "distribution": "distribution",
    "description": "description", "count": "count", "number of": "count", "size": "sizeMm", "size mm": "sizeMm",
    "length": "lengthCm", "length cm": "lengthCm", "angle": "angleDeg", "correctability": "correctability",
    "grade": "grade", "grading": "grading", "note": "note", "notes": "note", "comment": "note",
}  # fmt: skip
_SNAKE = {"onsetS": "onset_s", "sizeMm": "size_mm", "lengthCm": "length_cm", "angleDeg": "angle_deg"}


@dataclass(frozen=True, slots=True)
class Field:
    """One column of the record that is no finding; see fields.toml."""

    path: str
    kind: str
    names: tuple[str, ...]
    codes: Mapping[str, str]
    sample: str = ""
    about: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class ItemColumn:
    """A column that holds an item of the examination, or with `qualifier` what else is said of it."""

    item: str
    side: Sides | None = None
    site: str | tuple[str, ...] | None = None
    mode: str | None = None
    qualifier: str | None = None

    @property
    def place(self) -> tuple[object, ...]:
        """What tells two columns of findings apart."""
        return (self.item, self.side, self.site, self.mode)

    def __str__(self) -> str:
        site = ", ".join(self.site) if isinstance(self.site, tuple) else self.site
        return " ".join(str(part) for part in (self.item, site, self.mode, self.side, self.qualifier) if part)


Target: TypeAlias = Field | ItemColumn


class Unmatched(ValueError):
    """A column's name could not be matched; the message says why, or what may be meant.

    `meant` are the fields and items that may be; `known` is whether the name says something that is not yet enough.
    """

    def __init__(self, message: str, meant: Sequence[str] = (), *, known: bool = True) -> None:
        super().__init__(message)
        self.meant = tuple(meant)
        self.known = known


def folded(name: str) -> str:
    """A column's name for comparison: no case, no punctuation, single spaces."""
    return _PUNCTUATION.sub(" ", name.replace("\u2019", "'").casefold()).strip()


def _field(raw: Mapping[str, Any]) -> Field:
    codes = {folded(text): code for code, texts in raw.get("codes", {}).items() for text in texts}
    names = tuple(raw["names"])
    told = raw.get("words", names[0])
    return Field(raw["path"], raw["kind"], names, codes, raw.get("sample", ""), raw.get("about", ""), told)


@cache
def _told() -> Mapping[str, Any]:
    return tomllib.loads(resources.files("letterkit.bulk").joinpath("fields.toml").read_text(encoding="utf-8"))


@cache
def fields() -> Mapping[str, Field]:
    """The fields by path, in the order of a new workbook."""
    return {raw["path"]: _field(raw) for raw in _told()["field"]}


def part_words(part: str) -> str:
    """What else is said of an item (severity, onsetS, active and so on), in words."""
    words: str = _told()["parts"][part]
    return words


def target_words(target: Target) -> str:
    """What a column holds, in words."""
    if isinstance(target, Field):
        words = target.words
    else:
        known = catalogue()
        sites = target.site if isinstance(target.site, tuple) else (target.site,) if target.site else ()
        part = target.qualifier or target.mode
        told = (*(known.sites[site].name for site in sites), target.side, part_words(part) if part else "")
        words = ", ".join(each for each in (known.items[target.item].name, *told) if each)
    return words[:1].upper() + words[1:]


@cache
def _field_names() -> Mapping[str, Field]:
    named: dict[str, Field] = {}
    for field in fields().values():
        for name in (field.path, *field.names):
            known = named.setdefault(folded(name), field)
            if known is not field:
                raise AssertionError(f"fields.toml: {name!r} means both {known.path} and {field.path}")
    return named


@cache
def _item_names() -> Mapping[str, str]:
    named: dict[str, str] = {}
    clashing: set[str] = set()
    for term, slug in catalogue().terms.items():
        name = folded(term)
        if named.setdefault(name, slug) != slug:
            clashing.add(name)  # terms that punctuation alone tells apart are left to their full spelling
    return {name: slug for name, slug in named.items() if name not in clashing}


@cache
def _unsettled() -> Mapping[str, Sequence[str]]:
    found: dict[str, list[str]] = {}
    for item in catalogue().items.values():
        for term in item.ambiguous:
            found.setdefault(folded(term), []).append(item.slug)
    return found


def _peel(words: list[str]) -> tuple[Sides | None, list[str]]:
    """The side at either end of a name, and the words without it."""
    for at in (-1, 0):
        if len(words) > 1 and words[at] in _SIDE_WORDS:
            side = parse_sides(words[at])
            rest = words[:-1] if at else words[1:]
            if rest and any(word in _SIDE_WORDS for word in (rest[0], rest[-1])):
                raise Unmatched("names two sides; give each a column of its own")
            return side, rest  # type: ignore[return-value]
    return None, words


def _item_and_site(words: Sequence[str], known: Catalogue) -> tuple[Item, str | tuple[str, ...] | None] | None:
    """The longest run of words that names an item, the rest being its site."""
    names = _item_names()
    whole = " ".join(words)
    if whole in names:
        return known.items[names[whole]], None
    fault = ""
    for length in range(len(words) - 1, 0, -1):
        for start in (0, len(words) - length):
            slug = names.get(" ".join(words[start : start + length]))
            rest = " ".join(words[:start] or words[start + length :])
            if slug is None:
                continue
            try:
                sites = tuple(site for site in parse_site(rest, known.items[slug], known) if site)
            except UnreadSite as error:
                fault = fault or f"{known.items[slug].name}: {error}"
                continue
            return known.items[slug], sites[0] if len(sites) == 1 else sites
    if fault:
        raise Unmatched(fault)
    return None


def _item_column(name: str, known: Catalogue) -> ItemColumn | None:
    unit = _UNIT.search(name)
    words = folded(_UNIT.sub(" ", name).replace("B/L", "bilateral").replace("b/l", "bilateral")).split()
    side, words = _peel(words)
    qualifier = None
    if _item_and_site_or_none(words, known) is None:
        for length in (2, 1):
            if len(words) > length and (qualifier := _QUALIFIERS.get(" ".join(words[-length:]))):
                words = words[:-length]
                break
    if side is None:
        side, words = _peel(words)
    mode = next((_MODES[words[at]] for at in (0, -1) if len(words) > 1 and words[at] in _MODES), None)
    if mode and _item_and_site_or_none(words, known) is None:
        words = words[1:] if words[0] in _MODES else words[:-1]
    else:
        mode = None
    if not words:
        return None
    if (term := " ".join(words)) in _unsettled():
        meant = _unsettled()[term]
        names = " or ".join(known.items[slug].name for slug in meant)
        raise Unmatched(f"may mean {names}; say which in the mapping file", meant)
    found = _item_and_site(words, known)
    if found is None:
        return None
    item, site = found
    return _checked(ItemColumn(item.slug, side, site, mode, qualifier), item, unit[1] if unit else "")


def _item_and_site_or_none(words: Sequence[str], known: Catalogue) -> object:
    try:
        return _item_and_site(words, known) if words else None
    except Unmatched:
        return None


def _checked(column: ItemColumn, item: Item, unit: str) -> ItemColumn:
    if column.side is not None and not item.paired:
        raise Unmatched(f"{item.name} has no side")
    if item.sites and column.site is None and len(item.sites) > 1:
        example = f"{item.name}, {catalogue().sites[item.sites[0]].name}"
        why = f"{item.name} needs a site in the column's name, for example {example}"
        raise Unmatched(why, (item.slug,))
    given = _UNITS.get(unit.casefold(), unit.casefold())
    if given and column.qualifier is None and given != item.unit:
        raise Unmatched(f"is in {unit}, but {item.name} is recorded in {item.unit or 'no unit'}; convert the column")
    if column.qualifier not in {None, "note", "grading"}:
        wanted = Qualifier(_SNAKE.get(column.qualifier or "", column.qualifier or ""))
        if wanted not in item.qualifiers:
            raise Unmatched(f"{item.name} takes no {part_words(column.qualifier)}")
    if column.mode and Qualifier.MODE not in item.qualifiers:
        raise Unmatched(f"{item.name} is not told apart as active and passive")
    return column


def match(name: str) -> Target:
    """The field or item that a column's name stands for. Raises `Unmatched` with the nearest names, or why not."""
    if not name.strip():
        raise Unmatched("has no name", known=False)
    known = catalogue()
    plain = folded(name)
    if plain in _field_names():
        return _field_names()[plain]
    column = _item_column(name, known)
    if column is not None:
        return column
    from difflib import get_close_matches  # noqa: PLC0415 - only for a name that is not known

    near = get_close_matches(plain, [*_field_names(), *_item_names()], n=3, cutoff=0.6)
    meant = dict.fromkeys(_field_names()[each].path if each in _field_names() else _item_names()[each] for each in near)
    names = " or ".join(fields()[each].words if each in fields() else known.items[each].name for each in meant)
    why = f"is not known; did you mean {names}?" if meant else f"{shown(name)} is not known"
    raise Unmatched(why, tuple(meant), known=False)


def by_own_name(name: str, target: Target) -> bool:
    """Whether a column that was matched bears the usual name of what it holds, and not a synonym of it."""
    plain = folded(name)
    if isinstance(target, Field):
        return plain in {folded(target.path), folded(target.names[0])}
    item = catalogue().items[target.item]
    return any(f" {folded(own)} " in f" {plain} " for own in (item.name, item.slug))


def target_name(target: Target) -> str:
    """What a column holds, as a mapping file names it."""
    return target.path if isinstance(target, Field) else str(target)


def naming(column: ItemColumn) -> str | None:
    """A name that `match` reads as that column; None where the column can only be named in words of one's own."""
    known = catalogue()
    word = next((word for word, qualifier in _QUALIFIERS.items() if qualifier == column.qualifier), None)
    sites = [column.site, known.sites[column.site].name] if isinstance(column.site, str) else [""]
    for site in sites:
        parts = (column.item, site, column.mode, column.side, word)
        name = " ".join(str(part) for part in parts if part)
        try:
            if match(name) == column:
                return name
        except Unmatched:
            continue
    return None
