"""Arteries that stand for their pulses: 'pulses: radial 2+, ulnar absent', 'radial pulse present, ulnar not felt'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_TELLS = frozenset({"state", "value", "negator"})
_NAMED = frozenset({"artery", "arteries"})
_AT = frozenset({"at", "in", "of", "over"})


def pulses(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with such names of arteries as pulses."""
    if ":" in texts or "except" in texts.kinds:
        marks = _of_a_heading(marks, phrases)
    if not texts.isdisjoint(words().sets["arteries"]) and not any("reflex" in mark.hints for mark in marks):
        marks = _counted(marks, phrases)
    if not texts.isdisjoint(_NAMED) and not texts.isdisjoint(_AT):
        marks = _at_arteries(marks, phrases)
    if " pulse" not in texts.lines or not any(map(_is_pulse, texts)):
        return marks
    marks = _beside_a_pulse(marks, phrases)
    return marks if texts.isdisjoint(words().sets["there_at_least"]) else _present_but_less(marks)


def _counted(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'SILT in M/U/R, 2+ radial', 'radials 2+': an artery behind pluses, or before them, is a pulse.

    Behind them it has nothing of its own behind it; before them it begins, and no tendon is tapped in its sentence.
    """
    made = list(marks)
    for index in range(1, len(marks)):
        amount = marks[index - 1].amount
        after = marks[index + 1] if index + 1 < len(marks) else None
        alone = after is None or after.kind in {"joiner", "break", "side"}
        pulse = _pulse(marks[index], phrases) if alone and amount is not None and amount.kind == "signed" else None
        made[index] = marks[index] if pulse is None else pulse
    if not words().sets["tapped_tendons"].isdisjoint(mark.text for mark in marks):
        return made
    for index, (mark, after) in enumerate(pairwise(marks)):
        begins = not index or marks[index - 1].kind in {"side", "joiner", "break"}
        plus = after.amount is not None and after.amount.kind == "signed" and after.amount.grade.endswith("+")
        pulse = _pulse(mark, phrases) if begins and plus else None
        made[index] = made[index] if pulse is None else pulse
    return made


def _of_a_heading(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Pulses: radial 2+, ulnar absent', 'all pulses except the left ulnar': each artery has its own."""
    at = next((i for i, mark in enumerate(marks) if mark.kind == "term" and _are_pulses(mark)), None)
    excepting = next((i for i, mark in enumerate(marks) if mark.kind == "except"), None)
    if at is None or not (excepting is not None or any(mark.text == ":" for mark in marks[at : at + 5])):
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        lead = marks[index - 1] if index else mark
        first = index > at and (lead.text in {":", "-"} or lead.kind in {"joiner", "side", "except"})
        pulse = _pulse(mark, phrases) if first and (excepting is None or index > excepting) else None
        made.append(mark if pulse is None else pulse)
    named = excepting is None and any(_is_pulse(mark.text) for mark in made)
    return [mark for index, mark in enumerate(made) if not (named and index == at and mark is marks[at])]


def _at_arteries(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Pulses at the brachial and radial arteries are normal', 'the pulse in the ulnar artery': of each artery."""
    at = next((index for index, mark in enumerate(marks) if mark.kind == "term" and _are_pulses(mark)), len(marks))
    end = next((index for index in range(at + 1, len(marks)) if marks[index].text in _NAMED), 0)
    if not end or marks[at + 1].text not in _AT:
        return marks
    between = [_pulse(mark, phrases) or mark for mark in marks[at + 2 : end]]
    parted = all(mark.kind in {"term", "filler", "side", "joiner", "piece"} for mark in between)
    if not parted or not any(mark.kind == "term" for mark in between):
        return marks
    named = [mark for mark in between if mark.kind in {"term", "side"}]
    comma = Mark("joiner", marks[at].start, marks[at].start, text="and")
    told = [each for mark in named for each in ((comma, mark) if mark.kind == "term" else (mark,))]
    told = told[1:] if told[0] is comma else told
    return [*marks[:at], *told, *marks[end + 1 :]]


def _is_pulse(text: str) -> bool:
    """'radial pulse', and no 'pulse' of which artery is not said."""
    name = text.removesuffix("s")
    return name.endswith(" pulse") and name.removesuffix(" pulse") in words().sets["arteries"]


def _are_pulses(mark: Mark) -> bool:
    return mark.text.endswith("pulses") or mark.text == "pulse"


def _beside_a_pulse(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Radial pulse present, ulnar absent': behind one pulse the name of another artery with its own result."""
    at = next(index for index, mark in enumerate(marks) if _is_pulse(mark.text))
    made = list(marks)
    if any(mark.text.startswith("median") for mark in marks):
        return made  # 'radial pulse present, ulnar and median intact': the nerves
    for index in range(at + 2, len(marks) - 1):
        lead, after = marks[index - 1], marks[index + 1]
        led = lead.kind in {"joiner", "break"} or (lead.text == "the" and marks[index - 2].kind in {"joiner", "break"})
        told = after.kind in _TELLS or after.text in {"is", "was", ":"}
        pulse = _pulse(marks[index], phrases, several=marks[at].text.endswith("s")) if led and told else None
        made[index] = marks[index] if pulse is None else pulse
    return made


def _pulse(mark: Mark, phrases: Mapping[str, Entry], *, several: bool = False) -> Mark | None:
    """The pulse of an artery that is named, or where `several` its pulses on both sides; None where none is named."""
    artery = mark.text.removesuffix(" artery")
    known = artery in words().sets["arteries"]
    artery = artery.removesuffix("s")  # 'radials 2+'
    name = f"{artery} pulses" if several and f"{artery} pulses" in phrases else f"{artery} pulse"
    entry = phrases.get(name) if known else None
    if entry is None or entry.term is None or mark.kind not in {"piece", "word", "filler"}:
        return None
    return Mark("term", mark.start, mark.end, term=entry.term, text=name)


def _present_but_less(marks: Sequence[Mark]) -> list[Mark]:
    """'Palpable but weaker than the right': of a pulse the second word is the result."""
    made = list(marks)
    for index in range(1, len(marks) - 2):
        first, parts, second = marks[index : index + 3]
        there = first.state is not None and first.state.classes == ("present",)
        less = second.state is not None and second.state.classes == ("reduced",)
        named = next((each for each in reversed(marks[:index]) if each.kind == "term"), None)
        pulse = named is not None and (_is_pulse(named.text) or _are_pulses(named))
        if there and less and pulse and parts.kind in {"break", "joiner"}:
            made[index] = replace(first, kind="filler", state=None, text="is")
            made[index + 1] = replace(parts, kind="filler", text="is")
    return made
