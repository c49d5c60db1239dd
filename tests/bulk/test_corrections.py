"""Corrections beside a sheet: laid over its rows, kept with who and when, and never over another sheet."""

from __future__ import annotations

import csv
import json
from concurrent.futures import ThreadPoolExecutor

import pytest
from bulk_rows import BASE, bulk, outcome, printed_words, rows, write_csv

from letterkit.bulk.corrections import CorrectedSince, Corrections, correct, corrections_path, load_corrections
from letterkit.bulk.looking import look, row_at
from letterkit.bulk.mapping import SheetMapping
from letterkit.errors import InvalidInput

AT = "2026-11-25T13:00:00+00:00"
GRIP = list(BASE).index("Grip R (kg)")


def _correct(sheet, number, expected=0, by="Tom Quill", text="30", told=lambda: None):
    return correct(sheet, f"row {number}", expected, by, AT, {GRIP: text}, {GRIP: "300"}, told)


@pytest.fixture
def sheet(tmp_path):
    given = list(rows(3))
    given[1] |= {"Grip R (kg)": "300"}
    return write_csv(tmp_path / "friday.csv", given)


def test_a_corrected_row_alone_is_made_again_and_the_sheet_stays(sheet, tmp_path):
    before = sheet.read_bytes()
    assert bulk(sheet, tmp_path / "out", "--print-all").returncode == 2
    made = {path.name: path.stat().st_mtime_ns for path in (tmp_path / "out").glob("HHC-*.docx")}
    _correct(sheet, 3)
    _correct(sheet, 2, text="31")
    result = bulk(sheet, tmp_path / "out", "--print-all")

    assert result.returncode == 1, result.stderr
    lines, issues = outcome(tmp_path / "out")
    assert [(line[0], line[3]) for line in lines] == [
        ("row 2", "new version"),
        ("row 3", "new"),
        ("row 4", "nothing new"),
    ]
    assert ["row 3", "HHC-000001", "note", "Grip R (kg)", "W3", "corrected by Tom Quill, 2026-11-25 13:00"] in [
        i[:6] for i in issues
    ]
    assert sheet.read_bytes() == before
    for name, at in made.items():
        assert (tmp_path / "out" / name).stat().st_mtime_ns == at
    words = printed_words(tmp_path / "out" / "print-run.2.docx")
    for number in range(3):
        assert words.count(f"HHC-00000{number}") == 1
    assert "30\N{NO-BREAK SPACE}kg" in words
    assert "31\N{NO-BREAK SPACE}kg" in words
    again = bulk(sheet, tmp_path / "out", "--print-all")
    assert "nothing new" in again.stdout


def test_the_second_of_two_is_told_and_nothing_is_written_before_it_is_told_of(sheet):
    _correct(sheet, 3)
    with pytest.raises(CorrectedSince, match="Tom Quill corrected this row") as told:
        _correct(sheet, 3, by="Nell Brook")
    assert told.value.last.cells == {GRIP: "30"}

    def refuse():
        raise OSError("the trail cannot be written")

    with pytest.raises(OSError, match="the trail"):
        _correct(sheet, 3, expected=1, told=refuse)
    assert len(load_corrections(sheet)) == 1
    assert corrections_path(sheet).stat().st_mode & 0o077 == 0


def test_of_many_at_once_one_is_kept(sheet):
    def one(name):
        try:
            return _correct(sheet, 3, by=name).by
        except CorrectedSince:
            return None

    with ThreadPoolExecutor(8) as pool:
        kept = [name for name in pool.map(one, "abcdefgh") if name]
    assert [each.by for each in load_corrections(sheet).of("row 3")] == kept
    assert len(kept) == 1


def test_the_half_line_of_a_loss_of_power_is_passed_over_and_taken_away(sheet):
    _correct(sheet, 3)
    path = corrections_path(sheet)
    path.write_bytes(path.read_bytes() + b'{"sheet": "half')
    assert len(load_corrections(sheet)) == 1
    _correct(sheet, 2)
    assert [json.loads(line)["place"] for line in path.read_text().splitlines()] == ["row 3", "row 2"]


def test_corrections_of_another_sheet_are_refused(sheet):
    _correct(sheet, 3)
    sheet.write_bytes(sheet.read_bytes().replace(b"HHC-000000", b"HHC-000009"))
    with pytest.raises(InvalidInput, match="another state of the sheet"):
        load_corrections(sheet)
    corrections_path(sheet).write_text("nonsense\n")
    with pytest.raises(InvalidInput, match="cannot be read"):
        load_corrections(sheet)


def test_cells_beyond_a_short_row_can_be_corrected(sheet):
    _correct(sheet, 3, text="")
    corrections = load_corrections(sheet)
    assert corrections.over("row 3", ["a"])[GRIP] == ""
    assert corrections.over("row 4", ["a"]) == ["a"]
    assert Corrections().over("row 3", ["a"]) == ["a"]


def test_a_look_shows_examples_and_a_row_its_cells(tmp_path):
    path = tmp_path / "x.csv"
    with path.open("w", newline="") as file:
        csv.writer(file).writerows([["Ref", "", "Note"], ["A1", "", "two\nlines"], ["A1", "x", ""], ["A2", "", ""]])
    found = look(path, SheetMapping())
    assert found.header == ("Ref", "", "Note")
    assert found.examples == (("A1", "A2"), ("x",), ("two lines",))
    _, cells = row_at(path, "row 2", SheetMapping())
    assert [cell.text for cell in cells] == ["A1", "", "two\nlines"]
    assert row_at(path, "row 9", SheetMapping()) is None
