"""Loads and validates the catalogue: TOML in, one frozen `Catalogue` out, or an error naming file and item."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError

from letterkit.catalogue.model import (
    Caution,
    Deferral,
    Definition,
    Digit,
    Group,
    Item,
    PlainSite,
    PresentingProblem,
    Row,
    Scale,
    Site,
    Stage,
    ValueKind,
)
from letterkit.errors import CatalogueError
from letterkit.kept import kept

_D = TypeVar("_D", bound=Definition)


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """Every definition by slug, in the order of the trade, and the index of terms. Compared by identity."""

    digits: Mapping[str, Digit]
    rows: Mapping[str, Row]
    plain_sites: Mapping[str, PlainSite]
    groups: Mapping[str, Group]
    sites: Mapping[str, Site]
    scales: Mapping[str, Scale]
    items: Mapping[str, Item]
    problems: Mapping[str, PresentingProblem]
    cautions: Mapping[str, Caution]
    deferrals: Mapping[str, Deferral]
    terms: Mapping[str, str]  # casefolded name, synonym or earlier slug of an item -> slug
    problem_terms: Mapping[str, str] = field(default_factory=dict)

    def __reduce__(self) -> tuple[Any, ...]:
        return _of_tables, tuple(dict(getattr(self, each.name)) for each in fields(self))


def _of_tables(*tables: dict[str, Any]) -> Catalogue:
    return Catalogue(*map(MappingProxyType, tables))


def _where(file: str, index: int, entry: Mapping[str, Any], kind: str) -> str:
    return f"{file}: {kind} {entry.get('slug', f'number {index + 1}')}"


def _read(file: Traversable) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise CatalogueError(f"{file.name}: not readable as TOML: {error}") from error
    except UnicodeDecodeError as error:
        raise CatalogueError(f"{file.name}: not UTF-8 text: {error.reason} at byte {error.start}") from error
    except OSError as error:
        raise CatalogueError(f"{file.name}: cannot be read: {error.strerror}") from error


def _define(model: type[_D], file: str, kind: str, entries: Iterable[Mapping[str, Any]]) -> dict[str, _D]:
    made: dict[str, _D] = {}
    for index, entry in enumerate(entries):
        try:
            definition = model.model_validate(entry)
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False)[0]
            place = ".".join(str(part) for part in first["loc"])
            raise CatalogueError(f"{_where(file, index, entry, kind)}: {place}: {first['msg']}") from error
        slug: str = definition.slug  # type: ignore[attr-defined]  # every definition loaded here has one
        if slug in made:
            raise CatalogueError(f"{file}: {kind} {slug} is defined twice")
        made[slug] = definition
    return made


def _known(file: str, what: str, name: str, known: Iterable[str]) -> None:
    names = sorted(known)
    if name not in names:
        from difflib import get_close_matches  # noqa: PLC0415 - only when something is wrong

        near = get_close_matches(name, names, n=3)
        hint = f"; did you mean {' or '.join(near)}?" if near else f"; known: {', '.join(names[:40])}"
        raise CatalogueError(f"{file}: {what} names the unknown {name!r}{hint}")


def _expand_sites(
    rows: Mapping[str, Row], plain: Mapping[str, PlainSite], digits: Mapping[str, Digit]
) -> dict[str, Site]:
    sites: dict[str, Site] = {}
    for row in rows.values():
        for slug in row.digits:
            digit = digits[slug]
            name = digit.name if row.slug == "digit" else f"{row.name} of the {digit.name}"
            site_slug = slug if row.slug == "digit" else f"{row.slug}_{slug}"
            sites[site_slug] = Site(
                slug=site_slug, kind=row.kind, row=row.slug, digit=slug, name=name,
                order=row.order * 10 + digit.order, paired=True,
            )  # fmt: skip
    for site in plain.values():
        for whole in (*site.part_of, *filter(None, [site.recorded_for])):
            _known("sites.toml", f"site {site.slug}: part_of or recorded_for", whole, plain)
        if site.slug in sites:
            raise CatalogueError(f"sites.toml: site {site.slug} is defined twice")
        digit_slug = next((d for d in digits if site.slug.endswith(f"_{d}")), None)
        sites[site.slug] = Site(
            slug=site.slug, kind=site.kind, row=None, digit=digit_slug, name=site.name,
            order=site.order * 10, paired=site.paired,
        )  # fmt: skip
    return dict(sorted(sites.items(), key=lambda pair: pair[1].order))


def _selected(
    selector: str, rows: Mapping[str, Row], groups: Mapping[str, Group], sites: Mapping[str, Site]
) -> tuple[str, ...]:
    if selector in rows:
        row = rows[selector]
        return tuple(slug if selector == "digit" else f"{selector}_{slug}" for slug in row.digits)
    if selector in groups:
        return groups[selector].sites
    return (selector,) if selector in sites else ()


def _check_wording(file: str, item: Item) -> None:
    for register in ("doctor", "patient"):
        wording = getattr(item, register)
        if item.value is ValueKind.PRESENCE and wording.noun is None:
            raise CatalogueError(f"{file}: item {item.slug}: {register}.noun is missing; a presence item needs it")
        if item.value is not ValueKind.PRESENCE and wording.subject is None:
            raise CatalogueError(f"{file}: item {item.slug}: {register}.subject is missing; a {item.value} needs it")
        if wording.place.value != "side" and not item.sites:
            raise CatalogueError(
                f"{file}: item {item.slug}: {register}.place is {wording.place} but there are no sites"
            )
    if item.value is ValueKind.TEST and (item.patient.positive is None or item.patient.negative is None):
        raise CatalogueError(
            f"{file}: item {item.slug}: patient.positive and patient.negative are needed: "
            "a patient is told what happened, never that a test was 'positive'"
        )


def _check_item(file: str, item: Item, scales: Mapping[str, Scale]) -> None:
    at = f"item {item.slug}"
    if item.value is ValueKind.STATE:
        if item.scale is None:
            raise CatalogueError(f"{file}: {at}: value is state but no scale is named")
        _known(file, f"{at}: scale", item.scale, scales)
        for register in (item.doctor, item.patient):
            for state in register.states:
                _known(file, f"{at}: states", state, [s.slug for s in scales[item.scale].states])
    elif item.scale is not None:
        raise CatalogueError(f"{file}: {at}: only a state item has a scale, this is a {item.value}")
    if item.value is ValueKind.QUANTITY and (item.unit is None or item.minimum is None or item.maximum is None):
        raise CatalogueError(f"{file}: {at}: a quantity needs unit, minimum and maximum")
    if item.value is ValueKind.ARC and (item.minimum is None or item.maximum is None):
        raise CatalogueError(f"{file}: {at}: an arc needs minimum and maximum in degrees")
    _check_wording(file, item)


def _load_items(
    folder: Traversable,
    scales: Mapping[str, Scale],
    rows: Mapping[str, Row],
    groups: Mapping[str, Group],
    sites: Mapping[str, Site],
    stages: Iterable[Stage],
) -> dict[str, Item]:
    items: dict[str, Item] = {}
    for stage in stages:
        name = f"{stage.value}.toml"
        entries = _read(folder.joinpath(name)).get("item", [])
        prepared = []
        for index, entry in enumerate(entries):
            wanted: list[str] = []
            for selector in entry.get("sites", []):
                found = _selected(selector, rows, groups, sites)
                if not found:
                    _known(name, f"item {entry.get('slug', index + 1)}: sites", selector, [*rows, *groups, *sites])
                wanted += [slug for slug in found if slug not in wanted]
            prepared.append({**entry, "sites": wanted, "stage": stage, "order": index})
        for slug, item in _define(Item, name, "item", prepared).items():
            if slug in items:
                raise CatalogueError(f"{name}: item {slug} is defined in {items[slug].stage.value}.toml too")
            _check_item(name, item, scales)
            items[slug] = item
    return items


def _index_terms(items: Mapping[str, Item]) -> dict[str, str]:
    """Every name and synonym once: a term that two items claim is a wrong side or a wrong sign waiting to happen."""
    terms: dict[str, str] = {}
    for item in items.values():
        names = [item.slug, item.name, *item.synonyms, *item.aliases, *([item.us_name] if item.us_name else [])]
        for term in {name.casefold() for name in names}:
            if term in terms:
                raise CatalogueError(
                    f"{item.stage.value}.toml: item {item.slug}: the term {term!r} also means {terms[term]} "
                    f"({items[terms[term]].stage.value}.toml); remove it from one, or list it under `ambiguous` in both"
                )
            terms[term] = item.slug
    for item in items.values():
        for term in item.ambiguous:
            if term.casefold() in terms:
                raise CatalogueError(
                    f"{item.stage.value}.toml: item {item.slug}: the ambiguous term {term!r} is a plain term of "
                    f"{terms[term.casefold()]}; list it under `ambiguous` there too"
                )
    return terms


def _told_alike(one: Item, other: Item, scales: Mapping[str, Scale]) -> bool:
    """Whether a sentence about one item could be read as about the other."""
    if one.sites and other.sites and not set(one.sites) & set(other.sites):
        return False
    said = [
        {item.doctor.states.get(state.slug, state.doctor) for state in scales[item.scale].states}
        if item.scale
        else None
        for item in (one, other)
    ]
    return said[0] is None or said[1] is None or bool(said[0] & said[1])


def _check_told_apart(items: Mapping[str, Item], scales: Mapping[str, Scale]) -> None:
    """Refuses two items with the same words at the same place: nobody could tell from the letter which was examined."""
    seen: dict[tuple[str | None, str], list[Item]] = {}
    for item in items.values():
        words = item.doctor.noun or item.doctor.subject
        if item.value is ValueKind.MRC:
            words = f"power of {words}"
        alike = seen.setdefault((words, item.doctor.place), [])
        for other in alike:
            if _told_alike(other, item, scales):
                raise CatalogueError(
                    f"{item.stage.value}.toml: item {item.slug}: a doctor reads {words!r} here and of {other.slug} "
                    f"({other.stage.value}.toml) at the same place; give one of them other words or other sites"
                )
        alike.append(item)


def _index_problems(problems: Mapping[str, PresentingProblem]) -> dict[str, str]:
    terms: dict[str, str] = {}
    for problem in problems.values():
        for term in {name.casefold() for name in (problem.slug, problem.name, *problem.aliases)}:
            if term in terms:
                raise CatalogueError(f"problems.toml: problem {problem.slug}: {term!r} also means {terms[term]}")
            terms[term] = problem.slug
    return terms


def load(folder: Traversable, stages: Iterable[Stage] = tuple(Stage)) -> Catalogue:
    """The catalogue in `folder`. Raises `CatalogueError` with file, entry and reason at the first fault."""
    raw = _read(folder.joinpath("sites.toml"))
    digits = _define(Digit, "sites.toml", "digit", raw.get("digit", []))
    rows = _define(Row, "sites.toml", "row", raw.get("row", []))
    plain = _define(PlainSite, "sites.toml", "site", raw.get("site", []))
    groups = _define(Group, "sites.toml", "group", raw.get("group", []))
    for row in rows.values():
        for digit in row.digits:
            _known("sites.toml", f"row {row.slug}", digit, digits)
    sites = _expand_sites(rows, plain, digits)
    for group in groups.values():
        for site in group.sites:
            _known("sites.toml", f"group {group.slug}", site, sites)
    scales = _define(Scale, "scales.toml", "scale", _read(folder.joinpath("scales.toml")).get("scale", []))
    items = _load_items(folder, scales, rows, groups, sites, stages)
    _check_told_apart(items, scales)
    problems = _define(
        PresentingProblem, "problems.toml", "problem", _read(folder.joinpath("problems.toml")).get("problem", [])
    )
    for item in items.values():
        for problem in item.bears_on:
            _known(f"{item.stage.value}.toml", f"item {item.slug}: bears_on", problem, problems)
    for presenting in problems.values():
        for negative in presenting.negatives:
            for slug in negative.items:
                _known("problems.toml", f"problem {presenting.slug}", slug, items)
    raw_cautions = _read(folder.joinpath("cautions.toml"))
    cautions = _define(Caution, "cautions.toml", "caution", raw_cautions.get("caution", []))
    deferrals = _define(Deferral, "cautions.toml", "deferral", raw_cautions.get("deferral", []))
    if cautions and set(deferrals) != {"urgent", "other"}:
        raise CatalogueError("cautions.toml: deferrals: both 'urgent' and 'other' are needed")
    for caution in cautions.values():
        for condition in (*caution.all, *caution.any):
            _known("cautions.toml", f"caution {caution.slug}", condition.item, items)
    return Catalogue(
        digits=MappingProxyType(digits),
        rows=MappingProxyType(rows),
        plain_sites=MappingProxyType(plain),
        groups=MappingProxyType(groups),
        sites=MappingProxyType(sites),
        scales=MappingProxyType(scales),
        items=MappingProxyType(items),
        problems=MappingProxyType(problems),
        cautions=MappingProxyType(cautions),
        deferrals=MappingProxyType(deferrals),
        terms=MappingProxyType(_index_terms(items)),
        problem_terms=MappingProxyType(_index_problems(problems)),
    )


@cache
def catalogue() -> Catalogue:
    """The catalogue that ships with the package, loaded once a process."""
    return kept("catalogue", ("letterkit.catalogue",), lambda: load(resources.files("letterkit.catalogue") / "data"))
