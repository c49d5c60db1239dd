"""Power by the Medical Research Council scale, 0 to 5, with plus and minus.

Source: Medical Research Council, Aids to the investigation of peripheral nerve injuries, Memorandum 45, 1976, for the
grades 0 to 5 (confirmed). Plus and minus of grade 4 mean slight, moderate and strong resistance (from memory); 2+ and
3+ are in use but not in the original (from memory). The order with plus and minus, "5-" as just short of normal, and
the accepted spellings are common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, Source

SOURCE = Source("Medical Research Council, Memorandum 45, 1976", Mark.CONFIRMED)
SIGN_SOURCE = Source("Medical Research Council scale, subdivided grades", Mark.FROM_MEMORY)
ORDER_SOURCE = Source("order of subdivided MRC grades", Mark.COMMON_PRACTICE)
LIMITS = ("In the small muscles of the hand the other side is often the standard, as gravity hardly loads them.",)

MEANINGS = {
    0: "no contraction",
    1: "flicker or trace of contraction",
    2: "active movement with gravity eliminated",
    3: "active movement against gravity",
    4: "active movement against gravity and resistance",
    5: "normal power",
}
SIGN_MEANINGS = {
    "4-": "movement against slight resistance",
    "4": "movement against moderate resistance",
    "4+": "movement against strong resistance",
}
ORDER = ("0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5")
"""Every grade that can be recorded, weakest first."""

_WORDS = {"full power": "5", "flicker": "1", "no power": "0", "nil": "0"}
_SIGNS: dict[str, Literal["-", "", "+"]] = {"": "", "+": "+", "-": "-", "\u2212": "-", "\u2013": "-"}
_GRADE = r"(?:(?:mrc|grade|power)\s*|m)?(?P<grade>\d+)\s?(?P<sign>[+\-\u2212\u2013]?)(?:\s*(?:/|out of)\s*(?P<of>\d+))?"
_ALONE = re.compile(_GRADE, re.IGNORECASE)
_NAMED = re.compile(rf"(?P<muscle>\S.*?)\s+(?P<rest>{_GRADE}|full power|flicker|no power|nil)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, order=True)
class MrcGrade:
    """One grade; grades compare in the order of the trade, 0 weakest."""

    rank: int = field(repr=False)
    grade: int = field(compare=False)
    sign: Literal["-", "", "+"] = field(default="", compare=False)

    def __str__(self) -> str:
        return f"{self.grade}{self.sign}"

    @property
    def meaning(self) -> str:
        """What the whole grade means; the sign is not part of the original scale."""
        return MEANINGS[self.grade]

    @property
    def below_normal(self) -> bool:
        """Whether the grade is short of 5, as 5- is."""
        return str(self) != "5"


def mrc(grade: int, sign: str = "") -> MrcGrade:
    """The grade from its figure and sign. Raises InvalidValue outside the 13 grades in use."""
    plain = _SIGNS.get(sign)
    if plain is None or f"{grade}{plain}" not in ORDER:
        raise InvalidValue(f"mrc: {grade}{sign} was given. Allowed: {', '.join(ORDER)}")
    return MrcGrade(ORDER.index(f"{grade}{plain}"), grade, plain)


def parse_mrc(text: str) -> MrcGrade:
    """The grade in a clinician's writing: `4+/5`, `M4-`, `MRC 4`, `power 0/5`, `4 out of 5`, `full power`, `flicker`.

    Raises InvalidValue for anything else, a range such as `4-5` included, because it names two grades.
    """
    words = " ".join(text.split())
    found = _ALONE.fullmatch(_WORDS.get(words.lower(), words))
    if found is None or found["of"] not in {None, "5"}:
        raise InvalidValue(f"mrc: {text!r} was given. Allowed: one of {', '.join(ORDER)}, alone or out of 5")
    return mrc(int(found["grade"]), found["sign"])


def parse_named_mrc(text: str) -> tuple[str, MrcGrade]:
    """The muscle as written and its grade, from writing such as `APB M4-`. Raises InvalidValue."""
    found = _NAMED.fullmatch(" ".join(text.split()))
    if found is None:
        raise InvalidValue(f"mrc: {text!r} was given. Allowed: a muscle, then a grade such as 4-/5")
    return found["muscle"], parse_mrc(found["rest"])
