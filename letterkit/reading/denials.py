"""How far a denial reaches: 'nor is there', 'just a', 'or palpable', 'about the incision'; mere reasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.denied_others import but_one, elsewhere, no_others, of_the_others, one_and_other, seen_at_another
from letterkit.reading.marks import Mark, beside, items_of, value_of
from letterkit.reading.parting import part_ends
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, THERE_IS, is_asserted
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_NAMING = frozenset({"filler", "side", "piece", "term", "severity", "certain"})
_ENDS = frozenset({"break", "state", "negator", "value", "pseudo"})  # of a list that is denied
_LISTED = frozenset({"term", "state", "joiner", "certain", "severity"})
_AMISS = frozenset({"absent", "reduced", "increased", "abnormal"})
_SHORTEST_ANSWER = 4  # the answer, what parts it from the rest, a term and its verb
_NONE = frozenset({"none", "nil"})
_REACHING = _NONE | {"or", "for", "elsewhere", "other", "one", "in line", "too", "no change in", "not only"}
_DENYING = ("no ", "not ", "without ")  # of a name that holds its denial
_DENYING_LINES = tuple(f"\n{no}" for no in _DENYING)


@cache
def _of_denials() -> frozenset[str]:
    """The words of which one stands where the reach of a denial is written out: each row of `denied` asks for one."""
    named = (
        "just", "no_more_than", "attributes", "landmarks", "the_others", "seen_at_another", "unevenness", "wanting",
    )  # fmt: skip
    return _REACHING.union(*[words().sets[name] for name in named])


def denied(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks of one sentence, which has these texts, with the reach of its denials written out."""
    if not marks or (texts.isdisjoint(_of_denials()) and marks[0].kind != "negator"):
        return marks
    sets, kinds = words().sets, texts.kinds
    for read, asked in (
        (_nor, "joiner" in kinds and "or" in texts),
        (_but_not_for, "break" in kinds and "for" in texts and "not" in texts),
        (_just, not texts.isdisjoint(sets["just"])),
        (_not_only, "break" in kinds and ("not only" in texts or not texts.isdisjoint(sets["no_more_than"]))),
        (_answered, marks[0].kind == "negator"),
        (_none_on_one, not texts.isdisjoint(_NONE) and {"left", "right"} <= texts),
        (_attributes, "negator" in kinds and not texts.isdisjoint(sets["attributes"])),
        (_amiss, {"negator", "state"} <= kinds and "or" in texts),
        (_beside_landmarks, not texts.isdisjoint(sets["landmarks"])),
        (of_the_others, not texts.isdisjoint(sets["the_others"])),
        (elsewhere, "negator" in kinds and "elsewhere" in texts),
        (no_others, "negator" in kinds and "other" in texts),
        (seen_at_another, not texts.isdisjoint(sets["seen_at_another"])),
        (one_and_other, "other" in texts and "one" in texts),
        (but_one, "break" in kinds and "one" in texts),
        (_in_line, "in line" in texts),
        (_too_much, "unexamined" in kinds and "too" in texts),
        (_not_uneven, not texts.isdisjoint(sets["unevenness"]) or "no change in" in texts),
        (_not_wanting, not texts.isdisjoint(sets["wanting"])),
    ):
        if asked:
            marks = read(marks)
    return marks


def _not_uneven(marks: list[Mark]) -> list[Mark]:
    """'No asymmetry of skin temperature, sweating or hair growth': the first two are normal, and no hair has grown."""
    for begin in range(len(marks) - 1, -1, -1):
        if _is_unevenness(marks, begin):
            marks = _each_even(marks, begin)
    return marks


def _each_even(marks: list[Mark], begin: int) -> list[Mark]:
    """The marks with each term behind the unevenness at `begin` called normal, or not there."""
    sets = words().sets
    end = next((at for at in range(begin + 1, len(marks)) if marks[at].kind in _ENDS), len(marks))
    if end < len(marks) and marks[end - 1].kind == "joiner":
        end -= 1
    terms = [mark for mark in marks[begin:end] if mark.kind == "term"]
    if not terms or any(not set(items_of(mark)[:1]) <= sets["trophic"] for mark in terms):
        return marks
    lead = begin - 1 if marks[begin].kind != "pseudo" else begin
    places = [mark for mark in marks[begin:end] if mark.kind in {"piece", "side"}]
    where = marks[begin].start
    made = [replace(mark, start=where, end=where) for mark in places]
    for mark in terms:
        normal = Mark("state", mark.end, mark.end, state=StateWord(("normal",)), text="normal")
        no = Mark("negator", mark.start, mark.start, text="no")
        made += [no, mark] if sets["grown"] & set(items_of(mark)) else [mark, normal]
        made.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return [*marks[:lead], *made[:-1], *marks[end:]]


def _is_unevenness(marks: Sequence[Mark], at: int) -> bool:
    """'No change in' as one, and 'no asymmetry'."""
    if marks[at].kind == "pseudo":
        return marks[at].text == "no change in"
    return marks[at].text in words().sets["unevenness"] and at > 0 and marks[at - 1].kind == "negator"


def _nor(marks: list[Mark]) -> list[Mark]:
    """'The redness has settled, nor is there any discharge': a 'nor' with its own verb denies what follows."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = marks[index + 1] if index + 1 < len(marks) else None
        if mark.kind == "joiner" and mark.word == "nor" and after and after.text in words().sets["auxiliaries"]:
            made.append(Mark("break", mark.start, mark.start, text="but"))
            made.append(Mark("negator", mark.start, mark.end, text="no"))
        elif mark.text == "there" and made and made[-1].text in words().sets["auxiliaries"]:
            made.append(replace(mark, kind="filler", state=None))  # 'nor is there any'
        else:
            made.append(mark)
    return made


def _but_not_for(marks: list[Mark]) -> list[Mark]:
    """'Negative for locking but not for clicking': the clicking is there."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        denied = any(each.kind == "negator" and each.text.endswith(" for") for each in marks[:index])
        turned = [each.text for each in marks[max(0, index - 1) : index + 2]] == ["but", "not", "for"]
        made.append(replace(mark, kind="filler") if denied and turned else mark)
    return made


def _just(marks: list[Mark]) -> list[Mark]:
    """'No malrotation, just a loss of prominence': what is left when the rest was denied."""
    just = words().sets["just"]
    return [
        replace(mark, kind="break", text="but")
        if mark.text == "comma" and after is not None and after.text in just else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip


def _not_only(marks: list[Mark]) -> list[Mark]:
    """'Not only Tinel's but also Phalen's was positive', 'not just swelling but redness': the first and the second."""
    more = words().sets["no_more_than"]
    begin = next((at for at, mark in enumerate(marks) if _is_not_only(marks, at, more)), None)
    if begin is None:
        return marks
    but = next((at for at in range(begin + 1, len(marks)) if marks[at].text == "but"), None)
    if but is None:
        return marks
    words_of = begin + 1 + (marks[begin].kind == "negator")
    small = [replace(mark, kind="filler") for mark in marks[begin:words_of]]
    also = replace(marks[but], kind="joiner", text="and", word="and")
    return [*marks[:begin], *small, *marks[words_of:but], also, *marks[but + 1 :]]


def _is_not_only(marks: Sequence[Mark], at: int, more: frozenset[str]) -> bool:
    mark = marks[at]
    return mark.text == "not only" or (mark.text == "not" and at + 1 < len(marks) and marks[at + 1].text in more)


def _answered(marks: list[Mark]) -> list[Mark]:
    """'Is he better? No: Phalen's is positive', 'No, the wrist is swollen': an answer, which denies nothing behind it.

    'No: swelling, redness' and 'no, or little, swelling' are none.
    """
    if len(marks) < _SHORTEST_ANSWER or marks[0].text != "no" or marks[1].text not in words().sets["behind_answers"]:
        return marks
    clause = list(takewhile(lambda mark: mark.kind not in {"joiner", "break"}, marks[2:]))
    told = any(mark.kind == "term" for mark in clause) and any(mark.text in BE | THERE_IS for mark in clause)
    return [replace(marks[0], kind="filler"), replace(marks[1], kind="filler"), *marks[2:]] if told else marks


def _none_on_one(marks: list[Mark]) -> list[Mark]:
    """'Swelling: nil R, wrist L': nothing on the one side, and behind the comma the place where it is on the other."""
    for at in range(1, len(marks) - 3):
        if marks[at].text not in _NONE:
            continue
        begin = part_ends(marks, at)
        here = [mark for mark in marks[at + 1 : begin] if mark.kind != "filler"]
        behind = marks[begin + 1 : part_ends(marks, begin + 1)]
        kinds = {mark.kind for mark in behind}
        named = len(here) == 1 and any(mark.text == OPPOSITE.get(here[0].text) for mark in behind)
        if named and "piece" in kinds and kinds <= {"piece", "side", "filler"}:
            where = behind[0].start
            there = Mark("state", where, where, state=StateWord(("present",)), text="present")
            return [*marks[: begin + 1], there, *marks[begin + 1 :]]
    return marks


def _attributes(marks: list[Mark]) -> list[Mark]:
    """'No locking or palpable nodule': in a list that is denied, how the thing would have to be."""
    made: list[Mark] = []
    denied = False
    for index, mark in enumerate(marks):
        denied = (denied or mark.kind == "negator") and mark.kind != "break"
        led = index > 0 and marks[index - 1].kind in {"joiner", "negator"}
        ahead = index + 1 < len(marks) and marks[index + 1].kind == "term"
        if denied and led and ahead and mark.kind == "state" and mark.text in words().sets["attributes"]:
            made.append(replace(mark, kind="certain", state=None))
        else:
            made.append(mark)
    return made


def _amiss(marks: list[Mark]) -> list[Mark]:
    """'No wasting, pallor or abnormal sweating', 'no lump, altered sensation, or loss of grip': each is denied."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        joined = index > 0 and marks[index - 1].kind == "joiner"
        if not (joined and _is_amiss(marks, index) and _is_one_of_the_denied(marks, index)):
            made.append(mark)
        elif mark.state is not None and "absent" in mark.state.classes and mark.text.endswith(" of"):
            made.append(replace(mark, state=StateWord(("normal",)), text="no loss of"))
        else:
            made += [Mark("negator", mark.start, mark.start, text="no"), mark]
    return made


def _is_amiss(marks: Sequence[Mark], index: int) -> bool:
    """Whether a word that something is wrong stands before a term: 'abnormal sweating', 'loss of the grip'."""
    state = marks[index].state
    if marks[index].kind != "state" or state is None or not set(state.classes) & _AMISS:
        return False
    ahead = next((each for each in marks[index + 1 : index + 5] if each.kind not in {"filler", "side"}), None)
    return ahead is not None and ahead.kind == "term"


def _is_one_of_the_denied(marks: Sequence[Mark], index: int) -> bool:
    """Whether a denial opens the list before, and an 'or' leads to this member or to a later one."""
    led = {mark.text for mark in marks[max(0, index - 2) : index] if mark.kind == "joiner"}
    if "or" not in led:
        later = next((at for at in range(index, len(marks)) if marks[at].kind not in _LISTED), len(marks))
        closes = next((at + 1 for at in range(index, later) if marks[at].text == "or"), later)
        if closes == later or not (marks[closes].kind == "term" or _is_amiss(marks, closes)):
            return False
    for at in range(index - 1, -1, -1):
        mark = marks[at]
        if mark.kind == "negator":
            return mark.text not in words().sets["not_of_verbs"]
        if mark.text in BE | {"and", "with"}:
            return False
        unknown = mark.kind == "word" and at > 0 and marks[at - 1].kind in {"joiner", "negator"}  # 'no xyz or ...'
        if not unknown and mark.kind not in _LISTED | {"piece", "side", "filler"}:
            return False
    return False


def _beside_landmarks(marks: list[Mark]) -> list[Mark]:
    """'No drainage or erythema about the incision', 'swelling around the wound': it says where, and nothing else."""
    made: list[Mark] = []
    passed = {"the", "his", "her", "their", "this", "left", "right"}
    for index, mark in enumerate(marks):
        if mark.kind != "term" or mark.text not in words().sets["landmarks"]:
            made.append(mark)
            continue
        lead = next((each for each in reversed(marks[:index]) if each.text not in passed), None)
        near = words().sets["around"] | ({"of"} if index and marks[index - 1].text in passed else set())
        beside = lead is not None and lead.kind == "filler" and lead.text in near  # 'no tenderness of the scar'
        told = any(each.kind == "negator" for each in marks[:index])
        if lead is not None and (lead.text in words().sets["round"] or _is_away(marks[:index])):
            beside = told = any(each.kind == "term" for each in marks[:index])
        made.append(replace(mark, kind="filler", term=None) if beside and told else mark)
    return made


def _is_away(before: Sequence[Mark]) -> bool:
    """'Sensation is normal distal to the laceration'."""
    led = [mark.text for mark in before[-5:] if mark.text not in {"the", "his", "her", "this"}][-2:]
    return len(led) > 1 and led[1] == "to" and led[0] in words().sets["away"]


def _in_line(marks: list[Mark]) -> list[Mark]:
    """'A nodule in line with the ring finger': where it lies, and not that it is straight."""
    return [
        replace(mark, kind="filler", state=None)
        if mark.text == "in line" and after is not None and after.text == "with" else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip


def _too_much(marks: list[Mark]) -> list[Mark]:
    """'Watson's not performed, too sore': why it was not, and no finding of its own."""
    return [
        replace(mark, kind="word", term=None)
        if mark.kind == "term" and before is not None and before.text == "too" else mark
        for before, mark, _ in beside(marks)
    ]  # fmt: skip


def _not_wanting(marks: list[Mark]) -> list[Mark]:
    """'Limitation of extension was not seen', 'a deficit was not found in the median nerve': no such thing.

    What 'there was' is there: 'there was weakness of the triceps and the triceps reflex was absent'.
    """
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["wanting"] or mark.kind not in {"state", "word"}:
            continue
        at = _denied_behind(marks, index)
        if at is None or is_asserted(marks, mark) or any(each.kind == "negator" for each in marks[:index]):
            continue
        no = Mark("negator", mark.start, mark.start, text="no")
        wanting = replace(mark, kind="state", state=mark.state or StateWord(("abnormal",)))
        told = replace(marks[at], kind="certain", state=None)
        return [*marks[:index], no, wanting, *marks[index + 1 : at], told, *marks[at + 1 :]]
    return marks


def _denied_behind(marks: Sequence[Mark], index: int) -> int | None:
    """Where the first thing that is said of the mark is that it was not there; None where it is not."""
    for at in range(index + 1, len(marks)):
        mark = marks[at]
        if mark.kind == "state":
            return at if mark.state is not None and set(mark.state.classes) == {"absent"} else None
        if mark.kind not in _NAMING and mark.text not in {"and", "or"}:
            return None
    return None


def denied_apart(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue) -> Sequence[Mark]:
    """'No visible glass or swelling': where a list follows, the denial in the first name is of all of it."""
    if not any([no in texts.lines for no in _DENYING_LINES]):  # noqa: C419 - quicker than a generator
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        no, _, name = mark.text.partition(" ")
        absent = mark.term is not None and mark.term.state == "absent" and mark.text.startswith(_DENYING)
        if (
            absent
            and mark.term is not None
            and value_of(mark, catalogue) is ValueKind.PRESENCE
            and not name.startswith("longer")
            and _goes_on_listing(marks, index)
        ):
            start = mark.start + len(no) + 1
            made.append(Mark("negator", mark.start, start, text=no))
            made.append(replace(mark, start=start, term=replace(mark.term, state=""), text=name))
        else:
            made.append(mark)
    return made


def _goes_on_listing(marks: Sequence[Mark], index: int) -> bool:
    """Whether a list goes on behind the mark: 'no glass, grit or swelling', and not 'no glass, the wound is clean'."""
    ahead = [each.text for each in marks[index + 1 : index + 3]]
    return ahead[:1] in (["or"], ["nor"], ["comma"]) and "the" not in ahead
