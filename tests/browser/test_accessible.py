"""No violation that axe can find, on each page and state, light and dark, wide and narrow."""

from __future__ import annotations

import pytest
from browser_pages import NOTE, check, check_looks, compose, saved, sign_in
from sheet_states import states

LOOKS = [
    pytest.param({"color_scheme": scheme, "viewport": {"width": width, "height": 900}}, id=f"{scheme}-{name}")
    for scheme in ("light", "dark")
    for name, width in (("narrow", 390), ("wide", 1440))
]


@pytest.fixture(params=LOOKS)
def looked(open_page, request):
    return open_page(**request.param)


def test_compose_in_its_states(looked, shared_clinic):
    compose(looked, shared_clinic.address, "/compose")
    check(looked, "empty")
    compose(looked, shared_clinic.address)
    check(looked, "invented encounter")
    looked.locator("#note").fill(f"{NOTE} Phalen's negative on the right. Tinel's positive. Zorbled sign positive.")
    looked.wait_for_selector("#query-list .is-contradictory")
    check(looked, "a note read, with doubt and queries")
    looked.locator("#find").fill("tinel")
    check(looked, "searching")
    looked.get_by_label("grip strength, right", exact=False).fill("270")
    looked.wait_for_selector("#left-out .fault")
    check(looked, "a value that cannot be")
    looked.locator("#part-drawing summary").first.click()
    looked.locator("svg[data-side=right][data-view=back] [data-site=pip_ring]").click()
    check(looked, "a joint chosen")
    for part in looked.locator("details:not([open]) > summary").all():
        if part.is_visible():
            part.click()
    check(looked, "all parts open")  # last, as it takes axe longest


def test_finish_and_letters(looked, shared_clinic):
    compose(looked, shared_clinic.address)
    looked.locator("#note").fill("Phalen's negative on the right. Zorbled sign positive.")
    looked.wait_for_selector("#query-list .is-contradictory")
    saved(looked)
    looked.locator("#finish").click()
    looked.wait_for_url("**/finish/*")
    check(looked, "finish with queries")
    work = looked.url.rsplit("/", 1)[1]
    looked.goto(f"{shared_clinic.address}/compose/{work}")
    looked.wait_for_selector("html[data-ready]")
    looked.locator("#note").fill("")
    looked.wait_for_function("() => !document.querySelector('#query-list .is-contradictory')")
    saved(looked)
    looked.goto(f"{shared_clinic.address}/")
    check(looked, "desk")
    looked.goto(f"{shared_clinic.address}/finish/{work}?copy=1")
    check(looked, "patient's copy")
    looked.get_by_label("Your name").fill("Miss R. Calder")
    looked.get_by_role("button", name="approve it").click()
    looked.wait_for_url("**/letters/*")
    check(looked, "approved")
    looked.goto(f"{shared_clinic.address}/letters")
    check(looked, "earlier letters")
    looked.goto(f"{shared_clinic.address}/letters?q=nobody")
    check(looked, "nothing found")
    looked.goto(f"{shared_clinic.address}/people")
    check(looked, "people")
    looked.goto(f"{shared_clinic.address}/sheets")
    check(looked, "sheets")


def test_sign_in_and_refusals(looked, clinic, open_page):
    clinic.people()
    looked.goto(f"{clinic.address}/compose")
    check(looked, "sign in")
    looked.get_by_label("Sign-in name").fill("calder")
    looked.get_by_label("Password").fill("wrong")
    looked.get_by_role("button", name="Sign in").click()
    looked.wait_for_selector("[role=alert]")
    check(looked, "not signed in")
    sign_in(looked, clinic.address, "quill")
    looked.goto(f"{clinic.address}/people")
    check(looked, "not allowed")
    assert looked.get_by_role("heading", name="The caller may not do this").is_visible()
    open_page.faults[:] = [each for each in open_page.faults if "401" not in each and "403" not in each]


def test_sheets_in_their_states(page, clinic, open_page, tmp_path):
    seen = 0
    for state in states(page, clinic, tmp_path):
        check_looks(page, state)
        seen += 1
    assert seen == 14
    open_page.faults[:] = [each for each in open_page.faults if "422" not in each]
