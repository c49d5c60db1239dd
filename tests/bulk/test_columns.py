"""Column names: what each is read as, and what is asked of the secretary where a name does not say it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from bulk_rows import BASE, bulk, write_csv

from letterkit.bulk.columns import Field, ItemColumn, Unmatched, fields, folded, match, naming
from letterkit.bulk.mapping import (
    ColumnsUnmatched,
    SheetMapping,
    load_mapping,
    mapping_path,
    mapping_text,
    missing,
    plan,
    read_columns,
)
from letterkit.bulk.new import write_workbook
from letterkit.bulk.rows import build
from letterkit.bulk.sheets import Table, opened
from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput


@pytest.mark.parametrize(("name", "expected"), [
    ("Phalen R", "phalen_test right"), ("R Phalen's", "phalen_test right"), ("Phalen’s test (L)", "phalen_test left"),
    ("Phalen - right", "phalen_test right"), ("phalen_test left", "phalen_test left"),
    ("TINEL B/L", "tinel_carpal_tunnel both"), ("Grip R (kg)", "grip_strength right"), ("APB L", "apb_power left"),
    ("PIP movement ring R", "pip_movement pip_ring right"), ("Phalen R onset (s)", "phalen_test right onsetS"),
    ("Passive PIP movement index L", "pip_movement pip_index passive left"), ("Phalen R note", "phalen_test right note"),
    ("Capillary refill index R", "capillary_refill index right"), ("Spurling", "spurling_test"),
    (" DOB ", "patient.birthDate"), ("Date_of_Birth", "patient.birthDate"), ("NHS No.", "patient.identifier.nhs"),
    ("surname", "patient.name.family"), ("O/E", "examination"), ("GP", "recipient.name"),
])  # fmt: skip
def test_a_column_is_known_by_its_name(name, expected):
    target = match(name)
    assert (target.path if isinstance(target, Field) else str(target)) == expected


@pytest.mark.parametrize(("name", "why"), [
    ("Grip L (lb)", "kg"), ("prayer test R", "may mean"), ("Phalen R L", "two sides"), ("PIP movement R", "site"),
    ("Surnme", "family name"), ("Phalen R size mm", "takes no"), ("Shoe size", "Shoe size|did you mean"), ("", "no name"),
])  # fmt: skip
def test_a_name_that_does_not_say_it_is_asked_about(name, why):
    with pytest.raises(Unmatched, match=why):
        match(name)


def test_no_two_fields_share_a_name():
    names = [match(name) for field in fields().values() for name in field.names]
    assert len({target.path for target in names if isinstance(target, Field)}) == len(fields())


def test_two_columns_for_one_thing_are_refused():
    with pytest.raises(ColumnsUnmatched, match="holds the same as 'DOB'"):
        plan(["Surname", "DOB", "Date of birth"], SheetMapping())


def test_a_qualifier_needs_its_finding_and_goes_with_it():
    with pytest.raises(ColumnsUnmatched, match="no column for Phalen's test"):
        plan(["Surname", "Phalen R onset s"], SheetMapping())
    row = build("row 2", ["A", "pos", "25 s"], plan(["Surname", "Phalen R", "Phalen R onset s"], SheetMapping()))
    assert row is not None
    assert row.encounter["examination"]["findings"] == [
        {"item": "phalen_test", "side": "right", "value": "pos", "onsetS": 25.0}
    ]


def test_an_unknown_column_stops_the_run_and_leaves_a_mapping_file_to_fill_in(tmp_path: Path):
    sheet = tmp_path / "clinic.csv"
    sheet.write_text("Ref,Surname,Phal R,Slot\nX-1,Farrowby,pos,9\n", encoding="utf-8")
    done = bulk(sheet, tmp_path / "out")
    assert done.returncode == 2
    assert "'Phal R'" in done.stderr
    assert not (tmp_path / "out").exists()
    mapping = mapping_path(sheet)
    assert '# "Phal R" = "..."' in mapping.read_text(encoding="utf-8")

    text = mapping.read_text(encoding="utf-8").replace('# "Phal R" = "..."', '"Phal R" = "phalen_test right"')
    mapping.write_text(text.replace("ignore = []", 'ignore = ["Slot"]'), encoding="utf-8")
    with opened(sheet) as found:
        assert isinstance(found, Table)
        lines = dict(plan(found.header, load_mapping(mapping)).lines())
    assert lines == {
        "Ref": "Reference (reference)",
        "Surname": "Family name (patient.name.family)",
        "Phal R": "Phalen's test, right (phalen_test right)",
        "Slot": "not used",
    }


@pytest.mark.parametrize(("text", "why"), [
    ("dates = 'guess'", "day first"), ("colums = 1", "not known"), ("ignore = 'x'", "list"), ("dates =", "TOML"),
    ("[defaults]\n'clinic.nam' = 'x'", "not a field"), ("encoding = 'klingon'", "not known"), ("columns = 3", "table"),
])  # fmt: skip
def test_a_broken_mapping_file_is_refused_with_the_remedy(tmp_path: Path, text, why):
    path = tmp_path / "x.columns.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InvalidInput, match=why):
        load_mapping(path)


def test_defaults_stand_in_for_a_column_and_give_way_to_a_cell(tmp_path: Path):
    mapping = SheetMapping(defaults={"clinic.name": "Harrowmere Hand Clinic", "author.name": "Miss R. Calder"})
    made = plan(["Surname", "Clinic"], mapping)
    row, other = build("row 2", ["A", ""], made), build("row 3", ["A", "Fenside"], made)
    assert row is not None
    assert other is not None
    assert row.encounter["clinic"] == {"name": "Harrowmere Hand Clinic"}
    assert other.encounter["clinic"] == {"name": "Fenside"}
    assert other.encounter["author"] == {"name": "Miss R. Calder"}


@pytest.mark.parametrize("problem", list(catalogue().problems))
def test_a_new_workbook_is_read_by_its_own_names_and_its_example_can_be_drafted(tmp_path: Path, problem):
    path = tmp_path / "new.xlsx"
    count = write_workbook(problem, path)
    with opened(path) as sheet:
        assert isinstance(sheet, Table)
        made = plan(sheet.header, SheetMapping())
        assert len(sheet.header) == count
        assert not [row for place, cells in sheet.rows if (row := build(place, cells, made))]
    with opened(path, sheet="Examples") as sheet:
        assert isinstance(sheet, Table)
        (row,) = [build(place, cells, made) for place, cells in sheet.rows]
    assert row is not None
    assert not row.issues
    assert row.encounter["reason"]["problem"] == problem
    assert row.encounter["examination"]["findings"]


def test_an_unknown_problem_names_those_that_are_known(tmp_path: Path):
    with pytest.raises(InvalidInput, match="numb_hand"):
        write_workbook("sore elbow of the knee", tmp_path / "x.xlsx")


def test_a_refused_value_is_told_by_its_column_name(tmp_path: Path):
    sheet = write_csv(tmp_path / "s.csv", [BASE | {"Grip R (kg)": "300"}])
    done = bulk(sheet, tmp_path / "out", "--dry-run")
    assert done.returncode == 2
    assert not (tmp_path / "out").exists()
    done = bulk(sheet, tmp_path / "out")
    from bulk_rows import outcome  # noqa: PLC0415

    errors = [line for line in outcome(tmp_path / "out")[1] if line[2] == "error"]
    assert [line[3] for line in errors] == ["Grip R (kg)"]
    assert json.dumps(errors).count("outside 0 to") == 1


def test_every_item_with_its_place_and_side_has_a_name_that_reads_as_it():
    for item in catalogue().items.values():
        for site in item.sites if len(item.sites) > 1 else (None,):
            column = ItemColumn(item.slug, "right" if item.paired else None, site)
            assert match(naming(column)) == column


def test_a_mapping_says_the_same_after_it_was_written(tmp_path):
    names = ["Phal \N{SNOWMAN} R", 'A "quoted" name', "Aunt\x7f's size"]
    mapping = SheetMapping(
        dates="day first", findings_side="row", ignore=frozenset({folded(names[2])}),
        columns={folded(names[0]): "phalen_test right", folded(names[1]): "patient.occupation"},
        defaults={"clinic.name": "Harrowmere\nHand Clinic"},
    )  # fmt: skip
    path = tmp_path / "x.columns.toml"
    path.write_text(mapping_text(mapping, names), encoding="utf-8")
    assert load_mapping(path) == mapping


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("reference", "name"), ("Our ref", "synonym"), ("Thenar wasting R", "name"), ("Phalen L", "synonym"),
        ("Shoe size of the aunt", "unknown"), ("PIP movement R", "unclear"), ("", "nameless"),
    ],
)  # fmt: skip
def test_how_a_column_was_matched(name, how):
    assert read_columns([name], SheetMapping())[0].how == how


def test_what_no_row_can_do_without_is_missed():
    def lacking(*names, **more):
        return missing(read_columns(names, SheetMapping(**more)), SheetMapping(**more))

    assert lacking("Surname", "Phalen R") == ()
    assert "family name" in lacking("Forename", "Phalen R")[0]
    assert "date of the visit" in lacking("Surname", "Visit")[0]
    assert lacking("Phalen R", defaults={"patient.name.text": "A. Testby"}) == ()
