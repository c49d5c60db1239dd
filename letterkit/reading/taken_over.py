"""'Grip 30 kg on the right; 18 kg on the left': what a sentence without a term is of, as the one before told it."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.carry import Carried
from letterkit.reading.marks import Mark
from letterkit.reading.segments import Segment
from letterkit.reading.texts import Texts
from letterkit.reading.whole_sentence import is_it_elsewhere, is_of_the_limb, is_size_of_it
from letterkit.reading.words import words

_BARE = frozenset({"side", "piece", "filler", "state", "value", "joiner", "severity", "certain", "maybe", "hint"})
_RESULTS = frozenset({"state", "value", "severity", "maybe"})


def taken_over(
    text: str, segment: Segment, current: Sequence[Mark], texts: Texts, carried: Carried
) -> list[Mark]:  # fmt: skip
    """'Grip 30 kg on the right; 18 kg on the left': a side and a result, of what was spoken of just before."""
    if not carried.spoken or segment.label > segment.start:
        return []
    between = text[carried.spoken_end : segment.start]
    if "\n" in between or between.strip(" ;."):
        return []
    if "." in text[carried.spoken_end - 1 : segment.start] and is_of_the_limb(current, texts):
        return []
    if (texts | {mark.word for mark in current}) & words().sets["muscles_named"]:
        return []  # 'No sensory loss on the left. On the right all muscles are normal.'
    if "all" in texts and any(mark.amount is not None and mark.amount.kind == "grade" for mark in current):
        return []  # 'L WF 4+/5; R all 5/5': of all muscles
    if is_size_of_it(current):
        return list(carried.spoken)
    if texts.kinds - _BARE or any(mark.kind == "state" and mark.text.endswith((" of", " in")) for mark in current):
        return []  # 'no limitation of the right elbow was seen'
    sided = "side" in texts.kinds or is_it_elsewhere(texts, carried)
    return list(carried.spoken) if sided and any(mark.kind in _RESULTS for mark in current) else []
