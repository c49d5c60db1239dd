"""Two-point discrimination at the palmar pulp of a fingertip, static and moving, in millimetres.

Bands of the American Society for Surgery of the Hand: under 6 normal, 6 to 10 fair, 11 to 15 poor, one point perceived
protective, none anaesthetic. The grouping of the first four is confirmed, the labels and the last are from memory. Two
points perceived only beyond 15 mm are in no band, and are called worse than poor here (common practice, no source).
Normal means elsewhere: Nolan 1982 (confirmed). Moving test, normal 2 to 3 mm (from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, checked, figure, given

Band = Literal["normal", "fair", "poor", "worse_than_poor", "protective", "anaesthetic"]
Method = Literal["static", "moving", "not_stated"]

GROUPING = Source("American Society for Surgery of the Hand, static two-point bands", Mark.CONFIRMED)
LABELS = Source("American Society for Surgery of the Hand, static two-point bands", Mark.FROM_MEMORY)
WORSE = Source("two points perceived only beyond 15 mm", Mark.COMMON_PRACTICE)
MOVING = Source("moving two-point discrimination, normal 2 to 3 mm", Mark.FROM_MEMORY)
NOLAN = Source("Nolan 1982", Mark.CONFIRMED)
NORMAL_MEAN_MM = {"first_web": 21.0, "pulp": 2.6}
"""Normal means by Nolan 1982: over the first dorsal interosseous, and tips of thumb, middle and little finger."""
MOVING_NORMAL_UP_TO_MM = 3
INSTRUMENT = "static two-point discrimination"
LIMITS = (
    "Palmar pulp of a fingertip only; the moving test has another scale",
    "Worsens with age after the third decade, and is poorer on the ulnar side of the little finger",
)


@dataclass(frozen=True, slots=True)
class TwoPoint:
    """One reading as written: gap in millimetres, `beyond` if two points were not told apart up to that gap.

    `gap_mm` is None when it was not tested. `radial_mm` and `ulnar_mm` hold a reading of both digital nerves.
    """

    method: Method
    gap_mm: float | None = None
    beyond: bool = False
    radial_mm: float | None = None
    ulnar_mm: float | None = None


_WRITTEN = re.compile(
    r"(?P<method>[sm]?)2pd\s*(?:(?P<beyond>>)\s*)?"
    r"(?:(?P<gap>\d+(?:\.\d+)?)(?:/(?P<ulnar>\d+(?:\.\d+)?))?\s*(?:mm)?|(?P<untested>nt))",
    re.IGNORECASE,
)
_METHODS: dict[str, Method] = {"": "not_stated", "s": "static", "m": "moving"}


def two_point_band(
    gap_mm: float | None,
    *,
    beyond: bool = False,
    points_perceived: Literal[0, 1, 2] = 2,
    site: str = "pulp",
    method: Method = "static",
) -> Result[Band] | NotComputable:
    """Band of a static reading at a fingertip pulp; `gap_mm` is the least gap at which two points were perceived.

    `beyond` means that two points were not perceived up to `gap_mm`. Not computable away from the pulp, with the moving
    test, without a gap, or when `beyond` leaves more than one band open.
    """
    inputs = given(gap_mm=gap_mm, beyond=beyond, points_perceived=points_perceived, site=site, method=method)
    if site != "pulp" and not site.startswith("pulp_"):
        return NotComputable(INSTRUMENT, (), GROUPING, "the bands hold at a fingertip pulp only", inputs=inputs)
    if method == "moving":
        return NotComputable(INSTRUMENT, (), GROUPING, "the bands are for the static test", inputs=inputs)
    if points_perceived in {0, 1}:
        only: Band = "protective" if points_perceived else "anaesthetic"
        source = GROUPING if points_perceived else LABELS
        return Result(INSTRUMENT, only, inputs, f"{points_perceived} points perceived", source, LIMITS)
    if gap_mm is None:
        return NotComputable(INSTRUMENT, ("gap_mm",), GROUPING, inputs=inputs)
    checked("two_point.gap_mm", gap_mm, 0.5, 100, "mm")
    if beyond and gap_mm < 15:  # noqa: PLR2004 - end of the last band
        reason = f"over {figure(gap_mm)} mm may lie in more than one band"
        return NotComputable(INSTRUMENT, ("gap_mm",), GROUPING, reason, inputs=inputs)
    band = "worse_than_poor" if beyond else _band(gap_mm)
    arithmetic = f"{'over ' if beyond else ''}{figure(gap_mm)} mm; under 6, 6 to 10, 11 to 15, over 15"
    return Result(INSTRUMENT, band, inputs, arithmetic, WORSE if band == "worse_than_poor" else GROUPING, LIMITS)


def _band(gap_mm: float) -> Band:
    # The published bands are whole millimetres; a half between two bands goes to the worse one.
    if gap_mm < 6:  # noqa: PLR2004 - bands of the module docstring
        return "normal"
    if gap_mm <= 10:  # noqa: PLR2004 - the same
        return "fair"
    return "poor" if gap_mm <= 15 else "worse_than_poor"  # noqa: PLR2004 - the same


def moving_within_normal(gap_mm: float) -> Result[bool]:
    """Whether a moving reading at the pulp is within the normal 2 to 3 mm (from memory)."""
    checked("two_point.gap_mm", gap_mm, 0.5, 100, "mm")
    arithmetic = f"{figure(gap_mm)} mm against {MOVING_NORMAL_UP_TO_MM} mm"
    within = gap_mm <= MOVING_NORMAL_UP_TO_MM
    return Result("moving two-point discrimination", within, given(gap_mm=gap_mm), arithmetic, MOVING)


def parse_two_point(text: str) -> TwoPoint:
    """A reading as written: `2PD 5`, `s2PD 5mm`, `m2PD 3`, `2PD 5/6` (radial, ulnar), `2PD >15`, `2PD NT`.

    Raises InvalidValue for other writing.
    """
    found = _WRITTEN.fullmatch(" ".join(text.split()))
    if found is None or (found["beyond"] and (found["ulnar"] or found["untested"])):
        raise InvalidValue(f"two_point: {text!r} was given. Allowed: 2PD 5, s2PD 5mm, m2PD 3, 2PD 5/6, 2PD >15, 2PD NT")
    method = _METHODS[found["method"].lower()]
    if found["untested"]:
        return TwoPoint(method)
    gap = float(found["gap"])
    if found["ulnar"]:
        return TwoPoint(method, radial_mm=gap, ulnar_mm=float(found["ulnar"]))
    return TwoPoint(method, gap_mm=gap, beyond=bool(found["beyond"]))
