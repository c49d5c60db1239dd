"""The whole letter of each demo case, word for word. Regenerate with --regen and read the difference aloud."""

from __future__ import annotations

from pathlib import Path

from letterkit import draft

HERE = Path(__file__).parent


def test_the_letter_of_a_demo_case_reads_as_agreed(demo_case, regen):
    golden = HERE / f"{demo_case.stem}.txt"
    text = draft(demo_case.read_bytes()).render("text").decode()
    if regen:
        golden.write_text(text, encoding="utf-8")

    assert golden.read_text(encoding="utf-8") == text
