"""Joints that are called stable, in which positions and beside what else is found of them; joints that are quiet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_STABLE = frozenset({"elbow", "wrist"})
_INFLAMED = "synovitis"
_GIVES = "joint_instability"
_AROUND = frozenset({"filler", "certain", "severity", "side", "piece"})
_QUIET_LOOK = "a quiet joint is read as one without synovitis"


def stable_in(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'The DRUJ is stable in neutral, pronation and supination': how it is held, and no movement that is told."""
    if "in" not in texts or texts.isdisjoint(words().sets["stabilities"]):
        return marks
    at = next((at for at, mark in enumerate(marks) if mark.text in words().sets["stabilities"]), len(marks))
    if [mark.text for mark in marks[at + 1 : at + 2]] not in (["in"], ["throughout"]):
        return marks
    end = 0
    for index in range(at + 2, len(marks)):
        mark = marks[index]
        subject = [each.text for each in marks[index + 1 : index + 2] if each.text in BE]  # 'and supination is full'
        if mark.kind == "term" and mark.text.rpartition(" ")[2] in words().sets["bare_movements"] and not subject:
            end = index + 1
        elif mark.kind not in {"joiner", "word", "filler"} or mark.text == "with":
            break
    return [*marks[: at + 1], *marks[end:]] if end else marks


def stable_too(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'The left elbow was stable and not tender': of the joint itself, beside what else is found of it."""
    if "stable" not in texts or "and" not in texts or not texts.placed:
        return marks
    made = list(marks)
    for index in range(2, len(marks) - 2):
        part, verb, mark, joiner = marks[index - 2 : index + 2]
        joint = part.kind == "piece" and part.piece is not None and set(part.piece.slugs) <= _STABLE
        told = verb.text in BE and mark.kind == "state" and mark.text == "stable" and joiner.text == "and"
        more = next((each for each in marks[index + 2 :] if each.kind not in {"filler", "negator", "severity"}), joiner)
        if joint and told and more.kind == "term":
            name = "stable to stress testing"
            made[index] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)
    return made


def ligament_gives(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Stressing the UCL of the thumb shows no laxity': a result of the ligament that was stressed."""
    terms = [at for at, mark in enumerate(marks) if mark.kind == "term"] if _GIVES in texts.items else []
    if len(terms) != 2:  # noqa: PLR2004 - the ligament, and how it gives
        return marks
    first, at = terms
    ligament, gives = marks[first], marks[at]
    given = gives.state.items if gives.state is not None else {}
    if items_of(gives)[:1] != (_GIVES,) or not any(item in given for item in items_of(ligament)):
        return marks
    between = [mark for mark in marks[first + 1 : at] if mark.kind not in _AROUND]
    behind = [mark for mark in marks[at + 1 :] if mark.kind not in _AROUND]
    led = between[0] if between else None
    if behind or len(between) > 1 or (led is not None and led.kind != "negator"):
        return marks
    if led is None:
        shown = any(mark.text in words().sets["shows"] for mark in marks[first + 1 : at])
        return [*marks[:at], replace(gives, kind="state", term=None), *marks[at + 1 :]] if shown else marks
    told = Mark("state", led.start, gives.end, state=phrases["stable"].state, text="stable")
    rest = [mark for mark in marks[first + 1 : at] if mark is not led]
    return [*marks[: first + 1], *(mark for mark in rest if mark.start < led.start), told, *marks[at + 1 :]]


def quiet(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'The MCPs are quiet', 'the right wrist remains quiet, the left is hot': no joint there is inflamed.

    A test may be quiet as well, and that is a result of it.
    """
    if texts.isdisjoint(words().sets["quiet"]) or "piece" not in texts.kinds:
        return marks
    calm = phrases[_INFLAMED].term
    assert calm is not None
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind != "state" or mark.text not in words().sets["quiet"]:
            continue
        before = next((each for each in reversed(marks[:index]) if each.text not in words().sets["to_quiet"]), None)
        if before is not None and before.kind == "piece" and before.piece is not None and _are_joints(before.piece):
            term = replace(calm, state="absent", look=_QUIET_LOOK)
            made[index] = Mark("term", mark.start, mark.end, term=term, text=_INFLAMED)
    return made


def _are_joints(piece: Piece) -> bool:
    """'MCPs', 'the left wrist', 'PIP joint of the thumb'."""
    return bool(piece.slugs) and all(slug.partition("_")[0] in words().sets["joint_sites"] for slug in piece.slugs)
