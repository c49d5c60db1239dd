"""Sheets as files: encodings, delimiters, workbooks that are honest and workbooks that are not."""

from __future__ import annotations

import datetime as dt
import json
import zipfile
from pathlib import Path

import pytest
import xlsxwriter
from bulk_rows import BASE, rows, write_csv

from letterkit.bulk.cells import Odd
from letterkit.bulk.sheets import Records, Table, opened
from letterkit.errors import InvalidInput


def table(path: Path, **options: str) -> tuple[tuple[str, ...], list[tuple[str, list[object]]], tuple[str, ...]]:
    with opened(path, **options) as sheet:
        assert isinstance(sheet, Table)
        return sheet.header, [(place, list(cells)) for place, cells in sheet.rows], sheet.notes


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32", "cp1252"])
def test_csv_of_any_common_delimiter_and_encoding(tmp_path: Path, encoding, delimiter):
    given = [BASE | {"Surname": "Muñoz-O'Gréidy", "Plan": "Splint, then review; phone | write"}] * 3
    path = write_csv(tmp_path / "s.csv", given, encoding=encoding, delimiter=delimiter)
    header, found, _ = table(path)
    assert header == tuple(BASE)
    assert [place for place, _ in found] == ["row 2", "row 3", "row 4"]
    assert found[0][1] == list(given[0].values())


def test_an_encoding_that_is_only_likely_is_told(tmp_path: Path):
    path = write_csv(tmp_path / "s.csv", [BASE | {"Surname": "Núñez"}], encoding="cp1252")
    assert any("if names look wrong" in note for note in table(path)[2])
    path = write_csv(tmp_path / "t.csv", [BASE | {"Surname": "Dvořák"}], encoding="cp1250")
    assert table(path, encoding="cp1250")[1][0][1][3] == "Dvořák"


def test_a_first_line_that_names_the_delimiter_is_no_header(tmp_path: Path):
    (tmp_path / "s.csv").write_text("sep=;\nRef;Surname\nX-1;A, B\n", encoding="utf-8")
    header, found, _ = table(tmp_path / "s.csv")
    assert header == ("Ref", "Surname")
    assert found == [("row 3", ["X-1", "A, B"])]


@pytest.mark.parametrize("text", [
    'Ref,Surname\n1,"Farrowby\n2,Quillan\n3,Abara\n', 'Ref,Surname,DOB\n1,"Farrowby,x\n2,Quillan,y\n3,"Abara,z\n',
    'Ref,Surname\n1,"Far"rowby\n',
])  # fmt: skip
def test_a_quotation_mark_that_swallows_rows_is_refused(tmp_path: Path, text):
    path = tmp_path / "s.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InvalidInput, match="quotation mark"):
        table(path)


@pytest.mark.parametrize(("name", "content"), [
    ("s.csv", b""), ("s.csv", b"\n\n"), ("s.xlsx", b"no workbook"), ("s.ods", b"PK\x05\x06" + bytes(18)), ("s.pdf", b"x"),
    ("s.csv", b"a,b\n\x81\x8d\x8f\x90\x9d\xff,1\n"),
])  # fmt: skip
def test_what_is_no_sheet_is_refused(tmp_path: Path, name, content):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InvalidInput):
        table(tmp_path / name)
    with pytest.raises(InvalidInput, match="not there"):
        table(tmp_path / "missing.csv")


def workbook(path: Path) -> Path:
    with xlsxwriter.Workbook(str(path)) as book:
        hidden, first, other = (book.add_worksheet(name) for name in ("Lists", "Friday", "Notes"))
        first.activate()
        first.set_first_sheet()
        hidden.hide()
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for at, name in enumerate(("Ref", "Seen", "Grip", "APB", "Sum", "Time", "Yes")):
            first.write_string(2, at, name)
        first.write_string(3, 0, "0012")
        first.write_datetime(3, 1, dt.datetime(2026, 3, 5), day)  # noqa: DTZ001 - a cell has no zone
        first.write_number(3, 2, 24)
        first.write_string(3, 3, "4+")
        first.write_formula(3, 4, "=C4*2", None, 48)
        first.write_datetime(3, 5, dt.time(9, 30), book.add_format({"num_format": "hh:mm"}))
        first.write_boolean(3, 6, True)
        first.write_formula(5, 2, "=1/0", None, "#DIV/0!")
        other.write_string(0, 0, "nothing of a row")
    return path


def test_a_workbook_gives_typed_cells_and_points_at_formulas(tmp_path: Path):
    header, found, notes = table(workbook(tmp_path / "s.xlsx"))
    assert header == ("Ref", "Seen", "Grip", "APB", "Sum", "Time", "Yes")
    assert notes == ("sheet 'Friday' (not read: Notes)",)
    assert found[0] == (
        "row 4",
        ["0012", dt.date(2026, 3, 5), 24.0, "4+", Odd("a formula"), Odd("a time of day"), True],
    )
    assert found[-1][0] == "row 6"
    assert isinstance(found[-1][1][2], Odd)


def test_a_sheet_may_be_named_and_an_unknown_one_is_told(tmp_path: Path):
    path = workbook(tmp_path / "s.xlsx")
    assert table(path, sheet="Notes")[0] == ("nothing of a row",)
    with pytest.raises(InvalidInput, match="its sheets: Friday, Notes"):
        table(path, sheet="Saturday")


def rewritten(path: Path, part: str, change: object, target: Path) -> Path:
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, change(content) if name == part else content)  # type: ignore[operator]
    return target


SHEET = "xl/worksheets/sheet2.xml"


@pytest.mark.parametrize(("part", "old", "new"), [
    (SHEET, b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'),
    (SHEET, b"</sheetData>", b'<row r="9"><c r="XFD9"><v>1</v></c></row></sheetData>'),
    (SHEET, b"</sheetData>", b'<row r="9"><c r="A99999999"><v>1</v></c></row></sheetData>'),
    (SHEET, b"<worksheet ", b'<!DOCTYPE x [<!ENTITY a "b">]><worksheet '),
    (SHEET, b"</worksheet>", b""),
    ("xl/workbook.xml", b"Friday", b"Fri<day"),
])  # fmt: skip
def test_a_workbook_that_lies_is_refused_and_ends_nothing(tmp_path: Path, part, old, new):
    path = workbook(tmp_path / "s.xlsx")
    bad = rewritten(path, part, lambda content: content.replace(old, new), tmp_path / "bad.xlsx")
    with pytest.raises(InvalidInput):
        table(bad)


ODS = (
    '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Friday">{rows}</table:table>'
    "</office:spreadsheet></office:body></office:document-content>"
)
MANIFEST = (
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry '
    'manifest:full-path="/" manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/></manifest:manifest>'
)


FORMULA = '<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"><text:p>2</text:p></table:table-cell>'


def text_cell(text: str, more: str = "") -> str:
    return f'<table:table-cell office:value-type="string"{more}><text:p>{text}</text:p></table:table-cell>'


def ods(path: Path, body: str) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", ODS.format(rows=body))
        archive.writestr("META-INF/manifest.xml", MANIFEST)
    return path


def test_an_ods_sheet_with_its_usual_fillers_is_read(tmp_path: Path):
    filler = (
        '<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/>'
        "</table:table-row>"
    )
    date = '<table:table-cell office:value-type="date" office:date-value="2026-03-05"><text:p>5 Mar</text:p></table:table-cell>'
    body = (
        f"<table:table-row>{text_cell('Ref')}{text_cell('Seen')}{text_cell('Sum')}</table:table-row>"
        f"<table:table-row>{text_cell('X-1')}{date}{FORMULA}</table:table-row>{filler}"
    )
    header, found, _ = table(ods(tmp_path / "s.ods", body))
    assert header == ("Ref", "Seen", "Sum")
    assert found[0] == ("row 2", ["X-1", dt.date(2026, 3, 5), Odd("a formula")])


@pytest.mark.parametrize(
    "more", [' table:number-columns-repeated="16384"', ' table:number-columns-repeated="99999999999"']
)
def test_an_ods_sheet_that_repeats_content_without_end_is_refused(tmp_path: Path, more):
    body = f'<table:table-row table:number-rows-repeated="1048576">{text_cell("x", more)}</table:table-row>'
    with pytest.raises(InvalidInput):
        table(ods(tmp_path / "s.ods", body))


def test_json_lines_and_folders_hold_whole_encounters(tmp_path: Path):
    (tmp_path / "s.jsonl").write_bytes(b'{"a": 1}\n\n{"b": 2}\n')
    with opened(tmp_path / "s.jsonl") as sheet:
        assert isinstance(sheet, Records)
        assert list(sheet.rows) == [("line 1", b'{"a": 1}'), ("line 3", b'{"b": 2}')]
    for name in ("b.json", "a.json", "c.txt"):
        (tmp_path / name).write_text(json.dumps(name), encoding="utf-8")
    with opened(tmp_path) as sheet:
        assert [place for place, _ in sheet.rows] == ["a.json", "b.json"]


def test_rows_are_streamed(tmp_path: Path):
    path = write_csv(tmp_path / "s.csv", rows(50))
    with opened(path) as sheet:
        assert isinstance(sheet, Table)
        assert next(iter(sheet.rows))[0] == "row 2"


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_a_table_that_begins_further_right_keeps_its_columns_and_its_formulas(tmp_path: Path, kind):
    path = tmp_path / f"s.{kind}"
    if kind == "ods":
        lines = (text_cell("Ref") + text_cell("Sum"), text_cell("X-1") + FORMULA)
        ods(path, "".join(f"<table:table-row><table:table-cell/>{line}</table:table-row>" for line in lines))
    else:
        with xlsxwriter.Workbook(str(path)) as book:
            sheet = book.add_worksheet("Friday")
            sheet.write_row(0, 1, ("Ref", "Sum"))
            sheet.write_string(1, 1, "X-1")
            sheet.write_formula(1, 2, "=1+1", None, 2)
    header, found, _ = table(path)
    assert header == ("", "Ref", "Sum")
    assert found == [("row 2", [None, "X-1", Odd("a formula")])]
