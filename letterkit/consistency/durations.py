"""How long something has been going on, as the history says it: 'for three weeks', '2-day history', '6/52'."""

from __future__ import annotations

import re

from letterkit.consistency.rule import Case

_WORDS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
          "nine": 9, "ten": 10, "twelve": 12}  # fmt: skip
_DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}
_SHORT = {"7": 1, "52": 7, "12": 30}  # 3/7 is three days, 3/52 three weeks, 3/12 three months
_SPAN = re.compile(
    rf"\b(?:for|over|last|past|since)?\s*(?P<count>\d{{1,3}}|{'|'.join(_WORDS)})[\s-]+(?P<unit>day|week|month|year)s?\b"
)
_FRACTION = re.compile(r"\b(?P<count>\d{1,2})/(?P<unit>7|52|12)\b")


def duration_days(case: Case) -> int | None:
    """Days the complaint has lasted, or None where the history gives no duration or more than one."""
    history, reason = case.encounter.history, case.encounter.reason
    texts = (history.presenting if history else None, reason.text if reason else None)
    text = " ".join(text for text in texts if text).casefold()
    if not text:
        return None
    found = {
        (_WORDS.get(match["count"]) or int(match["count"])) * _DAYS[match["unit"]] for match in _SPAN.finditer(text)
    }
    found |= {int(match["count"]) * _SHORT[match["unit"]] for match in _FRACTION.finditer(text)}
    return found.pop() if len(found) == 1 else None
