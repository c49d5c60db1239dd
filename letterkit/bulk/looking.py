"""A look at a sheet without a run: its columns with examples of what they hold, and one row as it can be corrected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from pathlib import Path

from letterkit.bulk.cells import Odd, Raw, as_text
from letterkit.bulk.mapping import SheetMapping
from letterkit.bulk.sheets import Table, opened

_EXAMPLES = 3
_LOOKED_AT = 50  # rows gone through for examples
_LONGEST = 40  # characters of an example


@dataclass(frozen=True, slots=True)
class Look:
    """A sheet's columns, examples of each column's values, and notes of how it was read."""

    header: tuple[str, ...]
    examples: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as text; `odd` says what it holds where that is no value of its own."""

    text: str
    odd: str = ""


def cell_of(raw: Raw) -> Cell:
    """A cell as people see it."""
    if raw is None:
        return Cell("")
    if isinstance(raw, Odd):
        return Cell("", raw.what)
    if isinstance(raw, float) and raw.is_integer():
        return Cell(f"{raw:.0f}")
    return Cell(as_text(raw)) if isinstance(raw, (bool, int, float, date)) else Cell(raw)


def _short(text: str) -> str:
    whole = " ".join(text.split())
    return whole if len(whole) <= _LONGEST else whole[: _LONGEST - 1] + "…"


def look(sheet: Path, mapping: SheetMapping) -> Look | None:
    """A look at the sheet's columns; None for a file of whole encounters. Raises `InvalidInput` where it is unreadable.

    Examples are the first values of each column that differ.
    """
    with opened(sheet, sheet=mapping.sheet, encoding=mapping.encoding) as found:
        if not isinstance(found, Table):
            return None
        seen: list[list[str]] = [[] for _ in found.header]
        for _, cells in islice(found.rows, _LOOKED_AT):
            for values, raw in zip(seen, cells, strict=False):
                text = _short(cell_of(raw).text)
                if text and text not in values and len(values) < _EXAMPLES:
                    values.append(text)
        return Look(found.header, tuple(tuple(values) for values in seen), found.notes)


def row_at(sheet: Path, place: str, mapping: SheetMapping) -> tuple[tuple[str, ...], tuple[Cell, ...]] | None:
    """The column names and the cells of the row at `place`; None where the sheet has no such row of cells."""
    with opened(sheet, sheet=mapping.sheet, encoding=mapping.encoding) as found:
        if not isinstance(found, Table):
            return None
        row: Sequence[Raw] | None = next((cells for at, cells in found.rows if at == place), None)
        return None if row is None else (found.header, tuple(cell_of(raw) for raw in row))
