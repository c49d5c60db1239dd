"""Which side and place a sentence speaks of, and the next one after it: not those it is only compared with.

'... compared with 140 on the left', 'on the left it was normal', 'bruising extends to the elbow'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise

from letterkit.catalogue.model import Item, ValueKind
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of, side_of
from letterkit.reading.places import OPPOSITE, Place, Places, unsided
from letterkit.reading.same_side import equal_to
from letterkit.reading.set_beside import IN_BRACKETS, has_bare_figure
from letterkit.reading.sides import are_contrary
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PASSED = frozenset({"filler", "piece", "certain", "active_mode", "passive_mode"})
_PARTED = frozenset({"joiner", "break"})
_WHOLE = frozenset({"hand", "upper_limb"})
_TOLD_TOO = frozenset({"break", "value", "maybe", "pseudo", "except"})
_ANOTHER = frozenset({"other", "same"})
_SET_BESIDE = frozenset({"against", "("})
_WITH = frozenset({"with", "using", "by"})
_OF_TWO = 2  # marks at least: the second result and what parts it from the first
_LED = 3  # marks before 'other' among which such a word makes it an instrument
_YEARS = (1930, 2060)  # figures behind 'in' that are a year
_OF_THE_SHOULDER = "the side is that of another part of the arm"
_BESIDE_ALONE = frozenset({"side", "piece", "filler", "state", "joiner", "break"})


def spoken_of_next(
    here: Places | None, behind: Places | None, marks: Sequence[Mark], texts: Texts, *, goes_on: bool = False
) -> Places | None:  # fmt: skip
    """The place that a sentence named last, without a side that it only compares with.

    '... the right elbow. It flexes to 120 degrees compared with 140 on the left. Tinel's is negative': of the right.
    `goes_on` where the sentence stands behind a semicolon and has no term of its own: '; the left wrist 70'.
    """
    if here is None or here.elsewhere:
        return here
    if (own := _out_of_brackets(here, behind, marks, texts)) is not None:
        return own
    if "side" not in texts.kinds:
        return here
    if here.side == "both" and "state" in texts.kinds and (equal := equal_to(marks)) is not None:
        before = {mark.text for mark in marks[: equal[0]] if mark.kind == "side"}
        return _of_side(here, before.pop()) if len(before) == 1 else unsided(here)  # '0 to 140, equal to the left'
    if here.side not in OPPOSITE and here.side not in _ANOTHER:
        return here
    sides = [at for at, mark in enumerate(marks) if mark.kind == "side" and mark.text != "both"]
    if not sides:
        return here
    named = {marks[at].text for at in sides}
    if here.side in _ANOTHER and named <= _ANOTHER and sides[0] and _is_told_before(marks[: sides[0]]):
        return unsided(here)  # 'the carrying angle is symmetrical with the other side'
    if here.side not in OPPOSITE or any(mark.piece is not None and mark.piece.side for mark in marks):
        return here
    likened = _likened(marks) if "compared" in texts.kinds or not texts.isdisjoint(_liking()) else None
    if likened is not None:
        before = {marks[at].text for at in sides if at < likened} - _ANOTHER
        if len(before) == 1 and sides[0] < likened < sides[-1]:
            return _of_side(here, before.pop())  # '24 kg on the right compared with 38 kg on the left'
        return unsided(here) if sides[0] > likened and _turned(here, behind) else here
    if behind is not None and behind.side == OPPOSITE[here.side] and len(named) == 1 and _is_sound(marks):
        return None  # 'A plaque of the right thumb. The left arm was free of lesions. The wrist moved freely.'
    if not _turned(here, behind) or len(named) > 1:
        return here
    return unsided(here) if goes_on or is_set_beside(marks, sides[0]) else here


def _told_again(texts: Texts, spoken: Sequence[Mark], topic: Sequence[Mark]) -> bool:
    """Whether a sentence tells of all that was `spoken` of before and of no more: 'On the left it is negative'.

    Of a list of tests the first that is told of again begins the list of the other side.
    """
    terms = {items_of(mark) for mark in texts.terms}
    if not terms:
        return bool(topic) or not texts.isdisjoint(words().sets["alike"]) or "so" in texts
    return terms == {items_of(mark) for mark in spoken if mark.kind == "term"}


def only_compares(
    here: Places | None, behind: Places | None, marks: Sequence[Mark], texts: Texts, sides: set[str], *,
    again: tuple[Sequence[Mark], Sequence[Mark]], goes_on: bool,
) -> str:  # fmt: skip
    """Whether a sentence turns to the other side, or to both, for what was told of the first: 'surely', 'maybe' or ''.

    'Phalen's is positive on the right. On the left it is negative. Finkelstein's is negative': of neither, where
    nothing else is told of there. 'The right grip is weak. The left is normal. Phalen's is negative': may be of the
    right. `again` are the marks spoken of before and the terms of the heading.
    """
    if here is not None and here.side in OPPOSITE and _names_a_year(marks, texts):
        turned = behind is not None and behind.side == OPPOSITE[here.side]
        return "surely" if turned else "maybe"  # 'the left wrist was plated in 2015. The thumb is swollen.'
    if here is None or behind is None or behind.side not in OPPOSITE or here.elsewhere or behind.elsewhere:
        return ""
    if sides >= OPPOSITE.keys() or names_other(marks, texts) or (here.side == "both" and not here.has_site):
        return "maybe"
    if here.side != OPPOSITE[behind.side] or len(sides) > 1:
        return ""
    only_again = _told_again(texts, *again)
    if is_only_beside(marks, texts):  # 'the left wrist is normal' is of all of it, 'the left is present' of a pulse
        return "maybe" if only_again and not goes_on and "piece" not in texts.kinds else ""
    before = {each.site or each.row for each in behind.places}
    if not only_again or not {each.site or each.row for each in here.places} <= before | {None}:
        return ""  # 'light touch is reduced in the left index' after the right thumb: that is spoken of next
    parts = any(mark.piece is not None and not set(mark.piece.slugs) <= _WHOLE for mark in marks)
    return "surely" if not parts else "" if goes_on else "maybe"


def _names_a_year(marks: Sequence[Mark], texts: Texts) -> bool:
    """'... in 2015': what was done then."""
    if "value" not in texts.kinds or "in" not in texts:
        return False
    years = [mark.amount.numbers for mark in marks if mark.amount is not None and mark.amount.kind == "bare"]
    return any(len(each) == 1 and _YEARS[0] <= each[0] <= _YEARS[1] for each in years)


def _out_of_brackets(here: Places, behind: Places | None, marks: Sequence[Mark], texts: Texts) -> Places | None:
    """'R elbow: grip 22 (48). No swelling': of the right again; None where no other side stands in a bracket."""
    if not texts.isdisjoint(words().sets["brackets"]):
        return unsided(here)  # 'the left in brackets'
    if "(" not in texts or not has_bare_figure(marks):
        return None
    here = Places(here.places, tuple(each for each in here.look if each != IN_BRACKETS), here.elsewhere)
    named = {side for mark in marks if (side := side_of(mark)) in OPPOSITE}
    if not named and behind is not None and behind.side in OPPOSITE:
        named = {behind.side}
    return _of_side(here, named.pop()) if len(named) == 1 else unsided(here)


def _turned(here: Places, behind: Places | None) -> bool:
    """Whether the other side was spoken of before."""
    return behind is not None and not behind.elsewhere and behind.side == OPPOSITE[here.side or ""]


def _of_side(here: Places, side: str) -> Places:
    made = tuple(dict.fromkeys(Place(side, each.site, each.row) for each in here.places))
    return Places(made, here.look, here.elsewhere)


@cache
def _liking() -> frozenset[str]:
    sets = words().sets
    return sets["likened"] | sets["like"]


def _likened(marks: Sequence[Mark]) -> int | None:
    """Where the words of a comparison stand: 'compared with', 'against', 'the same as'."""
    sets = words().sets
    for at, mark in enumerate(marks):
        if mark.kind == "compared" or mark.text in sets["likened"]:
            return at
        if mark.text in sets["like"] and any(each.text in sets["as_is"] for each in marks[at + 1 : at + 2]):
            return at
    return None


def _is_told_before(marks: Sequence[Mark]) -> bool:
    """Whether a result or a finding stands before the other side."""
    return any(mark.kind in {"term", "state", "value"} for mark in marks)


def is_set_beside(marks: Sequence[Mark], at: int) -> bool:
    """'Extension 40 (left 70)', 'extension is 50, on the left 70': a figure of its own, and that of the other side.

    So is 'positive at the wrist and negative on the left'.
    """
    before = [mark for mark in marks[:at] if mark.kind != "filler"]
    bracket = any(mark.text in {"(", "["} for mark in marks[max(0, at - 3) : at])
    parted = bracket or (bool(before) and before[-1].kind in _PARTED)
    ahead = next((mark for mark in marks[at + 1 :] if mark.kind not in _PASSED), None)
    figure = ahead is not None and ahead.kind == "value"
    told = any(mark.kind in {"value", "state"} for mark in before)
    if parted and ahead is not None and ahead.kind == "state" and _goes_against(before, ahead):
        return True  # 'positive, right negative'
    return (parted and (figure or bracket) and told) or _is_contrary_beside(before)


def _goes_against(before: Sequence[Mark], ahead: Mark) -> bool:
    """'Positive, right negative': the result behind a side goes against the one told of before, which named none."""
    first = next((mark.state for mark in reversed(before) if mark.state is not None), None)
    last = ahead.state
    return first is not None and last is not None and are_contrary(set(first.classes), set(last.classes))


def _is_contrary_beside(before: Sequence[Mark]) -> bool:
    """'Positive over the scar and negative on the left': the first of two results that go against each other."""
    last = before[-1].state if len(before) > _OF_TWO and before[-2].kind in _PARTED else None
    first = next((mark.state for mark in reversed(before[:-2]) if mark.state is not None), None)
    return last is not None and first is not None and are_contrary(set(first.classes), set(last.classes))


def sides_of(texts: Texts) -> set[str]:
    """The sides that a sentence names of its own, left and right alone."""
    if "compared" in texts.kinds or not texts.isdisjoint(_ANOTHER) or texts.kinds.isdisjoint(NAMES_SIDE):
        return set()
    return {side_of(mark) for mark in (*texts.sides, *texts.placed)} - {"both", ""}


def names_other(marks: Sequence[Mark], texts: Texts) -> bool:
    """'Grip is 20 kg on the right, and 30 kg in the other hand': both, of which one is named."""
    if "other" not in texts or "compared" in texts.kinds:
        return False
    at = next(at for at, mark in enumerate(marks) if mark.text == "other")
    if any(mark.text in _WITH for mark in marks[max(0, at - _LED) : at]):
        return False  # 'has to pop it with the other hand'
    return len({side for mark in marks if mark.text != "other" and (side := side_of(mark)) in OPPOSITE}) == 1


def said_beside(marks: Sequence[Mark], texts: Texts) -> str:
    """The side that a sentence names for comparison alone: '25 degrees, versus 10 on the right', '85 (right 105)'."""
    if "compared" not in texts.kinds and texts.isdisjoint(_SET_BESIDE):
        return ""
    sides: set[str] = set()
    others: set[str] = set()
    inside = compared = False
    for mark, after in zip(marks, [*marks[1:], None], strict=True):
        against = mark.text == "against" and after is not None and after.kind == "value"
        compared = (compared and mark.kind not in {"joiner", "break"}) or mark.kind == "compared" or against
        inside = mark.text == "(" or (inside and mark.text != ")")
        side = "other" if mark.text == "other" else side_of(mark)
        if side in OPPOSITE or (side == "other" and inside):
            (sides if inside or compared else others).add(side)
    if sides == {"other"} and len(others) == 1:
        return OPPOSITE[others.pop()]  # '20 kg on the right (other hand 30)'
    return sides.pop() if len(sides) == 1 and not sides & others else ""


def is_only_beside(marks: Sequence[Mark], texts: Texts) -> bool:
    """'On the left it was normal', 'the left hand is normal': all that is said of a side is that nothing is wrong."""
    if not texts.kinds <= _BESIDE_ALONE:
        return False
    told = [mark.state for mark in marks if mark.kind == "state" and mark.state is not None]
    calm = len(told) == 1 and set(told[0].classes) <= {"normal", "full", "intact"}
    calm = calm and len({side for mark in marks if (side := side_of(mark)) in OPPOSITE}) == 1
    whole = all(mark.piece is None or set(mark.piece.slugs) <= {"hand", "upper_limb", "wrist"} for mark in marks)
    return calm and whole


def _is_sound(marks: Sequence[Mark]) -> bool:
    """'The left upper limb was free of lesions', 'no swelling of the left hand': all is denied, of a whole limb."""
    denied = next((at for at, mark in enumerate(marks) if mark.kind == "negator"), len(marks))
    if not any(mark.kind == "term" for mark in marks[denied:]) or {mark.kind for mark in marks} & _TOLD_TOO:
        return False
    whole = all(mark.piece is None or set(mark.piece.slugs) <= _WHOLE for mark in marks if mark.kind == "piece")
    return whole and not any(mark.kind in {"term", "value", "state"} for mark in marks[:denied])


def limb_elsewhere(here: Places, marks: Sequence[Mark], texts: Texts) -> Places:
    """'The left shoulder is tender over the AC joint. The elbow moves fully.': of the left, as it seems."""
    if not here.elsewhere or here.side is not None or not texts.sides or texts.isdisjoint(words().sets["of_the_arm"]):
        return here
    sides = {mark.text for mark in texts.sides}
    led = any(
        mark.kind == "side" and after.text in words().sets["of_the_arm"] for mark, after in pairwise(marks)
    )  # and no 'rotation of the neck to the left'
    if not led or len(sides) > 1 or not sides <= OPPOSITE.keys():
        return here
    return Places((Place(sides.pop()),), (*here.look, _OF_THE_SHOULDER), elsewhere=True)


def denies_elsewhere(texts: Texts) -> bool:
    """'No facial burns', 'no injury of the chest': looked for there and not found, and no more is told of there."""
    if "negator" not in texts.kinds or texts.sides or texts.isdisjoint(words().sets["of_no_limb"]):
        return False
    return all(mark.piece is None or mark.text in words().sets["of_no_limb"] for mark in texts.placed)


def is_screened(texts: Texts) -> bool:
    """'The long finger does not trigger. There is no Dupuytren's cord.': looked for in the whole hand."""
    if "negator" not in texts.kinds or "piece" in texts.kinds:
        return False
    return bool(texts.items) and texts.items <= words().sets["screened"]


def reaches(marks: Sequence[Mark], texts: Texts) -> bool:
    """'Bruising over the wrist extends to the elbow': how far it goes, and not where what comes next is."""
    if texts.isdisjoint(words().sets["reaches"]):
        return False
    at = next((at for at, mark in enumerate(marks) if mark.text in words().sets["reaches"]), 0)
    return any(mark.kind == "term" for mark in marks[:at])


def tells_muscles(texts: Texts, known: Mapping[str, Item]) -> bool:
    """'FPL 0/5, FDP IF 2/5, PQ weak': muscles of the arm, of which a finger only tells which part."""
    muscles = {item for item in texts.items if item in known and known[item].value is ValueKind.MRC}
    return len(muscles) > 1
