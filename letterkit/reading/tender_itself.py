"""'The scar is healed but tender', 'a lump, which is not tender': what is tender there is the scar, and no joint.

And 'a pulsatile mass of 2 cm': the mass itself beside what it does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import NAMES_SIDE, Mark, items_of
from letterkit.reading.parting import PARTS
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_TENDER = frozenset({"joint_tenderness", "tenderness_elsewhere"})  # what 'tender', 'sensitive to pressure' mean
_DENIALS = frozenset({"negator", "neither", "maybe"})


def tender_itself(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks of one sentence, which has these texts, with the tenderness of a scar or a lump as that."""
    if texts.items.isdisjoint(_TENDER) or len(texts.items) == 1:
        return marks
    made = list(marks)
    item = ""  # of the tenderness of what is spoken of
    for index, mark in enumerate(marks):
        if mark.kind == "term" and not _TENDER.isdisjoint(items_of(mark)[:1]):
            if item and mark.term is not None and not (_is_listed(marks, index) or _is_placed(marks, index)):
                made[index] = replace(mark, term=replace(mark.term, items=(item,)))
        elif mark.kind == "term":
            item = _of(mark)
        elif mark.kind in NAMES_SIDE and index and _begins_anew(marks, index):
            item = ""  # 'the scar is healed, and the wrist is tender'
    return made


def pulsating(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'A pulsatile mass of 2 cm': there is a mass, and it pulsates; 'no pulsatile mass' denies no other."""
    if texts.isdisjoint(words().sets["pulsating_lumps"]):
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        how, _, noun = mark.text.partition(" ")
        denied = any(each.kind in _DENIALS for each in marks[:index])
        if mark.kind == "term" and mark.text in words().sets["pulsating_lumps"] and not denied:
            middle = mark.end - len(noun)
            made.append(replace(mark, end=middle - 1, term=phrases[how].term, text=how))
            made.append(replace(mark, start=middle, term=phrases[noun].term, text=noun))
        else:
            made.append(mark)
    return made


def _of(mark: Mark) -> str:
    """The item of the tenderness of what a term names, if it has one of its own."""
    named = items_of(mark)[:1]
    return words().tender_itself.get(named[0].rpartition("_")[2], "") if named else ""


def _is_listed(marks: Sequence[Mark], index: int) -> bool:
    """'No lump or tenderness', 'no mass, tenderness or swelling': a finding of its own in a list of such."""
    return not term_is_adjective(marks[index]) and marks[index - 1].kind in PARTS


def _is_placed(marks: Sequence[Mark], index: int) -> bool:
    """'..., tender over the A1 pulley', '... and tenderness of the wrist': with a place of its own."""
    ahead = next((mark for mark in marks[index + 1 :] if mark.kind not in {"filler", "side"}), None)
    return ahead is not None and ahead.kind == "piece"


def _begins_anew(marks: Sequence[Mark], index: int) -> bool:
    """Whether a part or a side is the first word of its clause, but for a small word or a side.

    'A ganglion on the right and the left wrist is tender': the second side is.
    """
    if " and the " in marks[index].word:
        return True
    before = next((mark for mark in reversed(marks[:index]) if mark.kind not in {"filler", "side"}), None)
    return before is not None and before.kind in PARTS
