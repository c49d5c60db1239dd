"""Forms of terse notes of hand clinics: 'median + ulnar intact', 'scar settled', 'swollen, 6.4 cm (R 5.9)'.

Each function takes the marks of one sentence and gives them as they are meant; none finds anything of its own.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.fragments import fragments
from letterkit.reading.marks import DASHES, Mark, items_of, value_of
from letterkit.reading.nerve_parts import digital_nerves
from letterkit.reading.phrases import NOT_THERE, THERE, Entry
from letterkit.reading.shorthand import order_of
from letterkit.reading.texts import Texts
from letterkit.reading.values import BEST_GRADE, Amount
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "side", "piece", "certain", "severity", "joiner", "word", "state"})
_FACE = "dorsum"
_FACED = frozenset({"wrist", "forearm"})
_NARROW = frozenset({"digit", "digits", "row"})
_FELT = frozenset({"light_touch", "sensation", "pinprick_sensation"})
_IN_BRACKETS = 3  # marks of '(R 5.9)' behind its opening
_RESULTS = frozenset({"state", "negator", "neither", "unexamined", "maybe"})
_LEADS = frozenset({"side", "piece"})
_TUNNELS = frozenset(
    {"wrist", "volar_wrist", "elbow", "cubital_tunnel", "carpal_tunnel", "guyon_canal", "palmar_crease"}
)
_FELT_THERE = "a Tinel's sign of which only the place is told is read as positive there"
_OTHER_BORDER = {"ulnar": "radial_side", "radial": "ulnar_side"}
_SINGLE = frozenset({"bare", "amount"})
_PAIR = 3  # marks of '-20/0'
_OVER = frozenset({"over", "at", "around", "about", "in", "of", "on", "along", "near", "under", "beneath"})


def terse(
    marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks of one sentence with these forms written out."""
    made = marks
    if "+" in texts and "piece" in texts.kinds:
        made = _plus_between(made, topic, catalogue)
    if "(" in texts:
        made = _compared_size(_what_cut(made), catalogue)
    if "scar" in texts.items and not texts.isdisjoint(words().sets["settled"]):
        made = _scar_settled(made)
    if "slash" in texts and "value" in texts.kinds and order_of(marks) is not None:
        made = _below_zero(made)
    if {"value", "side"} <= texts.kinds and order_of(marks) is not None:
        made = _small_angles(made)
    if not texts.kinds & _RESULTS and any([slug.startswith("tinel_") for slug in texts.items]):  # noqa: C419
        made = _tinel_found(made, phrases)
    if not texts.isdisjoint(words().sets["nail_folds"]):
        made = _side_of_fold(made)
    if _FACE in texts:
        made = _dorsum_of(made)
    if not texts.isdisjoint(_OTHER_BORDER):
        made = _other_border(made, phrases)
    if "state" in texts.kinds and not texts.isdisjoint(words().sets["digital_nerves"]):
        made = digital_nerves(made, topic, phrases)
    if "light_touch" in texts.items and "no" in texts:
        made = _no_touch(made)
    return fragments(made, texts, phrases)


def _plus_between(marks: Sequence[Mark], topic: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Median + ulnar intact', 'R elbow + wrist nontender': an 'and' between two parts, and the result of no test."""
    signs = [at for at, mark in enumerate(marks) if mark.kind == "state" and (mark.text == "+" or mark.text in DASHES)]
    if len(signs) != 1 or marks[signs[0]].text != "+" or not 0 < signs[0] < len(marks) - 1:
        return marks
    at = signs[0]
    sign, ahead = marks[at], marks[at + 1]
    if ahead.kind == "side" and at + 2 < len(marks):
        ahead = marks[at + 2]
    spaced = marks[at - 1].end < sign.start and sign.end < marks[at + 1].start
    wasted = ahead.kind == "term" and ahead.text.endswith(("wasting", "atrophy"))  # 'thenar + hypothenar wasting'
    if not spaced or marks[at - 1].kind != "piece" or (ahead.piece is None and not wasted):
        return marks
    for mark in (*topic, *marks[:at]):
        felt = not _FELT.isdisjoint(items_of(mark))
        if mark.kind == "term" and mark.piece is None and not felt and value_of(mark, catalogue) != ValueKind.PRESENCE:
            return marks
    return [*marks[:at], Mark("joiner", sign.start, sign.end, text="and"), *marks[at + 1 :]]


def _what_cut(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Laceration R thumb (glass)': what it was cut on, and nothing that is still in there."""
    cut = words().sets["cut_on"]
    if not any(mark.text in cut for mark in marks):
        return marks
    made = list(marks)
    for at in range(1, len(marks) - 1):
        alone = marks[at - 1].text == "(" and marks[at + 1].text == ")"
        if alone and marks[at].text in cut and marks[at].kind == "term":
            made[at] = Mark("word", marks[at].start, marks[at].end, text=marks[at].text)
    return made


def _compared_size(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'L PIPJ swollen, 6.4 cm (R 5.9)': how thick the other one is, which is no swelling of it."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        inside = marks[at + 1 : at + 1 + _IN_BRACKETS]
        figure = [mark.kind for mark in inside] == ["side", "value", "filler"] and inside[-1].text == ")"
        if marks[at].text == "(" and figure and _is_size_of_what_is_there(made, catalogue):
            at += 1 + _IN_BRACKETS
            continue
        made.append(marks[at])
        at += 1
    return made


def _is_size_of_what_is_there(before: Sequence[Mark], catalogue: Catalogue) -> bool:
    """'Swollen, 6.4 cm': a figure behind a finding that is there or not, and behind no movement."""
    if not before or before[-1].kind != "value":
        return False
    term = next((mark for mark in reversed(before) if mark.kind == "term"), None)
    return term is not None and value_of(term, catalogue) == ValueKind.PRESENCE


def _scar_settled(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Scar settled', 'the scar is soft and has settled': it is there and quiet, and it has not gone."""
    made = list(marks)
    for at, mark in enumerate(marks):
        if mark.kind != "state" or mark.text not in words().sets["settled"]:
            continue
        head = next((each for each in range(at - 1, -1, -1) if marks[each].kind not in _SOFT), -1)
        if head < 0 or items_of(marks[head])[:1] != ("scar",):
            continue
        led = next((each for each in reversed(marks[:head]) if each.text not in {"the", "a"}), None)
        if led is not None and led.text in _OVER:  # 'the swelling over the scar has settled'
            made[head] = Mark("filler", marks[head].start, marks[head].end, text="scar")
            continue
        listed = led is not None and led.text in {"and", "comma", "with"}
        before = {each.kind for each in marks[:head]} if listed else set()
        if not listed or "state" in before or "negator" in before:
            made[at] = Mark("filler", mark.start, mark.end, text=mark.text)
        if listed and "state" not in before:  # 'swelling and scar settled': what the scar is like is left unread
            made[head] = Mark("word", marks[head].start, marks[head].end, text="scar")
    return made


def _tinel_found(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Tinels at P1', 'Tinels has moved to the IPJ', 'Tinels 6 cm distal to repair': there tapping was felt."""
    at = next((at for at, mark in enumerate(marks) if mark.kind == "term"), 0)
    term, after = marks[at], list(marks[at + 1 :])
    if term.term is None or any(mark.kind not in _LEADS and mark.text != ":" for mark in marks[:at]):
        return marks
    if any(mark.kind == "term" and items_of(mark)[:1] != ("scar",) for mark in after):
        return marks
    moved = any(mark.text in words().sets["tinel_moves"] for mark in after)
    placed = [mark.text for mark in after[:1]] == ["at"] and any(mark.piece is not None for mark in after[1:3])
    if not (moved or placed):
        return marks
    found = Mark("state", term.end, term.end, state=THERE, text="positive")
    tunnels = any(
        mark.piece is not None and ("wrist" in mark.text or not _TUNNELS.isdisjoint(mark.piece.slugs)) for mark in after
    )  # 'at the wrist crease' as well
    name = term.term if placed and tunnels else phrases["tinel's over the lump"].term  # a nerve that grows: elsewhere
    return [*marks[:at], replace(term, term=name, look=_FELT_THERE), found, *after]


def _side_of_fold(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Red nail fold ulnar side': which half of the fold, and no second place of the finger."""
    made: list[Mark] = []
    for mark in marks:
        folded = bool(made) and made[-1].text in words().sets["nail_folds"]
        half = mark.kind == "piece" and mark.text in words().sets["faces"]
        made.append(Mark("filler", mark.start, mark.end, text=mark.text) if folded and half else mark)
    return made


def _other_border(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Radial digital nerve numb, ulnar ok', 'radial border numb, ulnar normal': the other side of that finger."""
    sides = [mark.piece.slugs for mark in marks if mark.piece is not None and mark.piece.kind == "row"]
    made = list(marks)
    for at, mark in enumerate(marks):
        other = _OTHER_BORDER.get(mark.text)
        if other is None or mark.piece is None or mark.piece.kind != "nerve" or (other,) not in sides:
            continue
        behind = marks[at + 1].kind if at + 1 < len(marks) else "end"
        if at and behind in {"state", "term", "end"} and marks[at - 1].kind in {"joiner", "break"}:
            entry = phrases[f"{mark.text} border"]
            made[at] = replace(mark, piece=entry.piece, text=f"{mark.text} border")
    return made


def _below_zero(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Elbow L/R: extension -20/0': one pair of figures, though the first has a minus."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark, two = marks[at], marks[at : at + 3]
        one, other = mark.amount, two[-1].amount
        pair = len(two) == _PAIR and two[1].text == "slash" and one is not None and other is not None
        if pair and one is not None and other is not None and {one.kind, other.kind} <= _SINGLE and not other.unit:
            first, second = one.numbers[0], other.numbers[0]
            if min(first, second) < 0:
                amount = Amount("arc", one.start, other.end, (first, second))
                made.append(Mark("value", mark.start, two[-1].end, amount=amount))
                at += _PAIR
                continue
        made.append(mark)
        at += 1
    return made


def _small_angles(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Elbow R/L: extension 5/0, flexion 140/145': beside angles small figures of a movement are angles, no grades."""
    moved = words().sets["typed_movements"]
    told = [
        at + 1 for at, (mark, after) in enumerate(itertools.pairwise(marks))
        if mark.kind == "term" and mark.text.rpartition(" ")[2] in moved and after.amount is not None
    ]  # fmt: skip
    if not any(_is_wide(marks[at].amount) for at in told):
        return marks
    made = list(marks)
    for at in told:
        amount = marks[at].amount
        other = "" if amount is None else {"pair": amount.other, "grade": str(BEST_GRADE)}.get(amount.kind, "")
        if amount is not None and other.isdigit() and amount.grade.isdigit():
            numbers = (float(amount.grade), float(other))
            made[at] = replace(marks[at], amount=Amount("arc", amount.start, amount.end, numbers))
    return made


def _is_wide(amount: Amount | None) -> bool:
    """'140/145': two figures that are no grades."""
    return amount is not None and amount.kind == "arc" and amount.unit in {"", "deg"} and amount.numbers[1] > BEST_GRADE


def _dorsum_of(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Tender dorsum DIPJ', 'lump dorsum R wrist', 'wound RF MCPJ dorsum': of that part, and not of the hand."""
    made: list[Mark] = []
    for at, mark in enumerate(marks):
        if mark.kind != "piece" or mark.text != _FACE:
            made.append(mark)
            continue
        ahead = marks[at + 1 : at + 3]
        if ahead and ahead[0].kind == "side":
            ahead = ahead[1:]
        if made and _is_narrow(made[-1]):
            made.append(Mark("filler", mark.start, mark.end, text=mark.text))
        elif ahead and (_is_narrow(ahead[0]) or (ahead[0].kind == "piece" and ahead[0].text in _FACED)):
            made += [mark, Mark("filler", mark.end, mark.end, text="of")]
        else:
            made.append(mark)
    return made


def _is_narrow(mark: Mark) -> bool:
    return mark.kind == "piece" and mark.piece is not None and mark.piece.kind in _NARROW


def _no_touch(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Sens: LF pulp no LT, RF reduced': in a list of what is felt where, that there nothing is."""
    first = next((mark for mark in marks if mark.kind == "term"), None)
    if first is None or _FELT.isdisjoint(items_of(first)):
        return marks
    made: list[Mark] = []
    for at, mark in enumerate(marks):
        before, after = marks[at - 1 : at], marks[at + 1 : at + 2]
        touch = mark is not first and items_of(mark)[:1] == ("light_touch",)
        ends = not after or after[0].kind in {"joiner", "break"}
        denied = len(made) > 1 and before[0].text == "no" and made[-2].kind == "piece"
        if touch and ends and denied:
            made[-1] = Mark("state", before[0].start, mark.end, state=NOT_THERE, text="absent")
        else:
            made.append(mark)
    return made
