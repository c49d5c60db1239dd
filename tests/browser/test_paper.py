"""The pages of the letter beside Finish, as pictures with a name each."""

from __future__ import annotations

from browser_pages import check_looks, compose, saved


def test_the_pages_of_the_file_are_shown_and_said_what_they_are(page, shared_clinic):
    compose(page, shared_clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    page.locator("#finish").click()
    page.wait_for_url("**/finish/*")
    for tab, whose in (("Pages of the letter", "the letter"), ("Pages of the copy", "the patient’s copy")):
        page.get_by_role("link", name=tab, exact=True).click()
        page.wait_for_selector("#pages[data-how]", timeout=30_000)
        total = page.locator("#pages img").count()
        assert page.locator("#pages-state").inner_text() == f"{total} page{'s' if total > 1 else ''}"
        alts = page.locator("#pages img").evaluate_all("nodes => nodes.map(n => n.alt)")
        assert [alt.split(",")[0] for alt in alts] == [f"Page {n} of {total} of {whose}" for n in range(1, total + 1)]
        page.wait_for_function("() => [...document.querySelectorAll('#pages img')].every(i => i.naturalWidth > 600)")
        assert "may break" in page.locator("#pages-said").inner_text()
    check_looks(page, "pages of the letter")
