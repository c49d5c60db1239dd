"""'Grip is 65 pounds on the right and 48 on the left': a weight without a unit beside one in pounds is in pounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.result import ReadFinding

NO_UNIT = "no unit given, kg taken"
_IN = "in pounds: "


def all_in_pounds(findings: Sequence[ReadFinding]) -> Sequence[ReadFinding]:
    """The findings, weights without a unit told in pounds where every weight that has a unit is."""
    if not any(NO_UNIT in finding.reasons for finding in findings):
        return findings
    if not any(reason.startswith(_IN) for finding in findings for reason in finding.reasons):
        return findings
    if any(_is_in_kilograms(finding, findings) for finding in findings):
        return findings
    return [_in_pounds(finding) if NO_UNIT in finding.reasons else finding for finding in findings]


def _is_in_kilograms(finding: ReadFinding, findings: Sequence[ReadFinding]) -> bool:
    """Whether a weight of a kind that is elsewhere told in pounds was given in kilograms."""
    if NO_UNIT in finding.reasons or finding.value is None:
        return False
    return any(NO_UNIT in each.reasons and each.item == finding.item for each in findings)


def _in_pounds(finding: ReadFinding) -> ReadFinding:
    numbers = finding.value if isinstance(finding.value, list) else [finding.value]
    if not all(isinstance(number, (int, float)) for number in numbers):
        return finding
    told = f"{', '.join(f'{number:g}' for number in numbers)} lb"
    reasons = tuple(f"{_IN}{told}, as the other weights" if each == NO_UNIT else each for each in finding.reasons)
    return replace(finding, value=None, qualifiers={**finding.qualifiers, "note": told}, reasons=reasons)
