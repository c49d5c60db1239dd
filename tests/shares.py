"""How much of a product too large for every run is tried: a share by chance that is always the same; a soak tries all."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from random import Random
from typing import TypeVar

SOAK = bool(os.environ.get("LETTERKIT_SOAK"))
T = TypeVar("T")


def share_of(several: Iterable[T], part: float, *seed: str) -> list[T]:
    """This part of several, and at least one; `seed` makes other callers try others."""
    each = list(several)
    return each if SOAK or not each else Random(" ".join(seed)).sample(each, math.ceil(len(each) * part))
