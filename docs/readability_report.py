"""Prints how easily the patients' copies of the demo cases read: the published formulas over our own sentences.

Run as `python docs/readability_report.py`; needs the development dependencies.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from statistics import mean

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from reading_ease import Counts, count, masked, ours  # noqa: E402

from letterkit.pipeline import draft  # noqa: E402


def rows(folder: Path) -> list[tuple[str, Counts, Counts]]:
    """The counts of each letter, as printed and with the explained terms masked."""
    found = []
    for case in sorted(folder.glob("*.json")):
        drafted = draft(case.read_bytes(), drafted=date(2026, 11, 25))
        texts = ours(drafted.patient_copy(), drafted.encounter)
        found.append((case.stem, count(texts), count(masked(text) for text in texts)))
    return found


def main() -> None:
    """Prints one line a letter, and the mean of all."""
    found = rows(HERE.parent / "demo_cases")
    width = max(len(name) for name, _, _ in found)
    print(f"{'patient copy':<{width}}  words  mean  longest  grade  ease  grade, masked  ease, masked")  # noqa: T201
    for name, plain, hidden in found:
        score, easier = plain.score(), hidden.score()
        print(  # noqa: T201
            f"{name:<{width}}  {plain.words:>5}  {plain.mean_length:>4.1f}  {max(plain.lengths):>7}  "
            f"{score.grade:>5.1f}  {score.ease:>4.0f}  {easier.grade:>13.1f}  {easier.ease:>12.0f}"
        )
    grades = [plain.score().grade for _, plain, _ in found]
    eases = [plain.score().ease for _, plain, _ in found]
    easier_grades = [hidden.score().grade for _, _, hidden in found]
    easier_eases = [hidden.score().ease for _, _, hidden in found]
    print(  # noqa: T201
        f"{len(found)} letters: mean Flesch-Kincaid grade {mean(grades):.1f} (highest {max(grades):.1f}), "
        f"mean reading ease {mean(eases):.0f} (lowest {min(eases):.0f}); "
        f"terms masked {mean(easier_grades):.1f} and {mean(easier_eases):.0f}"
    )


if __name__ == "__main__":
    main()
