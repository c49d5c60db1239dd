"""What is so of one and not of another, written out in the order that the rest of the reader knows.

'Rather than', 'not on the right but on the left', an answer of 'no' behind a place, 'none' after what was looked for,
and 'was positive and is now negative'.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.reading.denials import denied
from letterkit.reading.differences import differing
from letterkit.reading.exceptions import all_but, excepted_last
from letterkit.reading.marks import Mark
from letterkit.reading.one_joint import is_digit
from letterkit.reading.parting import PARTS, in_place, part_ends
from letterkit.reading.phrases import NOT_THERE, Term
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import term_is_adjective
from letterkit.reading.respective import RESPECTIVELY, for_both, former_latter, respective
from letterkit.reading.spared_parts import spared_parts
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_ENDS = frozenset({"joiner", "break", "value", "negator"})
_PLACE = frozenset({"piece", "side"})
_TOLD = frozenset({"term", "state", "value"})
_ASKED = frozenset({"piece", "side", "term"})
_ARTICLES = frozenset({"that", "of", "the", "his", "her"})
_VERBS = frozenset({"is", "was", "shows", "showed", "has", "had", "appears", "appeared", "looks", "looked"})
_LISTED = frozenset({"and", "slash", "or"})
_BESIDE = frozenset({"filler", "certain", "severity", "say", "word"})


def contrasted(marks: Sequence[Mark], texts: Texts) -> list[Mark]:
    """The marks of one sentence with its contrasts written out."""
    kinds = texts.kinds
    made = without_contrast(marks) if "instead" in kinds else list(marks)
    if texts & {"former", RESPECTIVELY}:
        made = respective(former_latter(made))
    if texts & words().sets["regarding"]:
        made = _regarding(made)
    if {"left", "right"} <= texts or len([mark for mark in texts.placed if mark.kind == "piece"]) > 1:
        made = _in_a_row(made)
    if "for" in texts and any(mark.word == "both" for mark in marks):
        made = for_both(made)
    made = spared_parts(made, texts)
    if texts & words().sets["references"]:
        made = _for_reference(made)
    if "not" in texts:
        made = _not_last(_not_but(_but_not(made)))
    if "as" in texts:
        made = _as_the_other(made)
    if "no" in texts:
        made = _answers(made)
    if "say" in kinds:
        made = _formerly(made)
    if "value" in kinds:
        made = differing(made, texts)
    if "but" in texts:
        made = all_but(made)
    if "except" in kinds or any(mark.kind == "except" for mark in made):
        made = _other_tests(excepted_last(made))
    return denied(made, texts)


def _in_a_row(marks: list[Mark]) -> list[Mark]:
    """'Left wrist tender right wrist not tender', 'thumb numb index tender': without a comma, and two statements."""
    if not any([mark.kind in _PLACE and before.kind in _TOLD for before, mark in pairwise(marks)]):  # noqa: C419
        return marks
    made: list[Mark] = []
    side = ""  # the side that the statement begins with
    begins, placed, told = True, False, False
    for index, mark in enumerate(marks):
        other = mark.kind == "side" and side in OPPOSITE and mark.text == OPPOSITE[side]
        part = mark.kind == "piece" and placed and _is_told(marks[index + 1 :])
        if (other or part) and told and made[-1].kind in _TOLD:
            made.append(Mark("joiner", mark.start, mark.start, text="comma"))
            side, begins, placed, told = "", True, False, False
        if mark.kind in PARTS:
            side, begins, placed, told = "", True, False, False
        elif mark.kind == "compared":
            side, begins, placed = "", False, False  # 'right grip 18 kg vs 36 kg L'
        elif mark.kind != "filler":
            side = mark.text if begins and mark.kind == "side" else side
            placed = placed or (mark.kind == "piece" and not told)
            begins = False
            told = told or mark.kind in {"state", "value"} or term_is_adjective(mark)
        made.append(mark)
    return made


def _is_told(ahead: Sequence[Mark]) -> bool:
    """Whether a result, a denial or an adjective stands right there."""
    mark = ahead[0] if ahead else None
    return mark is not None and (mark.kind in {"state", "negator"} or term_is_adjective(mark))


def _regarding(marks: list[Mark]) -> list[Mark]:
    """'Grip was diminished with regard to the healthy side': it is compared with that side, behind what was told."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["regarding"] or not any(each.kind == "term" for each in marks[:index]):
            continue
        ahead = next((each for each in marks[index + 1 :] if each.text not in _ARTICLES), None)
        if ahead is not None and ahead.kind == "side" and ahead.word not in {"both", "same"}:
            made[index] = replace(mark, kind="compared", state=None)
    return made


def _for_reference(marks: list[Mark]) -> list[Mark]:
    """'..., with the left hand taken as reference', 'the right being the control': nothing is found on that side."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["references"]:
            continue
        begin = _back_over(marks, index, words().sets["taken_as"])
        place = _back_over(marks, begin, _ARTICLES | words().sets["taken_as"], _PLACE)
        if begin == index or not any(each.kind == "side" for each in marks[place:begin]):
            continue
        taken = place and marks[place - 1].text in words().sets["taking"]
        if not taken and _is_subject(marks[index + 1 :]):
            made[begin : index + 1] = [Mark("filler", each.start, each.end) for each in marks[begin : index + 1]]
            continue
        place = _back_over(marks, place, words().sets["taking"])
        made[place] = Mark("compared", marks[place].start, mark.end, text=mark.text)
        made[place + 1 : index + 1] = [Mark("filler", each.start, each.end) for each in marks[place + 1 : index + 1]]
    return made


def _is_subject(ahead: Sequence[Mark]) -> bool:
    """'The right hand for comparison is unremarkable': a verb behind it tells what was found there."""
    told = next((mark for mark in ahead if mark.text != "comma"), None)
    return told is not None and told.text in _VERBS


def _back_over(
    marks: Sequence[Mark], index: int, texts: Collection[str], kinds: Collection[str] = ()
) -> int:  # fmt: skip
    """Where the run of such marks begins that ends before `index`."""
    while index and (marks[index - 1].text in texts or marks[index - 1].kind in kinds):
        index -= 1
    return index


def without_contrast(marks: Sequence[Mark]) -> list[Mark]:
    """'Myoclonic rather than tremulous', 'of the ulnar rather than the radial side': the second is what it is not."""
    made: list[Mark] = []
    dropping = False
    for mark in marks:
        if mark.kind == "instead":
            dropping = True
        elif dropping and mark.kind in _ENDS:
            dropping = False
        if not dropping:
            made.append(mark)
        elif mark.kind in {"term", "state", "piece"}:
            dropping = False
    return made


def _not_but(marks: list[Mark]) -> list[Mark]:
    """'Positive not on the right but on the left' is positive on the left but not on the right."""
    for index, mark in enumerate(marks):
        if mark.kind != "negator" or mark.text != "not":
            continue
        middle = _end_of_place(marks, index + 1)
        if middle is None or middle >= len(marks) or marks[middle].text != "but":
            continue
        end = _end_of_place(marks, middle + 1)
        if end is not None and end < len(marks) and not any(each.kind == "term" for each in marks[:index]):
            end = part_ends(marks, end)
        if end is None or (end < len(marks) and marks[end].kind not in PARTS):
            continue  # and so is 'not the right but the left wrist was swollen'
        turned = [*marks[middle + 1 : end], marks[middle], mark, *marks[index + 1 : middle]]
        return [*marks[:index], *in_place(turned, marks[index:end]), *marks[end:]]
    return marks


def _but_not(marks: list[Mark]) -> list[Mark]:
    """'The left wrist, but not the right, was swollen'; 'Tinel's but not Phalen's was positive': 'not' goes last."""
    for index, mark in enumerate(marks):
        if mark.kind != "negator" or mark.text != "not" or not index or marks[index - 1].kind not in PARTS:
            continue
        begin = index - 1
        begin -= begin > 0 and marks[begin].text == "but" and marks[begin - 1].text == "comma"
        before = marks[:begin]
        term = marks[index + 1 : index + 2] if index + 1 < len(marks) and marks[index + 1].kind == "term" else []
        end = index + 2 if term else _end_of_place(marks, index + 1)
        needed = {"term"} if term else _PLACE
        if end is None or any(each.kind in {"state", "value", "negator"} for each in before):
            continue
        if not any(each.kind in needed for each in before):
            continue
        # 'Phalen's on the right but not on the left is positive': it has its name, and lacks its result
        named = not term and any(each.kind == "term" for each in before)
        comma = marks[end : end + 1] if end < len(marks) and marks[end].text == "comma" else []
        rest = marks[end + len(comma) :]
        stop = part_ends(rest, 0)
        told = {each.kind for each in rest[:stop]}
        lacks = told & {"state", "value"} and "term" not in told if named else ("state" if term else "term") in told
        if not lacks:
            continue
        turned = [*rest[:stop], *marks[begin:end]]
        where = [*marks[begin:end], *rest[:stop]]
        return [*before, *in_place(turned, where), *rest[stop:]]
    return marks


def _not_last(marks: list[Mark]) -> list[Mark]:
    """'..., on the left it was not': the 'not' before the place, as in 'but not on the left'."""
    for index in range(len(marks) - 1, 0, -1):
        if marks[index].kind != "negator" or marks[index].text != "not":
            continue
        after = marks[index + 1] if index + 1 < len(marks) else None
        if after is not None and (after.kind not in PARTS or after.text == "yet"):
            continue
        begin = _begin_of_denied(marks, index)
        if begin == index or not any(each.kind in _PLACE for each in marks[begin:index]):
            continue
        if not any(each.kind in {"term", "state", "value"} for each in marks[:begin]):
            continue
        gone = {"not", *words().sets["auxiliaries"]}
        turned = [marks[index], *(each for each in marks[begin:index] if each.text not in gone)]
        rest = _but_this_is(marks[index + 1 :])
        return [*marks[:begin], *in_place(turned, marks[begin : begin + len(turned)]), *rest]
    return marks


def _begin_of_denied(marks: Sequence[Mark], index: int) -> int:
    """Where the places begin of which a 'not' denies: 'thumb and ring finger are not', 'thumb not, index not'."""
    begin = index
    several = marks[index - 1].text in {"are", "were"}
    while begin > 0:
        mark, before = marks[begin - 1], marks[begin - 2] if begin > 1 else None
        again = mark.kind == "joiner" and before is not None and before.text == "not" and before.kind == "negator"
        if again:
            begin -= 2
        elif mark.kind in _PLACE or mark.kind == "filler" or (several and mark.text == "and"):
            several = several and mark.text != "and"  # two of them: a second 'and' joins the clause
            begin -= 1
        else:
            break
    while begin < index and marks[begin].kind in PARTS:
        begin += 1
    return min(begin, _list_before(marks, index))


def _list_before(marks: Sequence[Mark], index: int) -> int:
    """Where a list between a comma and the 'not' begins: 'thumb swollen, ring/little not', '..., MCP 4 not'."""
    begin = index
    while begin and (marks[begin - 1].kind in _PLACE or is_digit(marks[begin - 1]) or marks[begin - 1].text in _LISTED):
        begin -= 1
    parted = begin > 0 and (marks[begin - 1].text == "comma" or marks[begin - 1].kind == "break")
    led = begin < index and marks[begin].kind in _PLACE and marks[index - 1].kind != "joiner"
    return begin if parted and led else index


def _but_this_is(rest: list[Mark]) -> list[Mark]:
    """'The thumb is numb, the index is not, and the ring finger is': the third is no more of what is not."""
    begin = next((at for at, mark in enumerate(rest) if mark.kind not in PARTS), len(rest))
    place = rest[begin:]
    named = any(mark.kind in _PLACE for mark in place) and all(mark.kind in {*_PLACE, "filler"} for mark in place)
    if not begin or not named or place[-1].text not in words().sets["auxiliaries"]:
        return rest
    return [replace(rest[0], kind="break", text="but"), *place]


def _as_the_other(marks: list[Mark]) -> list[Mark]:
    """'As swollen as the left': what the second 'as' names is a comparison."""
    found = [index for index, mark in enumerate(marks) if mark.text == "as" and mark.kind == "filler"]
    if len(found) != 2 or not any(mark.kind in {"term", "state"} for mark in marks[found[0] : found[1]]):  # noqa: PLR2004
        return marks
    if _end_of_place(marks, found[1] + 1) is None:
        return marks
    return [*marks[: found[1]], replace(marks[found[1]], kind="compared"), *marks[found[1] + 1 :]]


def _end_of_place(marks: Sequence[Mark], start: int) -> int | None:
    """Where words for a place end that begin at `start`; None where no place is named."""
    at, named = start, False
    while at < len(marks) and (marks[at].kind in _PLACE or marks[at].kind == "filler"):
        named = named or marks[at].kind in _PLACE
        at += 1
    if named and at < len(marks) and marks[at].text == "comma" and marks[at + 1 : at + 2]:
        at += marks[at + 1].text == "but"
    return at if named else None


def _answers(marks: list[Mark]) -> list[Mark]:
    """'Swelling of the right wrist: no': with nothing after it that it could deny, 'no' is the result."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind != "negator" or mark.text != "no" or not index:
            continue
        ends = index + 1 == len(marks) or marks[index + 1].kind in PARTS
        if ends and (marks[index - 1].kind in _ASKED or marks[index - 1].text in {":", "-"}):
            made[index] = replace(mark, kind="state", state=NOT_THERE)
    return made


def _formerly(marks: list[Mark]) -> list[Mark]:
    """'Was previously positive and is now negative': where a result is given for now, that of before is none."""
    cues = words().sets
    if not any(mark.text in cues["now"] for mark in marks):
        return marks
    kept: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.kind == "state" and mark.state is not None and mark.state.classes:
            before = (each for each in reversed(marks[:index]) if each.kind not in _BESIDE or _tells_when(each))
            if (cue := next(before, None)) is not None and cue.text in cues["formerly"]:
                kept.append(replace(mark, kind="filler", state=None))
                continue
        kept.append(mark)
    return kept


def _tells_when(mark: Mark) -> bool:
    return mark.text in words().sets["now"] | words().sets["formerly"]


def _other_tests(marks: list[Mark]) -> list[Mark]:
    """'Apart from Phalen's the tests were negative': what comes after the exception is said of the others.

    So it is of a subject that is not known: 'with the exception of EPL, every extensor is working'.
    """
    made: list[Mark] = []
    excepted = named = False
    first = any(mark.kind == "except" for mark in marks[:2])
    for index, mark in enumerate(marks):
        excepted = excepted or mark.kind == "except"
        named = named or (excepted and mark.kind == "term")
        unknown = first and mark.text == "comma" and _is_unknown(marks, index + 1)
        if named and (unknown or (mark.text == "tests" and _is_of_others(marks, index))):
            made.append(Mark("break", mark.start, mark.start))
            made.append(Mark("term", mark.start, mark.end, term=Term(()), text="tests"))
        else:
            made.append(mark)
    return made


def _is_unknown(marks: Sequence[Mark], start: int) -> bool:
    """Whether a subject of which no word is known begins here, and has a result."""
    for mark in marks[start:]:
        if mark.kind in {"state", "value"}:
            return any(each.kind == "word" for each in marks[start:])
        if mark.kind not in {"word", "filler", "side", "certain"}:
            return False
    return False


def _is_of_others(marks: Sequence[Mark], index: int) -> bool:
    """Whether only words such as 'all the provocation' stand between 'tests' and the comma behind the exception."""
    at = index - 1
    while at >= 0 and marks[at].text in words().sets["others"]:
        at -= 1
    return at < index - 1 and marks[at].kind not in {"term", "negator"}
