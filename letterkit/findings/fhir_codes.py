"""Coded concepts of FHIR read in the words of the catalogue: which item, which site, which side, which unit.

A side is taken from wherever a sender may have put it. Sources that disagree are refused; words that name two sides
are no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from letterkit.catalogue import Catalogue
from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item
from letterkit.findings.facts import find_item
from letterkit.findings.fhir_bundle import Element, refused
from letterkit.findings.places import UnreadSite, parse_site
from letterkit.findings.sides import Sides

SYSTEMS = codes().systems
LATERALITY_URL = "urn:letterkit:extension:laterality"
BODY_STRUCTURE_URL = "http://hl7.org/fhir/StructureDefinition/bodySite"
_SIDE_WORD = re.compile(r"\b(left|right|both|bilateral)\b", re.IGNORECASE)
_NOT_A_SIDE = re.compile(r"\b(left over|right[- ]handed|left[- ]handed|right angles?)\b", re.IGNORECASE)
_EXPRESSION = re.compile(r"^\s*(?P<site>\d{6,18})\b")
_LEFTOVER = re.compile(r"^(?:\s|[,;:()\-–/]|\b(?:of|on|the|side|hand side|sides)\b)*$", re.IGNORECASE)
_LONGEST_TERM = 200


@dataclass(frozen=True, slots=True)
class Profile:
    """How one sender codes what FHIR leaves open.

    `laterality_urls` are the extensions that hold a side, `body_structure_urls` those that refer to a BodyStructure.
    `items` maps (system, code) to the slug of an item, `sites` to the slug of a site and the side the code holds.
    """

    laterality_urls: frozenset[str] = frozenset({LATERALITY_URL})
    body_structure_urls: frozenset[str] = frozenset({BODY_STRUCTURE_URL})
    items: Mapping[tuple[str, str], str] = field(default_factory=dict)
    sites: Mapping[tuple[str, str], tuple[str | None, Sides | None]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Coding:
    """One code with its system and the sender's words for it."""

    system: str
    code: str
    display: str


@dataclass(frozen=True, slots=True)
class Concept:
    """A CodeableConcept: its codings and its words."""

    path: str
    codings: tuple[Coding, ...] = ()
    text: str = ""

    def codes_of(self, system: str) -> tuple[str, ...]:
        """The codes it has of one of the systems of `codes.toml`."""
        return tuple(each.code for each in self.codings if each.system == SYSTEMS[system])

    @property
    def words(self) -> tuple[str, ...]:
        """The text, then the displays of the codings."""
        return tuple(words for words in (self.text, *(each.display for each in self.codings)) if words)


@dataclass(frozen=True, slots=True)
class SideSource:
    """A side and the place it was read at."""

    side: Sides
    path: str


def coding(element: Element) -> Coding:
    """One Coding."""
    element.skip("version", "userSelected")
    return Coding(element.text("system") or "", element.text("code") or "", element.text("display") or "")


def concept(element: Element | None) -> Concept:
    """A CodeableConcept; empty where there is none."""
    if element is None:
        return Concept("")
    return Concept(element.path, tuple(coding(each) for each in element.objects("coding")), element.text("text") or "")


def side_in_words(words: str) -> Sides | None:
    """The one side that words name, or None; words that name two different sides name none."""
    found = {word.casefold() for word in _SIDE_WORD.findall(_NOT_A_SIDE.sub(" ", words))}
    if len(found) != 1:
        return None
    word = found.pop()
    return "left" if word == "left" else "right" if word == "right" else "both"


def without_side(words: str) -> str:
    """Words without the side in them: 'Phalen test, left' is 'Phalen test'."""
    return " ".join(_SIDE_WORD.sub(" ", words).split()).strip(" ,;:()-–/")


def is_side_alone(given: Concept) -> Sides | None:
    """The side, where a concept says a side and nothing else."""
    snomed = {codes().sides[code] for code in given.codes_of("snomed") if code in codes().sides}
    others = [each for each in given.codings if each.system != SYSTEMS["snomed"] or each.code not in codes().sides]
    if len(snomed) == 1 and not others:
        return snomed.pop()
    side = side_in_words(given.text)
    return side if side and not given.codings and _LEFTOVER.match(without_side(given.text)) else None


def _expression_sides(code: str) -> Iterator[Sides]:
    attribute = codes().laterality_attribute.code
    for match in re.finditer(rf"\b{attribute}\b[^=]*=\s*(\d+)", code):
        if (side := codes().sides.get(match[1])) is not None:
            yield side


def _own_site(code: str, catalogue: Catalogue) -> tuple[str | None, Sides | None]:
    """A site of the catalogue, plain (`index`) or with its side (`left_index`)."""
    if code in catalogue.sites:
        return code, None
    prefix, _, rest = code.partition("_")
    if prefix in {"left", "right", "both"} and rest in catalogue.sites:
        return rest, prefix  # type: ignore[return-value]  # one of the three sides
    return None, None


def sides_in(given: Concept, profile: Profile, catalogue: Catalogue) -> Iterator[SideSource]:
    """Every side a concept holds: in a side's own code, in a site's code, in an expression, or in words."""
    for each in given.codings:
        if each.system == SYSTEMS["snomed"]:
            if (side := codes().sides.get(each.code)) is not None:
                yield SideSource(side, given.path)
            yield from (SideSource(side, given.path) for side in _expression_sides(each.code))
        if each.system == SYSTEMS["site"] and (side := _own_site(each.code, catalogue)[1]) is not None:
            yield SideSource(side, given.path)
        if (side := profile.sites.get((each.system, each.code), (None, None))[1]) is not None:
            yield SideSource(side, given.path)
    yield from (SideSource(side, given.path) for words in given.words if (side := side_in_words(words)) is not None)


def agreed_side(sources: Sequence[SideSource], owner: str) -> Sides | None:
    """The side on which all sources agree, None where there is none. Raises `InvalidInput` where they disagree."""
    by_side: dict[Sides, str] = {}
    for source in sources:
        by_side.setdefault(source.side, source.path)
    if len(by_side) > 1:
        told = " but ".join(f"{side} at {path}" for side, path in by_side.items())
        raise refused(owner, f"the side is {told}; correct the one that is wrong")
    return next(iter(by_side), None)


def site_of(given: Concept, item: Item, profile: Profile, catalogue: Catalogue) -> str | tuple[str, ...] | None:
    """The site a concept names, as an encounter takes it. Raises `InvalidInput` where codes and words disagree.

    None where it names only a side, or the item is recorded without a site.
    """
    coded: list[str] = []
    for each in given.codings:
        slug: str | None = None
        if each.system == SYSTEMS["site"]:
            slug = _own_site(each.code, catalogue)[0]
            if slug is None:
                raise refused(
                    given.path, "names a site that the catalogue does not know; letterkit catalogue lists them"
                )
        elif (known := profile.sites.get((each.system, each.code))) is not None:
            slug = known[0]
        elif each.system == SYSTEMS["snomed"] and (match := _EXPRESSION.match(each.code)):
            slug = profile.sites.get((each.system, match["site"]), (None, None))[0]
        if slug and slug not in coded:
            coded.append(slug)
    told = [words for words in map(without_side, given.words) if not _LEFTOVER.match(words)]
    if not item.sites:
        return None
    parsed: list[tuple[str | None, ...]] = []
    for words in told:
        try:
            parsed.append(parse_site(words, item, catalogue))
        except UnreadSite:
            continue
    if len({*parsed, *([tuple(coded)] if coded else [])}) > 1:
        raise refused(given.path, f"names different sites for {item.slug}; give one")
    if coded:
        return coded[0] if len(coded) == 1 else tuple(coded)
    if parsed:
        return tuple(site for site in parsed[0] if site)
    return told[0][:_LONGEST_TERM] if told else None


def words_unread(given: Concept, item: Item, catalogue: Catalogue) -> bool:
    """Whether the text of a concept names, beside the side, something that is no site of the item."""
    words = without_side(given.text)
    if not item.sites or _LEFTOVER.match(words):
        return False
    try:
        parse_site(words, item, catalogue)
    except UnreadSite:
        return True
    return False


def site_is_unused(given: Concept, item: Item) -> bool:
    """Whether a concept says where for an item that is recorded without a site."""
    told = any(not _LEFTOVER.match(without_side(words)) for words in given.words)
    other = any(not (each.system == SYSTEMS["snomed"] and each.code in codes().sides) for each in given.codings)
    return not item.sites and (told or other) and is_side_alone(given) is None


def item_of(given: Concept, profile: Profile, catalogue: Catalogue) -> Item | None:
    """The item a concept names by our code, the sender's code or its words; None where it is none of the catalogue.

    Raises `InvalidInput` for a code of ours that does not exist, and where codes and words name different items.
    """
    found: dict[str, str] = {}
    for code in given.codes_of("item"):
        if code not in catalogue.items:
            raise refused(given.path, "names an item that the catalogue does not know; letterkit catalogue lists them")
        found.setdefault(code, "its code")
    for each in given.codings:
        if (slug := profile.items.get((each.system, each.code))) is not None:
            found.setdefault(slug, "a code of the profile")
    for words in given.words:
        for term in (words, without_side(words)):
            if 0 < len(term) <= _LONGEST_TERM and term.casefold() in catalogue.terms:
                found.setdefault(find_item(term, catalogue).slug, "its words")
                break
    if len(found) > 1:
        told = " but ".join(f"{slug} by {how}" for slug, how in found.items())
        raise refused(given.path, f"names {told}; correct the one that is wrong")
    return catalogue.items[next(iter(found))] if found else None
