"""Verbs of movement as the movements they are: 'could be flexed to 50', 'can be fully straightened'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, beside, items_of, value_of
from letterkit.reading.one_joint import is_digit, is_row
from letterkit.reading.phrases import INCOMPLETE, Entry, StateWord
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.values import Amount
from letterkit.reading.words import words

_RANGE = "range of movement"
_PARTS_MOVED = 15  # marks in which the parts that somebody moves are listed: 'moves his neck, elbows and wrists freely'
_MOVES = frozenset({"moves", "moved"})
_FULL = StateWord(("full",))
_ABLE = StateWord(("able",))
_WHICH_WAY = "palmar and radial abduction are not told apart here"
_WORDS = frozenset({"word", "filler", "state", "maybe"})
_TO = frozenset({"to", "from", "only", "through"})
_OF_WHOM = frozenset({"filler", "certain", "piece", "side"})
_WITH_PLACES = frozenset({"filler", "piece", "side", "joiner", "certain", "active_mode", "passive_mode"})
_ADVERBS = frozenset({"state", "active_mode", "passive_mode", "certain", "severity"})


@cache
def _asked() -> frozenset[str]:
    """The words of which one must stand in the sentence."""
    sets = words().sets
    asked = (
        sets["moves"] | sets["free_adverbs"] | sets["poor_adverbs"] | sets["movement_verbs"] | sets["finger_movements"]
    )
    return asked | words().movements.keys()


def verbs_of_movement(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with its verbs of movement read as terms."""
    movements = words().movements
    sets = words().sets
    if texts.isdisjoint(_asked()):
        return marks
    if texts & sets["finger_movements"]:
        marks = _of_the_fingers(marks, phrases)
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        name = movements.get(mark.text, "") if mark.kind in _WORDS else ""
        if mark.kind == "word" and mark.text in sets["moves"] and _moves_freely(marks, index):
            made.append(Mark("term", mark.start, mark.end, term=phrases[_RANGE].term, text=_RANGE))
            continue
        meant = mark.text in sets["moves_itself"] or _follows_be(made) or _follows_modal(made, mark)
        meant = meant or (mark.text in sets["base_verbs"] and _follows_part(made)) or _is_subject(marks, index)
        if name and (meant or _goes_to(marks, index)):
            made.append(Mark("term", mark.start, mark.end, term=phrases[name].term, text=name))
            _make_able(made, measured=_is_measured(marks, index))
        elif mark.text in sets["free_adverbs"] and (_is_of_movement(marks, index) or _is_moved(made)):
            made.append(replace(mark, kind="state", state=_FULL))
        elif mark.text in sets["poor_adverbs"] and _is_of_movement(marks, index):
            made.append(replace(mark, kind="state", state=INCOMPLETE, text="incomplete"))
        elif mark.kind == "value" and _is_position(marks, index):
            made.append(replace(mark, kind="filler", text="at"))
        else:
            made.append(mark)
            if mark.kind == "term" and mark.text in words().sets["movement_verbs"]:
                _make_able(made, measured=_is_measured(marks, index))
    return made


def it_moves(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'It moves from 10 to 75 degrees': the arc of the joint that was spoken of."""
    if "it" not in texts or "value" not in texts.kinds or texts.isdisjoint(_MOVES):
        return marks
    made = list(marks)
    for index in range(1, len(marks) - 1):
        arc = marks[index + 1].amount
        if marks[index].text in _MOVES and marks[index - 1].text == "it" and arc is not None and arc.kind == "arc":
            term = phrases["motion"].term
            made[index] = Mark("term", marks[index].start, marks[index].end, term=term, text="motion")
    return made


def to_neutral(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'The elbow extends to -15 degrees and the wrist to neutral', 'supination to neutral': to 0 degrees."""
    if "neutral" not in texts:
        return marks
    made = list(marks)
    for before, mark, after in beside(marks):
        led = before is not None and (before.text.rpartition(" ")[2] == "to" or before.text in words().sets["beyond"])
        if mark.text == "neutral" and mark.kind == "word" and led and (after is None or after.kind != "value"):
            amount = Amount("amount", mark.start, mark.end, (0.0,), "deg")
            made[marks.index(mark)] = Mark("value", mark.start, mark.end, amount=amount)
    return made


def no_further(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Cannot be flexed beyond 20 degrees', 'does not extend past -30': as far as that, and not that it cannot."""
    if texts.isdisjoint(words().sets["beyond"]):
        return marks
    made = list(marks)
    for index, (mark, after) in enumerate(pairwise(marks)):
        if mark.text not in words().sets["beyond"] or after.kind != "value":
            continue
        denial = next((at for at in range(index - 1, -1, -1) if _denies_movement(marks[at])), None)
        if denial is None or any(each.kind in {"joiner", "break"} for each in marks[denial:index]):
            continue
        if marks[denial].kind == "term":
            name = words().movements.get(marks[denial].text.rpartition(" ")[2], "")
            made[denial] = replace(marks[denial], term=phrases[name].term if name else None, text=name)
            made[index] = Mark("filler", mark.start, mark.end, text="to")
            continue
        if not any(each.kind == "term" or each.text in words().movements for each in marks[denial:index]):
            continue
        made[denial] = Mark("filler", marks[denial].start, marks[denial].end, text="can")
        made[index] = Mark("filler", mark.start, mark.end, text="to")
    return made


def _denies_movement(mark: Mark) -> bool:
    if mark.kind == "term":
        return mark.text.startswith(("does not ", "did not ", "do not ", "will not "))
    return mark.kind == "negator" or (
        mark.kind == "state" and mark.state is not None and "unable" in mark.state.classes
    )


def rest_of_movement(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Pain on ulnar deviation, the rest of the movements are full', '..., otherwise full ROM': of the others alone."""
    rest = words().sets["rest_of_movement"]
    if texts.isdisjoint(rest):
        return marks
    made = [
        replace(mark, kind="term", term=phrases[_RANGE].term) if _is_full_remainder(marks, index) else mark
        for index, mark in enumerate(marks)
    ]
    marks = list(made)
    for index, mark in enumerate(marks):
        if mark.kind != "joiner":
            continue
        soft = (each.kind in {"filler", "word"} or each.text == "other" for each in marks[index + 1 :])
        told = next((at for at, each in enumerate(soft, index + 1) if not each), len(marks))
        led = any(each.text in rest for each in [*marks[index + 1 : told], *marks[told : told + 1]])
        moved = next((each for each in marks[told : told + 4] if each.kind not in _ADVERBS), None)
        if led and moved is not None and items_of(moved)[:1] == ("range_of_movement",):
            made[index] = replace(mark, kind="break", text="but")
            made[index + 1 : told] = [replace(each, kind="filler") for each in marks[index + 1 : told]]
    return made


def abducted(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Cannot abduct the little finger', 'limited abduction of the thumb': what moves says which movement it is."""
    if texts.isdisjoint(words().sets["abducts"]):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind == "term" or mark.text not in words().sets["abducts"]:
            continue
        part = next((each for each in marks[index + 1 : index + 5] if each.kind not in {"filler", "side"}), None)
        piece = part.piece if part is not None and part.kind == "piece" else None
        if piece is not None and piece.slugs == ("thumb",):
            palm = _from_the_palm(marks, marks.index(part)) if part is not None else 0
            name = "thumb abduction" if mark.text == "abduction" and not palm else "palmar abduction"
            look = "" if palm or name == "thumb abduction" else _WHICH_WAY
            made[index] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name, look=look)
            if palm:
                made[palm] = replace(made[palm], kind="filler", piece=None)
        elif piece is not None and piece.kind in {"digit", "digits"}:
            name = "abduction of the fingers"
            made[index] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)
    return made


def _from_the_palm(marks: Sequence[Mark], part: int) -> int:
    """Where the palm stands in 'the thumb away from the palm'; 0 where the thumb is moved elsewhere."""
    end = next((at for at in range(part + 1, len(marks)) if marks[at].kind not in {"filler", "word"}), 0)
    away = any(mark.text == "away" for mark in marks[part:end])
    piece = marks[end].piece
    return end if away and piece is not None and piece.slugs == ("palm",) else 0


def _is_full_remainder(marks: Sequence[Mark], index: int) -> bool:
    """'Flexion 40, remaining movements full': how far they go; 'remaining movements 5/5' is of their power."""
    if not marks[index].text.endswith("remaining movements") or not any(each.kind == "term" for each in marks[:index]):
        return False
    told = next((each.state for each in marks[index + 1 : index + 5] if each.kind not in _OF_WHOM), None)
    return told is not None and "full" in told.classes


def when_it_catches(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """'Locks in flexion', 'no catching of the ring finger with active extension': when it does, and no movement."""
    sets = words().sets
    if texts.items.isdisjoint(sets["catching"]):
        return marks
    made = list(marks)
    open_to = led = False  # whether a digit that catches was named, and whether 'on' or 'with' leads to a movement
    for index, mark in enumerate(marks):
        if mark.kind == "term" and items_of(mark)[0] in sets["catching"]:
            open_to, led = True, mark.text.rpartition(" ")[2] in sets["while_moved"]
        elif open_to and mark.text in sets["while_moved"]:
            led = True
        elif led and mark.kind == "term" and _is_movement_alone(marks, index):
            made[index] = replace(mark, kind="certain", term=None)
        elif mark.kind not in _WITH_PLACES:
            open_to = led = False
    return made


def _is_movement_alone(marks: Sequence[Mark], index: int) -> bool:
    """Whether a movement stands here of which nothing is told: 'flexion', and not 'extension is full'."""
    verb = next((each for each in marks[index + 1 : index + 5] if each.kind not in _WITH_PLACES - {"filler"}), None)
    told = verb is not None and (verb.text in BE or verb.kind in {"state", "value"})
    name = marks[index].text.rpartition(" ")[2]
    return not told and (name in words().sets["bare_movements"] or name in words().sets["movement_verbs"])


def limits_of_joints(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'No limitation of the right elbow', 'restriction was not noted in the wrist': of its movement."""
    limits = words().sets["limits"]
    if texts.isdisjoint(limits):
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        made.append(mark)
        if mark.text not in limits:
            continue
        ends = next((at for at in range(index, len(marks)) if marks[at].kind in {"joiner", "break"}), len(marks))
        rest = marks[index + 1 : ends]
        ahead = next((each for each in rest if each.kind not in {"filler", "side", "state", "certain"}), None)
        moves = ahead is not None and ahead.piece is not None and (
            ahead.piece.kind in {"row", "digit", "digits"} or bool({"wrist", "elbow"} & set(ahead.piece.slugs))
        )  # fmt: skip
        if moves and not any(each.kind in {"term", "hint"} for each in rest):
            made.append(Mark("term", mark.end, mark.end, term=phrases[_RANGE].term, text=_RANGE))
    return made


def arcs_of_joints(marks: list[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Thumb: IP 0-60, MCP 0-50, palmar abduction 40': beside other terms, a joint with its arc is its movement."""
    if not any([mark.amount is not None and mark.amount.kind == "arc" for mark in marks]):  # noqa: C419 - quicker than a generator
        return marks
    if not any(mark.kind == "term" for mark in marks):
        return marks
    made: list[Mark] = []
    told = False  # whether something that is measured heads the list
    for index, mark in enumerate(marks):
        arc = mark.amount is not None and mark.amount.kind == "arc"
        joint = bool(made) and is_row(made[-1]) and not is_digit(mark)  # no 'MCP 2-4'
        parted = index + 1 == len(marks) or marks[index + 1].kind in {"joiner", "break"}
        if arc and joint and parted and not told:
            made.append(Mark("term", mark.start, mark.start, term=phrases[_RANGE].term, text=_RANGE))
        told = told or (mark.kind == "term" and value_of(mark, catalogue) is not ValueKind.PRESENCE)
        made.append(mark)
    return made


def _moves_freely(marks: Sequence[Mark], index: int) -> bool:
    """'Moves both arms freely': a verb, parts of the arm, and how they move."""
    parts = False
    for mark in marks[index + 1 : index + _PARTS_MOVED]:
        if mark.text in words().sets["free_adverbs"] or (mark.state is not None and "full" in mark.state.classes):
            return parts
        if mark.kind not in {"piece", "side", "filler", "joiner"}:
            return False
        parts = parts or (mark.piece is not None and mark.piece.kind != "elsewhere")
    return False


def _of_the_fingers(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Finger movements are full': how far they move; 'finger movements were slow' is of their skill, and stays."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        made.append(mark)
        if mark.kind == "term" and mark.text in words().sets["finger_movements"] and not _is_of_skill(marks, index):
            made[-1] = Mark("term", mark.start, mark.end, term=phrases[_RANGE].term, text=mark.text)
            made.append(Mark("piece", mark.end, mark.end, piece=phrases["fingers"].piece, text="fingers"))
    return made


def _is_of_skill(marks: Sequence[Mark], index: int) -> bool:
    """Whether nothing behind 'finger movements' says how far they go: they are slow, clumsy, or nothing is said."""
    result = next((each for each in marks[index + 1 : index + 6] if each.kind == "state" and each.state), None)
    told = result.state.classes if result is not None and result.state is not None else None
    if result is not None and result.text in words().sets["limited_range"]:
        return False  # 'the finger movements are restricted'
    if told is None:
        return not any(each.text in {"free", "unrestricted"} for each in marks[index + 1 : index + 7])
    return not told or bool({"reduced", "abnormal", "unable"} & set(told))


def _follows_be(made: Sequence[Mark]) -> bool:
    """'Can be fully straightened', 'could not be flexed', and not 'the finger was held flexed'."""
    before = next((mark for mark in reversed(made) if mark.kind not in _ADVERBS or mark.text == "could not"), None)
    return before is not None and before.text in {"be", "could be", "can be", "cannot be"}


def _follows_modal(made: Sequence[Mark], verb: Mark) -> bool:
    """'She cannot actively straighten it', 'he could fully bend it', 'has difficulty bending it'."""
    adverbs = _ADVERBS - {"state"}
    before = next((mark for mark in reversed(made) if mark.kind not in adverbs and mark.text != "fully"), None)
    if before is not None and verb.text in words().sets["gerunds"]:
        return before.text in words().sets["hard"]
    if before is None or verb.text not in words().sets["base_verbs"]:
        return False
    classes = set(before.state.classes) if before.kind == "state" and before.state is not None else set()
    return bool(classes & {"able", "unable"}) or before.text == "could"


def _is_subject(marks: Sequence[Mark], index: int) -> bool:
    """'She fully extends the left elbow, and bending it is limited': what is done to a joint, of which it is told."""
    if marks[index].text not in words().sets["gerunds"]:
        return False
    after = [mark for mark in marks[index + 1 : index + 6] if mark.kind not in {"side", "piece", "certain"}]
    parts = [mark.text for mark in after if mark.text not in {"it", "the", "this", "that", "her", "his"}]
    return bool(parts) and parts[0] in BE


def _follows_part(made: Sequence[Mark]) -> bool:
    """'Both elbows straighten fully', 'the fingers do not straighten'."""
    rest = made[:-1] if made and made[-1].text in words().sets["not_of_verbs"] else made
    return bool(rest) and rest[-1].kind == "piece"


def _is_position(marks: Sequence[Mark], index: int) -> bool:
    """'With the elbow flexed to 90 degrees, pronation was ...': how a joint is put, and no result."""
    near = marks[max(0, index - 7) : index]
    led = next((at for at in range(len(near) - 1, -1, -1) if near[at].text == "with"), None)
    amount = marks[index].amount
    if led is None or amount is None or amount.unit != "deg":
        return False
    between, put = near[led + 1 :], words().sets["put"]
    if not any(mark.kind == "term" for mark in marks[index + 1 :]):
        return False
    joint = {mark.kind for mark in between if mark.text not in put} <= {"piece", "side"}
    return joint and any(mark.text in put for mark in between) and any(mark.kind == "piece" for mark in between)


def _goes_to(marks: Sequence[Mark], index: int) -> bool:
    """'The wrist flexed to 50 degrees', and not 'with the elbow flexed to 90 degrees', 'was flexed to 30 degrees'."""
    ahead = marks[index + 1 : index + 6]
    figure = next((each for each in ahead if each.kind == "value"), None)
    before = [mark.text for mark in marks[max(0, index - 8) : index]]
    if figure is None or figure.amount is None or figure.amount.unit != "deg" or ahead[0].text not in _TO:
        return False
    return not (set(before) & words().sets["positioning"]) and before[-1:] != ["was"]


def _is_measured(marks: Sequence[Mark], index: int) -> bool:
    """Whether a number follows the verb: 'flexes only to 50 degrees', 'could flex the left elbow to 90 degrees'."""
    ahead = next((mark for mark in marks[index + 1 : index + 9] if mark.kind not in _OF_WHOM), None)
    return ahead is not None and ahead.kind == "value"


def _make_able(made: list[Mark], *, measured: bool) -> None:
    """'Could flex all fingers': what can be done; 'could be flexed to 50': how far, and not that it is full."""
    for at in range(len(made) - 2, max(-1, len(made) - 6), -1):
        mark = made[at]
        able = mark.kind == "state" and mark.state is not None and mark.state.classes == ("able",)
        if measured and (able or mark.text in {"could", "could be"}):
            made[at] = replace(mark, kind="filler", state=None)
        elif mark.text in {"could", "could be"} and mark.kind in _WORDS and not able:
            made[at] = replace(mark, kind="state", state=_ABLE, text="able to")
        elif mark.text == "be" or mark.kind in _ADVERBS:
            continue
        return


def _is_moved(made: Sequence[Mark]) -> bool:
    """Whether 'moves' was read right before the parts that the adverb stands behind."""
    before = next((mark for mark in reversed(made) if mark.kind not in {"piece", "side", "filler", "joiner"}), None)
    return before is not None and before.text in {_RANGE, *words().sets["finger_movements"]}


def _is_of_movement(marks: Sequence[Mark], index: int) -> bool:
    """Whether 'well' or 'freely' stands right behind a verb of movement: 'the elbows flex and extend well'."""
    if any(mark.text.startswith("against") for mark in marks[index + 1 : index + 2]):
        return False  # 'flexes well against resistance'
    free = marks[index].text in {"free", "freely"}
    if free and any(mark.text in {"of", "from"} for mark in marks[index + 1 : index + 2]):
        return False  # 'free of pain'
    sets = words().sets
    verbs = sets["movement_verbs"] | sets["movement_heads"] | words().movements.keys()
    nouns = sets["bare_movements"] | sets["movement_nouns"]
    for mark in reversed(marks[max(0, index - 7) : index]):
        if mark.text in verbs or (free and mark.text.split(" ")[-1] in nouns):
            return True
        if mark.kind not in {"piece", "side", "filler"}:
            return False
    return False
