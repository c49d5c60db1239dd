"""Shorthand of nerve clinics: values for right and left in the order of a heading, signs in pairs, reflexes by company.

Each function takes the marks of a sentence and gives them with that shorthand written out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.all_limbs import of_all_limbs
from letterkit.reading.contrast import contrasted
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.pairs import rows_apart
from letterkit.reading.phrases import Entry, StateWord, Term
from letterkit.reading.pluses import is_beside_ankles, pluses
from letterkit.reading.same_side import equal_to
from letterkit.reading.signs import signed
from letterkit.reading.texts import Texts
from letterkit.reading.values import AS_PAIR, Amount
from letterkit.reading.weak_limbs import weak_legs, weak_limbs
from letterkit.reading.words import words

ORDERS = {
    "right / left": ("right", "left"), "r / l": ("right", "left"), "left / right": ("left", "right"),
    "l / r": ("left", "right"), "right then left": ("right", "left"), "left then right": ("left", "right"),
    "r then l": ("right", "left"), "l then r": ("left", "right"), "right over left": ("right", "left"),
    "left over right": ("left", "right"),
}  # fmt: skip
_UNEQUAL = frozenset({"r > l", "l > r", "right > left", "left > right"})
_TWINS = frozenset({"+ / +", "+ + / + +", "+ + + / + + +", "- / -", "− / −", "– / –"})
_MIXED = {"+ / -": ("positive", "negative"), "- / +": ("negative", "positive")}
_SIGNS = frozenset({None, ValueKind.PRESENCE, ValueKind.TEST})  # what a plus may be the result of, or no term
_RIGHT_FIRST = ("right", "left")
_GRADED = frozenset({"grade", "pair"})
_HEADING = frozenset({"term", "piece", "side", "filler", "word", "hint", "say", "joiner"})
_REFLEX_PAIRS = frozenset({"0", "1+", "2+", "3+"})
_TAPPED = frozenset(
    {"tr", "trace", "less +", "+", "+ +", "+ + +", "+ / +", "+ + / + +", "+ + + / + + +"}
)  # no grades of power


def written_out(
    marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark], order: tuple[str, str] | None, catalogue: Catalogue,
    phrases: Mapping[str, Entry],
) -> list[Mark]:  # fmt: skip
    """The marks of a sentence with all of this written out. What a form needs is looked for first: most have none."""
    kinds = texts.kinds
    marks = of_all_limbs(list(marks), texts, catalogue)
    marks = signed(marks, texts, catalogue, phrases)
    marks = contrasted(marks, texts.now(marks))
    if "+" in texts:
        marks = plus_of_findings(marks, catalogue)
    if "all" in texts:
        marks = all_reflexes(marks)
    if "+" in texts:
        marks = plus_as_and(marks, catalogue)
    if texts & words().sets["weak"]:
        marks = weak_limbs(marks, catalogue, phrases)
    if not texts.isdisjoint(words().sets["leg_tasks"]):
        marks = weak_legs(marks)
    if "side" in kinds and texts & {"to", "with"}:
        marks = as_equal(marks)
    if "state" in kinds:
        if "\n+" in texts.now(marks).lines and any(mark.kind == "state" and mark.text[:1] == "+" for mark in marks):
            marks = pluses(marks, order_of(marks) or order, frozenset(ORDERS))
        marks = twin_signs(marks, texts.now(marks), order)
    if "value" in kinds or texts & (_TAPPED | words().jerks | words().sets["jerked"]):
        marks = reflexes(marks, texts.now(marks), topic, phrases)
    marks = of_the_leg(marks, texts.now(marks))
    return in_order(_unequal(marks), order) if "value" in kinds else marks


def _unequal(marks: list[Mark]) -> list[Mark]:
    """'APB 4/5 R>L': one figure where the sides differ is asked about."""
    look = "one figure is given, and the sides are said to differ"
    if _UNEQUAL.isdisjoint([mark.word for mark in marks]):
        return marks
    return [replace(mark, look=look) if mark.kind == "side" and mark.word in _UNEQUAL else mark for mark in marks]


def order_of(marks: Sequence[Mark]) -> tuple[str, str] | None:
    """'Power (R/L): ...', 'L/R': the order of the sides in the values that follow."""
    if ORDERS.keys().isdisjoint([mark.word for mark in marks]):  # asked of each sentence several times
        return None
    return next((ORDERS[mark.word] for mark in marks if mark.word in ORDERS and mark.kind == "side"), None)


def heads_in_order(marks: Sequence[Mark], catalogue: Catalogue) -> bool:
    """'UPPER LIMBS (left/right)', 'Reflexes R/L': a line that tells nothing but the order of what stands under it."""
    if order_of(marks) is None or not {mark.kind for mark in marks} <= _HEADING:
        return False
    terms = [mark for mark in marks if mark.kind == "term"]
    return not any(value_of(mark, catalogue) in _SIGNS for mark in terms if items_of(mark))


def in_order(marks: Sequence[Mark], order: tuple[str, str] | None) -> list[Mark]:
    """'R/L: deltoid 5/5, triceps 4/5': under such a heading each value is one of right and one of left."""
    told = order_of(marks) or order
    order = told or _order_shown(marks)
    if order is None:
        return _twin_grades(marks)
    marks = rows_apart(marks, order, ORDERS)
    if not _is_row_of_pairs(marks):
        return list(marks)
    look = AS_PAIR
    if told is not None:
        look = "" if _is_plain_pair(marks) else f"{AS_PAIR}, as the heading says"
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        amount = mark.amount
        if mark.kind == "side" and mark.word in ORDERS:
            continue
        unknown = index > 0 and marks[index - 1].kind in {"word", "ambiguous"}
        if amount is None or amount.kind not in _GRADED or unknown:
            made.append(mark)
            continue
        first, second = _halves(amount)
        after = marks[index + 1] if index + 1 < len(marks) else None
        made += _written_out(mark, (first, second), order, look)
        if after is not None and after.kind not in {"joiner", "break"}:
            made.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return made


def _twin_grades(marks: Sequence[Mark]) -> list[Mark]:
    """'Radial pulse 2+/2+': the same of right and left, whichever is told first."""
    pairs = [mark.amount for mark in marks if mark.amount is not None and mark.amount.kind == "pair"]
    if not pairs or any(mark.kind == "side" for mark in marks) or any(pair.grade != pair.other for pair in pairs):
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        amount = mark.amount
        if amount is not None and amount.kind == "pair" and amount.grade[1:]:
            made += _written_out(mark, _halves(amount), _RIGHT_FIRST, "")
        else:
            made.append(mark)
    return made


def _order_shown(marks: Sequence[Mark]) -> tuple[str, str] | None:
    """'Deltoid 5/5-, finger extension 4-/4': a row with pairs in it is one of pairs; no grade is out of five minus."""
    shown = any(mark.amount is not None and mark.amount.first for mark in marks)
    return _RIGHT_FIRST if shown and _is_plain_pair(marks) else None


def _halves(amount: Amount) -> tuple[str, str]:
    """'4/5' as two grades, whatever it would be by itself."""
    return amount.first or amount.grade, amount.other or "5"


def _is_row_of_pairs(marks: Sequence[Mark]) -> bool:
    """Whether every graded value follows its own term: 'deltoid 5/5 4/5' has both sides written out already."""
    values = [index for index, mark in enumerate(marks) if mark.amount is not None and mark.amount.kind in _GRADED]
    if not values or any(mark.kind == "side" and mark.word not in ORDERS for mark in marks):
        return False
    return all(not _follows_value(marks, index) for index in values)


def _follows_value(marks: Sequence[Mark], index: int) -> bool:
    """Whether another value stands before this one, with nothing named in between."""
    for mark in reversed(marks[:index]):
        if mark.kind == "value":
            return True
        if mark.kind in {"term", "word", "piece", "break"} or mark.hints:
            return False
    return False


def _is_plain_pair(marks: Sequence[Mark]) -> bool:
    """Whether one value of the row can be nothing but a pair: '4+/4-', '5/4'."""
    return any(mark.amount is not None and mark.amount.kind == "pair" for mark in marks)


def _written_out(mark: Mark, grades: tuple[str, str], order: tuple[str, str], look: str) -> list[Mark]:
    """'5/4+' as 'right 5, left 4+', and '5/5' as 'both 5'."""
    assert mark.amount is not None
    values = [Mark("value", mark.start, mark.end, amount=replace(mark.amount, kind="signed", grade=each, other=""))
              for each in grades]  # fmt: skip
    if grades[0] == grades[1]:
        return [Mark("side", mark.start, mark.start, text="both", word="both"), values[0]]
    made: list[Mark] = []
    for side, value in zip(order, values, strict=True):
        made += [Mark("side", mark.start, mark.start, text=side, word=side, look=look), value]
        made.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return made[:-1]


def twin_signs(marks: list[Mark], texts: Texts, order: tuple[str, str] | None) -> list[Mark]:
    """'Hoffmann -/-': a sign for each side; 'R/L: Hoffmann +/-' has one of each."""
    order = order_of(texts.sides) or order
    if order is None and _TWINS.isdisjoint([mark.word for mark in marks]):
        return marks
    sided = any(mark.kind == "side" and mark.word not in ORDERS for mark in marks)
    if order is not None and not sided:
        marks = _pair_of_states(marks, order)
    if not any(mark.word in _TWINS or mark.word in _MIXED for mark in marks if mark.kind == "state"):
        return list(marks)
    made: list[Mark] = []
    if order is not None and not sided and any(mark.word in _MIXED for mark in marks):
        marks = [mark for mark in marks if not (mark.kind == "side" and mark.word in ORDERS)]
    for mark in marks:
        if mark.kind == "state" and mark.word in _TWINS and not sided:
            made += [mark, Mark("side", mark.end, mark.end, text="both", word="both")]
        elif mark.kind == "state" and mark.word in _MIXED and order is not None and not sided:
            for side, state in zip(order, _MIXED[mark.word], strict=True):
                made.append(Mark("side", mark.start, mark.start, text=side, word=side))
                made.append(Mark("state", mark.start, mark.end, state=StateWord((state,)), text=state))
                made.append(Mark("joiner", mark.end, mark.end, text="comma"))
            made.pop()
        else:
            made.append(mark)
    return made


def _pair_of_states(marks: Sequence[Mark], order: tuple[str, str]) -> list[Mark]:
    """'Sensation R/L: normal/reduced': a word for each side, in the order of the heading."""
    kinds = [mark.kind for mark in marks]
    slashes = [index for index, mark in enumerate(marks) if mark.kind == "joiner" and mark.text == "slash"]
    pairs = [at for at in slashes if kinds[at - 1 : at + 2] == ["state", "joiner", "state"]]
    if not pairs:
        return list(marks)
    sides = {at - 1: order[0] for at in pairs} | {at + 1: order[1] for at in pairs}
    told: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.kind == "side" and mark.word in ORDERS:
            continue
        if index in sides:
            told.append(Mark("side", mark.start, mark.start, text=sides[index], word=sides[index]))
        told.append(replace(mark, text="comma") if index in pairs else mark)
    return told


def reflexes(
    marks: list[Mark], texts: Texts, topic: Sequence[Mark], phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """'Bi 2/2, Tri 2/2, Pat 3/3': muscles in one list with knees are tapped, not tested; so is 'biceps 2+, triceps 1+'.

    A grade of 1+ or 2+ is one of reflexes by the habit of nearly everybody, yet only where nothing speaks of power.
    """
    tapped = not texts.isdisjoint(words().jerks) or is_beside_ankles(marks)
    if not (tapped or _are_graded_as_reflexes(marks, texts)) or any("power" in mark.hints for mark in (*marks, *topic)):
        return marks
    look = "" if tapped else "whether power or the reflex is graded is not said"
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        name = _reflex_of(mark)
        entry = phrases.get(name)
        if entry is None or entry.term is None or _is_out_of_five(marks, index):
            made.append(mark)
        else:
            made.append(Mark("term", mark.start, mark.end, term=entry.term, text=name, look=look))
    return made


def under_reflexes(marks: list[Mark], above: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Reflexes: biceps 2+ both sides. Triceps absent on the left': under that label a muscle's name is its reflex."""
    if not any(["reflex" in mark.hints for mark in above]) or any(["power" in mark.hints for mark in marks]):  # noqa: C419
        return marks
    terms = [mark for mark in marks if mark.kind == "term"]
    if not any(map(_reflex_of, terms)) or not all(_reflex_of(mark) or "reflex" in mark.hints for mark in terms):
        return marks  # 'Reflexes: brisk. Wasting of the left triceps.'
    if any([mark.text in words().sets["weak"] or mark.text.endswith(("weakness", "paresis")) for mark in marks]):  # noqa: C419
        return marks  # 'Reflexes: normal. Left triceps is weak.'
    return [_tapped(mark, phrases) if not _is_out_of_five(marks, at) else mark for at, mark in enumerate(marks)]


def _tapped(mark: Mark, phrases: Mapping[str, Entry]) -> Mark:
    """A muscle's name as that of its reflex."""
    entry = phrases.get(name := _reflex_of(mark))
    if entry is None or entry.term is None:
        return mark
    return Mark("term", mark.start, mark.end, term=entry.term, text=name, hints=("reflex",))


def _reflex_of(mark: Mark) -> str:
    """The name of the reflex of a muscle, or nothing."""
    slug = mark.term.items[0] if mark.kind == "term" and mark.term is not None and mark.term.items else ""
    return words().reflexes.get(slug, "").replace("_", " ")


def _is_out_of_five(marks: Sequence[Mark], index: int) -> bool:
    """Whether the grade behind the term at `index` is one of power: '4/5'."""
    amount = next((each.amount for each in marks[index + 1 :] if each.kind in {"value", "term"}), None)
    return amount is not None and amount.kind in {"grade", "span"}


def _are_graded_as_reflexes(marks: Sequence[Mark], texts: Texts) -> bool:
    """Whether 1+, 2+ or 'trace' is said of muscles that have a reflex, and of no other muscle."""
    terms = [mark for mark in texts.terms if mark.term is not None and mark.term.items]
    if not terms or not all([_reflex_of(mark) for mark in terms]):  # noqa: C419 - quicker than a generator
        return False
    told = any(
        mark.text in _TAPPED
        or (mark.amount is not None and mark.amount.kind == "signed" and mark.amount.grade in {"1+", "2+"})
        or (mark.amount is not None and mark.amount.kind == "pair" and _is_pair_of_reflexes(mark.amount))
        for mark in marks
    )
    return told and not any(mark.amount is not None and mark.amount.grade.startswith("5") for mark in marks)


def _is_pair_of_reflexes(amount: Amount) -> bool:
    """'2+/1+', '0/2+': a grade of reflexes for each side."""
    grades = {amount.grade, amount.other}
    return grades <= _REFLEX_PAIRS and not grades.isdisjoint({"1+", "2+"})


def of_the_leg(marks: list[Mark], texts: Texts) -> list[Mark]:
    """'LE: HF 4/4, DF 4-/4-': dorsiflexion beside other movements of the leg is of the foot."""
    shared, leg = words().shared_with_leg, words().leg
    if texts.isdisjoint(shared) or texts.isdisjoint(leg):
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        wrist = index > 0 and marks[index - 1].text in {"wrist", "wrists"}
        if mark.text in shared and mark.kind in {"term", "word"} and not wrist:
            made.append(Mark("term", mark.start, mark.end, term=Term(()), text=mark.text))
        else:
            made.append(mark)
    return made


def plus_as_and(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Left thumb + index finger', 'tone + power normal': a plus between two places or functions joins them."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        near = [*marks[max(0, index - 1) : index], *marks[index + 1 : index + 2]]
        if mark.kind == "state" and mark.text == "+" and len(near) == 2 and (  # noqa: PLR2004 - one on each side
            all(each.kind == "piece" for each in near) or all(value_of(each, catalogue) not in _SIGNS for each in near)
        ):  # fmt: skip
            made.append(Mark("joiner", mark.start, mark.end, text="and"))
        else:
            made.append(mark)
    return made


def plus_of_findings(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Vesicles + red papules': a plus between two findings that are there joins them, where no other sign is used."""
    signs = [at for at, mark in enumerate(marks) if mark.kind == "state" and mark.text in {"+", "-"}]
    if len(signs) != 1 or marks[signs[0]].text != "+":
        return list(marks)
    at = signs[0]
    before = marks[at - 1] if at else None
    after = next((mark for mark in marks[at + 1 : at + 4] if mark.kind not in {"word", "severity"}), None)
    if (
        before is None
        or after is None
        or any(value_of(mark, catalogue) is not ValueKind.PRESENCE for mark in (before, after))
    ):
        return list(marks)
    return [*marks[:at], Mark("joiner", marks[at].start, marks[at].end, text="and"), *marks[at + 1 :]]


def as_equal(marks: Sequence[Mark]) -> list[Mark]:
    """'Left grip equal to right', 'full and equal to the left': the other side after it makes it one about both."""
    made = list(marks)
    if (found := equal_to(marks)) is None:
        return made
    index, at = found
    made[at] = replace(marks[at], text="both", word="both")
    told = False
    for before in range(index - 1, -1, -1):
        if marks[before].kind == "break" or (told and marks[before].kind == "joiner"):
            break  # 'Phalen's is positive on the left, and grip is equal to the right'
        told = told or marks[before].kind == "term"
        if marks[before].kind == "side":
            made[before] = replace(marks[before], text="both", word="both")
    return made


def all_reflexes(marks: Sequence[Mark]) -> list[Mark]:
    """'All his arm jerks were lively': of both arms, whatever side was spoken of before."""
    if any(mark.kind == "side" for mark in marks):
        return list(marks)
    made: list[Mark] = []
    every = False
    for mark in marks:
        made.append(mark)
        items = items_of(mark)
        if every and items[:1] == ("upper_limb_reflexes",):
            made.append(Mark("side", mark.end, mark.end, text="both", word="both"))
        every = mark.text == "all" or (every and mark.kind in {"filler", "certain"})
    return made
