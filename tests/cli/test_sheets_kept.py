"""The sheets of the service in backup, restore, erasure and retention, as their users run them."""

from __future__ import annotations

import gzip
import os
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
import xlsxwriter
from bulk_rows import BASE, made, printed_words, rows, write_csv
from click.testing import CliRunner
from records_fixtures import DOING, content_of

from letterkit.bulk.corrections import correct
from letterkit.cli.main import cli
from letterkit.records import retention
from letterkit.records.store import Doing, Store
from letterkit.service.keeper import ended, held
from letterkit.service.runs import Asked, Given, Runs

pytestmark = pytest.mark.slow
GRIP = list(BASE).index("Grip R (kg)")
ASKED = Asked(".csv", ("docx",), ("doctor", "patient"), print_run=True)
HERS = "999 000 2061"  # of a demo case, whose letters the records hold


def _run(*arguments: str, given: str = "", code: int = 0):
    result = CliRunner().invoke(cli, list(arguments), input=given)
    assert result.exit_code == code, result.output
    return result


def _over(runs: Runs, run: str) -> None:
    ends = time.monotonic() + 90
    while runs.progress(run).state != "done":
        assert time.monotonic() < ends
        time.sleep(0.05)


def _drafted(runs: Runs, given: list[dict[str, str]], name: str) -> str:
    run, folder = runs.new()
    write_csv(folder / "sheet.csv", given)
    runs.keep_given(run, Given(name, "Tom Quill", datetime.now(UTC), ASKED))
    runs.begin(run, ASKED)
    _over(runs, run)
    return run


def _correct(folder: Path, number: int, text: str, before: int = 0) -> None:
    at = datetime.now(UTC).isoformat()
    correct(folder / "sheet.csv", f"row {number}", before, "Tom Quill", at, {GRIP: text}, {GRIP: "300"}, lambda: None)


@pytest.fixture(scope="module")
def two_sheets(tmp_path_factory):
    """Two sheets with their letters; the first has a row of a patient whose letters the records hold, and a correction."""
    runs = Runs(tmp_path_factory.mktemp("kept") / "bulk-runs", None, None)
    given = list(rows(3))
    given[1] |= {"NHS no": "9990002061", "Surname": "Larkmere", "Grip R (kg)": "300"}
    first = _drafted(runs, given, "friday.csv")
    _correct(runs.sheet(first).parent, 3, "30")
    runs.redraft(first)
    _over(runs, first)
    second = _drafted(runs, list(rows(2, 10)), "monday.csv")
    runs.close()
    return runs.sheet(first).parent.parent, first, second


@pytest.fixture
def records(tmp_path, monkeypatch, two_sheets):
    monkeypatch.chdir(tmp_path)
    url = f"sqlite:///{tmp_path / 'records.db'}"
    monkeypatch.setenv("LETTERKIT_RECORDS", url)
    shutil.copytree(two_sheets[0], tmp_path / "bulk-runs")
    store = Store.open(url)
    yield store
    store.close()


def _actions(store: Store, subject: str) -> list[str]:
    with store.engine.connect() as connection:
        found = connection.exec_driver_sql("SELECT action FROM audit_entries WHERE subject = ?", (subject,))
        return list(found.scalars())


def test_sheets_come_back_from_a_backup_and_are_corrected_on(tmp_path, monkeypatch, two_sheets):
    folder, first, second = two_sheets
    monkeypatch.setenv("LETTERKIT_BULK_FOLDER", str(folder))
    monkeypatch.setenv("LETTERKIT_RECORDS", f"sqlite:///{tmp_path / 'records.db'}")
    backup = tmp_path / "saved"
    assert "2 sheets with their letters" in _run("records", "backup", str(backup)).output
    assert backup.stat().st_mode & 0o077 == 0
    monkeypatch.setenv("LETTERKIT_BULK_FOLDER", str(tmp_path / "new"))
    other = f"sqlite:///{tmp_path / 'other.db'}"
    assert "2 sheets with their letters restored" in _run("records", "restore", str(backup), "--records", other).output

    runs = Runs(tmp_path / "new", None, None)
    assert list(runs.recent(5)) == [second, first]
    assert runs.given(first).name == "friday.csv"
    for run in (first, second):
        assert ended(tmp_path / "new" / run)
        assert made(tmp_path / "new" / run / "letters") == made(folder / run / "letters")
        assert [name for _, name in runs.results(run)] == [name for _, name in Runs(folder, None, None).results(run)]
        assert all(path.stat().st_mode & 0o077 == 0 for path in (tmp_path / "new" / run).rglob("*"))
    assert [line.outcome for line in runs.lines(first)] == ["drafted with queries"] * 3
    _correct(tmp_path / "new" / first, 3, "31", 1)
    runs.redraft(first)
    _over(runs, first)
    runs.close()
    names = [name for _, name in runs.results(first) if name.startswith("HHC") and "patient" not in name]
    assert names == ["HHC-000000.docx", "HHC-000001.v2.docx", "HHC-000002.docx"]
    printed = next(path for path, name in runs.results(first) if name.startswith("print-run") and "patient" not in name)
    assert "31\N{NO-BREAK SPACE}kg" in printed_words(printed)


def test_restoring_over_a_sheet_or_from_half_a_backup_leaves_everything_as_it_was(
    records, tmp_path, monkeypatch, two_sheets
):
    _run("records", "backup", "saved")
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "bulk-runs").rglob("*")}
    other = f"sqlite:///{tmp_path / 'other.db'}"
    assert "is there already" in _run("records", "restore", "saved", "--records", other, code=2).output
    after = {path: path.stat().st_mtime_ns for path in (tmp_path / "bulk-runs").rglob("*")}
    assert after == before
    whole = gzip.decompress(Path("saved").read_bytes()).splitlines(keepends=True)
    monkeypatch.setenv("LETTERKIT_BULK_FOLDER", str(tmp_path / "new"))
    for harmed in (whole[:-1], [*whole[:-2], whole[-1]]):
        Path("half").write_bytes(gzip.compress(b"".join(harmed)))
        assert "take another" in _run("records", "restore", "half", "--records", other, code=2).output
        assert list((tmp_path / "new").glob("*")) == []
    wild = b"".join(whole).replace(f'"{two_sheets[1]}","asked.json"'.encode(), b'"../../x","asked.json"')
    assert wild != b"".join(whole)
    Path("wild").write_bytes(gzip.compress(wild))
    assert "belongs to no sheet" in _run("records", "restore", "wild", "--records", other, code=2).output
    assert list((tmp_path / "new").glob("*")) == []
    assert "2 sheets with their letters restored" in _run("records", "restore", "saved", "--records", other).output


def test_a_patient_is_erased_from_records_and_sheets(records, tmp_path, two_sheets):
    _, first, second = two_sheets
    letter = records.create(content_of("thumb_base"), DOING).letter_id
    records.begin(first, "bulk.begun", Doing("tests"))
    assert _run("records", "erase", "--patient", given=f"{HERS}\nn\n", code=1).output
    assert (tmp_path / "bulk-runs" / first).is_dir()
    said = _run("records", "erase", "--patient", given=f"{HERS}\ny\n").output
    assert "Erase 1 letters and 1 sheets (whole, with the letters of all their rows)" in said
    assert f"{letter}: erased" in said
    assert f"sheet {first}: erased" in said
    assert HERS not in said
    assert [each.name for each in (tmp_path / "bulk-runs").iterdir()] == [second]
    left = b"".join(path.read_bytes() for path in tmp_path.rglob("*") if path.is_file())
    assert b"Larkmere" not in left
    assert b"9990002061" not in left
    assert _actions(records, first) == ["bulk.begun", "bulk.erased"]
    retention.verify(records)
    assert "no letter of this patient" in _run("records", "erase", "--patient", given=f"{HERS}\n", code=2).output


def test_an_identifier_is_found_wherever_it_stands(records, tmp_path):
    runs = Runs(tmp_path / "bulk-runs", None, None)
    found = []
    book = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(str(book)) as file:
        for name in ("Friday", "Old"):
            file.add_worksheet(name).write_row(0, 0, ("Ref", "Surname"))
        file.get_worksheet_by_name("Old").write_row(1, 0, ("X", 9990004567))
        file.add_worksheet("Lists").hide()
    for name, content in (
        ("sheet.jsonl", b'{"patient": {"identifier": [{"value": "999 000 4567"}]}}\n'),
        ("sheet.jsonl", b'{"patient": half a line, 999-000-4567\n'),
        ("sheet.csv", b"Ref;Surname;Remark\nX;Farrowby;NHS 999-000-4567, seen before\n"),
        ("sheet.xlsx", book.read_bytes()),
    ):
        run, folder = runs.new()
        (folder / name).write_bytes(content)
        found.append(run)
    run, folder = runs.new()
    write_csv(folder / "sheet.csv", rows(1))
    correct(
        folder / "sheet.csv", "row 2", 0, "Tom Quill", "2026-11-25T13:00:00+00:00", {6: "999 000 4567"}, {6: "x"}, str
    )
    found.append(run)
    said = _run("records", "erase", "--patient", "--yes", given="9990004567\n").output
    assert sorted(line for line in said.splitlines() if line.startswith("sheet ")) == sorted(
        f"sheet {each}: erased" for each in found
    )
    assert len(list((tmp_path / "bulk-runs").iterdir())) == 2


def test_a_sheet_that_cannot_be_read_is_told(records, tmp_path):
    run, folder = Runs(tmp_path / "bulk-runs", None, None).new()
    (folder / "sheet.xlsx").write_bytes(b"no workbook")
    said = _run("records", "erase", "--patient", "--yes", given="999 000 2061\n", code=2).output
    assert f"sheet {run}: cannot be read, and was not searched" in said
    assert folder.is_dir()


def test_a_sheet_is_erased_by_its_id_and_not_while_letters_are_made_of_it(records, tmp_path, two_sheets):
    _, first, second = two_sheets
    letter = records.create(content_of(), DOING).letter_id
    with held(tmp_path / "bulk-runs" / second):
        assert "letters are being made of it" in _run("records", "erase", second, "--yes", code=2).output
    assert (tmp_path / "bulk-runs" / second / "letters" / "outcome.xlsx").is_file()
    said = _run("records", "erase", second, letter, "--yes").output
    assert f"{letter}: erased" in said
    assert f"sheet {second}: erased" in said
    assert [each.name for each in (tmp_path / "bulk-runs").iterdir()] == [first]


def test_sheets_are_kept_for_a_time(records, tmp_path, two_sheets):
    _, first, second = two_sheets
    given = tmp_path / "bulk-runs" / first / "given.json"
    day = datetime.now(UTC).strftime("%Y-%m-%d")
    given.write_text(given.read_text().replace(day, "2015-11-20"))
    older, folder = Runs(tmp_path / "bulk-runs", None, None).new()  # given in over the API, where nobody signs
    write_csv(folder / "sheet.csv", rows(1))
    os.utime(folder / "sheet.csv", (10**9, 10**9))
    said = _run("records", "retain", "--for", "8y").output
    assert said == "0 letters and 2 sheets are older; nothing was erased without --erase.\n"
    said = _run("records", "retain", "--for", "8y", "--erase").output
    assert said.endswith("0 letters and 2 sheets erased.\n")
    assert [each.name for each in (tmp_path / "bulk-runs").iterdir()] == [second]
    assert _actions(records, first) == _actions(records, older) == ["bulk.retention-over"]
