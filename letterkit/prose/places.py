"""Where: noun phrases for sides and sites. Sides are spelled out, digits go by name, nothing unrecorded is named."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Row, Site
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


def _several(digits: Sequence[str], catalogue: Catalogue, *, negated: bool) -> str:
    """Two or more digits of one hand: 'index and middle fingers', 'thumb and index to ring fingers'."""
    table = catalogue.digits
    fingers = [digit for digit in digits if digit != "thumb"]
    orders = [table[digit].order for digit in fingers]
    shorts = [table[digit].short for digit in fingers]
    if len(fingers) >= _RUN and orders == list(range(orders[0], orders[0] + len(orders))):
        words = f"{shorts[0]} to {shorts[-1]} fingers"
        return f"thumb {'or' if negated else 'and'} {words}" if "thumb" in digits else words
    thumb = [table["thumb"].name] if "thumb" in digits else []
    tail = "finger" if negated or len(fingers) == 1 else "fingers"
    return f"{listed([*thumb, *shorts], 'or' if negated else 'and')} {tail}"


def _names(rows: Sequence[Row], *, plural: bool, negated: bool) -> str:
    """The names of rows together; a last word that all share is said once: 'radial and ulnar sides'."""
    names = [row.plural if plural else row.name for row in rows]
    joiner = "or" if negated else "and"
    last = {name.rsplit(" ", 1)[-1] for name in names}
    if len(names) > 1 and len(last) == 1 and all(" " in name for name in names):
        ending = rows[0].plural.rsplit(" ", 1)[-1] if not negated else last.pop()
        return f"{listed([name.rsplit(' ', 1)[0] for name in names], joiner)} {ending}"
    return listed(names, joiner)


def _digits_phrase(side: str, digits: Sequence[str], catalogue: Catalogue, *, negated: bool) -> str:
    """Digits of one side: 'the right ring finger', 'all five digits of the left hand'."""
    table = catalogue.digits
    lead = f"the {side} " if side else "the "
    hand = f"the {side} hand" if side else "the hand"
    if len(digits) == len(table):
        return f"any digit of {hand}" if negated else f"all {count_word(len(digits))} digits of {hand}"
    if len(digits) == len(table) - 1 and "thumb" not in digits:
        return f"any finger of {hand}" if negated else f"all {count_word(len(digits))} fingers of {hand}"
    if len(digits) == 1:
        return f"{lead}{table[digits[0]].name}"
    return lead + _several(digits, catalogue, negated=negated)


def _both_digits(digits: Sequence[str], catalogue: Catalogue, *, negated: bool) -> str:
    """The same digits of both hands: 'both index fingers', 'any digit of either hand'."""
    table = catalogue.digits
    hands = "either hand" if negated else "both hands"
    if len(digits) == 1:
        return f"either {table[digits[0]].name}" if negated else f"both {table[digits[0]].plural}"
    if len(digits) == len(table):
        return f"any digit of {hands}" if negated else f"all digits of {hands}"
    if len(digits) == len(table) - 1 and "thumb" not in digits:
        return f"any finger of {hands}" if negated else f"all fingers of {hands}"
    return f"the {_several(digits, catalogue, negated=negated)} of {hands}"


@dataclass(frozen=True, slots=True)
class _Held:
    """The digits that hold a row, by side."""

    right: tuple[str, ...]
    left: tuple[str, ...]
    none: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many sites of the row there are."""
        return len(self.right) + len(self.left) + len(self.none)


def _held(row: str, sites: Where) -> _Held:
    def digits(side: Sequence[Site]) -> tuple[str, ...]:
        return tuple(site.digit for site in side if site.row == row and site.digit)

    return _Held(digits(sites.right), digits(sites.left), digits(sites.none))


def _rows_phrases(rows: Sequence[Row], held: _Held, catalogue: Catalogue, *, negated: bool) -> list[str]:
    """Rows held by the same digits, as one phrase or, where the sides differ, one with the row said once."""
    own = rows[0].slug == "digit"
    complete = len(rows) == 1 and not own and len(rows[0].digits) > _RUN
    everything = set(rows[0].digits)
    if held.right and held.right == held.left:
        if complete and set(held.right) == everything:
            hands = "either hand" if negated else "both hands"
            return [f"any {rows[0].name} of {hands}" if negated else f"all {rows[0].plural} of {hands}"]
        digits = _both_digits(held.right, catalogue, negated=negated)
        one = negated and len(held.right) == 1
        return [digits if own else f"the {_names(rows, plural=not one, negated=negated)} of {digits}"]
    phrases: list[str] = []
    listed_digits: list[tuple[str, bool]] = []
    for side, digits_held in (("right", held.right), ("left", held.left), ("", held.none)):
        if not digits_held:
            continue
        if complete and set(digits_held) == everything:
            hand = f"the {side} hand" if side else "the hand"
            count = count_word(len(digits_held))
            phrases.append(f"any {rows[0].name} of {hand}" if negated else f"all {count} {rows[0].plural} of {hand}")
            continue
        phrase = _digits_phrase(side, digits_held, catalogue, negated=negated)
        listed_digits.append((phrase, len(digits_held) > 1))
    listed_digits.sort(key=lambda each: not _whole(each[0]))
    if own:
        return phrases + [phrase for phrase, _ in listed_digits]
    if listed_digits:
        plural = len(listed_digits) > 1 or listed_digits[0][1]
        joined = listed([f"of {phrase}" for phrase, _ in listed_digits], "or" if negated else "and")
        phrases.append(f"the {_names(rows, plural=plural, negated=negated)} {joined}")
    return phrases


_SIDE_OF = " side of the "


def _sides_together(
    sites: Sequence[Site], whose: str, catalogue: Catalogue, *, negated: bool
) -> tuple[list[str], list[Site]]:  # fmt: skip
    """'the dorsal, volar and radial sides of the right wrist', and the sites that are no side of one part with another.

    `whose` stands before the part: 'the right', 'both', 'either'.
    """
    of_parts: dict[str, list[Site]] = {}
    for site in sites:
        which, of, part = site.name.partition(_SIDE_OF)
        if which and of:
            of_parts.setdefault(part, []).append(site)
    phrases = []
    told: list[Site] = []
    for part, members in of_parts.items():
        if len(members) > 1:
            which = listed([site.name.partition(_SIDE_OF)[0] for site in members], "or" if negated else "and")
            several = catalogue.plain_sites[members[0].slug].plural.partition(_SIDE_OF)[2]
            named = several if whose == "both" else part
            phrases.append(f"the {which} {'side' if negated else 'sides'} of {whose} {named}")
            told += members
    return phrases, [site for site in sites if site not in told]


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


def _one_side(sites: Sequence[Site], side: str, catalogue: Catalogue, *, negated: bool) -> list[str]:
    """Plain sites of one side; those without an 'of' share the words 'the right'."""
    together, sites = _sides_together(sites, f"the {side}", catalogue, negated=negated)
    shared = [site.name for site in sites if " of the " not in site.name]
    apart = [_sided(site.name, side) for site in sites if " of the " in site.name]
    return ([f"the {side} {_shortened(shared, negated=negated)}"] if shared else []) + together + apart


def _shortened(names: Sequence[str], *, negated: bool) -> str:
    """'median, ulnar and superficial radial nerve areas': a last word that all share is said once, in the plural."""
    joiner = "or" if negated else "and"
    if len(names) > 1 and all(name.endswith(" nerve area") for name in names):
        tail = "nerve area" if negated else "nerve areas"
        return f"{listed([name.removesuffix(' nerve area') for name in names], joiner)} {tail}"
    return listed(names, joiner)


def _plain_phrases(sites: Where, catalogue: Catalogue, *, negated: bool) -> list[str]:
    right = [site for site in sites.right if site.row is None]
    left = [site for site in sites.left if site.row is None]
    here, there = {site.slug for site in right}, {site.slug for site in left}
    both = [site for site in right if site.slug in there]
    phrases: list[str] = []
    areas = [site for site in both if site.name.endswith(" nerve area")]
    if len(areas) > 1:
        names = _shortened([site.name for site in areas], negated=negated)
        phrases.append(f"the {names} {'of either hand' if negated else 'of both hands'}")
    together, both = _sides_together(both, "either" if negated else "both", catalogue, negated=negated)
    phrases += together
    phrases += [_paired(site, catalogue, negated=negated) for site in both if site not in areas or len(areas) == 1]
    phrases += _one_side([site for site in right if site.slug not in there], "right", catalogue, negated=negated)
    phrases += _one_side([site for site in left if site.slug not in here], "left", catalogue, negated=negated)
    sideless = [site.name for site in sites.none if site.row is None]
    return phrases + ([f"the {_shortened(sideless, negated=negated)}"] if sideless else [])


def site_phrases(sites: Where, catalogue: Catalogue, *, negated: bool = False) -> list[str]:
    """Noun phrases that together name every place once: plain sites, digits, joints of digits, whole rows."""
    rows = dict.fromkeys(site.row for site in (*sites.right, *sites.left, *sites.none) if site.row)
    alike: dict[tuple[bool, _Held], list[Row]] = {}
    for row in rows:
        alike.setdefault((row == "digit", _held(row, sites)), []).append(catalogue.rows[row])
    # Whole digits come before joints: after a joint, "of the ring finger" says where the joint is. "All five digits of
    # the left hand" leads the digits, and a row held at every digit closes: elsewhere they read as part of a neighbour.
    digits: list[str] = []
    joints: list[str] = []
    for (own, held), members in sorted(alike.items(), key=lambda pair: -pair[0][1].count):
        phrases = _rows_phrases(members, held, catalogue, negated=negated)
        (digits if own else joints).extend(phrases)
    digits.sort(key=lambda phrase: not _whole(phrase))
    joints.sort(key=_whole)
    return _plain_phrases(sites, catalogue, negated=negated) + digits + joints


def _whole(phrase: str) -> bool:
    """Whether a phrase names every digit of a hand, or a joint of each."""
    return phrase.startswith(("any ", "all "))


def site_phrase(sites: Where, preposition: str, catalogue: Catalogue, *, negated: bool = False) -> str:
    """'over the right wrist and over both elbows': the preposition is repeated where a list would be read wrongly."""
    phrases = site_phrases(sites, catalogue, negated=negated)
    joiner = "or" if negated else "and"
    return listed([f"{preposition} {phrase}" for phrase in phrases], joiner)
