"""Places as values: a side, a site, or joints without a digit, and what to ask about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, ValueKind
from letterkit.findings.sides import Sides

OPPOSITE = {"left": "right", "right": "left"}
FINGERS = frozenset({"index", "middle", "ring", "little"})
DIGITS = ("thumb", "index", "middle", "ring", "little")  # of a hand, in their order
_THERE = frozenset({ValueKind.PRESENCE, ValueKind.TEST})
OF_OTHER_SIDE = "the part is that of the other side, spoken of before"
_SIDES_OF_A_WRIST = {"radial_side": "radial_wrist", "ulnar_side": "ulnar_wrist"}
FACES_OF_THE_HAND = {"dorsum": "dorsal", "palm": "volar"}
_OF_THE_HAND = frozenset({"hand", "dorsum", "palm", "upper_limb", "thenar_eminence", "hypothenar_eminence", "fingers"})


@dataclass(frozen=True, slots=True)
class Place:
    """One place: its side as said, `None` where none was, and a site; `row` for joints named without a digit."""

    side: str | None = None
    site: str | None = None
    row: str | None = None
    plural: bool = False


@dataclass(frozen=True, slots=True)
class Places:
    """What a phrase names. `elsewhere` where it names only other parts of the body; `look` what to ask about it."""

    places: tuple[Place, ...] = ()
    look: tuple[str, ...] = ()
    elsewhere: bool = False

    @property
    def side(self) -> str | None:
        """The side where all places share one."""
        if len(self.places) == 1:
            return self.places[0].side  # nearly all
        sides = {place.side for place in self.places}
        return sides.pop() if len(sides) == 1 else None

    @property
    def has_site(self) -> bool:
        """Whether a site or a row of joints was named, and not only a side."""
        for place in self.places:  # noqa: SIM110 - asked often: quicker than a generator
            if place.site or place.row:
                return True
        return False


def on_side(place: Place, side: str | None) -> Place:
    """The same place on this side."""
    return Place(side, place.site, place.row, place.plural)


def wider(site: str) -> str:
    """The site that an item is recorded for where it has none of this name; empty where the catalogue names none."""
    plain = catalogue().plain_sites.get(site)
    return (plain.recorded_for if plain is not None else "") or ""


def whole_hand(named: tuple[Place, ...], items: Sequence[Item]) -> tuple[Place, ...]:
    """'Tremor of the left fingers': of the hand, where no item of the words is recorded at a digit.

    What is told of on a scale may be another in the rest of it: 'the other fingers are normal', and the thumb is not.
    """
    if not all("hand" in item.sites and FINGERS.isdisjoint(item.sites) and item.value in _THERE for item in items):
        return named
    sides = dict.fromkeys(place.side for place in named if place.site in FINGERS)
    whole = [side for side in sides if {place.site for place in named if place.side == side} >= FINGERS]
    others = (place for place in named if place.side not in whole or place.site not in DIGITS)
    return (*(Place(side, "hand") for side in whole), *others)


def lies_in(place: Place, whole: str) -> bool:
    """Whether a place is a part of another: the lunate of the wrist, the ring finger of the hand."""
    site = place.site or place.row or ""
    of_a_digit = bool(place.row) or site.rpartition("_")[2] in DIGITS
    if whole == "upper_limb":
        return site not in {"", "upper_limb", "axilla", "neck", "ear"}
    plain = catalogue().plain_sites.get(site)
    return (plain is not None and whole in plain.part_of) or (whole == "hand" and of_a_digit)


def unsided(places: Places) -> Places:
    """The sites without their sides."""
    made = tuple(Place(None, each.site, each.row) for each in places.places if each.site or each.row)
    return Places(tuple(dict.fromkeys(made)), places.look, places.elsewhere)


def of_other_side(places: Places) -> Places:
    """The sites of one side for a sentence of the other; whether it is of them is to be asked."""
    return replace(unsided(places), look=(*places.look, OF_OTHER_SIDE))


def sides_of(side: str | None) -> Sides | None:
    """The side as the encounter records it; None for one that only the context can tell."""
    return side if side in {"left", "right", "both"} else None  # type: ignore[return-value]


def _is_known(place: Place) -> bool:
    """Whether there is such a place: a thumb has no middle joint."""
    return place.site in catalogue().sites


def of_row(made: Places, source: Places) -> Places:
    """'PIP joint: 0-95 in the ring finger': digits named after a joint that was named without one."""
    rows = [place.row for place in source.places if place.row and not place.site]
    if len(rows) != 1 or len(source.places) != 1 or not all(place.site in DIGITS for place in made.places):
        return made
    side = source.side
    found = tuple(Place(place.side or side, f"{rows[0]}_{place.site}") for place in made.places)
    return Places(found, made.look, made.elsewhere) if all(_is_known(place) for place in found) else made


def row_of(places: Places) -> Places:
    """The joints of places without their digits: of 'PIP of index and middle' the PIP."""
    rows = {place.site.rpartition("_")[0] for place in places.places if place.site and "_" in place.site}
    if len(rows) != 1:
        return places
    return Places((Place(places.side, None, rows.pop()),), places.look, places.elsewhere)


def with_digits(made: Places, source: Places) -> Places:
    """'RF ... MCPJ': joints named without a digit are those of the digit named before."""
    if not any(place.row and not place.site for place in made.places):
        return made
    digits = [place.site for place in source.places if place.site in DIGITS]
    digits = digits or [
        place.site.rpartition("_")[2]
        for place in source.places
        if place.site and place.site.rpartition("_")[2] in DIGITS
    ]
    if not digits or (len(digits) == 1 and any(place.row and place.plural for place in made.places)):
        return made  # of 'the ring finger is swollen, the nails are pitted' the nails are not those of one finger
    sides = {place.side for place in source.places}
    if len(digits) == 1 and sides <= OPPOSITE.keys() and any(place.side == "both" for place in made.places):
        return made  # 'Dactylitis R MF. No synovitis MCPJs, PIPJs, wrists': of both hands
    side = sides.pop() if len(sides) == 1 else None
    filled: list[Place] = []
    for place in made.places:
        if place.row and not place.site:
            found = [Place(place.side or side, f"{place.row}_{digit}") for digit in dict.fromkeys(digits)]
            filled += [each for each in found if _is_known(each)] or [place]
        else:  # 'Right thumb: the IP and MP joints', of which the IP is only the thumb's; 'L ring: cord palm to P1'
            filled.append(on_side(place, place.side or side))
    return Places(tuple(filled), made.look, made.elsewhere)


def of_the_part(made: Places, source: Places) -> Places:
    """'Left wrist: swelling over the dorsum', 'a mass on its dorsum': the face of that part, not of the hand."""
    parts = {place.site for place in source.places if place.site or place.row}
    face = made.places[0] if len(made.places) == 1 else Place()
    if face.row in _SIDES_OF_A_WRIST and not face.site and parts == {"wrist"}:
        return replace(made, places=(replace(face, row=None, site=_SIDES_OF_A_WRIST[face.row or ""]),), look=())
    if face.site not in FACES_OF_THE_HAND or not parts or parts & _OF_THE_HAND or None in parts:
        return made
    if parts == {"wrist"}:
        return replace(made, places=(replace(face, site=f"{FACES_OF_THE_HAND[face.site or '']}_wrist"),))
    return replace(
        made, places=tuple(replace(each, side=face.side or each.side) for each in source.places if each.site)
    )
