"""Runs from the command line: nothing twice, nothing lost, names that are safe, and a last line that says it all."""

from __future__ import annotations

import io
import json
import signal
import sqlite3
import subprocess
import time
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import docx
import pytest
from bulk_rows import BASE, DAY, ROOT, bulk, bulk_process, command, environment, made, outcome, rows, write_csv

from letterkit.bulk.durable import FolderInUse, part_size, sole
from letterkit.bulk.files import check_pattern, file_name, safe, stem
from letterkit.bulk.mapping import SheetMapping, plan
from letterkit.bulk.rows import build
from letterkit.bulk.run import Options, RunStopped, run
from letterkit.bulk.work import make
from letterkit.errors import InvalidInput
from letterkit.pipeline import Draft

LETTERS = ["outcome.xlsx"]


def last(done: subprocess.CompletedProcess[str]) -> str:
    return done.stdout.splitlines()[-1]


def text(content: bytes) -> str:
    return "\n".join(paragraph.text for paragraph in docx.Document(io.BytesIO(content)).paragraphs)


def test_the_same_sheet_again_makes_nothing_and_a_corrected_one_only_what_changed(tmp_path: Path):
    sheet, out = tmp_path / "friday.csv", tmp_path / "out"
    given = list(rows(12))
    broken = [*given[:5], given[5] | {"Grip R (kg)": "300"}, *given[6:]]
    first = bulk_process(write_csv(sheet, broken), out)
    assert first.returncode == 2
    assert "1 refused; 11 new letters" in last(first)
    before = made(out)

    again = bulk(sheet, out)
    assert "nothing new" in last(again)
    assert {name: content for name, content in made(out).items() if name not in LETTERS} == {
        name: content for name, content in before.items() if name not in LETTERS
    }

    corrected = [*given[:2], given[2] | {"Phalen R": "pos"}, *given[3:]]
    third = bulk(write_csv(sheet, corrected), out)
    assert third.returncode in {0, 1}
    assert "2 new letters" in last(third)
    after = made(out)
    assert sorted(set(after) - set(before)) == ["HHC-000002.v2.docx", "HHC-000005.docx"]
    assert all(after[name] == content for name, content in before.items() if name not in LETTERS)
    assert "Phalen's test was positive on the right" in text(after["HHC-000002.v2.docx"])
    assert "Phalen's test was positive" not in text(after["HHC-000002.docx"])
    line = next(line for line in outcome(out)[0] if line[1] == "HHC-000002")
    assert (line[3], line[4], line[7]) == ("new version", 2, "HHC-000002.v2.docx")

    back = bulk(write_csv(sheet, given), out)
    assert "1 new letter;" in last(back)  # the row as it first was is a third version, not the first overwritten
    assert (out / "HHC-000002.v3.docx").is_file()


def test_rows_without_a_reference_are_known_by_who_was_seen_when(tmp_path: Path):
    sheet, out = tmp_path / "s.csv", tmp_path / "out"
    given = [row | {"Ref": "", "NHS no": ""} for row in rows(3)]
    assert bulk(write_csv(sheet, given), out).returncode < 2
    assert sorted(made(out)) == ["letter-000001.docx", "letter-000002.docx", "letter-000003.docx", "outcome.xlsx"]
    named = bulk(write_csv(sheet, [*given, BASE | {"Ref": "letter-000005"}, given[0] | {"Surname": "Newby"}]), out)
    assert "2 new letters" in last(named)  # a serial name that is taken as a reference gets another
    assert {"letter-000005.docx", "letter-000005-2.docx"} <= set(made(out))
    moved = [given[2], given[0] | {"Phalen R": "equivocal"}, given[1]]
    assert "1 new letter;" in last(bulk(write_csv(sheet, moved), out))
    assert (out / "letter-000001.v2.docx").is_file()


def test_two_rows_of_one_reference_and_other_content_are_both_refused(tmp_path: Path):
    given = list(rows(4))
    sheet = write_csv(tmp_path / "s.csv", [*given, given[1] | {"Phalen L": "pos"}])
    done = bulk(sheet, tmp_path / "out")
    assert "2 refused" in last(done)
    assert not (tmp_path / "out" / "HHC-000001.docx").exists()
    first, second = outcome(tmp_path / "out")
    assert [line[0] for line in first if line[2] == "refused"] == ["row 3", "row 6"]
    assert [(line[0], line[5].split(" has ")[0]) for line in second if line[2] == "error"] == [
        ("row 3", "row 6"),
        ("row 6", "row 3"),
    ]


def test_letters_and_patients_copies_are_made_at_once_where_nothing_is_said(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(2)), tmp_path / "out"
    words = command("bulk", sheet, "--out", out, "--date", DAY, "--quiet")
    subprocess.run(words, capture_output=True, check=False, env=environment())
    assert set(made(out)) == {
        f"HHC-00000{number}{reader}.docx" for number in range(2) for reader in ("", ".patient")
    } | {*LETTERS}


def test_a_further_format_is_made_of_the_same_version(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(3)), tmp_path / "out"
    bulk(sheet, out)
    before = made(out)
    done = bulk(sheet, out, "--format", "docx,text,pdf", "--for", "doctor,patient")
    assert done.returncode < 2, done.stderr
    after = made(out)
    assert all(after[name] == content for name, content in before.items() if name not in LETTERS)
    wanted = {
        f"HHC-00000{number}{reader}.{form}"
        for number in range(3)
        for reader in ("", ".patient")
        for form in ("docx", "pdf", "txt")
    }
    assert set(after) == {*wanted, *LETTERS}
    assert "nothing new" in last(bulk(sheet, out))


def test_names_of_files_hold_no_patient_and_lead_nowhere(tmp_path: Path):
    references = [
        "../../etc/passwd",
        "CON",
        "a/b",
        "a\\b",
        "A-B",
        ".hidden",
        "x" * 150,
        "ends.",
        "outcome",
        "é/ü",
        "a b",
    ]
    given = [row | {"Ref": reference} for row, reference in zip(rows(len(references)), references, strict=True)]
    done = bulk(write_csv(tmp_path / "s.csv", given), tmp_path / "out")
    assert done.returncode < 2, done.stdout
    names = [name for name in made(tmp_path / "out") if name.endswith(".docx")]
    assert len(names) == len(references)
    assert len({name.casefold() for name in names}) == len(names)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out", "s.csv"]
    assert not any("Testby" in name for name in names)
    assert {"a-b.docx", "a-b-2.docx", "A-B-3.docx", "a-b-4.docx"} <= set(names)


def test_a_pattern_is_checked_and_its_values_made_safe(tmp_path: Path):
    assert check_pattern("{date}-{family}-{reference}")
    for pattern in ("{family}", "{reference.__class__}", "{reference!r}", "{shoe}", "{reference", "{reference:>9}"):
        with pytest.raises(InvalidInput):
            check_pattern(pattern)
    record = {"reference": "X/1", "patient": {"name": {"family": "../O'Brien"}}, "visit": {"date": "2026-11-20"}}
    assert stem("{date}/{family}_{reference}", record, 7) == "2026-11-20-O-Brien-X-1"
    assert stem("{reference}", {}, 7) == "letter-000007"
    assert safe("nul") == "nul-"
    assert file_name("X-1", "patient", 3, ".docx") == "X-1.patient.v3.docx"
    sheet = write_csv(tmp_path / "s.csv", rows(2))
    bulk(sheet, tmp_path / "out", "--pattern", "{family}-{reference}")
    assert (tmp_path / "out" / "Testby1-HHC-000001.docx").is_file()


def test_dry_run_writes_nothing_and_limit_takes_the_first_rows(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", [*rows(3), BASE | {"Phalen R": "="}]), tmp_path / "out"
    dry = subprocess.run(
        command("bulk", sheet, "--out", out, "--dry-run"),
        capture_output=True,
        text=True,
        check=False,
        env=environment(),
    )
    assert dry.returncode == 2
    assert "row 5: error: Phalen R, cell Q5:" in dry.stdout
    assert "Phalen R -> Phalen's test, right (phalen_test right)" in dry.stdout
    assert "nothing written" in last(dry)
    assert not out.exists()
    limited = bulk(sheet, out, "--limit", "2")
    assert last(limited).startswith("2 rows:")
    assert {"HHC-000000.docx", "HHC-000001.docx", "outcome.xlsx"} == set(made(out))


def test_outcome_cells_begin_no_formula(tmp_path: Path):
    given = [row | {"Ref": reference} for row, reference in zip(rows(4), ("+1", "-5", "@x", "\tz"), strict=True)]
    bulk(write_csv(tmp_path / "s.csv", given), tmp_path / "out")
    with zipfile.ZipFile(tmp_path / "out" / "outcome.xlsx") as book:
        sheet, styles = (book.read(f"xl/{part}").decode() for part in ("worksheets/sheet1.xml", "styles.xml"))
    assert "<f>" not in sheet
    assert 'quotePrefix="1"' in styles
    assert sheet.count('t="inlineStr"') > 12
    assert {line[1] for line in outcome(tmp_path / "out")[0]} == {"+1", "-5", "@x", "z"}


def test_json_lines_and_folders_are_drafted_and_a_broken_line_stops_no_other(tmp_path: Path):
    cases = sorted((ROOT / "demo_cases").glob("*.json"))[:4]
    lines = [json.dumps(json.loads(case.read_text(encoding="utf-8"))) for case in cases]
    (tmp_path / "s.jsonl").write_text(
        "\n".join([lines[0], "{broken", "[1]", '{"a":1,"a":2}', *lines[1:]]), encoding="utf-8"
    )
    done = bulk(tmp_path / "s.jsonl", tmp_path / "out")
    assert "7 rows" in last(done)
    assert "3 refused; 4 new letters" in last(done)
    folder = tmp_path / "cases"
    folder.mkdir()
    for case in cases:
        (folder / case.name).write_bytes(case.read_bytes())
    assert "4 new letters" in last(bulk(folder, tmp_path / "other"))
    own = {name: content for name, content in made(tmp_path / "out").items() if name not in LETTERS}
    assert own == {name: content for name, content in made(tmp_path / "other").items() if name not in LETTERS}


def test_characters_that_no_document_can_carry_refuse_their_row_only(tmp_path: Path):
    case = json.loads((ROOT / "demo_cases" / "ganglion.json").read_text(encoding="utf-8"))
    odd = [case | {"reference": "X\0"}, case | {"reference": "Y-\ud800"}, case | {"history": {"presenting": "a\x07b"}}]
    lines = [json.dumps(each) for each in (*odd, case | {"reference": "Z-1"})]
    (tmp_path / "s.jsonl").write_text("\n".join(lines), encoding="utf-8")
    done = bulk(tmp_path / "s.jsonl", tmp_path / "out")
    assert "3 refused; 1 new letter;" in last(done), outcome(tmp_path / "out")


def test_a_free_text_examination_is_read_and_what_is_not_read_is_told(tmp_path: Path):
    sheet = tmp_path / "s.csv"
    note = "Phalen's test positive on the right. Tinel's negative on the right. The gribble was wobbled in the carpal tunnel."
    sheet.write_text(f'Ref,Surname,Date seen,Examination\nN-1,Farrowby,2026-11-20,"{note}"\n', encoding="utf-8")
    done = bulk(sheet, tmp_path / "out")
    assert done.returncode < 2, outcome(tmp_path / "out")
    assert "Phalen's test was positive on the right" in text(made(tmp_path / "out")["N-1.docx"])


def test_no_word_of_a_patient_in_the_tables_of_steps_nor_left_in_the_ledger(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", [row | {"Surname": "Quuxworthy"} for row in rows(30)]), tmp_path / "out"
    done = bulk_process(sheet, out)
    assert "Quuxworthy" not in done.stdout + done.stderr
    for file in (out / ".letterkit").iterdir():
        if file.is_file():
            assert b"Quuxworthy" not in file.read_bytes(), file.name
    with sqlite3.connect(out / ".letterkit" / "bulk.sqlite") as ledger:
        assert ledger.execute("SELECT count(*) FROM bulk_letter WHERE payload IS NOT NULL").fetchone() == (0,)
    ledger.close()
    assert (out / ".letterkit" / "bulk.sqlite").stat().st_mode & 0o077 == 0
    with sqlite3.connect(out / ".letterkit" / "steps.sqlite") as steps:
        assert steps.execute("SELECT count(*) FROM operation_outputs").fetchone()[0] >= 2
    steps.close()


def test_a_folder_serves_one_run_at_a_time_and_status_tells(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(2)), tmp_path / "out"
    with sole(out / ".letterkit" / "lock"):
        done = bulk_process(sheet, out)
        assert done.returncode == 3
        assert "another run" in done.stderr
        with pytest.raises(FolderInUse), sole(out / ".letterkit" / "lock"):
            pass
    bulk(sheet, out)
    status = subprocess.run(
        command("bulk", "status", "--out", out), capture_output=True, text=True, check=False, env=environment()
    )
    assert status.returncode == 0
    assert "Run 1, s.csv, done: 2 rows, 2 to draft" in status.stdout
    none = subprocess.run(
        command("bulk", "status", "--out", tmp_path), capture_output=True, text=True, check=False, env=environment()
    )
    assert none.returncode != 0


def test_a_folder_that_cannot_be_written_stops_the_run_and_it_goes_on_after(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(40)), tmp_path / "out"
    out.mkdir()
    (out / "HHC-000030.docx").mkdir()  # a letter cannot take the place of a folder, as root too
    done = bulk(sheet, out)
    assert done.returncode == 3
    assert "still to draft" in done.stderr
    assert "the same command continues" in done.stderr
    (out / "HHC-000030.docx").rmdir()
    assert bulk(sheet, out).returncode < 2
    clean = tmp_path / "clean"
    bulk(sheet, clean)
    assert made(out) == made(clean)


@pytest.mark.parametrize(("letters", "expected"), [(1, 25), (60, 25), (1000, 50), (10_000, 200), (100_000, 200)])
def test_small_runs_are_parted_finely_and_large_ones_coarsely(letters, expected):
    assert part_size(letters) == expected


def test_ctrl_c_ends_a_run_at_once_and_the_same_command_continues(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(200)), tmp_path / "out"
    words = command("bulk", sheet, "--out", out, "--date", DAY, "--quiet", "--for", "doctor")
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a suite in the background ignores Ctrl-C
    try:
        started = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, env=environment())
    finally:
        signal.signal(signal.SIGINT, before)
    with started as run:
        while run.poll() is None and not list(out.glob("*.docx")):
            time.sleep(0.02)
        run.send_signal(signal.SIGINT)
        assert run.wait(timeout=60) == 130
        assert run.stderr is not None
        assert run.stderr.read() == "interrupted; the same command continues\n"
    assert 0 < len(list(out.glob("*.docx"))) < 200
    assert bulk_process(sheet, out).returncode < 2
    assert len(list(out.glob("*.docx"))) == 200


def test_in_one_process_a_few_are_drafted_and_many_are_left_to_the_command(tmp_path: Path):
    sheet, out = write_csv(tmp_path / "s.csv", rows(26)), tmp_path / "out"
    few = Options(sheet, out, readers=("doctor",), drafted=date.fromisoformat(DAY), here=True, limit=25)
    assert run(few, lambda line: None).totals.new == 25
    write_csv(sheet, [*rows(1), *(row | {"Plan": "None"} for row in rows(26, 1))])
    with pytest.raises(RunStopped, match="26 rows"):
        run(replace(few, limit=None), lambda line: None)
    done = bulk(sheet, out)
    assert "26 new letters" in last(done)
    assert len(list(out.glob("*.v2.docx"))) == 24


def test_a_patient_s_copy_is_composed_once_for_all_its_formats(monkeypatch):
    composed = []
    compose = Draft.patient_copy
    monkeypatch.setattr(Draft, "patient_copy", lambda self, *given: composed.append(1) or compose(self, *given))
    built = build("row 2", list(BASE.values()), plan(list(BASE), SheetMapping()))
    payload = {"e": built.encounter, "o": built.origins, "n": None, "i": []}
    settings = {"columns": {}, "templates": None, "letterhead": None, "readers": ["doctor", "patient"]}
    done = make(payload, "X", 1, date.fromisoformat(DAY), settings | {"formats": ["docx", "pdf", "html", "text"]})
    assert [name for name, _ in done.files] == [
        f"X{reader}.{form}" for form in ("docx", "pdf", "html", "txt") for reader in ("", ".patient")
    ]
    assert composed == [1]


def test_what_a_note_tells_in_two_ways_is_asked_once():
    built = build("row 2", list(BASE.values()), plan(list(BASE), SheetMapping()))
    note = "Froment's sign positive on the right. Froment's sign negative on the right."
    payload = {"e": built.encounter, "o": built.origins, "n": note, "i": []}
    settings = {"columns": {}, "templates": None, "letterhead": None, "readers": ["doctor"], "formats": ["text"]}
    done = make(payload, "X", 1, date.fromisoformat(DAY), settings)
    asked = [issue.message for issue in done.issues if "Froment" in issue.message]
    assert len(asked) == 1
    assert "Which one holds?" in asked[0]
