"""Letters a second and memory of bulk runs: many rows to DOCX, and few rows against many.

The figures are printed and written into the benchmark's extra_info. Memory is asserted, since it does not depend on the
machine; time is not. Under --benchmark-only the runs have their full size, elsewhere a small one; LETTERKIT_BENCH_ROWS
sets the size of the first and the larger of the other two.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import pytest
from bulk_rows import DAY, command, environment, rows, write_csv

MEBIBYTE = 2**20
MOST_MEMORY = 400  # MiB, of all processes of a run together
SPREAD = 1.10  # of peak memory, many rows against few


@dataclass(frozen=True, slots=True)
class Measured:
    """One run: rows, seconds, and the peak of the memory of all its processes together in MiB."""

    rows: int
    seconds: float
    peak_mib: float


def family(root: int) -> list[int]:
    """A process with all its descendants."""
    parents: dict[int, int] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                parents[int(entry.name)] = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            except OSError:
                continue
    found = [root]
    for each in found:
        found += [child for child, parent in parents.items() if parent == each]
    return found


def memory(root: int) -> float:
    """The resident memory of a process and its descendants in MiB; what they share is counted in each."""
    pages = 0
    for process in family(root):
        try:
            pages += int(Path(f"/proc/{process}/statm").read_text().split()[1])
        except OSError:
            continue
    return pages * os.sysconf("SC_PAGE_SIZE") / MEBIBYTE


def measured(folder: Path, count: int, readers: str = "doctor,patient", processes: int = 2) -> Measured:
    """One run of so many rows, with a letter for each of the readers."""
    sheet, out = write_csv(folder / f"{count}.csv", rows(count)), folder / f"out{count}"
    peak = 0.0
    done = threading.Event()
    words = command("bulk", sheet, "--out", out, "--date", DAY, "--quiet", "--for", readers, "--processes", processes)
    start = time.perf_counter()
    with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment()) as run:

        def watch() -> None:
            nonlocal peak
            while not done.wait(0.1):
                peak = max(peak, memory(run.pid))

        watcher = threading.Thread(target=watch)
        watcher.start()
        code = run.wait()
        taken = time.perf_counter() - start
        done.set()
        watcher.join()
    assert code < 2
    assert sum(1 for _ in out.glob("*.docx")) == count * len(readers.split(","))
    return Measured(count, taken, peak)


def size(request, full: int, small: int) -> int:
    if given := os.environ.get("LETTERKIT_BENCH_ROWS"):
        return int(given)
    return full if request.config.getoption("--benchmark-only") else small


@pytest.mark.parametrize("readers", ["doctor", "doctor,patient"])
def test_letters_a_second(benchmark, request, tmp_path, capsys, readers):
    """Rows of a CSV to DOCX on two cores, the start of the program included: to the doctor alone, and as by default."""
    count = size(request, 10_000, 200)
    found: list[Measured] = []
    benchmark.pedantic(lambda: found.append(measured(tmp_path, count, readers)), rounds=1)
    rate = count * len(readers.split(",")) / found[0].seconds
    benchmark.extra_info |= {"rows": count, "letters_a_second": round(rate, 1), "peak_mib": round(found[0].peak_mib)}
    with capsys.disabled():
        sys.stdout.write(
            f"\n{count} rows to DOCX for {readers}: {rate:.0f} letters a second, peak {found[0].peak_mib:.0f} MiB in all\n"
        )
    assert found[0].peak_mib <= MOST_MEMORY


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="the memory of processes is read from /proc")
def test_many_rows_take_no_more_memory_than_few(benchmark, request, tmp_path, capsys):
    """A twentieth of the rows against all of them, and one row for the cost of a start."""
    many = size(request, 20_000, 1_000)
    found: list[Measured] = []
    benchmark.pedantic(
        lambda: found.extend(measured(tmp_path, each) for each in (1, max(many // 20, 100), many)), rounds=1
    )
    start, few, all_rows = found
    per_row = [(each.seconds - start.seconds) / each.rows * 1000 for each in (few, all_rows)]
    benchmark.extra_info |= {
        "rows": [few.rows, all_rows.rows], "ms_a_row": [round(each, 2) for each in per_row],
        "peak_mib": [round(few.peak_mib), round(all_rows.peak_mib)],
    }  # fmt: skip
    with capsys.disabled():
        sys.stdout.write(
            f"\n{few.rows} against {all_rows.rows} rows: {per_row[0]:.1f} and {per_row[1]:.1f} ms a row after a start of "
            f"{start.seconds:.1f} s, peak {few.peak_mib:.0f} and {all_rows.peak_mib:.0f} MiB in all\n"
        )
    assert all_rows.peak_mib <= MOST_MEMORY
    assert all_rows.peak_mib <= few.peak_mib * SPREAD
