"""The whole way without a pointer."""

from __future__ import annotations

from browser_pages import compose, saved, tab_to


def _focused(page) -> str:
    return page.evaluate("document.activeElement.getAttribute('aria-label') || document.activeElement.id")


def test_from_note_to_approval_by_keys_alone(page, clinic):
    compose(page, clinic.address, "/compose")
    tab_to(page, "Family name")
    page.keyboard.type("Ashdown")
    page.keyboard.press("Alt+n")
    assert _focused(page) == "note"
    page.keyboard.type("Phalen's positive on the right. ")
    page.wait_for_function("() => /Phalen's test was positive/.test(document.querySelector('#paper').textContent)")
    page.keyboard.press("Alt+f")
    page.keyboard.type("froment")
    page.keyboard.press("Enter")
    assert _focused(page) == "Froment's sign, right"
    page.keyboard.type("pos")  # a select takes the first letters of a choice
    page.wait_for_function("() => /Froment's sign/.test(document.querySelector('#paper').textContent)")
    page.keyboard.press("Alt+l")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.matches('#paper span[data-facts]')")
    page.keyboard.press("Enter")
    assert _focused(page) in {"Froment's sign, right", "Phalen's test, right"}
    page.keyboard.press("Alt+q")
    assert _focused(page) == "queries-title"
    saved(page)
    page.keyboard.press("Alt+Enter")
    page.wait_for_url("**/finish/*")
    tab_to(page, "Your name")
    page.keyboard.type("Miss R. Calder")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/letters/*")
    tab_to(page, "Next patient")
    page.keyboard.press("Enter")
    page.wait_for_url("**/compose?after=*")


def test_the_drawing_by_keys(page, shared_clinic):
    compose(page, shared_clinic.address)
    page.locator("#part-drawing summary").first.focus()
    page.keyboard.press("Enter")
    tab_to(page, "left")
    first = _focused(page)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert _focused(page) != first
    assert _focused(page).split(":")[0].endswith(", left")
    page.keyboard.press("Enter")
    assert _focused(page) == "here-find"


def test_the_focus_is_never_hidden_and_never_trapped(open_page, shared_clinic):
    page = open_page(viewport={"width": 720, "height": 450})  # 1440 by 900 at 200 %
    compose(page, shared_clinic.address)
    seen = set()
    for _ in range(400):
        page.keyboard.press("Tab")
        place = page.evaluate("""() => { const e = document.activeElement; if (e === document.body) return null;
          const b = e.getBoundingClientRect(), line = document.querySelector('.line').getBoundingClientRect();
          window.order = window.order || new Map(); if (!order.has(e)) order.set(e, order.size);
          const clear = e.closest('.line, .bar, .skip') || e.id === 'paper' || (b.bottom > line.bottom && b.top < innerHeight);
          return [order.get(e), clear ? '' : (e.getAttribute('aria-label') || e.textContent || e.tagName)]; }""")
        if place is None or (place[0] in seen and place[0] == 0):
            break
        seen.add(place[0])
        assert not place[1], f"hidden while it has the focus: {place[1]}"
    else:
        raise AssertionError("Tab does not come to an end")
    assert len(seen) > 40
