"""Where in a sheet something stands, as people find it there: the cell by letter and number, and the sheet's name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_NAMELESS = re.compile(r"column (\d+)")
_PLAIN = re.compile(r"[^\W\d]\w*")  # the name of a sheet that needs no quotation marks


def letters(at: int) -> str:
    """The letters of a column, counted from zero: A, B, ... Z, AA."""
    found = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        found = chr(ord("A") + rest) + found
    return found


@dataclass(frozen=True, slots=True)
class Headings:
    """The headings of a sheet by column, and its name in a workbook of several; nothing for a file of encounters."""

    names: Sequence[str] = ()
    sheet: str = ""

    @classmethod
    def of(cls, settings: Mapping[str, Any]) -> Headings:
        """Those that a run noted."""
        return cls(tuple(settings.get("headings", ())), settings.get("sheet", ""))

    def _at(self, name: str) -> int | None:
        if self.names.count(name) == 1:
            return self.names.index(name)
        numbered = _NAMELESS.fullmatch(name)
        return int(numbered[1]) - 1 if numbered and name not in self.names else None

    def cell(self, place: str, column: str) -> str:
        """The cells of a row that an issue speaks of, as a spreadsheet program names them: Q3, or Friday!Q3.

        `column` is a heading, or several parted by commas. Nothing where there is no such cell.
        """
        kind, _, row = place.partition(" ")
        if not self.names or kind != "row":
            return ""
        whole = self._at(column)
        found = [whole] if whole is not None else [self._at(name) for name in column.split(", ")]
        return ", ".join(f"{self._prefix}{letters(at)}{row}" for at in found if at is not None)

    @property
    def _prefix(self) -> str:
        if not self.sheet:
            return ""
        name = self.sheet if _PLAIN.fullmatch(self.sheet) else "'" + self.sheet.replace("'", "''") + "'"
        return f"{name}!"
