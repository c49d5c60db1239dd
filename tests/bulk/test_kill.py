"""A run killed at twenty moments and continued each time: the outcome is that of an undisturbed run, byte for byte."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import time
from pathlib import Path

from bulk_rows import DAY, bulk_process, command, environment, made, outcome, rows, write_csv

ROWS = 420
KILLS = 20
EARLY = 5  # of them while the sheet is read and the run is set up
SEED = 20261125


def kill_at(sheet: Path, out: Path, letters: int, delay: float) -> tuple[int, str]:
    """Start a run, kill it some time after so many letters are there, and give its exit code and what it said."""
    words = command("bulk", sheet, "--out", out, "--date", DAY, "--quiet", "--for", "doctor", "--print-run")
    with subprocess.Popen(
        words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env=environment()
    ) as run:
        while letters and run.poll() is None and sum(1 for _ in out.glob("*.docx")) < letters:
            time.sleep(0.01)
        time.sleep(delay)
        if run.poll() is None:
            os.kill(run.pid, signal.SIGKILL)
        code = run.wait()
        assert run.stderr is not None
        return code, run.stderr.read() if code >= 0 else ""


def test_killed_at_twenty_moments(tmp_path: Path):
    sheet = write_csv(tmp_path / "friday.csv", rows(ROWS))
    undisturbed, out = tmp_path / "undisturbed", tmp_path / "out"
    assert bulk_process(sheet, undisturbed, "--print-run").returncode < 2
    chance = random.Random(SEED)
    out.mkdir()
    moments = [(0, chance.uniform(0.3, 2.0)) for _ in range(EARLY)]
    moments += [
        (letters, chance.uniform(0, 0.05)) for letters in sorted(chance.sample(range(5, ROWS - 100), KILLS - EARLY))
    ]

    codes = [kill_at(sheet, out, *moment) for moment in moments]

    assert codes == [(-signal.SIGKILL, "")] * KILLS
    done = bulk_process(sheet, out, "--print-run")
    assert done.returncode < 2, done.stderr
    assert made(out) == made(undisturbed)
    lines = outcome(out)[0]
    assert [line[0] for line in lines] == [f"row {number}" for number in range(2, ROWS + 2)]
    assert all(line[3] == "new" and line[4] == 1 for line in lines)
    assert not list((out / ".letterkit" / "aside").iterdir())
