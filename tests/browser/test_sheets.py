"""A secretary's sheet: columns matched by hand, a bad row corrected where it stands, every letter printed once."""

from __future__ import annotations

import csv
import os
import re
import signal
from contextlib import suppress
from pathlib import Path

import pytest
from browser_pages import check_looks, sign_in, tab_to
from bulk_rows import printed_words, rows, write_csv

from letterkit.service.keeper import ENDED, STANDING, held, put


@pytest.fixture(scope="module")
def staffed(shared_clinic):
    """A clinic whose people sign in."""
    shared_clinic.people()
    return shared_clinic


def _sheet(path: Path) -> Path:
    """Three rows: one with a grip that cannot be; one column that is not known, and one that is nobody's business."""
    given = [
        {"Phal test thumb" if name == "Phalen R" else name: value for name, value in row.items()} | {"Shoe size": "39"}
        for row in rows(3)
    ]
    given[1]["Grip R (kg)"] = "300"
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(given[0]))
        writer.writeheader()
        writer.writerows(given)
    return path


def _end_runs(folder: Path) -> None:
    """Ends the processes that draft in a folder, as a machine that stops does."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if folder in [*(process / "cwd").readlink().parents]:
                os.kill(int(process.name), signal.SIGKILL)


def _choose(page, words: str) -> None:
    """Goes down the list that has the focus to a choice; typing its letters would depend on how fast they come."""
    for _ in range(60):
        if page.evaluate("document.activeElement.selectedOptions[0].text").startswith(words):
            return
        page.keyboard.press("ArrowDown")
    raise AssertionError(f"{words!r} is not among the choices")


def _printed(page, target: Path) -> str:
    with page.expect_download() as download:
        page.get_by_role("link", name="Print run of all letters").click()
    download.value.save_as(target)
    return printed_words(target)


def _second_is_told(other) -> None:
    """Somebody who opened the row before it was corrected."""
    other.get_by_label("Grip R (kg)").fill("31")
    other.get_by_label("Plan").fill("Review in six weeks")
    other.get_by_role("button", name="Save and draft this row again").click()
    other.wait_for_selector("#trouble")
    assert "Tom Quill corrected this row" in other.locator("#trouble").inner_text()
    assert other.get_by_label("Plan").input_value() == "Review in six weeks"
    assert "The other correction has: 30" in other.locator("#row-form").inner_text()
    check_looks(other, "two people on one row")


def test_from_a_bad_sheet_to_a_print_run_of_all(page, staffed, open_page, tmp_path):
    sign_in(page, staffed.address, "quill")
    page.get_by_role("link", name="Sheets").click()
    page.get_by_label("Sheet", exact=True).set_input_files(_sheet(tmp_path / "friday.csv"))
    page.get_by_role("button", name="Look at the columns").click()
    page.wait_for_selector("html[data-ready]")
    assert "2 of 27 columns need a choice" in page.locator("#kept").inner_text()
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("#trouble")
    page.wait_for_selector("html[data-ready]")
    page.wait_for_function("() => document.activeElement.id === 'trouble'")
    page.get_by_label("Shoe size holds").select_option(label="Not used for the letter")
    page.get_by_label("Phal test thumb holds").select_option(label="Perhaps: Phalen's test")
    page.get_by_label("Side, of Phal test thumb").select_option("right")
    check_looks(page, "columns that need a choice")
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("table.outcome", timeout=90_000)
    assert page.locator("tbody tr").first.inner_text().startswith("row 3")
    assert (
        "Grip R (kg), cell W3: 300 kg is outside 0 to 150 for grip strength."
        in page.locator("tbody tr").first.inner_text()
    )
    check_looks(page, "the outcome")

    page.get_by_role("link", name="Correct row 3").click()
    page.wait_for_selector("#row-form")
    other = open_page()
    sign_in(other, staffed.address, "calder")
    other.goto(page.url)
    page.locator("#row-form .problems").get_by_role("link", name="Grip R (kg)").click()
    page.wait_for_function("() => document.activeElement.value === '300'")
    check_looks(page, "a row that is corrected")
    page.get_by_label("Grip R (kg)").fill("30")
    page.get_by_role("button", name="Save and draft this row again").click()
    page.wait_for_url(lambda url: url.endswith("done=3"))
    _end_runs(staffed.folder / "bulk-runs")
    staffed.kill()
    staffed.restart()
    page.goto(page.url)
    page.wait_for_selector("#said", timeout=90_000)
    assert "Row 3 was corrected" in page.locator("#said").inner_text()
    assert "corrected by Tom Quill" in page.locator("#row-3").inner_text()
    check_looks(page, "a row that was corrected")
    words = _printed(page, tmp_path / "print.docx")
    assert [words.count(f"HHC-00000{number}") for number in range(3)] == [1, 1, 1]
    assert "30\N{NO-BREAK SPACE}kg" in words
    assert "300" not in words
    _second_is_told(other)
    open_page.faults[:] = [fault for fault in open_page.faults if not re.search("409|422", fault)]


def test_while_the_print_run_is_written_the_next_row_is_corrected(page, staffed, tmp_path):
    sign_in(page, staffed.address, "quill")
    page.goto(f"{staffed.address}/sheets")
    page.get_by_label("Sheet", exact=True).set_input_files(write_csv(tmp_path / "friday.csv", rows(3)))
    page.get_by_role("button", name="Look at the columns").click()
    page.wait_for_selector("html[data-ready]")
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("table.outcome", timeout=90_000)
    folder = staffed.folder / "bulk-runs" / page.url.rsplit("/", 1)[1]
    with held(folder) as mine:  # somebody writes the print run
        assert mine
        code, _, state = (folder / ENDED).read_text().partition(" ")
        (folder / ENDED).unlink()
        put(folder / STANDING, state)
        page.get_by_role("link", name="Correct row 3").click()
        page.wait_for_selector("#row-form")
        assert "are being written again" in page.locator("#files").inner_text()
        assert page.get_by_role("link", name="All letters as a zip").count() == 0
        page.get_by_label("Plan").fill("Review in six weeks")
        check_looks(page, "a row that is corrected while the print run is written")
        put(folder / ENDED, f"{code} {state}")
    page.get_by_role("link", name="Print run of all letters").wait_for()
    assert "written again" in page.locator("#files-state").inner_text()
    assert page.get_by_label("Plan").input_value() == "Review in six weeks"
    page.get_by_role("button", name="Save and draft this row again").click()
    page.wait_for_selector("#said")
    assert "version 2 of its letter" in page.locator("#said").inner_text()


def _choose_file(page, path: Path) -> None:
    """Opens the chooser of the field in focus with a key; a busy browser may miss one, as it may miss a person's."""
    from playwright.sync_api import TimeoutError as NotInTime  # noqa: PLC0415 - only where there is a browser

    for _ in range(4):
        try:
            with page.expect_file_chooser(timeout=8_000) as chooser:
                page.keyboard.press("Space")  # Enter may ask for the form to be sent instead
        except NotInTime:
            continue
        chooser.value.set_files(path)
        return
    raise AssertionError("no key opened the chooser of files")


def test_the_same_by_keys_alone(page, staffed, tmp_path):
    sign_in(page, staffed.address, "quill")
    page.goto(f"{staffed.address}/sheets")
    tab_to(page, "| file")
    _choose_file(page, _sheet(tmp_path / "friday.csv"))
    tab_to(page, "Look at the columns")
    page.keyboard.press("Enter")
    page.wait_for_selector("html[data-ready]")
    tab_to(page, "Phal test thumb holds")
    _choose(page, "Perhaps: Phalen's test")
    tab_to(page, "Side")
    _choose(page, "right")
    tab_to(page, "Shoe size holds")
    _choose(page, "Not used")
    tab_to(page, "Draft the letters")
    page.keyboard.press("Enter")
    page.wait_for_selector("table.outcome", timeout=90_000)
    tab_to(page, "Correct row 3")
    page.keyboard.press("Enter")
    page.wait_for_selector("#row-form")
    page.wait_for_function("() => document.activeElement.id === 'editing'")
    tab_to(page, "Grip R (kg)")  # the link from what is wrong to its cell
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.value === '300'")
    page.keyboard.press("Control+a")
    page.keyboard.type("30")
    tab_to(page, "Save and draft this row again")
    page.keyboard.press("Enter")
    page.wait_for_selector("#said", timeout=90_000)
    page.wait_for_function("() => document.activeElement.id === 'said'")
    tab_to(page, "Print run of all letters")
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    download.value.save_as(tmp_path / "print.docx")
    words = printed_words(tmp_path / "print.docx")
    assert [len(re.findall(f"HHC-00000{number}", words)) for number in range(3)] == [1, 1, 1]
