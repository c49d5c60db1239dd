"""'Both arms are weak', 'a tremor, and the left hand was weak': the strength of a whole limb; weakness of the legs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage
from letterkit.reading.angles import may_be_graded
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of, side_of, without_side
from letterkit.reading.parting import PARTS, as_break, said_at
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, term_is_adjective
from letterkit.reading.words import words

_COUNTED = frozenset({"two", "three", "four"})
_WHEN = frozenset({"when", "on", "with", "while", "in", "at"})
_LIMBS = frozenset({"upper_limb", "hand", "arm"})
_SEVERAL = frozenset({"are", "were"})
_BESIDE = frozenset({"severity", "certain", "negator"})  # before 'weak'
_CALLED = frozenset({"joiner", "negator", "neither", "severity", "certain"})
_JOINS = frozenset({"and", "comma"})
_GRIPPED = ("grip", "pinch", "power", "strength", "pulse")


def weak_limbs(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Both arms are weak', 'the left hand was very weak': the strength of the limb, where no muscle is spoken of."""
    made = list(marks)
    for index in range(len(marks) - 1, -1, -1):
        if marks[index].kind != "state" or marks[index].text not in words().sets["weak"]:
            continue
        if (called := _called(marks, index, catalogue, phrases)) is not None:
            made[index : index + 1] = called
            continue
        joined = _where_joined(marks, index, catalogue)
        if joined < 0 and (other := _other_limb(marks, index)) is not None:
            begins, again = other
            start = marks[begins].start
            weakness = Mark("term", start, start, term=phrases["weakness"].term, text="weakness")
            behind = said_at(again, marks[begins].end)
            made[begins : begins + 1] = [weakness, marks[begins], *behind]
            joiner = begins - 1 - (marks[begins - 1].text == "the")
            made[joiner] = as_break(marks[joiner])
            continue
        if (limb := _limb_before(marks, index, joined + 1)) is not None:
            start = marks[limb].start
            state = marks[index].state
            strong = (state is not None and "normal" in state.classes) or marks[index - 1].kind == "no_longer"
            name = "strength" if strong else "weakness"
            made.insert(limb, Mark("term", start, start, term=phrases[name].term, text=name))
            if joined >= 0:
                made[joined] = as_break(made[joined])
    return made


def _other_limb(marks: Sequence[Mark], weak: int) -> tuple[int, list[Mark]] | None:
    """'The left hand was cold and the right was weak', 'left arm numb, right weak': the limb of the other side.

    Gives where that side stands and the name of the limb.
    """
    at = weak - 1
    while at > 0 and (marks[at].kind in _BESIDE or marks[at].text in BE or marks[at].text == "one"):
        at -= 1
    if at < 1 or marks[at].kind != "side" or marks[at].text not in OPPOSITE:
        return None
    joiner = at - 1 - (marks[at - 1].text == "the")
    told = joiner - 1
    while told > 0 and marks[told].kind in PARTS:
        told -= 1
    if told < 1 or marks[joiner].kind not in PARTS or not term_is_adjective(marks[told]):
        return None
    parts = [mark for mark in marks[:joiner] if mark.kind == "piece"]
    sides = {side_of(mark) for mark in marks[:joiner]} - {""}
    if len(parts) != 1 or parts[0].piece is None or sides != {OPPOSITE[marks[at].text]}:
        return None
    if parts[0].text not in words().sets["of_two"] or not _LIMBS & set(parts[0].piece.slugs):
        return None
    return at, [without_side(parts[0])]


def _called(
    marks: Sequence[Mark], weak: int, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> list[Mark] | None:  # fmt: skip
    """'The left hand was swollen and weak', 'is numb but not weak': one more word that a limb is called.

    Of a thumb or a wrist it is not told what is weak: there the word stands alone, and the others are read.
    """
    mark = marks[weak]
    at = weak - 1
    while at > 0 and marks[at].kind in _BESIDE:
        at -= 1
    while at > 1 and marks[at].kind in PARTS and marks[at - 1].kind in PARTS:
        at -= 1  # 'numb, and weak'
    if at < 1 or marks[at].kind not in PARTS or not term_is_adjective(marks[at - 1]):
        return None
    if weak + 1 < len(marks) and marks[weak + 1].kind not in PARTS:
        return None  # 'swollen and weak thumb abduction'
    begins = at
    while begins > 0 and (
        marks[begins - 1].kind in _CALLED or marks[begins - 1].text in BE or term_is_adjective(marks[begins - 1])
    ):
        begins -= 1
    part_of = begins
    while part_of > 0 and (marks[part_of - 1].kind in NAMES_SIDE or marks[part_of - 1].kind == "filler"):
        part_of -= 1
    pieces = [each.piece for each in marks[part_of:begins] if each.piece is not None]
    if not pieces or (part_of and _may_be_weak(marks[part_of - 1], catalogue)):
        return None  # 'dorsiflexion of the wrist was painful and weak'
    if not any(_LIMBS & set(piece.slugs) for piece in pieces):
        return [Mark("word", mark.start, mark.end, text=mark.text)]
    weakness = phrases["weakness"].term
    assert weakness is not None
    term = Mark("term", mark.start, mark.end, term=replace(weakness, adjective=True), text="weakness")
    if not mark.text.startswith("not "):
        return [term]
    denied = Mark("negator", mark.start, mark.start + len("not"), text="not")
    return [denied, replace(term, start=mark.start + len("not "))]


def _where_joined(marks: Sequence[Mark], weak: int, catalogue: Catalogue) -> int:
    """Where a limb that is weak is joined to a finding before it: 'hypotonia, and the left hand was weak'; else -1.

    Of one limb it is the last joiner ('numb in the right index and the left hand was weak'), of several the first
    ('a tremor, and the wrists and hands were weak'). What may be weak itself is no such finding.
    """
    verb = next((at for at in range(weak - 1, max(-1, weak - 4), -1) if marks[at].text in BE), weak)
    joined, told = -1, False
    for at in range(verb - 1, -1, -1):
        mark = marks[at]
        if mark.kind == "term":
            return joined if told or not _may_be_weak(mark, catalogue) else -1
        told = told or (joined >= 0 and mark.kind in {"state", "value"})  # 'grip 20 kg on the right and ...'
        if mark.kind == "break":
            return -1
        if mark.kind == "joiner" and mark.text in _JOINS and _leads_limb(marks, at, verb):
            joined = at if joined < 0 or marks[verb].text in _SEVERAL else joined
    return -1


def _leads_limb(marks: Sequence[Mark], joiner: int, verb: int) -> bool:
    """Whether 'the left hand', 'both arms' stands behind a joiner and before its verb, or begins a list that does."""
    led = marks[joiner + 1]
    if led.kind != "side" and led.text not in words().sets["determiners"]:
        return False
    return any(mark.piece is not None and mark.kind == "piece" for mark in marks[joiner + 1 : verb])


def _may_be_weak(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether 'weak' may be said of what a term names: of a muscle, a movement, a grip, a pulse."""
    if "power" in mark.hints or may_be_graded(mark, catalogue):
        return True
    return any(
        catalogue.items[slug].stage is Stage.MOVEMENT or any(word in slug for word in _GRIPPED)
        for slug in items_of(mark)
    )


def _limb_before(marks: Sequence[Mark], index: int, since: int) -> int | None:
    """Where the words for a whole limb or hand begin, where no muscle or tendon stands before that is weak instead."""
    begins, limb = index, False
    for at in range(index - 1, since - 1, -1):
        mark = marks[at]
        if mark.kind == "piece" and mark.piece is not None:
            limb = limb or bool(_LIMBS & set(mark.piece.slugs))
            if not limb:
                return None
            begins = at
        elif mark.kind == "term":
            return None  # 'superficialis of both hands was weak'
        elif mark.kind == "side":
            begins = at
        elif mark.text == "comma" and at and marks[at - 1].kind == "piece":
            continue  # 'superficialis to the index, middle and little fingers of both hands was weak'
        elif mark.kind == "break" or (mark.kind == "joiner" and mark.text != "and"):
            break
        elif mark.kind == "word" and mark.text in _COUNTED:
            continue  # 'to all four fingers of the hand'
        elif mark.kind not in {"filler", "severity", "certain", "joiner", "no_longer"}:
            break
    return begins if limb else None


def weak_legs(marks: Sequence[Mark]) -> list[Mark]:
    """'Mild weakness getting up from a squat', 'no weakness on heel walking': of the legs."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if not mark.text.startswith("weakness"):
            continue
        after = next((each for each in marks[index + 1 :] if each.kind != "filler" and each.text not in _WHEN), None)
        if after is not None and after.text in words().sets["leg_tasks"]:
            made[index] = Mark("word", mark.start, mark.end, text=mark.text)
    return made
