"""'Tremor of the left hand, the right is still', '... is quiet', '... is steady': a hand that does not shake.

Without this the other hand would take the tremor, or the tremor would be none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of, without_side
from letterkit.reading.parting import PARTS, as_break, part_begins, said_at
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACE = frozenset({"side", "piece"})
_LOOK = "a hand that is still is read as one that does not shake"


def keeps_still(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks of one sentence, which has these texts, with a hand that keeps still as one without that tremor."""
    sets = words().sets
    if texts.items.isdisjoint(sets["shaking"]) or texts.isdisjoint(sets["keeps_still"]):
        return marks
    shakes = next(mark for mark in texts.terms if not sets["shaking"].isdisjoint(items_of(mark)[:1]))
    assert shakes.term is not None
    calm = replace(shakes.term, state="absent", look=_LOOK)
    made: list[Mark] = []
    parts = False  # whether the next joiner parts two clauses
    for index, mark in enumerate(marks):
        begin = part_begins(marks, index)
        own = marks[begin:index]
        when = next((at for at in range(len(own) - 1, -1, -1) if own[at].text == "when"), None)
        ends = index + 1 == len(marks) or marks[index + 1].kind in PARTS
        subject = own if when is None else own[when + 1 :]
        if mark.kind in PARTS and parts:
            made.append(as_break(mark))
            parts = False
        elif mark.text not in sets["keeps_still"] or not ends or not _is_subject(subject):
            made.append(mark)
        elif when is not None:  # 'is seen when the right hand is still': when it is seen, and nothing of that hand
            del made[len(made) - len(own) + when :]
        else:
            del made[len(made) - len(own) :]
            if made:
                made[-1] = as_break(made[-1])
            named = [each for each in own if each.kind != "word"]
            part = [] if any(each.kind == "piece" for each in own) else _part_of(marks[:begin])
            term = Mark("term", mark.start, mark.end, term=calm, text=shakes.text)
            made += [*named, *said_at(part, mark.start), term]
            parts = True
    return made


def _is_subject(marks: Sequence[Mark]) -> bool:
    """'The right hand is', 'the left remains': a place, and nothing else but a verb of staying so."""
    stays = words().sets["stays"]
    if not any(mark.kind in _PLACE for mark in marks):
        return False
    return all(mark.kind in _PLACE or mark.kind == "filler" or mark.text in stays for mark in marks)


def _part_of(before: Sequence[Mark]) -> list[Mark]:
    """The part that shakes on the first side, where the second side names none."""
    last = next((mark for mark in reversed(before) if mark.kind == "piece"), None)
    return [] if last is None else [without_side(last)]
