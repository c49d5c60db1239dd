"""A cell of a sheet as people leave it: trimmed, its apostrophe taken off, its date read or refused, never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any, Literal, TypeAlias

from letterkit.catalogue.model import Item, ValueKind
from letterkit.findings.sides import Sides, parse_sides


@dataclass(frozen=True, slots=True)
class Odd:
    """A cell that holds no value of its own: a formula, an error, or a time of day; `what` names it."""

    what: str


Raw: TypeAlias = str | int | float | bool | date | Odd | None
DateOrder: TypeAlias = Literal["refuse", "day first", "month first"]

_EMPTY = {"", "n/a", "na", "n.a.", "n.a", "not applicable", "not recorded", "#n/a"}
_UNTESTED = {"nt", "n/t", "not tested", "not done", "not examined", "not assessed", "ne", "n/e"}
_DECLINED = {"declined", "patient declined"}
_DASHES = {"-", "–", "—", "--"}  # the dashes people type
_SPACES = re.compile(r"[\s\u00a0\u2007\u202f\ufeff]+")
_APOSTROPHES = ("'", "\u2019")

_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?$")
_NUMERIC = re.compile(r"^(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4})$")
_NAMED = re.compile(
    r"^(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*,?\s+)?(\d{1,2})(?:st|nd|rd|th)?[-/.,\s]+([a-z]+)\.?[-/.,\s]+(\d{4})$"
)
_NAMED_US = re.compile(r"^([a-z]+)\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})$")
_SHORT_YEAR = re.compile(r"^\d{1,2}[-/. ](?:\d{1,2}|[a-z]{3,9})[-/. ]\d{2}$")
_MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
           "december")  # fmt: skip
_MONTHS_OF_A_YEAR = 12
_SHORTEST_MONTH = 3

# A side inside a finding's cell. 'r+l' is not among them: in 'R+L-' the signs are results.
_SIDE = re.compile(
    r"(?<![a-z])(bilateral|bilat|both|b/l|r\s*&\s*l|l\s*&\s*r|right|left|rhs|lhs|rt|lt|r|l)(?![a-z])\.?", re.IGNORECASE
)
_SEPARATORS = " :=,;/"
_TRIALS = re.compile(r"^\d+(?:\.\d+)?(?:\s*[/;]\s*\d+(?:\.\d+)?)+(?:\s*(?:kg|mm|cm|s|deg))?$")
_ARC = re.compile(r"^\d+(?:\.\d+)?\s*(?:-|–|/|to)\s*\d+(?:\.\d+)?$")
_HYPER = re.compile(r"^hyper\w*\s+(\d+(?:\.\d+)?)\s*(?:-|–|/|to)\s*(\d+(?:\.\d+)?)$")
_WHOLE = re.compile(r"^([0-5])\.0$")
_COMMA_DECIMAL = re.compile(r"^[<>]?\s*\d+,\d+\D*$")


class CellProblem(ValueError):
    """A cell cannot be used; the message says what it holds and how to mend it."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a cell says of an item on a side. With `untested` there is no result, and `value` is None."""

    side: Sides | None
    value: Any
    untested: bool = False
    declined: bool = False


def shown(text: object) -> str:
    """A cell's content for a message, short enough for one line."""
    whole = " ".join(str(text).split())
    return repr(whole if len(whole) <= 40 else whole[:37] + "...")  # noqa: PLR2004 - a message stays one line


def tidy(raw: Raw) -> tuple[str | int | float | bool | date | None, bool]:
    """The cell without stray spaces, whole numbers as such, and whether an apostrophe was taken off its front.

    None for an empty cell and for 'N/A'. Raises `CellProblem` for a formula and for text that begins with '='.
    """
    if isinstance(raw, Odd):
        raise CellProblem(f"holds {raw.what}; copy the column and paste it as values")
    if raw is None or isinstance(raw, (bool, date)):
        return raw, False
    if isinstance(raw, (int, float)):
        if isinstance(raw, float) and raw.is_integer() and abs(raw) < 1e15:  # noqa: PLR2004 - exact below
            return int(raw), False
        return raw, False
    text = raw.strip().strip("\ufeff\u200b").strip()
    stripped = text.startswith(_APOSTROPHES) and len(text) > 1
    if stripped:
        text = text[1:].strip()
    if text.casefold() in _EMPTY:
        return None, stripped
    if text.startswith("="):
        raise CellProblem(f"{shown(text)} begins with '=', as a formula does; write the value itself")
    return text, stripped


def as_text(value: str | float | bool | date) -> str:  # noqa: FBT001 - a cell's value
    """A tidied cell as text: a number as people write it, a date as YYYY-MM-DD."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    return value if isinstance(value, str) else f"{value:.15g}"


def _made(year: int, month: int, day: int, text: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise CellProblem(f"{shown(text)} is no day of the calendar; give it as YYYY-MM-DD") from None


def _month(name: str, text: str) -> int:
    if len(name) >= _SHORTEST_MONTH:
        for number, month in enumerate(_MONTHS, 1):
            if month.startswith(name) or name == "sept" == month[:4]:
                return number
    raise CellProblem(f"{shown(text)} names no month; give the date as YYYY-MM-DD")


def read_date(value: str | float | bool | date, order: DateOrder = "refuse") -> date:  # noqa: FBT001 - a cell's value
    """The date in a cell. `order` settles dates such as 03/04/2026 for a whole sheet; without it they are refused.

    Raises `CellProblem` for what is no date, has a year of two digits, or could be either of two days.
    """
    if isinstance(value, date):
        return value
    if not isinstance(value, str):
        raise CellProblem(f"{shown(value)} is a number, not a date; format the column as dates, or write YYYY-MM-DD")
    text = _SPACES.sub(" ", value).strip().casefold()
    if match := _ISO.match(text):
        return _made(int(match[1]), int(match[2]), int(match[3]), value)
    if match := _NUMERIC.match(text):
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        if first == second or second > _MONTHS_OF_A_YEAR or order == "month first":
            day_first = False
        elif first > _MONTHS_OF_A_YEAR or order == "day first":
            day_first = True
        else:
            raise CellProblem(
                f"{shown(value)} may be {_made(year, second, first, value).isoformat()} or "
                f"{_made(year, first, second, value).isoformat()}; write YYYY-MM-DD, or settle it for the whole "
                'sheet: where its columns are matched, or with dates = "day first" in its mapping file'
            )
        if order == "day first" and second > _MONTHS_OF_A_YEAR:
            raise CellProblem(f"{shown(value)} is not day first as the rest of the sheet; write YYYY-MM-DD")
        if order == "month first" and first > _MONTHS_OF_A_YEAR:
            raise CellProblem(f"{shown(value)} is not month first as the rest of the sheet; write YYYY-MM-DD")
        return _made(year, second, first, value) if day_first else _made(year, first, second, value)
    if match := _NAMED.match(text):
        return _made(int(match[3]), _month(match[2], value), int(match[1]), value)
    if match := _NAMED_US.match(text):
        return _made(int(match[3]), _month(match[1], value), int(match[2]), value)
    if _SHORT_YEAR.match(text):
        raise CellProblem(f"{shown(value)} gives the year in two digits; write YYYY-MM-DD")
    raise CellProblem(f"{shown(value)} is not a date; write YYYY-MM-DD")


def _arc(text: str) -> Any:
    """A range of movement, which a cell holds as people write it."""
    folded = text.casefold().removesuffix("deg").removesuffix("°").strip()
    if match := _HYPER.match(folded):
        return {"from": -float(match[1]), "to": float(match[2])}
    if _ARC.match(folded):
        return folded
    if text.startswith("-"):
        raise CellProblem(
            f"{shown(text)} may mean a lack of extension or hyperextension; write 15-90 for a lack of 15 degrees, "
            "or hyper 15-90"
        )
    raise CellProblem(f"{shown(text)} is no range of movement; write two angles, for example 0-90")


def _value(text: str, item: Item) -> Any:
    if item.value is ValueKind.ARC:
        return _arc(text)
    if item.value is ValueKind.QUANTITY:
        if _COMMA_DECIMAL.match(text):
            raise CellProblem(f"{shown(text)} has a comma; write 27.5 for a decimal, or 27/5 for two readings")
        if _TRIALS.match(text):
            return [float(part) for part in re.findall(r"\d+(?:\.\d+)?", text)]
        try:
            return float(text)
        except ValueError:
            return text
    if item.value is ValueKind.MRC:  # '4 +', and the 5.0 of a column of numbers
        return _WHOLE.sub(r"\1", text.replace(" ", ""))
    return text


def _one(side: Sides | None, text: str, item: Item) -> Found:
    folded = text.casefold()
    if folded in _UNTESTED:
        return Found(side, None, untested=True)
    if folded in _DECLINED:
        return Found(side, None, untested=True, declined=True)
    return Found(side, _value(text, item), False)


def _parts(text: str, item: Item) -> list[tuple[Sides, str]]:
    """The sides named in a cell, each with what is said of it: 'R+ L-', 'R 27, L 26', 'neg L', 'B/L'."""
    marks = list(_SIDE.finditer(text))
    if not marks:
        return []
    sides = []
    for mark in marks:
        name = re.sub(r"\s", "", mark[1]).casefold()
        sides.append("both" if "&" in name else str(parse_sides(name)))
    before = text[: marks[0].start()].strip(_SEPARATORS)
    bounds = [*(mark.start() for mark in marks), len(text)]
    if before:  # the value stands before its side: 'pos R, neg L'
        values = [
            before,
            *(text[a.end() : b.start()].strip(_SEPARATORS) for a, b in pairwise(marks)),
        ]
        if text[marks[-1].end() :].strip(_SEPARATORS):
            raise CellProblem(
                f"{shown(text)} cannot be parted by side; write it as 'R 27, L 26', or in a column a side"
            )
    else:
        values = [text[mark.end() : end].strip(_SEPARATORS) for mark, end in zip(marks, bounds[1:], strict=True)]
    if not any(values) and len(sides) == 1 and item.value in {ValueKind.PRESENCE, ValueKind.TEST}:
        return [(sides[0], "present" if item.value is ValueKind.PRESENCE else "positive")]  # type: ignore[list-item]
    if not all(values) or len(set(sides)) < len(sides) or ("both" in sides and len(sides) > 1):
        raise CellProblem(f"{shown(text)} cannot be parted by side; write it as 'R 27, L 26', or in a column a side")
    return list(zip(sides, values, strict=True))  # type: ignore[arg-type]


def read_finding(
    value: str | float | bool | date,  # noqa: FBT001 - a cell's value
    item: Item,
    side: Sides | None,
    row_side: Sides | None = None,
) -> list[Found]:
    """What a tidied cell says of `item`; `side` is that of its column, `row_side` one that may stand in for it.

    Raises `CellProblem` where no side is given, or where a sign may mean a result or an empty cell.
    """
    if isinstance(value, date):
        raise CellProblem("holds a date; a result such as 5/10 may have been turned into one: write it again, as text")
    text = _SPACES.sub(" ", as_text(value)).strip() if isinstance(value, str) else ""
    parted = _parts(text, item) if text and side is None and item.paired else []
    if parted:
        return [_one(each, said, item) for each, said in parted]
    if text in _DASHES:
        raise CellProblem(
            f"{shown(text)} may mean negative or not recorded; write 'neg', 'not tested', or leave it empty"
        )
    where = side or row_side if item.paired else None
    if item.paired and where is None:
        raise CellProblem(f"{shown(as_text(value))} has no side; write R, L or B/L before it, or use a column a side")
    if not isinstance(value, str):
        if item.value is ValueKind.ARC:
            raise CellProblem(f"{shown(as_text(value))} is one angle; write both ends, for example 0-90")
        return [Found(where, value)]
    return [_one(where, text, item)]
