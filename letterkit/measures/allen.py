"""Modified Allen test: seconds until the palm flushes when one artery is released.

With the wrist slightly flexed no normal artery needed more than 6 s, and extending the wrist beyond 20 degrees gives
false results: published study of wrist position (confirmed). The conventional cut of 5 to 7 s is from memory; texts
allow up to 15 s (confirmed).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Range, Result, Source, figure, given, not_negative

Artery = Literal["ulnar", "radial"]

SOURCE = Source("published study of false positive Allen tests from wrist hyperextension", Mark.CONFIRMED)
CONVENTION = Source("conventional cut of the modified Allen test", Mark.FROM_MEMORY)
TEXTS = Source("texts on the modified Allen test", Mark.CONFIRMED)
NORMAL_UP_TO_S = 6
CONVENTION_S = Range(5, 7)
TEXTS_UP_TO_S = 15
WRIST_EXTENSION_UP_TO_DEG = 20
LIMITS = ("Wrist slightly flexed; extension beyond 20 degrees gives false results", "Texts allow from 5 to 15 s")


@dataclass(frozen=True, slots=True)
class Flush:
    """Seconds to flush on releasing one artery, and whether that is beyond 6 s."""

    artery_released: Artery
    flush_s: float
    beyond_normal: bool


def allen_test(
    flush_s: float | None, *, artery_released: Artery, wrist_extension_deg: float | None = None
) -> Result[Flush] | NotComputable:
    """Seconds to flush beside the normal of up to 6 s; beyond means strictly beyond.

    Not computable without the time, or with the wrist extended beyond 20 degrees (flexion is negative).
    """
    inputs = given(flush_s=flush_s, artery_released=artery_released, wrist_extension_deg=wrist_extension_deg)
    if artery_released not in {"ulnar", "radial"}:
        raise InvalidValue(f"allen.artery_released: {artery_released!r} was given. Allowed: ulnar, radial")
    if flush_s is None:
        return NotComputable("modified Allen test", ("flush_s",), SOURCE, inputs=inputs, limits=LIMITS)
    not_negative("allen.flush_s", flush_s, "s")
    if wrist_extension_deg is not None and wrist_extension_deg > WRIST_EXTENSION_UP_TO_DEG:
        reason = "the wrist was extended beyond 20 degrees"
        return NotComputable("modified Allen test", (), SOURCE, reason, inputs=inputs, limits=LIMITS)
    value = Flush(artery_released, flush_s, flush_s > NORMAL_UP_TO_S)
    arithmetic = f"{figure(flush_s)} s against {NORMAL_UP_TO_S} s"
    return Result("modified Allen test", value, inputs, arithmetic, SOURCE, LIMITS)
