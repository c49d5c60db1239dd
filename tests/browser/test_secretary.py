"""A secretary writes and corrects drafts, and does not approve; an administrator sees no patient."""

from __future__ import annotations

import zipfile

from browser_pages import compose, saved, sign_in
from bulk_rows import rows, write_csv


def test_a_secretary_drafts_and_a_clinician_approves(page, clinic, open_page):
    clinic.people()
    sign_in(page, clinic.address, "quill")
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    page.locator("#finish").click()
    page.wait_for_url("**/finish/*")
    assert page.get_by_role("button", name="approve it").count() == 0
    assert page.get_by_text("A clinician approves this letter").is_visible()
    work = page.url.rsplit("/", 1)[1]
    answer = page.request.post(
        f"{clinic.address}/finish/{work}/approval", form={"version": "2", "by": "Tom Quill"},
        headers={"Sec-Fetch-Site": "same-origin"},
    )  # fmt: skip
    assert answer.status == 403

    other = open_page()
    sign_in(other, clinic.address, "calder")
    other.get_by_role("link", name="Finish Ashdown").click()
    other.get_by_role("button", name="approve it").click()
    other.wait_for_url("**/letters/*")
    assert "Approved by Miss R. Calder" in other.locator(".approved").inner_text()
    page.goto(clinic.address)
    assert page.get_by_text("Nothing waits").is_visible()


def test_an_administrator_adds_people_and_sees_no_patient(page, clinic, open_page):
    clinic.people()
    sign_in(page, clinic.address, "admin")
    assert page.url.endswith("/people")
    page.get_by_label("Name, as it stands under a letter").fill("Mr P. Larkspur")
    page.get_by_label("Sign-in name").fill("larkspur")
    page.get_by_label("Role").select_option("clinician")
    page.get_by_label("First password").fill("another long password")
    page.get_by_role("button", name="Add").click()
    assert page.get_by_role("rowheader", name="Mr P. Larkspur").is_visible()
    assert page.request.get(f"{clinic.address}/letters", headers={"Accept": "text/html"}).status == 403
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")


def test_work_is_discarded_after_asking(page, clinic):
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    page.goto(clinic.address)
    page.get_by_text("Discard Ashdown").click()
    page.get_by_role("button", name="Discard for good").click()
    page.wait_for_selector("html[data-ready]")  # nothing is left: the invented encounter again


def test_a_sheet_with_a_bad_row_to_a_corrected_print_run(page, clinic, tmp_path):
    clinic.people()
    sign_in(page, clinic.address, "quill")
    given = list(rows(4))
    broken = [*given[:2], given[2] | {"Grip R (kg)": "300"}, given[3]]
    page.get_by_role("link", name="Sheets").click()
    for sheet, refused in ((broken, 1), (given, 0)):
        page.get_by_label("Sheet", exact=True).set_input_files(write_csv(tmp_path / "friday.csv", sheet))
        page.get_by_label("One Word document of all letters").check()
        page.get_by_role("button", name="Draft the letters").click()
        page.wait_for_url(lambda url: "/sheets/" in url)
        page.wait_for_selector("table.list", timeout=90_000)
        first = page.locator("tbody tr").first.inner_text()
        assert ("refused" in first) == bool(refused)
        assert ("outside" in first) == bool(refused)
        with page.expect_download() as download:
            page.get_by_role("link", name="All letters as a zip").click()
        names = zipfile.ZipFile(download.value.path()).namelist()
        assert sum(name.startswith("print-run") for name in names) == 1
        assert sum(name.endswith(".docx") for name in names) == 1 + len(sheet) - refused
        page.get_by_role("link", name="Another sheet").click()
    page.get_by_label("Sheet", exact=True).set_input_files(
        {"name": "x.csv", "mimeType": "text/csv", "buffer": b"Reference,Shoe size of the aunt\nA1,39\n"}
    )
    page.get_by_role("button", name="Draft the letters").click()
    page.wait_for_selector("pre.said", timeout=60_000)
    assert "Shoe size of the aunt" in page.locator("pre.said").inner_text()
