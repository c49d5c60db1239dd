"""The process kept ready for corrected rows: it makes what the command makes, and whatever ends it, nothing is lost."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import docx
import pytest
from bulk_rows import BASE, command, made, rows, write_csv

from letterkit.bulk.corrections import correct
from letterkit.bulk.mapping import mapping_path
from letterkit.service import warm
from letterkit.service.keeper import beside, ended, put
from letterkit.service.keeper import standing as stands
from letterkit.service.runs import Asked, Runs

pytestmark = pytest.mark.slow
NAMES = list(BASE)
GRIP = NAMES.index("Grip R (kg)")
LETTERHEAD = Path(__file__).resolve().parents[2] / "templates" / "letterheads"


@pytest.fixture
def runs(tmp_path, monkeypatch):
    found = Runs(tmp_path / "runs", None, None)
    monkeypatch.setattr(warm, "_WAIT_S", 60.0)  # whoever asks waits as long as the machine needs to begin
    yield found
    found.close()


def _begun(runs: Runs, count: int, readers=("doctor",)) -> tuple[str, Path]:
    """A run of so many rows that is over."""
    run, folder = runs.new()
    write_csv(folder / "sheet.csv", rows(count))
    runs.begin(run, Asked(".csv", ("docx",), readers, print_run=True))
    _until(lambda: ended(folder))
    return run, folder


def _until(true, within: float = 60) -> None:
    ends = time.monotonic() + within
    while not true():
        assert time.monotonic() < ends, "it does not come to that"
        time.sleep(0.02)


def _correct(folder: Path, number: int, text: str, before: int = 0) -> None:
    at = datetime(2026, 11, 25, 13, 0, before, tzinfo=UTC).isoformat()
    correct(folder / "sheet.csv", f"row {number}", before, "Tom Quill", at, {GRIP: text}, {GRIP: ""}, lambda: None)


def _command(folder: Path) -> None:
    words = command("bulk", "run", "sheet.csv", "--out", "letters", "--print-all", "--quiet")
    assert subprocess.run(words, cwd=folder, check=False, capture_output=True).returncode < 2


def test_what_it_makes_is_what_the_command_makes(runs, tmp_path):
    run, folder = _begun(runs, 4, ("doctor", "patient"))
    twin = tmp_path / "twin"
    twin.mkdir()
    shutil.copy(folder / "sheet.csv", twin)
    _command(twin)
    for number, text in ((2, "31"), (5, "32")):
        for place in (folder, twin):
            _correct(place, number, text)
        runs.redraft(run)
        assert stands(folder)
    _until(lambda: ended(folder))
    command = [
        sys.executable,
        "-m",
        "letterkit",
        "bulk",
        "run",
        "sheet.csv",
        "--out",
        "letters",
        "--print-all",
        "--quiet",
    ]
    subprocess.run(command, cwd=twin, check=False, capture_output=True)
    ours, theirs = made(folder / "letters"), made(twin / "letters")
    letters = {name for name in theirs if not name.startswith(("outcome", "print-run"))}
    assert {"HHC-000000.v2.docx", "HHC-000003.patient.v2.docx"} <= letters
    assert {name: ours[name] for name in letters} == {name: theirs[name] for name in letters}
    assert ours["print-run.3.docx"] == theirs["print-run.2.docx"]
    assert ours["print-run.3.patient.docx"] == theirs["print-run.2.patient.docx"]


def test_many_rows_are_left_to_the_keeper(runs):
    run, folder = _begun(runs, 30)
    put(mapping_path(folder / "sheet.csv"), 'ignore = ["Plan"]\n')
    runs.redraft(run)
    _until(lambda: ended(folder))
    assert len(list((folder / "letters").glob("*.v2.docx"))) == 30


def test_what_is_left_after_the_answer_is_seen_to_all_the_same(runs, monkeypatch):
    run, folder = _begun(runs, 30)
    put(mapping_path(folder / "sheet.csv"), 'ignore = ["Plan"]\n')
    monkeypatch.setattr(warm, "_WAIT_S", 0.0)  # whoever asked is answered before the process has begun
    runs.redraft(run)
    assert not stands(folder)
    _until(lambda: ended(folder))
    assert len(list((folder / "letters").glob("*.v2.docx"))) == 30


def test_stationery_that_changed_is_loaded_anew(tmp_path):
    own = tmp_path / "own.docx"
    shutil.copy(next(LETTERHEAD.glob("*.docx")), own)
    runs = Runs(tmp_path / "runs", own, None)
    run, folder = _begun(runs, 2)
    _correct(folder, 2, "31")
    runs.redraft(run)
    _until(lambda: ended(folder))
    document = docx.Document(str(own))
    document.sections[0].footer.paragraphs[0].add_run("Harrowmere, new building")
    document.sections[0].first_page_footer.paragraphs[0].add_run("Harrowmere, new building")
    document.save(str(own))
    _correct(folder, 3, "32")
    runs.redraft(run)
    _until(lambda: ended(folder))
    for name in ("HHC-000000.v3.docx", "HHC-000001.v2.docx"):
        footer = docx.Document(str(folder / "letters" / name)).sections[0].first_page_footer
        assert "new building" in " ".join(paragraph.text for paragraph in footer.paragraphs), name
    runs.close()


def _at_work(folder: Path) -> list[int]:
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if (process / "cwd").readlink() == folder:
                found.append(int(process.name))
    return found


def test_ended_in_the_middle_the_run_is_due_and_the_next_look_goes_on(runs, monkeypatch):
    run, folder = _begun(runs, 3)
    _until(lambda: not _at_work(folder))
    runs.ready()
    monkeypatch.setattr(Runs, "see_to", lambda self, run_id: None)  # the service ends with it
    _correct(folder, 2, "31")
    runs._redrafter.begin().give({"folder": str(folder), "suffix": ".csv", "formats": ["docx"], "readers": ["doctor"],
                                  "print": True, "letterhead": None, "templates": None}, lambda: None)  # fmt: skip
    _until(lambda: _at_work(folder))
    for process in _at_work(folder):
        os.kill(process, signal.SIGKILL)
    monkeypatch.undo()
    other = Runs(folder.parent, None, None)
    _until(lambda: other.progress(run).state == "done")
    assert [path.name for path in sorted((folder / "letters").glob("HHC*.docx"))] == [
        "HHC-000000.docx", "HHC-000000.v2.docx", "HHC-000001.docx", "HHC-000002.docx",
    ]  # fmt: skip


def test_let_go_it_finishes_what_it_has(runs):
    run, folder = _begun(runs, 3)
    _correct(folder, 2, "31")
    runs.redraft(run)
    runs.close()
    _until(lambda: ended(folder))
    assert (folder / "ended").read_text() == f"1 {beside(folder)}"
    _until(lambda: not _at_work(folder))


def test_it_does_not_outlive_a_service_that_is_killed():
    code = "import time; from letterkit.service.warm import Redrafter; r = Redrafter(); print(r.begin().pid, flush=True); time.sleep(60)"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as service:
        child = Path("/proc") / service.stdout.readline().strip()
        assert child.is_dir()
        service.kill()
    _until(lambda: not child.is_dir() or "Z" in (child / "stat").read_text().split(")")[-1].split()[:1], 20)
