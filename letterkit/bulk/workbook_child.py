"""The process that opens a workbook: bounded in memory, and alone, so that a workbook that ends it ends nothing else.

Started as `python -m letterkit.bulk.workbook_child FILE [SHEET]`. Writes JSON lines: first the sheet's name and the
other sheets, then one list a row, in which a date is {"d": ...}, and a cell without a value of its own {"o": what}.
A refusal is one line {"refused": message}.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import sys
from pathlib import Path
from typing import Any

from letterkit.bulk.guard import Seen, UnsafeWorkbook, check_container, scan

MEMORY = 1024 * 2**20  # bytes of address space


def _limit_memory() -> None:
    with contextlib.suppress(ImportError):  # no such limits outside POSIX; the scan stands guard there
        import resource  # noqa: PLC0415 - as above

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def _cell(value: Any, row: int, column: int, seen: Seen) -> Any:
    if (row, column) in seen.formulas:
        return {"o": "a formula"}
    if (row, column) in seen.errors:
        return {"o": "an error value"}
    if value == "" or value is None:
        return None
    if isinstance(value, dt.datetime):
        midnight = value.time() == dt.time()
        return {"d": value.date().isoformat()} if midnight else {"o": "a date with a time of day"}
    if isinstance(value, dt.date):
        return {"d": value.isoformat()}
    if isinstance(value, (dt.time, dt.timedelta)):
        return {"o": "a time of day"}
    return value


def _read(path: Path, wanted: str | None) -> None:
    from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum  # noqa: PLC0415 - after the limit

    check_container(path)
    try:
        workbook = CalamineWorkbook.from_path(path)
    except (CalamineError, OSError, ValueError):
        raise UnsafeWorkbook(
            "cannot be read as a workbook; open it, save it again as XLSX without a password"
        ) from None
    names = [each.name for each in workbook.sheets_metadata if each.visible is SheetVisibleEnum.Visible]
    if wanted is not None and wanted not in workbook.sheet_names:
        raise UnsafeWorkbook(f"has no sheet {wanted!r}; its sheets: {', '.join(names)}")
    if not names and wanted is None:
        raise UnsafeWorkbook("has no sheet that is shown; show the one with the table")
    name = wanted or names[0]
    seen = scan(path, name)
    try:
        sheet = workbook.get_sheet_by_name(name)
        rows = sheet.iter_rows()
    except (CalamineError, ValueError):
        raise UnsafeWorkbook(f"its sheet {name!r} cannot be read; open it and save it again") from None
    told = {"sheet": name, "others": [each for each in names if each != name], "every": workbook.sheet_names}
    print(json.dumps(told))  # noqa: T201 - the protocol
    write = sys.stdout.write
    before = sheet.start[1] if sheet.start else 0  # empty columns, which the library leaves out of its rows
    for number, row in enumerate(rows, 1):
        cells = [_cell(value, number, at, seen) for at, value in enumerate(row, before + 1)]
        write(json.dumps([None] * before + cells, ensure_ascii=True) + "\n")


def main() -> int:
    """Writes the sheet's rows to standard output; 0, or 3 with a refusal as the last line."""
    _limit_memory()
    try:
        _read(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else None)  # noqa: PLR2004 - program and two words
    except (ValueError, MemoryError) as error:
        message = (
            str(error) if isinstance(error, UnsafeWorkbook) else "is damaged or too large; save it again, or as CSV"
        )
        print(json.dumps({"refused": message}))  # noqa: T201 - the protocol
        return 3
    return 0


if __name__ == "__main__":
    sys.exit(main())
