"""Texts that are a report of images or of an operation, and no note of a visit; what no image shows."""

from __future__ import annotations

import re
from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.segments import Segment
from letterkit.reading.words import words

_SEVERAL = 3  # words of its trade that make a text a report
_SERIES = re.compile(r"\bseries \d", re.IGNORECASE)
_ELSEWHERE = frozenset({"imaging", "later", "history"})
_VISIT = frozenset({"examined", "today", "plan"})


def is_report(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> bool:
    """Whether a text is a report: it names the series looked at, or speaks as one and tells of no visit."""
    if len(_SERIES.findall(text)) > 1:
        return True
    return bool(segments) and _speaks_as_report(text, segments[0].end) and not _is_of_visit(marks)


def _speaks_as_report(text: str, first: int) -> bool:
    """'Axial T1 and T2 weighted sequences. The nerve is swollen.', 'A tourniquet was inflated and an incision made':
    whether the first sentence, which ends at `first`, opens a report by its words, and more of them follow."""
    of_reports = words().sets["of_reports"]
    said = text[:first].casefold()
    if not any([word in said for word in of_reports]):  # noqa: C419 - quicker than a generator
        return False
    whole = text.casefold()
    return sum(word in whole for word in of_reports) >= _SEVERAL


def _is_of_visit(marks: Sequence[Sequence[Mark]]) -> bool:
    """Whether some word is of a visit, or tells what neither an image nor an operation shows."""
    if any("history" in mark.says for mark in marks[0]):
        return True  # 'referred with a scan that shows ...'
    return any(_never_imaged(own) or any(_VISIT & set(mark.says) for mark in own) for own in marks)


def is_felt(marks: Sequence[Mark]) -> bool:
    """'MRI shows a tear. The snuffbox is tender': what no image shows, in a sentence without a word of images."""
    seen = any(mark.text in words().sets["looked_at"] for mark in marks)
    return _never_imaged(marks) or (seen and not any(_ELSEWHERE & set(mark.says) for mark in marks))


def _never_imaged(marks: Sequence[Mark]) -> bool:
    """Whether a sentence without a word of images or of another day tells what no image shows."""
    if any(_ELSEWHERE & set(mark.says) for mark in marks):
        return False
    slugs = [slug for mark in marks if mark.kind == "term" and mark.term is not None for slug in mark.term.items[:1]]
    return any(slug.endswith(words().affixes["never_imaged"]) for slug in slugs)
