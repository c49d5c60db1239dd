"""Whether a number of the note is one that a finding tells; what none tells is shown as unread."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.result import ReadFinding
from letterkit.reading.values import Amount

_NUMBERS = frozenset({ValueKind.QUANTITY, ValueKind.ARC, ValueKind.MRC})
# Of these a measure stays a measure; in others it becomes a state ('2+ radial pulses').
_MEASURED = _NUMBERS | {ValueKind.TEST, ValueKind.PRESENCE}
_SCALES = (1.0, 10.0, 0.1)  # centimetres may be told as millimetres, and the other way about


def is_told(amount: Amount, findings: Sequence[ReadFinding], catalogue: Catalogue) -> bool:
    """'Extension 50 and 40' gives 50, and the 40 is told by nothing."""
    if not findings or any(catalogue.items[each.item].value not in _MEASURED for each in findings):
        return True
    measured = any(catalogue.items[each.item].value in _NUMBERS for each in findings)
    if not measured and not amount.unit:
        return True  # '12 scars'
    told = [value for each in findings for value in _of(each)]
    words = {word for value in told for word in str(value).split()}
    figures = {float(value) for value in told if isinstance(value, int | float)}
    grades = [grade for grade in (amount.grade, amount.other) if grade]
    if grades:
        return any(grade in words for grade in grades)
    return not amount.numbers or any(
        any(abs(number * scale - figure) < 1e-6 for figure in figures for scale in _SCALES) or f"{number:g}" in words  # noqa: PLR2004
        for number in amount.numbers
    )


def _of(finding: ReadFinding) -> list[object]:
    """The values of a finding: of its result and of what qualifies it."""
    told = [finding.value, *finding.qualifiers.values()]
    flat: list[object] = []
    for value in told:
        if isinstance(value, dict):
            flat += value.values()
        elif isinstance(value, list):
            flat += value
        else:
            flat.append(value)
    return flat
