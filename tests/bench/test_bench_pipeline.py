"""JSON in, DOCX out: the whole way for a usual letter, warm, on one core."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from letterkit import check, draft
from letterkit.catalogue import catalogue
from letterkit.consistency.registry import check_record
from letterkit.findings.facts import expand
from letterkit.findings.read_input import parse_encounter
from letterkit.reading.readback import remembered
from letterkit.render.base import renderer

CASES = Path(__file__).resolve().parents[2] / "demo_cases"


def test_bench_json_to_docx(benchmark):
    """The figure to hold: at most 6 ms median with read-back, at most 3 ms of it outside read-back.

    No sentence of the letter is known from a letter before: all are read.
    """
    text = (CASES / "early_nerve_compression.json").read_text(encoding="utf-8")
    docx = renderer("docx")
    docx.render(draft(text).letter)

    def whole_way() -> bytes:
        remembered.clear()
        return docx.render(draft(text).letter)

    benchmark(whole_way)


def test_bench_json_to_docx_of_known_sentences(benchmark):
    """The same where each sentence was read before, as most are in a bulk run: what is left is all but the reading."""
    text = (CASES / "early_nerve_compression.json").read_text(encoding="utf-8")
    docx = renderer("docx")
    docx.render(draft(text).letter)

    benchmark(lambda: docx.render(draft(text).letter))


def test_bench_all_rules_on_ninety_findings(benchmark):
    """The figure to hold: at most 1 ms median."""
    known = catalogue()
    encounter = parse_encounter((CASES / "ninety_findings.json").read_text(encoding="utf-8"))
    facts = expand(encounter, known)

    benchmark(lambda: check_record(encounter, facts, known))


def test_bench_check(benchmark):
    text = (CASES / "ninety_findings.json").read_text(encoding="utf-8")

    benchmark(lambda: check(text))


def _seconds(*arguments: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-m", "letterkit", *arguments], check=True, capture_output=True)
    return time.perf_counter() - start


def test_bench_help_from_a_cold_start(benchmark):
    """The figure to hold: at most 0.3 s."""
    benchmark.pedantic(lambda: _seconds("--help"), rounds=5)


def test_bench_draft_from_a_cold_start(benchmark, tmp_path):
    """The figure to hold: at most 1.5 s with read-back."""
    case = str(CASES / "early_nerve_compression.json")

    benchmark.pedantic(lambda: _seconds("draft", case, "--out", str(tmp_path)), rounds=5)
