"""Where: noun phrases for sides and sites. Sides are spelled out, digits go by name, nothing unrecorded is named."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Site
from letterkit.findings.sides import Side
from letterkit.prose.words import count_word, listed
from letterkit.summary.statement import PlaceRef

_RUN = 3  # from three neighbours on, "index to ring" reads better than a list


@dataclass(frozen=True, slots=True)
class Where:
    """Places sorted by side, in the order of the trade."""

    right: tuple[Site, ...]
    left: tuple[Site, ...]
    none: tuple[Site, ...]
    sides: frozenset[Side | None]

    @property
    def alike(self) -> bool:
        """Whether both sides hold the same sites."""
        return bool(self.right) and [site.slug for site in self.right] == [site.slug for site in self.left]

    @property
    def count(self) -> int:
        """How many single places there are."""
        return len(self.right) + len(self.left) + len(self.none)


def where(places: Iterable[PlaceRef], catalogue: Catalogue) -> Where:
    """The places of a part, sorted."""
    sorted_sites: dict[Side | None, list[Site]] = {"right": [], "left": [], None: []}
    sides = set()
    for place in places:
        sides.add(place.side)
        if place.site:
            sorted_sites[place.side].append(catalogue.sites[place.site])

    def ordered(side: Side | None) -> tuple[Site, ...]:
        return tuple(sorted(sorted_sites[side], key=lambda site: site.order))

    return Where(ordered("right"), ordered("left"), ordered(None), frozenset(sides))


def side_phrase(sides: frozenset[Side | None], *, negated: bool = False) -> str:
    """'on the right', 'on both sides', 'on either side' after a 'no'; nothing where no side applies."""
    if sides >= {"right", "left"}:
        return "on either side" if negated else "on both sides"
    return f"on the {next(iter(sides))}" if sides - {None} else ""


def _run(digits: Sequence[str], catalogue: Catalogue) -> tuple[str, bool]:
    """Digits of one hand as words, and whether the words are plural: 'index, middle and ring fingers'."""
    table = catalogue.digits
    if len(digits) == 1:
        return table[digits[0]].name, False
    fingers = [digit for digit in digits if digit != "thumb"]
    orders = [table[digit].order for digit in fingers]
    contiguous = orders == list(range(orders[0], orders[0] + len(orders))) if orders else False
    shorts = [table[digit].short for digit in fingers]
    tail = "fingers" if len(fingers) > 1 else "finger"
    if len(fingers) >= _RUN and contiguous:
        words = f"{shorts[0]} to {shorts[-1]} fingers"
        return (f"thumb and {words}" if "thumb" in digits else words), True
    if "thumb" in digits:
        return f"{listed([table['thumb'].name, *shorts])} {tail}", True
    return f"{listed(shorts)} {tail}", True


def _digits_of(side: str, digits: Sequence[str], catalogue: Catalogue) -> tuple[str, bool]:
    words, plural = _run(digits, catalogue)
    return f"the {side} {words}", plural


def _row_phrase(row: str, sites: Where, catalogue: Catalogue, *, negated: bool) -> list[str]:
    definition = catalogue.rows[row]
    own = row == "digit"
    right = [site.digit for site in sites.right if site.row == row and site.digit]
    left = [site.digit for site in sites.left if site.row == row and site.digit]
    hands = "either hand" if negated else "both hands"
    if right and right == left:
        words, plural = _run(right, catalogue)
        if plural:
            tail = f"the {words} of {hands}"
        else:
            digit = catalogue.digits[right[0]]
            tail = f"either {digit.name}" if negated else f"both {digit.plural}"
        if own:
            return [tail]
        name = definition.name if negated and not plural else definition.plural
        return [f"the {name} of {tail}"]
    phrases = []
    if sideless := [site.digit for site in sites.none if site.row == row and site.digit]:
        words, plural = _run(sideless, catalogue)
        phrases.append(
            f"the {words}" if own else f"the {definition.plural if plural else definition.name} of the {words}"
        )
    for side, digits in (("right", right), ("left", left)):
        if not digits:
            continue
        if len(digits) == len(definition.digits) and len(digits) > _RUN:
            phrases.append(f"all {count_word(len(digits))} {definition.plural} of the {side} hand")
            continue
        tail, plural = _digits_of(side, digits, catalogue)
        phrases.append(tail if own else f"the {definition.plural if plural else definition.name} of {tail}")
    return phrases


def _sided(name: str, side: str) -> str:
    """'the right wrist', but 'the dorsum of the right hand'."""
    head, of, tail = name.partition(" of the ")
    return f"the {head} of the {side} {tail}" if of else f"the {side} {name}"


def _paired(site: Site, catalogue: Catalogue, *, negated: bool) -> str:
    plain = catalogue.plain_sites[site.slug]
    if negated:
        head, of, tail = plain.name.partition(" of the ")
        return f"the {head} of either {tail}" if of else f"either {plain.name}"
    head, of, tail = plain.plural.partition(" of the ")
    return f"the {head} of both {tail}" if of else f"both {plain.plural}"


def _one_side(sites: Sequence[Site], side: str) -> list[str]:
    """Plain sites of one side; those without an 'of' share the words 'the right'."""
    shared = [site.name for site in sites if " of the " not in site.name]
    apart = [_sided(site.name, side) for site in sites if " of the " in site.name]
    return ([f"the {side} {_shortened(shared)}"] if shared else []) + apart


def _shortened(names: Sequence[str]) -> str:
    """'median, ulnar and superficial radial nerve areas': a last word that all share is said once, in the plural."""
    tails = {" ".join(name.split()[-2:]) for name in names}
    if len(names) > 1 and tails == {"nerve area"}:
        return f"{listed([name.removesuffix(' nerve area') for name in names])} nerve areas"
    return listed(names)


def _plain_phrases(sites: Where, catalogue: Catalogue, *, negated: bool) -> list[str]:
    right = [site for site in sites.right if site.row is None]
    left = [site for site in sites.left if site.row is None]
    both = [site for site in right if site in left]
    phrases: list[str] = []
    areas = [site for site in both if site.name.endswith(" nerve area")]
    if len(areas) > 1:
        names = _shortened([site.name for site in areas])
        phrases.append(f"the {names} {'of either hand' if negated else 'of both hands'}")
    phrases += [_paired(site, catalogue, negated=negated) for site in both if site not in areas or len(areas) == 1]
    phrases += _one_side([site for site in right if site not in both], "right")
    phrases += _one_side([site for site in left if site not in both], "left")
    sideless = [site.name for site in sites.none if site.row is None]
    return phrases + ([f"the {_shortened(sideless)}"] if sideless else [])


def site_phrases(sites: Where, catalogue: Catalogue, *, negated: bool = False) -> list[str]:
    """Noun phrases that together name every place once, rows of joints first to last, then other sites."""
    rows = dict.fromkeys(site.row for site in (*sites.right, *sites.left, *sites.none) if site.row)
    phrases = _plain_phrases(sites, catalogue, negated=negated)
    for row in rows:
        phrases += _row_phrase(row, sites, catalogue, negated=negated)
    return phrases


def site_phrase(sites: Where, preposition: str, catalogue: Catalogue, *, negated: bool = False) -> str:
    """'over the right wrist and over both elbows': the preposition is repeated where a list would be read wrongly."""
    phrases = site_phrases(sites, catalogue, negated=negated)
    joiner = "or" if negated else "and"
    return listed([f"{preposition} {phrase}" for phrase in phrases], joiner)
