"""What a whole sentence is of, by its words alone: all that was tested, the rest, the size of what was spoken of."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from letterkit.reading.carry import Carried
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of
from letterkit.reading.predication import Predication
from letterkit.reading.segments import Segment
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_IT = frozenset({"it", "this", "these", "they", "which"})


def without_last(
    text: str, segment: Segment, carried: Carried, above: Sequence[Mark], left_out: Sequence[Mark]
) -> list[Mark]:  # fmt: skip
    """'Reflexes: biceps brisk on the left; absent on the right': of what was named last, and not of the heading."""
    goes_on = left_out and text[carried.spoken_end - 1 : segment.start].startswith(";")
    return [] if goes_on else list(above)


def is_of_both_ends(found: Sequence[Predication]) -> bool:
    """'3/5 proximally and 2/5 distally; the right is full': what comes next is of the limb, and not of its end."""
    if len(found) < 2:  # noqa: PLR2004 - both
        return False
    told = {slug for each in found[-2:] for mark in each.terms for slug in items_of(mark)}
    return told == words().carried["ends_of_the_limb"]


def is_of_the_limb(marks: Sequence[Mark], texts: Texts) -> bool:
    """'Tinel neg. L UE nl.', 'Grip 9 kg R. L side NAD.', 'The left arm showed no deficit.': of all that was tested."""
    sets = words().sets
    pieces = [mark.piece for mark in marks if mark.piece is not None]
    limb = any("upper_limb" in piece.slugs for piece in pieces) and texts & sets["whole_in_short"]
    return bool(texts & sets["whole"] or limb or (pieces and texts & sets["owns"]))


def is_of_all(marks: Sequence[Mark], texts: Texts) -> bool:
    """'L all 5 mm', 'the right was 2.83 throughout': of all parts that are tested, and not of the one named last."""
    if "piece" in texts.kinds or "term" in texts.kinds:
        return False
    return any(mark.text == "all" or {mark.word, mark.text} & words().sets["throughout"] for mark in marks)


def is_of_the_rest(marks: Sequence[Mark], texts: Texts) -> bool:
    """'Sensation is otherwise intact', 'all other joints are normal': of what else, and not of the part spoken of."""
    if not texts.kinds.isdisjoint(NAMES_SIDE):
        return False
    sets = words().sets
    joints = any(before.text in sets["the_other"] and mark.text in sets["joints"] for before, mark in pairwise(marks))
    return joints or not texts.isdisjoint(sets["of_the_rest"])


def is_it_elsewhere(texts: Texts, carried: Carried) -> bool:
    """'Light touch is reduced in the right index. It is normal in the thumb': the same test of another part."""
    if not texts >= {"it", "in"} or "piece" not in texts.kinds:
        return False
    return {item for mark in carried.spoken for item in items_of(mark)[:1]} <= words().carried["felt_in_parts"]


def is_size_of_it(current: Sequence[Mark]) -> bool:
    """'It measures 2 by 3 cm': the size of what was spoken of just before, and nothing else."""
    said = {mark.kind for mark in current}
    sizes = [mark for mark in current if mark.amount is not None and (mark.amount.unit in {"mm", "cm"})]
    return bool(current and sizes) and current[0].text in _IT and not said & {"term", "piece", "side", "negator"}
