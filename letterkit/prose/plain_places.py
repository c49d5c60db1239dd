"""Where, in plain English: 'the hollow at the base of your right thumb', 'either wrist', 'both your hands'.

The catalogue's words for a patient say "your" before the part of the body that takes the side. Here the side is put in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Row
from letterkit.findings.sides import Side
from letterkit.prose.words import listed
from letterkit.summary.statement import PlaceRef

_PARTS = (
    "hand", "wrist", "thumb", "palm", "forearm", "elbow", "upper arm", "arm", "armpit", "ear", "funny bone", "shoulder",
    "index finger", "middle finger", "long finger", "ring finger", "little finger", "small finger",
)  # fmt: skip
_YOUR = re.compile(rf"\byour (?P<part>{'|'.join(_PARTS)})(?![\w-])")
_YOURS = re.compile(rf"\byour (?={'|'.join(f'{part}s' for part in _PARTS)}\b)")
_BETWEEN = re.compile(r"\bbetween your thumb and\b")
_ALL_FINGERS = ("index", "middle", "ring", "little")

# 'The thumb side' of a thumb, or 'the little finger side' of a little finger, says nothing. American letters have the
# small finger for the little one.
_EDGES = {
    "thumb": ((re.compile(r"\bthe thumb side"), "the outer side"),
              (re.compile(r"\bthe (?:little|small) finger side"), "the inner side")),
    "little": ((re.compile(r"\bthe (?:little|small) finger side"), "the outer side"),),
}  # fmt: skip


def edge(site: str | None, catalogue: Catalogue) -> str:
    """The digit, where words about its sides need care: the thumb or the little finger; otherwise nothing."""
    place = catalogue.sites[site] if site else None
    return place.digit if place and place.row and place.digit in _EDGES else ""


def at_the_edge(words: str, digit: str) -> str:
    """The words about one digit with a side of it named so that it makes sense on that digit."""
    for found, put in _EDGES.get(digit, ()):
        words = found.sub(put, words)
    return words


def takes_side(words: str) -> bool:
    """Whether the words name a part of the body that a side can be put to."""
    return _YOUR.search(words) is not None


def with_side(words: str, side: Side | None) -> str:
    """'your thumb' as 'your right thumb'; unchanged without a side."""
    return _YOUR.sub(rf"your {side} \g<part>", words) if side else words


def _last(words: str, form: str) -> str:
    found = list(_YOUR.finditer(words))
    if not found:
        return words
    match = found[-1]
    return words[: match.start()] + form.format(match["part"]) + words[match.end() :]


def with_both(words: str) -> str:
    """'the base of your thumb' as 'the base of both your thumbs'; between two digits, the sides follow."""
    if _BETWEEN.search(words):
        return f"{words} on both sides"
    return _last(words, "both your {}s")


def with_either(words: str) -> str:
    """'the base of your thumb' as 'the base of either thumb', for use after a 'no'."""
    return _last(words, "either {}")


def side_words(sides: frozenset[Side | None], *, negated: bool = False) -> str:
    """'on your right side', 'on both sides', 'on either side' after a negation; nothing where no side applies."""
    if sides >= {"right", "left"}:
        return "on either side" if negated else "on both sides"
    return f"on your {next(iter(sides))} side" if sides - {None} else ""


def _names(digits: Sequence[str], catalogue: Catalogue, *, negated: bool) -> str:
    """'thumb, index and middle fingers' for several digits; 'thumb, index or middle finger' after a 'no'."""
    table = catalogue.digits
    fingers = [digit for digit in digits if digit != "thumb"]
    words = [table[digit].patient.removesuffix(" finger") for digit in fingers]
    tail = "fingers" if len(fingers) > 1 and not negated else "finger"
    return f"{listed((['thumb'] if 'thumb' in digits else []) + words, 'or' if negated else 'and')} {tail}"


def _digits(digits: Sequence[str], sides: frozenset[Side | None], catalogue: Catalogue, *, negated: bool) -> str:
    both = sides >= {"right", "left"}
    side = next(iter(sides))
    if len(digits) == 1:
        digit = catalogue.digits[digits[0]]
        if both:
            return f"either {digit.patient}" if negated else f"both your {digit.patient_plural}"
        return f"your {side} {digit.patient}" if side else f"your {digit.patient}"
    names = _names(digits, catalogue, negated=negated)
    whole = tuple(digit for digit in digits if digit != "thumb") == _ALL_FINGERS
    if not both and not whole:
        return f"your {side} {names}" if side else f"your {names}"
    hand = ("either hand" if negated else "both your hands") if both else f"your {side} hand" if side else "your hand"
    if whole:
        fingers = "any finger" if negated else "all four fingers"
        joiner = "or" if negated else "and"
        return f"the thumb {joiner} {fingers} of {hand}" if "thumb" in digits else f"{fingers} of {hand}"
    return f"the {names} of {hand}"


def _of_row(
    row: Row, digits: Sequence[str], sides: frozenset[Side | None], catalogue: Catalogue, *, negated: bool
) -> str:
    words = _digits(digits, sides, catalogue, negated=negated)
    if row.slug == "digit":
        return words
    several = not negated and (len(digits) > 1 or sides >= {"right", "left"})
    return f"{row.patient_plural if several else row.patient} {words}"


def _of_site(slug: str, sides: frozenset[Side | None], catalogue: Catalogue, *, negated: bool) -> str:
    site = catalogue.plain_sites[slug]
    words = site.patient if "your" in site.patient else f"your {site.patient}"
    if sides - {None} and not takes_side(words):  # the neck has two sides, but there are not two of it
        lead = ("either side" if negated else "both sides") if len(sides) > 1 else f"the {next(iter(sides))} side"
        return f"{lead} of {words}"
    if sides >= {"right", "left"}:
        plural = site.patient_plural if "your" in site.patient_plural else f"your {site.patient_plural}"
        return with_either(words) if negated else _YOURS.sub("both your ", plural, count=1)
    return with_side(words, next(iter(sides)))


def spots(places: Iterable[PlaceRef], catalogue: Catalogue, *, negated: bool = False) -> list[str]:
    """Noun phrases that together name every place once; digits and sides are only ever joined as recorded."""
    sides: dict[tuple[str, str | None], set[Side | None]] = {}  # row and digit, or site, to its sides
    for place in places:
        assert place.site is not None
        site = catalogue.sites[place.site]
        sides.setdefault((site.row, site.digit) if site.row else (place.site, None), set()).add(place.side)
    grouped: dict[tuple[str, frozenset[Side | None]], list[str | None]] = {}
    for (name, digit), found in sides.items():
        grouped.setdefault((name, frozenset(found)), []).append(digit)
    phrases = []
    for (name, where), digits in grouped.items():
        if name in catalogue.rows and digits != [None]:
            order = [digit for digit in catalogue.digits if digit in digits]
            phrases.append(_of_row(catalogue.rows[name], order, where, catalogue, negated=negated))
        else:
            phrases.append(_of_site(name, where, catalogue, negated=negated))
    return phrases


def spots_phrase(places: Iterable[PlaceRef], preposition: str, catalogue: Catalogue, *, negated: bool = False) -> str:
    """'over your right wrist and over your left elbow'."""
    phrases = [f"{preposition} {spot}" for spot in spots(places, catalogue, negated=negated)]
    return listed(phrases, "or" if negated else "and")
