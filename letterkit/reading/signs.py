"""Plus and minus, Y and N, written as results: 'Tinel + Phalen -', '(-)', '- swelling, + tenderness', 'R+ L-'."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import DASHES, Mark, value_of
from letterkit.reading.phrases import NOT_THERE, THERE, Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_ASKED = DASHES | {"y", "n", "non", "there"}
_OPEN, _CLOSE = frozenset({"(", "["}), frozenset({")", "]"})
_TWOS = frozenset({"+ / -", "- / +", "+ / +", "- / -"})
_PAIRS = {"r + l": ("right", "left"), "l + r": ("left", "right")}
_SIGNS = frozenset({ValueKind.PRESENCE, ValueKind.TEST})
_LISTED = frozenset({"term", "joiner", "side", "filler"})
_TWO = 2
_AT = frozenset({"at", "on", "in", "over"})
_LEADS = frozenset({":", "(", ";"})
_SIGNED_PAIR = 4  # characters of 'R+ L': its plus is a result, and that of 'R+L' joins the sides
_SPACED_PAIR = 5  # of 'R + L': a result where the other side has a sign of its own, 'R + L -'
_LOOK = "the plus is read as the result of the side before it"


def signed(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence with these signs as results."""
    sided = not _PAIRS.keys().isdisjoint([mark.word for mark in texts.sides])
    if not sided and texts.isdisjoint(_ASKED | _TWOS):
        return marks
    made = list(marks)
    if "slash" in texts or texts & _TWOS:
        made = _in_turn(made)
    if sided:
        made = _sides_with_signs(made)
    if texts & DASHES:
        made = _minus(_dashes(made), catalogue)
    if texts & {"y", "n"}:
        made = _letters(made, catalogue)
    if "non" in texts:
        made = _non(made, catalogue, phrases)
    if "there" in texts:
        made = _there(made)
    return made


def _in_turn(marks: list[Mark]) -> list[Mark]:
    """'Phalen, Finkelstein and Froment R: -/+/-': a sign for each of three or more, or of two with a slash between.

    Three signs that are not as many as the tests say nothing: they are neither a doubt nor both sides.
    """
    runs = _runs_of_signs(marks)
    if not runs:
        return marks
    first = begin = runs[0][0]
    while first and marks[first - 1].kind in _LISTED:
        first -= 1
    terms = [mark for mark in marks[first:begin] if mark.kind == "term"]
    enough = len(terms) > _TWO or (len(terms) == _TWO and any(mark.text == "slash" for mark in marks[first:begin]))
    sides = [mark for mark in marks if mark.kind == "side"]
    one_each = len(sides) == len(runs) and all(mark.text in OPPOSITE for mark in sides)
    if enough and one_each and all(len(signs) == len(terms) for *_, signs in runs):
        look = "" if len(terms) > _TWO else "two signs are read as the results of the two before them"
        made = [mark for mark in marks[:first] if mark not in sides]
        for side, (start, end, signs) in zip(sides, runs, strict=True):
            at, until = marks[start].start, marks[end - 1].end
            made.append(replace(side, look=look))
            for term, sign in zip(terms, signs, strict=True):
                state = THERE if sign[0] == "+" else NOT_THERE
                made += [term, Mark("state", at, until, state=state, text=sign[0])]
                made.append(Mark("joiner", until, until, text="comma"))
        return [*made[:-1], *itertools.dropwhile(lambda mark: mark.kind in {"side", "filler"}, marks[runs[-1][1] :])]
    for start, end, signs in reversed(runs):
        if len(signs) > _TWO:
            unknown = Mark("word", marks[start].start, marks[end - 1].end, text="/".join(signs))
            marks = [*marks[:start], unknown, *marks[end:]]
    return marks


def _runs_of_signs(marks: Sequence[Mark]) -> list[tuple[int, int, list[str]]]:
    """Where signs with slashes and no space between them begin and end, and each sign: '-/+/-'."""
    runs: list[tuple[int, int, list[str]]] = []
    at = 0
    while at < len(marks):
        end, text = at, ""
        while end < len(marks) and (sign := _sign_text(marks[end])):
            if end > at and marks[end - 1].end != marks[end].start:
                break
            end, text = end + 1, text + sign
        signs = text.split("/")
        if len(signs) >= _TWO and all(signs):
            runs.append((at, end, signs))
        at = max(end, at + 1)
    return runs


def _sign_text(mark: Mark) -> str:
    """The plus, minus or slash that a mark is, or several of them; nothing for any other mark."""
    if mark.kind == "joiner" and mark.text == "slash":
        return "/"
    text = re.sub("[−–]", "-", (mark.word or mark.text).replace(" ", ""))
    return text if mark.kind in {"state", "filler"} and text and set(text) <= {"+", "-", "/"} else ""


def _sides_with_signs(marks: list[Mark]) -> list[Mark]:
    """'Tinel R+ L-', 'Tinel: R + L -': the plus is the result of the right, and no 'and' between the sides."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = marks[index + 1 : index + 2]
        signed_next = bool(after) and after[0].text in {*DASHES, "+"}
        length = mark.end - mark.start
        beyond = marks[index + 2 : index + 3]
        last = not beyond or beyond[0].kind in {"joiner", "break"} or beyond[0].text in _CLOSE | {";"}
        apart = length == _SPACED_PAIR and signed_next and last and after[0].start > mark.end  # no 'R + L - none'
        minus_next = bool(after) and after[0].text in DASHES
        tight = minus_next and after[0].start == mark.end and length < _SIGNED_PAIR  # 'R+L-'
        led = bool(made) and made[-1].text in {*DASHES, "+"} and not signed_next
        if mark.word in _PAIRS and length == _SIGNED_PAIR and led:  # 'Tinel -R +L': each sign before its side
            made += _sides_behind_signs(mark, made.pop())
            continue
        if mark.word in _PAIRS and (apart or tight or (length == _SIGNED_PAIR and signed_next)):
            first, second = _PAIRS[mark.word]
            plus = mark.start + (2 if length == _SPACED_PAIR else 1)
            look = _LOOK if apart or tight else ""
            made.append(Mark("side", mark.start, mark.start + 1, text=first, word=first, look=look))
            made.append(Mark("state", plus, plus + 1, state=THERE, text="+"))
            made.append(Mark("joiner", plus + 1, plus + 1, text="comma"))
            made.append(Mark("side", mark.end - 1, mark.end, text=second, word=second))
        elif mark.word in _PAIRS and minus_next:
            made.append(replace(mark, look="the plus may join the sides, or be the result of the first"))
        else:
            made.append(mark)
    return made


def _sides_behind_signs(mark: Mark, sign: Mark) -> list[Mark]:
    """'-R +L': the sign before the first side, that side, the plus and the other side."""
    first, second = _PAIRS[mark.word]
    state = THERE if sign.text == "+" else NOT_THERE
    look = "" if sign.end == mark.start else "each sign is read as the result of the side behind it"
    return [
        replace(sign, kind="state", state=state, text="+" if sign.text == "+" else "-"),
        Mark("side", mark.start, mark.start + 1, text=first, word=first, look=look),
        Mark("joiner", mark.start + 1, mark.start + 1, text="comma"),
        Mark("state", mark.end - 2, mark.end - 1, state=THERE, text="+"),
        Mark("side", mark.end - 1, mark.end, text=second, word=second),
    ]


def _dashes(marks: list[Mark]) -> list[Mark]:
    """'Tinel's - R +, L -': before a place with a result of its own a dash only parts."""
    if marks[-1].kind not in {"state", "value"}:
        return marks  # 'Tinel's - right wrist, + left wrist'
    return [
        mark
        for index, mark in enumerate(marks)
        if not (mark.text in DASHES and marks[index - 1].kind == "term" and _leads_to_result(marks, index))
    ]


def _minus(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """A dash that stands where a plus stands for other findings of the line, or alone in brackets, is a minus."""
    behind = any(mark.text == "+" and _is_behind(marks, index, catalogue) for index, mark in enumerate(marks))
    ahead = any(mark.text == "+" and _is_ahead(marks, index, catalogue) for index, mark in enumerate(marks))
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        bracketed = (
            0 < index < len(marks) - 1 and marks[index - 1].text in _OPEN and marks[index + 1].text in _CLOSE
        )  # fmt: skip
        is_sign = bracketed or (behind and _is_behind(marks, index, catalogue))
        is_sign = is_sign or (ahead and _is_ahead(marks, index, catalogue)) or _is_of_one_of_two(marks, index)
        is_sign = is_sign or _is_before_place(marks, index, catalogue)
        if mark.kind == "filler" and mark.text in DASHES and is_sign and not _leads_to_result(marks, index):
            made.append(replace(mark, kind="state", state=NOT_THERE, text="-"))
        else:
            made.append(mark)
    return made


def _is_of_one_of_two(marks: Sequence[Mark], index: int) -> bool:
    """'Finkelstein: L - / R +', 'R -, L -': a side and its sign, beside the other side and its own."""
    side = marks[index - 1] if index else None
    if side is None or side.kind != "side" or side.text not in OPPOSITE:
        return False
    ends = index + 1 == len(marks) or marks[index + 1].kind in {"joiner", "break", "side"}
    return ends and any(
        one.kind == "side" and one.text == OPPOSITE[side.text] and two.text in {"+", *DASHES}
        for one, two in pairwise(marks)
    )


def _is_before_place(marks: Sequence[Mark], index: int, catalogue: Catalogue) -> bool:
    """'Tinel - at both elbows', 'Tinel + at the wrist, - at the elbow': the result of the test at the place behind."""
    before, after = marks[index - 1] if index else None, marks[index + 1 : index + 2]
    if (
        before is None
        or not after
        or not (after[0].text in _AT or (after[0].kind == "side" and after[0].text == "both"))
    ):
        return False
    tested = value_of(before, catalogue) is ValueKind.TEST
    again = before.kind == "joiner" and any(mark.text == "+" and mark.kind == "state" for mark in marks[:index])
    if not (tested or again):
        return False
    own = itertools.takewhile(lambda mark: mark.kind not in {"joiner", "break"}, marks[index + 1 :])
    return not any(mark.kind in {"state", "value", "term"} for mark in own)


def _leads_to_result(marks: Sequence[Mark], index: int) -> bool:
    """Whether a place follows right behind, and a result right behind that."""
    at = index + 1
    while at < len(marks) and marks[at].kind in {"side", "piece"}:
        at += 1
    return index + 1 < at < len(marks) and marks[at].kind in {"state", "value"}


def _is_there_or_not(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a plus or minus can be the result of the term: a finding, a test, 'warmth'."""
    return value_of(mark, catalogue) in _SIGNS or (mark.term is not None and bool(mark.term.items and mark.term.state))


def _is_behind(marks: Sequence[Mark], index: int, catalogue: Catalogue) -> bool:
    """Whether the sign stands right behind a finding or test, or behind its side."""
    at = index - 1
    while at >= 0 and marks[at].kind in {"side", "piece"}:
        at -= 1
    return at >= 0 and _is_there_or_not(marks[at], catalogue)


def _is_ahead(marks: Sequence[Mark], index: int, catalogue: Catalogue) -> bool:
    """Whether the sign stands right before a finding or test that begins a line or follows a comma."""
    before, after = marks[:index], marks[index + 1 : index + 2]
    begins = not before or before[-1].kind in {"joiner", "break"} or before[-1].text in _LEADS
    return begins and bool(after) and _is_there_or_not(after[0], catalogue)


def _letters(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Swelling N, tenderness Y': behind a finding or test the letters are its result."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.text in {"y", "n"} and mark.kind in {"word", "state"} and _is_behind(marks, index, catalogue):
            ends = index + 1 == len(marks) or marks[index + 1].kind in {"joiner", "break", "term"}
            if ends:
                made.append(replace(mark, kind="state", state=THERE if mark.text == "y" else NOT_THERE))
                continue
        made.append(mark)
    return made


def _there(marks: list[Mark]) -> list[Mark]:
    """'Tinel's negative there': behind another result it only says where."""
    return [
        replace(mark, kind="filler", state=None)
        if index and mark.text == "there" and mark.kind == "state" and marks[index - 1].kind == "state"
        else mark
        for index, mark in enumerate(marks)
    ]


def _non(marks: list[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Non-swollen, tender wrist': 'non-' reaches the word it is joined to, and no list.

    'Non-pitting oedema', 'a non-healing ulcer': the word says how the finding is, which is there.
    """
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        hyphen = at + 1 < len(marks) and marks[at + 1].text == "-"
        of = at + 1 + hyphen
        if mark.kind != "negator" or mark.text != "non" or of >= len(marks):
            made.append(mark)
            at += 1
            continue
        if told := _denied_by_non(marks[of], marks[of + 1 : of + 2], catalogue, phrases):
            made += [replace(told[0], start=mark.start), *told[1:]]
            at = of + 1
        else:
            made.append(mark)
            at += 1
    return made


def _denied_by_non(
    mark: Mark, after: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """What a word says with 'non-' before it; nothing where it is denied as any other is."""
    plain = mark.kind == "certain" and mark.text not in words().sets["attributes"]
    scaled = mark.kind == "state" and mark.state is not None and not mark.state.classes  # 'non-healing'
    hurts = mark.text == "painful" and any(value_of(each, catalogue) is ValueKind.PRESENCE for each in after)
    if mark.kind == "word" or plain or scaled or hurts:  # 'a non-painful lump'
        return [replace(mark, kind="word", state=None, term=None, text=f"non-{mark.text}")]
    term = mark.term
    free = phrases.get("pain free") if mark.text == "painful" else None
    if free is not None and free.term is not None:
        return [replace(mark, term=free.term, state=free.state, text="pain free")]  # 'motion is non-painful'
    if term is None or value_of(mark, catalogue) is not ValueKind.PRESENCE:
        return []
    how, _, rest = mark.text.partition(" ")
    found, alone = phrases.get(rest), phrases.get(how)
    absent = replace(mark, state=None, term=replace(term, state="absent"))
    if found is None or found.term is None:
        return [absent]
    noun = Mark("term", mark.end - len(rest), mark.end, term=found.term, text=rest)
    if set(found.term.items) & set(term.items):
        return [
            replace(mark, kind="word", term=None, end=noun.start, text=f"non-{how}"),
            noun,
        ]  # 'non-discharging sinus'
    if alone is None or alone.term is None or not set(alone.term.items) & set(term.items):
        return [absent]
    denied = replace(term, items=alone.term.items, state="absent", head=how)
    return [replace(mark, end=mark.start + len(how), term=denied, text=how), noun]  # 'non-pulsatile mass'
