"""Names of places: digits, rows of joints, sites and groups, as pieces that `sites` puts together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import PlainSite

_ORDINALS = (("first", "1st"), ("second", "2nd"), ("third", "3rd"), ("fourth", "4th"), ("fifth", "5th"))
_SIDES = {"right": "right", "left": "left", "both": "both", "either": "both"}
CARRIERS = frozenset({"hand", "wrist", "forearm", "elbow", "arm", "upper_limb"})  # sites that may only carry a side
_ARM = {"upper limb", "upper extremity"}


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a place: a digit, a row of like sites, a site, a group, an ordinal, or another part of the body."""

    kind: str  # digit, digits, row, site, sites, ordinal, nerve (only in a list of nerve areas), elsewhere
    slugs: tuple[str, ...]
    side: str | None = None
    plural: bool = False
    order: int = 0
    look: str = ""


def _of_the(name: str) -> tuple[str, str] | None:
    head, of, tail = name.partition(" of the ")
    return (head, tail) if of else None


def sided(name: str, slug: str) -> Iterator[tuple[str, Piece]]:
    """'dorsum of the right hand' for the name 'dorsum of the hand'."""
    if not (parts := _of_the(name)):
        return
    head, tail = parts
    for word, side in _SIDES.items():
        several = f"{tail}s" if word == "both" else tail
        article = "" if word in {"both", "either"} else "the "
        yield f"{head} of {article}{word} {several}", Piece("site", (slug,), side)
        for owner in ("his", "her", "their"):
            yield f"{head} of {owner} {word} {several}", Piece("site", (slug,), side)
    for owner in ("his", "her", "their", ""):
        yield f"{head} of {owner} {tail}".replace("  ", " "), Piece("site", (slug,))
        yield f"{head} of {owner or 'the'} {tail}s", Piece("site", (slug,), plural=True)


def _nerve_pieces(site: PlainSite) -> Iterator[tuple[str, Piece]]:
    """A nerve's name alone means its area only in a list of areas or beside sensation."""
    if not site.name.endswith(" nerve area"):
        return
    nerve = site.name.removesuffix(" nerve area")
    for name in dict.fromkeys((nerve, nerve.removeprefix("superficial "))):
        yield name, Piece("nerve", (site.slug,))
        yield f"{name} nerve", Piece("nerve", (site.slug,))
        yield f"{name} nerves", Piece("nerve", (site.slug,))
        yield f"{name} nerve areas", Piece("site", (site.slug,))
        yield f"{name} nerve distribution", Piece("site", (site.slug,))
        yield f"{name} nerve territory", Piece("site", (site.slug,))
        for several in ("distributions", "territories"):
            yield f"{name} {several}", Piece("site", (site.slug,))
            yield f"{name} nerve {several}", Piece("site", (site.slug,))


def _arm_pieces() -> Iterator[tuple[str, Piece]]:
    """The upper limb in its usual words and short forms."""
    for word, side in (("R", "right"), ("L", "left"), ("B", "both")):
        for limb in ("UE", "UL"):
            yield f"{word}{limb}", Piece("site", ("upper_limb",), side)
    for word in ("right", "left"):
        for limb in ("UE", "UL"):
            yield f"{word} {limb}", Piece("site", ("upper_limb",), word)
    yield "UL", Piece("site", ("upper_limb",))
    yield "arm", Piece("site", ("upper_limb",))
    yield "arms", Piece("site", ("upper_limb",), plural=True)
    for words in (
        "upper and lower extremities",
        "upper and lower limbs",
        "upper and lower extremity",
        "upper and bilateral lower limbs",
        "upper and bilateral lower extremities",
    ):
        yield words, Piece("site", ("upper_limb",), plural=True)
    yield "upper extremities", Piece("site", ("upper_limb",), plural=True)


def _site_pieces(catalogue: Catalogue) -> Iterator[tuple[str, Piece]]:
    for site in catalogue.plain_sites.values():
        for name in (site.name, *site.aliases):
            yield name, Piece("site", (site.slug,))
            if name.replace(" ", "").isalpha() and not name.endswith("s") and name.islower():
                several = site.paired and site.kind != "muscle"  # 'the right thenars' are of one hand
                yield f"{name}s", Piece("site", (site.slug,), plural=several)
                if name in _ARM:
                    yield name.replace("extremity", "extremities"), Piece("site", (site.slug,), plural=True)
            yield from sided(name, site.slug)
        yield site.plural, Piece("site", (site.slug,), plural=site.paired)
        if parts := _of_the(site.plural):
            yield f"{parts[0]} of both {parts[1]}", Piece("site", (site.slug,), "both")
        yield from _nerve_pieces(site)
    yield from _arm_pieces()
    for digit in catalogue.digits.values():  # the tip of a digit is its pulp
        yield f"tip of the {digit.name}", Piece("site", (f"pulp_{digit.slug}",))


def _row_pieces(catalogue: Catalogue) -> Iterator[tuple[str, Piece]]:
    for row in catalogue.rows.values():
        if row.slug == "digit":
            continue
        for name in (row.name, *row.aliases):
            yield name, Piece("row", (row.slug,))
            if name[-1].isalpha() and not name.endswith("s"):
                yield f"{name}s", Piece("row", (row.slug,), plural=True)
        yield row.plural, Piece("row", (row.slug,), plural=True)
        if row.name.endswith("phalangeal joint"):
            yield row.name.removesuffix(" joint"), Piece("row", (row.slug,))
        yield f"{row.name} joint", Piece("row", (row.slug,))
    yield "ip joints", Piece("row", ("ip",), plural=True)


WHICH_LF = "LF is the little finger in Britain and the long (middle) finger in America"

WHICH_IF = "RIF and LIF are an index finger in a note of the hand and an iliac fossa in one of the belly"


def _digit_pieces(catalogue: Catalogue, language: str) -> Iterator[tuple[str, Piece]]:
    by_order = {digit.order: digit.slug for digit in catalogue.digits.values()}
    for digit in catalogue.digits.values():
        names = {digit.name, digit.slug, digit.short, *digit.aliases}
        if language == "en-US" and digit.us_name:
            names |= {digit.us_name, digit.us_name.split()[0]}
        for name in names - {"first ray", "second ray", "third ray", "fourth ray", "fifth ray"}:
            if not any(mark in name for mark in ("1st", "2nd", "3rd", "4th", "5th")):
                yield name, Piece("digit", (digit.slug,))
        yield digit.plural, Piece("digit", (digit.slug,), plural=True)
        if digit.slug == "thumb":
            yield "thumbs", Piece("digit", ("thumb",), plural=True)
        for name in _ORDINALS[digit.order - 1]:
            yield name, Piece("ordinal", (digit.slug,), order=digit.order)
        yield f"# {digit.order}", Piece("ordinal", (digit.slug,), order=digit.order)
    little = by_order[5] if language == "en-GB" else by_order[3]
    yield from _sided_digits(by_order)
    for name in ("LF", "L/F"):
        yield name, Piece("digit", (little,), look=WHICH_LF)
    if language == "en-US":
        yield "SF", Piece("digit", (by_order[5],))
    for name in ("digits", "fingers and thumb", "thumb and fingers", "digits and thumb"):
        yield name, Piece("digits", tuple(by_order[order] for order in range(1, 6)), plural=True)
    yield from _halves(by_order)
    for name in ("digit", "finger"):
        yield name, Piece("digits", ())


def _sided_digits(by_order: dict[int, str]) -> Iterator[tuple[str, Piece]]:
    """'LMF', 'RRF': a digit of one hand in three letters; 'RIF' is a part of the belly too."""
    for letter, side in (("R", "right"), ("L", "left")):
        yield f"{letter}IF", Piece("digit", (by_order[2],), side, look=WHICH_IF)
        yield f"{letter}MF", Piece("digit", (by_order[3],), side)
        yield f"{letter}RF", Piece("digit", (by_order[4],), side)


def _halves(by_order: dict[int, str]) -> Iterator[tuple[str, Piece]]:
    """'the ulnar one and a half digits': the ring finger only in half, which is asked about."""
    look = "half of the ring finger is meant"
    for head, counts, orders in (
        ("ulnar", ("1 1/2", "one and a half", "1.5", "one and one half"), (4, 5)),
        ("radial", ("3 1/2", "three and a half", "3.5", "three and one half"), (1, 2, 3, 4)),
    ):
        for count in counts:
            for noun in ("digits", "fingers"):
                yield (
                    f"{head} {count} {noun}",
                    Piece("digits", tuple(by_order[each] for each in orders), None, look=look),
                )


def pieces(catalogue: Catalogue, language: str) -> Iterator[tuple[str, Piece]]:
    """Every phrase that names a part of a place, with the part."""
    yield from _digit_pieces(catalogue, language)
    for group in catalogue.groups.values():
        kind = "digits" if all(catalogue.sites[slug].row == "digit" for slug in group.sites) else "sites"
        for name in (group.slug.replace("_", " "), *group.aliases):
            yield name, Piece(kind, group.sites, plural=True)
    yield from _row_pieces(catalogue)
    yield from _site_pieces(catalogue)
