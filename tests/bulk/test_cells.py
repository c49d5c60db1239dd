"""Untidy cells: what each comes to, one by one, and a sheet of them all through a whole run."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from pathlib import Path
from string import ascii_uppercase

import pytest
from bulk_rows import BASE, bulk, outcome, write_csv
from nasty import NASTY, NOTHING, REFUSED, UNTESTED

from letterkit.bulk.cells import CellProblem, Odd, read_date, tidy
from letterkit.bulk.mapping import SheetMapping, plan
from letterkit.bulk.rows import Row, build
from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput
from letterkit.findings.facts import Facts, expand
from letterkit.findings.values import Grade, Quantity
from letterkit.pipeline import as_encounter
from letterkit.pipeline import draft as draft_letter

PLAN = plan(list(BASE), SheetMapping())


def built(column: str, value: str) -> Row:
    row = build("row 2", list((BASE | {column: value}).values()), PLAN)
    assert row is not None
    return row


def facts(row: Row) -> Facts:
    return expand(as_encounter(row.encounter), catalogue())


def told(known: Facts, item: str) -> set[str]:
    """The recorded states of an item, as the table of nasty cells writes them."""
    found = set()
    for fact in known.facts:
        if fact.item == item:
            value = fact.value
            state = (
                value.text
                if isinstance(value, Grade)
                else f"{value.number:g}"
                if isinstance(value, Quantity)
                else fact.state
            )
            found.add(f"{fact.item} {fact.side} {state}")
    return found


def refuses(row: Row, column: str) -> bool:
    """Whether a row is refused, and the column named."""
    if row.refused:
        return column in {issue.column for issue in row.issues if issue.kind == "error"}
    try:
        draft_letter(row.encounter, drafted=date(2026, 11, 25))
    except InvalidInput:
        return True
    return False


@pytest.mark.parametrize(
    ("column", "value", "expected"), NASTY, ids=[f"{column}={value!r}" for column, value, _ in NASTY]
)
def test_a_nasty_cell(column, value, expected):
    row = built(column, value)
    if expected == REFUSED:
        assert refuses(row, column)
        return
    assert not row.refused, row.issues
    known = facts(row)
    if expected == UNTESTED:
        assert [(each.item, each.side) for each in known.unexamined] == [("phalen_test", "right")]
        assert told(known, "phalen_test") == {"phalen_test left negative"}
    elif expected == NOTHING:
        assert len(known.facts) == len(facts(built("Ref", "X")).facts) - (column == "Phalen R")
    else:
        item = expected[0].split()[0]
        others = {
            each
            for each in told(facts(built("Ref", "X")), item)
            if each.split()[1] not in {e.split()[1] for e in expected}
        }
        assert told(known, item) == {*expected, *(others if item != "tinel_carpal_tunnel" else ())}


@pytest.mark.parametrize(("text", "expected"), [
    ("0-90", (0, 90)), ("15 to 90", (15, 90)), ("5/85", (5, 85)), ("0 – 90°", (0, 90)), ("hyper 15-90", (-15, 90)),
    ("Hyperextension 10 to 90 deg", (-10, 90)), ("-15-90", "hyper 15-90"), ("full", "two angles"), (90.0, "both ends"),
    ("90-15", "backwards"), ("0-400", "outside"),
])  # fmt: skip
def test_a_range_of_movement(text, expected):
    row = build("row 2", ["X", text], plan(["Surname", "PIP movement ring R"], SheetMapping()))
    if isinstance(expected, str):
        told = "; ".join(f"{issue.message} {issue.remedy}" for issue in row.issues)
        if not told:
            with pytest.raises(InvalidInput, match=expected):
                facts(row)
            return
        assert expected in told
        assert "{" not in told
        return
    (found,) = facts(row).facts
    assert (found.value.from_deg, found.value.to_deg) == expected


def cell(column: str, number: int) -> str:
    """Where a column of the table's row stands: letter and number. Two empty rows come before the fifty-first."""
    return f"{ascii_uppercase[list(BASE).index(column)]}{2 + number + 2 * (number >= 50)}"


def test_a_sheet_of_nasty_rows_through_a_whole_run(tmp_path: Path):
    """Every row stands in the outcome once, refused rows stop no other, and a refusal names its column."""
    table = [row for row in NASTY if row[1].strip()]
    assert len(table) >= 200
    sheet = tmp_path / "friday.csv"
    rows: list[dict[str, str]] = []
    for number, (column, value, _) in enumerate(table):
        rows.append(BASE | {"Ref": f"N-{number:04d}", column: value})
    rows[50:50] = [{}, {}]  # empty rows are passed over
    twin = {**rows[0]}
    write_csv(sheet, [*rows, twin])

    done = bulk(sheet, tmp_path / "out")

    first, second = outcome(tmp_path / "out")
    assert done.returncode == 2, done.stderr
    assert len(first) == len(table) + 1
    by_reference = Counter(str(line[1]) for line in first)
    assert all(by_reference[f"N-{number:04d}"] == 1 for number in range(1, len(table)))
    assert first[-1][2] == "duplicate"
    refused = {str(line[1]) for line in first if line[2] == "refused"}
    assert refused == {f"N-{number:04d}" for number, (_, _, expected) in enumerate(table) if expected == REFUSED}
    for number, (column, _, expected) in enumerate(table):
        errors = [line for line in second if line[1] == f"N-{number:04d}" and line[2] == "error"]
        if expected == REFUSED:
            assert column in {line[3] for line in errors}
            assert all(line[5] for line in errors)
            assert cell(column, number) in {line[4] for line in errors}
        else:
            assert not errors
            assert (tmp_path / "out" / f"N-{number:04d}.docx").is_file()
    told = [f"{line[5]} {line[6]}" for line in second]
    assert [line for line in told if re.search(r"[a-z]_[a-z]", line)] == []  # words, never the names of the record
    assert f"{len(refused)} refused, 1 rows twice in the sheet" in done.stdout.splitlines()[-1]
    assert "Farrowby" not in done.stdout + done.stderr


@pytest.mark.parametrize(("text", "order", "expected"), [
    ("03/04/1968", "day first", "1968-04-03"), ("03/04/1968", "month first", "1968-03-04"),
    ("13/04/1968", "day first", "1968-04-13"),
])  # fmt: skip
def test_a_sheet_may_settle_its_dates(text, order, expected):
    assert read_date(text, order).isoformat() == expected


def test_a_date_against_the_sheet_s_own_order_is_refused():
    with pytest.raises(CellProblem, match="not day first"):
        read_date("04/13/1968", "day first")


def test_an_ambiguous_date_names_both_days():
    with pytest.raises(CellProblem, match="1968-04-03 or 1968-03-04"):
        read_date("03/04/1968")


@pytest.mark.parametrize("raw", [Odd("a formula"), "=A1", "='x'"])
def test_a_formula_is_never_read(raw):
    with pytest.raises(CellProblem):
        tidy(raw)


def test_an_apostrophe_is_taken_off_and_told():
    row = built("Surname", "'Smithers")
    assert row.encounter["patient"]["name"]["family"] == "Smithers"
    assert [(issue.kind, issue.column) for issue in row.issues] == [("note", "Surname")]


def test_an_empty_row_is_no_row():
    assert build("row 9", ["", None, "  ", "n/a"], PLAN) is None


def test_a_value_beyond_the_columns_is_not_dropped():
    row = build("row 2", [*BASE.values(), "Tinel positive L"], PLAN)
    assert row is not None
    assert row.refused


def test_the_row_s_side_stands_in_only_where_the_mapping_says_so():
    cells = list((BASE | {"Tinel": "pos", "Side": "L"}).values())
    refused = build("row 2", cells, PLAN)
    allowed = build("row 2", cells, plan(list(BASE), SheetMapping(findings_side="row")))
    assert refused is not None
    assert allowed is not None
    assert refused.refused
    assert told(facts(allowed), "tinel_carpal_tunnel") == {"tinel_carpal_tunnel left positive"}
