"""The pages of sheets in every state they have, one after another."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from bulk_rows import BASE, rows, write_csv

from letterkit.service.keeper import ENDED, SAID, STANDING, beside, held, put

CANNOT_BE = "Grip R (kg)"


def _give(page, address: str, sheet: Path) -> None:
    page.goto(f"{address}/sheets")
    page.get_by_label("Sheet", exact=True).set_input_files(sheet)
    page.get_by_role("button", name="Look at the columns").click()


def _untidy() -> list[dict[str, str]]:
    """Refused for several cells, with queries, the same twice, of another language, and a text that is long."""
    given = [dict(row) for row in rows(7)]
    given[1] |= {
        CANNOT_BE: "300",
        "Phalen R": "maybe later",
        "DOB": "03/04/1968",
        "Surname": "Vörösmarty-Quillanthorpe",
    }
    given[3] |= {"Plan": "Review in eight weeks; " * 6}
    given[5] |= {"NHS no": "999 000 0124", "Ref": "HHC-WITH-A-LONG-REFERENCE-OF-THIS-CLINIC-000005"}
    return [*given, given[2]]


def states(page, clinic, folder: Path) -> Iterator[str]:
    """Brings the page into each state and names it."""
    yield from _before_letters(page, clinic, folder)
    yield from _with_letters(page, clinic, folder)


def _before_letters(page, clinic, folder: Path) -> Iterator[str]:
    page.goto(f"{clinic.address}/sheets")
    yield "no sheet yet"
    (folder / "letter.txt").write_text("no sheet")
    _give(page, clinic.address, folder / "letter.txt")
    page.get_by_role("alert").wait_for()
    yield "what is no sheet"

    names = {"Surname": "Whose", "Phalen R": "Phal test thumb", "Tinel": "Tinel's", "Plan": ""}
    sheet = write_csv(folder / "friday.csv", [BASE])
    head, rest = sheet.read_text().split("\n", 1)
    sheet.write_text(",".join(names.get(name, name) for name in head.split(",")) + "\n" + rest)
    _give(page, clinic.address, sheet)
    page.wait_for_selector("html[data-ready]")
    yield "columns that need a choice, and one that is missing"
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("#trouble")
    yield "columns that still need one"
    run = clinic.folder / "bulk-runs" / page.url.split("/sheets/")[1].split("/")[0]
    put(run / "asked.json", json.dumps({"suffix": ".csv", "formats": ["docx"], "readers": ["doctor"], "print": True}))
    put(run / SAID, "sheet.csv.corrections.jsonl: cannot be read; bring it back from a backup, or move it away\n")
    put(run / ENDED, f"2 {beside(run)}")
    page.goto(f"{clinic.address}/sheets/{run.name}")
    assert "bring it back from a backup" in page.locator(".fault").inner_text()
    yield "a sheet that could not be used"


def _with_letters(page, clinic, folder: Path) -> Iterator[str]:
    _give(page, clinic.address, write_csv(folder / "clinic of friday.csv", _untidy()))
    page.wait_for_selector("html[data-ready]")
    yield "columns that are clear"
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("table.outcome", timeout=90_000)
    yield "the outcome"
    here = page.url
    run = clinic.folder / "bulk-runs" / here.rsplit("/", 1)[1]
    page.goto(f"{here}/rows/3")
    page.wait_for_selector("#row-form")
    yield "a row that is corrected"
    page.get_by_role("button", name="Save and draft this row again").click()
    page.wait_for_selector("#trouble")
    yield "nothing that differs"
    page.get_by_label(CANNOT_BE).fill("30")
    page.get_by_role("button", name="Save and draft this row again").click()
    page.wait_for_selector("#said")
    assert "still refused" in page.locator("#said").inner_text()
    yield "a row that was corrected and needs more"
    page.goto(f"{here}/rows/3")
    page.wait_for_selector("#row-form")
    yield "what was corrected before"
    page.get_by_role("link", name="All letters as a zip").wait_for()
    page.goto(f"{clinic.address}/sheets")
    yield "sheets that were given in"
    with held(run) as mine:
        assert mine
        _, _, state = (run / ENDED).read_text().partition(" ")
        (run / ENDED).unlink()
        put(run / STANDING, state)
        page.goto(here)
        yield "a print run that is written"
        (run / STANDING).unlink()
        page.goto(f"{here}?done=3")
        yield "a run that goes on"
        put(run / ENDED, f"2 {state}")
