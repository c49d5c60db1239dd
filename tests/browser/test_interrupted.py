"""Nothing written is lost, and two people on one letter are told."""

from __future__ import annotations

from browser_pages import compose, saved, where


def test_server_killed_in_mid_edit_and_restarted(page, clinic, open_page):
    compose(page, clinic.address)
    page.locator("#part-words summary").click()
    field = page.get_by_label("Impression, one a line")
    field.fill("First words")
    saved(page)
    clinic.kill()
    field.fill("First words and words written while the service was gone")
    page.wait_for_function("() => document.querySelector('#saved').dataset.state === 'lost'")
    assert "Your work stays in this page" in page.locator("#saved").inner_text()
    clinic.restart()
    page.wait_for_function("() => document.querySelector('#saved').dataset.state === 'kept'")
    address = where(page)

    other = open_page()
    other.goto(address)
    other.wait_for_selector("html[data-ready]")
    other.locator("#part-words summary").click()
    kept = other.get_by_label("Impression, one a line").input_value()
    assert kept == "First words and words written while the service was gone"


def test_killed_right_after_saving_keeps_it(page, clinic):
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    address = where(page)
    clinic.kill()
    page.close()
    clinic.restart()
    page = page.context.new_page()
    page.goto(address)
    page.wait_for_selector("html[data-ready]")

    assert page.get_by_label("Phalen's test, left").input_value() == "equivocal"


def test_from_the_first_key_on_nothing_is_called_saved_that_is_not(page, clinic):
    compose(page, clinic.address)
    page.locator("#part-words summary").click()
    field = page.get_by_label("Impression, one a line")
    field.fill("First words")
    saved(page)

    typed = "(field) => { field.value += '.'; field.dispatchEvent(new Event('input', { bubbles: true })); return document.querySelector('#saved').dataset.state; }"
    assert field.evaluate(typed) == "busy"
    saved(page)


def test_closing_the_browser_at_once_loses_nothing(page, clinic):
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    address = where(page)
    page.get_by_label("Phalen's test, left").select_option("positive")
    page.close(run_before_unload=True)
    other = page.context.new_page()
    other.wait_for_timeout(700)
    other.goto(address)
    other.wait_for_selector("html[data-ready]")

    assert other.get_by_label("Phalen's test, left").input_value() == "positive"


def test_two_people_on_one_letter_are_told(page, clinic, open_page):
    clinic.people()
    from browser_pages import sign_in  # noqa: PLC0415 - only this test has people

    sign_in(page, clinic.address, "calder")
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    other = open_page(viewport={"width": 1440, "height": 900})
    sign_in(other, clinic.address, "quill")
    other.goto(where(page))
    other.wait_for_selector("html[data-ready]")
    other.wait_for_function("() => /Miss R. Calder/.test(document.querySelector('#others').textContent)")
    page.wait_for_function("() => /Tom Quill/.test(document.querySelector('#others').textContent)")

    other.get_by_label("Phalen's test, right").select_option("equivocal")
    saved(other)
    page.get_by_label("Tinel's sign at the carpal tunnel, right").select_option("positive")
    page.wait_for_selector("#trouble .fault")
    assert "Tom Quill has changed" in page.locator("#trouble").inner_text()
    open_page.faults[:] = [fault for fault in open_page.faults if "412" not in fault]
    with page.expect_navigation():
        page.get_by_role("button", name="Take theirs").click()
    page.wait_for_selector("html[data-ready]")
    assert page.get_by_label("Phalen's test, right").input_value() == "equivocal"

    other.get_by_label("Phalen's test, right").select_option("positive")
    saved(other)
    page.get_by_label("Tinel's sign at the carpal tunnel, right").select_option("positive")
    page.get_by_role("button", name="Keep what is on my page").click()
    saved(page)
    open_page.faults[:] = [fault for fault in open_page.faults if "412" not in fault]
    other.reload()
    other.wait_for_selector("html[data-ready]")
    assert other.get_by_label("Tinel's sign at the carpal tunnel, right").input_value() == "positive"


def test_approved_elsewhere_is_told(page, clinic, open_page):
    compose(page, clinic.address)
    page.get_by_label("Phalen's test, left").select_option("equivocal")
    saved(page)
    other = open_page()
    other.goto(where(page).replace("compose", "finish"))
    other.get_by_label("Your name").fill("Miss R. Calder")
    other.get_by_role("button", name="approve it").click()
    other.wait_for_url("**/letters/*")
    page.get_by_label("Phalen's test, left").select_option("positive")
    page.wait_for_function("() => /approved or discarded/.test(document.querySelector('#saved').textContent)")
    open_page.faults[:] = [fault for fault in open_page.faults if "404" not in fault]
