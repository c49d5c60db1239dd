"""A clinician's way: paste, see it read, settle, approve, download, next patient."""

from __future__ import annotations

import io

import docx
from browser_pages import NOTE, compose, saved, sign_in


def _words(path) -> str:
    document = docx.Document(io.BytesIO(path.read_bytes()))
    return "\n".join(paragraph.text for paragraph in document.paragraphs)


def _visit(page, address: str, note: str = NOTE) -> None:
    compose(page, address, "/compose")
    for label, words in (
        ("Given names", "Marjorie"), ("Family name", "Ashdown"), ("Date of birth", "1971-03-14"),
        ("NHS number", "999 000 0018"), ("Reference", "HHC-0777"),
    ):  # fmt: skip
        page.get_by_label(label, exact=True).fill(words)
    page.locator("#note").fill(note)
    page.wait_for_function("() => /Phalen's test was/.test(document.querySelector('#paper').textContent)")


def test_paste_settle_approve_download(page, clinic, tmp_path):
    clinic.people()
    sign_in(page, clinic.address, "calder")
    _visit(page, clinic.address, f"{NOTE} Phalen's negative on the right. Zorbled sign positive.")

    marked = page.locator("#as-read-text")
    assert "Phalen's test, right: positive" in marked.inner_text()
    assert "not read" in marked.inner_text()
    query = page.locator("#query-list li.is-contradictory").first
    assert "Which one holds?" in query.inner_text()
    page.locator("[data-item=phalen_test]").last.get_by_role("button", name="Remove").click()
    page.wait_for_function("() => !document.querySelector('#query-list .is-contradictory')")
    saved(page)

    page.locator("#finish").click()
    page.wait_for_url("**/finish/*")
    assert page.get_by_text("These words were not read").is_visible()
    approve = page.get_by_role("button", name="I have read this letter and approve it")
    approve.click()
    assert "/finish/" in page.url  # the words that were not read are to be looked at first
    page.get_by_label("I have looked at the words").check()
    approve.click()
    page.wait_for_url("**/letters/*")
    assert "Approved by Miss R. Calder, Consultant hand surgeon" in page.locator(".approved").inner_text()

    with page.expect_download() as download:
        page.get_by_role("link", name="Word file of the letter").click()
    target = tmp_path / "letter.docx"
    download.value.save_as(target)
    words = _words(target)
    assert "Phalen's test was positive on the right" in words.replace("’", "'")
    assert "Checked and approved by Miss R. Calder" in words
    assert "DRAFT" not in words
    assert "Ashdown" not in download.value.suggested_filename

    page.get_by_role("link", name="Patient’s copy", exact=True).click()
    assert "muscle at the base of" in page.locator(".paper").inner_text()
    page.get_by_role("link", name="Next patient").click()
    page.wait_for_selector("html[data-ready]")
    assert page.get_by_label("Clinician", exact=True).input_value() == "Miss R. Calder"
    assert page.get_by_label("Family name").input_value() == ""


def test_a_query_is_kept_for_a_reason_and_the_record_says_who(page, clinic):
    clinic.people()
    sign_in(page, clinic.address, "calder")
    _visit(page, clinic.address, f"{NOTE} Phalen's negative on the right.")
    query = page.locator("#query-list li.is-contradictory").first
    query.get_by_label("Keep it as it is, because").fill("Done twice, once after rest")
    query.get_by_role("button", name="Keep").click()
    page.wait_for_function("() => !document.querySelector('#query-list .is-contradictory')")
    saved(page)
    page.locator("#finish").click()
    page.wait_for_url("**/finish/*")
    assert page.get_by_text("stands before approval").count() == 0
    for _ in range(page.locator("form.keep").count()):
        form = page.locator("form.keep").first
        form.get_by_label("Or keep it as it is, because").fill("Left out on purpose")
        with page.expect_navigation():
            form.get_by_role("button").click()
    assert page.get_by_text("No query is open").is_visible(), page.locator(".done-side").inner_text()
    page.get_by_role("button", name="approve it").click()
    page.wait_for_url("**/letters/*")
    assert "Approved by Miss R. Calder" in page.locator(".approved").inner_text()


def test_a_letter_is_found_and_opened_as_the_earlier_visit(page, clinic):
    clinic.people()
    sign_in(page, clinic.address, "calder")
    _visit(page, clinic.address)
    page.get_by_label("Date of visit").fill("2026-01-08")
    saved(page)
    page.locator("#finish").click()
    page.get_by_role("button", name="approve it").click()
    page.wait_for_url("**/letters/*")
    page.goto(f"{clinic.address}/letters")
    for words in ("ashdown", "HHC-0777", "14-Mar-1971"):
        page.get_by_label("Reference, name or date").fill(words)
        with page.expect_navigation():
            page.get_by_role("button", name="Find").click()
        assert page.get_by_role("link", name="Ashdown, Marjorie", exact=True).is_visible()
    page.get_by_label("Reference, name or date").fill("nobody")
    with page.expect_navigation():
        page.get_by_role("button", name="Find").click()
    assert page.get_by_text("No letter has all of these words").is_visible()
    page.goto(f"{clinic.address}/letters?q=ashdown")
    page.get_by_role("link", name="New visit").click()
    page.wait_for_selector("html[data-ready]")
    assert page.get_by_label("Family name").input_value() == "Ashdown"
    page.locator("#note").fill("Phalen's negative on the right. APB 5/5 on the right.")
    page.wait_for_function("() => /previously|earlier|since/i.test(document.querySelector('#paper').textContent)")


def test_a_correction_replaces_the_letter(page, clinic):
    clinic.people()
    sign_in(page, clinic.address, "calder")
    _visit(page, clinic.address)
    saved(page)
    page.locator("#finish").click()
    page.get_by_role("button", name="approve it").click()
    page.wait_for_url("**/letters/*")
    page.get_by_role("link", name="Correct it").click()
    page.wait_for_selector("html[data-ready]")
    page.get_by_label("Phalen's test, right").select_option("equivocal")
    saved(page)
    page.locator("#finish").click()
    page.get_by_role("button", name="approve it").click()
    page.wait_for_url("**/letters/*")
    assert "It replaces the whole of an earlier letter" in page.locator(".paper").inner_text()


def test_first_use_shows_an_invented_encounter(page, clinic):
    page.goto(clinic.address)
    page.wait_for_selector("html[data-ready]")

    assert page.get_by_text("This encounter is invented").is_visible()
    page.wait_for_function("() => /Phalen/.test(document.querySelector('#paper').textContent)")
    page.locator("#finish").click()
    page.wait_for_url("**/finish/*")
    page.get_by_label("Your name").fill("Miss R. Calder")
    page.get_by_role("button", name="approve it").click()
    page.wait_for_url("**/letters/*")
    page.goto(clinic.address)
    assert page.get_by_role("heading", name="Desk").is_visible()
