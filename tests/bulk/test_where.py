"""Where in a sheet something stands, told as a spreadsheet program tells it."""

from __future__ import annotations

from pathlib import Path

import pytest
import xlsxwriter
from bulk_rows import BASE, bulk, outcome

from letterkit.bulk.where import Headings, letters

NAMES = ("Ref", "Grip, R", "Grip", "Note", "Note", "column 9")


@pytest.mark.parametrize(("at", "expected"), [
    (0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA"), (16383, "XFD"),
])  # fmt: skip
def test_letters_of_columns(at, expected):
    assert letters(at) == expected


@pytest.mark.parametrize(("place", "column", "expected"), [
    ("row 3", "Ref", "A3"), ("row 3", "Grip, R", "B3"), ("row 3", "Ref, Grip", "A3, C3"), ("row 12", "column 7", "G12"),
    ("row 3", "column 9", "F3"), ("row 3", "Note", ""), ("row 3", "Ref, family name", "A3"), ("row 3", "", ""),
    ("line 3", "Ref", ""), ("case.json", "Ref", ""),
])  # fmt: skip
def test_the_cell_of_a_heading(place, column, expected):
    assert Headings(NAMES).cell(place, column) == expected
    assert Headings().cell(place, column) == ""


@pytest.mark.parametrize(("sheet", "expected"), [
    ("Friday", "Friday!A3"), ("Friday list", "'Friday list'!A3"), ("Quillan's", "'Quillan''s'!A3"), ("26", "'26'!A3"),
])  # fmt: skip
def test_the_sheet_of_a_workbook_is_named(sheet, expected):
    assert Headings(NAMES, sheet).cell("row 3", "Ref") == expected


def test_an_error_in_a_workbook_of_several_sheets_names_sheet_and_cell(tmp_path: Path):
    path = tmp_path / "clinic.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        for name in ("Friday list", "Old"):
            sheet = book.add_worksheet(name)
            for row, cells in enumerate((BASE, BASE | {"Grip R (kg)": "300", "Phalen R": "maybe"}), 3):
                for at, (heading, value) in enumerate(cells.items(), 1):
                    sheet.write_string(row, at, value if row > 3 else heading)
    done = bulk(path, tmp_path / "out")
    assert done.returncode == 2, done.stderr
    errors = {line[3]: line[4] for line in outcome(tmp_path / "out")[1] if line[2] == "error"}
    assert errors == {"Grip R (kg)": "'Friday list'!X5", "Phalen R": "'Friday list'!R5"}
