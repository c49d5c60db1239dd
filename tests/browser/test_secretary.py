"""A secretary writes and corrects drafts, and does not approve; an administrator sees no patient."""

from __future__ import annotations

from browser_pages import compose, saved, sign_in, where


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
    work = where(page).rsplit("/", 1)[1]
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
