"""Fragments of hand clinics: 'no active FDP', 'fist 80%', 'tips 4 cm from palm', 'boggy dorsal tenosynovitis'.

Each function takes the marks of one sentence and gives them as they are meant; none finds anything of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import INCOMPLETE, NOT_THERE, Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_MODES = frozenset({"active_mode", "passive_mode", "filler"})
_ENDS = frozenset({"joiner", "break", "side", "piece", "filler"})
_ALSO = frozenset({"and", "comma", "now", ":"})
_WHERE = frozenset({"side", "piece", "filler", "certain"})
_LEADS = frozenset({"side", "piece", "filler", "certain", "severity", "term"})
_WHOLE = 100  # per cent
_GAP = "pulp to palm"
_PALM = frozenset({"palmar_crease", "palm"})
_LENGTHS = frozenset({"cm", "mm"})
_FROM = frozenset({"from", "off", "to", "the", "of"})
_INFLAMED = frozenset({"synovitis", "dorsal_tenosynovitis", "flexor_tenosynovitis"})


def fragments(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence with these fragments written out."""
    made = marks
    if "no" in texts and not texts.items.isdisjoint(words().sets["tendons"]):
        made = _no_tendon(made)
    if "composite_fist" in texts.items and "value" in texts.kinds:
        made = _part_of_a_fist(made)
    if "boggy" in texts and len(texts.terms) > 1:
        made = _boggy_what(made)
    if not texts.isdisjoint(words().sets["gone_now"]):
        made = _gone_now(made)
    if "value" in texts.kinds and not texts.isdisjoint(words().sets["tips"]):
        made = _tips_from_palm(made, phrases)
    return made


def _no_tendon(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'No active FDP', 'no FPL': it does nothing, and no 'no FDP weakness'."""
    tendons = words().sets["tendons"]
    made = list(marks)
    for at, mark in enumerate(marks):
        if mark.kind != "term" or not at or not tendons.intersection(items_of(mark)[:1]):
            continue
        begin = at - 1
        while begin > 0 and marks[begin].kind in _MODES:
            begin -= 1
        behind = marks[at + 1 : at + 2]
        if marks[begin].text == "no" and (not behind or behind[0].kind in _ENDS):
            gone = Mark("state", mark.end, mark.end, state=NOT_THERE, text="absent")
            fillers = [Mark("filler", each.start, each.end, text=each.text) for each in marks[begin:at]]
            made[begin : at + 1] = [*fillers, mark, gone]
            return made
    return marks


def _part_of_a_fist(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Fist 80% both', 'fist 75%': how much of a fist is made."""
    made = list(marks)
    for at, (mark, after) in enumerate(pairwise(marks)):
        amount = after.amount
        share = amount.numbers[0] if amount is not None and amount.unit == "%" else 0
        if items_of(mark)[:1] == ("composite_fist",) and 0 < share < _WHOLE:
            made[at + 1] = Mark("state", after.start, after.end, state=INCOMPLETE, text="reduced")
    return made


def _boggy_what(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Boggy dorsal tenosynovitis': how it feels, and no finding beside it."""
    for at, mark in enumerate(marks[:-1]):
        ahead = next((each for each in marks[at + 1 :] if each.kind not in {"piece", "filler"}), None)
        inflamed = ahead is not None and not _INFLAMED.isdisjoint(items_of(ahead)[:1])
        if mark.text == "boggy" and mark.kind == "term" and inflamed:
            return [*marks[:at], Mark("certain", mark.start, mark.end, text="boggy"), *marks[at + 1 :]]
    return marks


def has_gone(marks: Sequence[Mark], at: int) -> int:
    """'Dactylitis R MF resolved', 'swelling now resolved': where the finding stands that is gone; -1 for none.

    Of what a patient feels he tells himself: 'pain resolved' is no finding.
    """
    behind = next((mark for mark in marks[at + 1 :] if mark.start >= marks[at].end), None)
    ends = behind is None or behind.kind in {"joiner", "break"}
    if marks[at].text not in words().sets["gone_now"] or not ends:
        return -1
    term = next((n for n in range(at - 1, -1, -1) if marks[n].kind not in _WHERE), -1)
    if term < 0 or marks[term].kind != "term" or marks[term].text in words().sets["felt_by_patient"]:
        return -1
    before = marks[:term]
    slug = items_of(marks[term])[0] if items_of(marks[term]) else ""
    seen = slug in catalogue().items and catalogue().items[slug].value is ValueKind.PRESENCE
    gone = words().sets["gone_now"] | words().sets["goes"]
    quiet = all(mark.kind in _LEADS or mark.text in _ALSO or mark.text.rpartition(" ")[2] in gone for mark in before)
    return term if seen and quiet else -1


def _gone_now(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Dactylitis R MF resolved': it is no longer there."""
    made = list(marks)
    inside: set[int] = set()  # the single words of 'now resolved'
    for at in range(1, len(marks)):
        if (term := has_gone(marks, at)) >= 0:
            gone = marks[at]
            made[term] = replace(marks[term], look=f"{gone.text!r} is read as no longer there")
            made[at] = Mark("state", gone.start, gone.end, state=NOT_THERE, text="absent")
            inside.update(n for n in range(at + 1, len(marks)) if marks[n].start < gone.end)
    return [mark for n, mark in enumerate(made) if n not in inside]


def _tips_from_palm(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Tips 4 cm from palm', 'fingertips 2 cm off the DPC': how far they stay from it."""
    tips = words().sets["tips"]
    for at, (mark, after) in enumerate(pairwise(marks)):
        amount = after.amount
        if mark.text not in tips or amount is None or amount.unit not in _LENGTHS:
            continue
        end = at + 2
        while end < len(marks) and marks[end].text in _FROM:
            end += 1
        palm = marks[end : end + 1]
        there = end > at + 2 and palm and palm[0].piece is not None and _PALM.issuperset(palm[0].piece.slugs)
        if there and palm[0].piece is not None and palm[0].piece.slugs:
            term = Mark("term", mark.start, mark.end, term=phrases[_GAP].term, text=_GAP)
            rest = [Mark("filler", each.start, each.end, text="there") for each in marks[at + 2 : end + 1]]
            return [*marks[:at], term, after, *rest, *marks[end + 1 :]]
    return marks
