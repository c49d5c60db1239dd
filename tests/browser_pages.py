"""What several browser tests do with the pages."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

PASSWORD = "a long enough password"
NOTE = "Right hand: thenar wasting. Phalen's positive at 20 s on the right. APB 4/5 on the right. Left hand normal."


def compose(page, address: str, path: str = "/compose?demo=1") -> None:
    """Opens Compose and waits until the letter stands."""
    page.goto(address + path)
    page.wait_for_selector("html[data-ready]")
    page.wait_for_function("() => document.querySelector('#letter-state').textContent !== 'Waiting for the record'")


def saved(page) -> None:
    """Waits until everything is kept."""
    page.wait_for_function(
        "() => new Promise(r => setTimeout(() => r(document.querySelector('#saved').dataset.state === 'kept'), 450))"
    )


def where(page) -> str:
    """The page's address as the page has it; what Playwright tells of it may lag behind a change by the page's script."""
    return str(page.evaluate("location.href"))


def sign_in(page, address: str, login: str) -> None:
    page.goto(f"{address}/sign-in")
    page.get_by_label("Sign-in name").fill(login)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)


_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
_LOOKS = (("light", 1400), ("dark", 1400), ("dark", 390), ("light", 390))


@cache
def _axe() -> str:
    package = pytest.importorskip("axe_playwright_python", reason="axe-playwright-python is not installed (dev group)")
    return (Path(package.__file__).parent / "axe.min.js").read_text(encoding="utf-8")


def check(page, state: str) -> None:
    """No violation that axe can find on the page as it is now."""
    page.wait_for_timeout(150)  # colours may be on their way
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_axe())
    # Of what passes, only how much: to describe each place of it and hand it over took most of a check's time.
    found = page.evaluate(f"""async () => {{
      const found = await axe.run(document, {{runOnly: {_TAGS!r}, resultTypes: ['violations']}});
      return {{violations: found.violations, passes: found.passes.length}};
    }}""")
    told = [
        f"{state}: {each['id']}: {node['target']}: {node['failureSummary']}"
        for each in found["violations"]
        for node in each["nodes"][:3]
    ]
    assert not told, "\n".join(told)
    assert found["passes"], "axe looked at nothing"


def check_looks(page, state: str) -> None:
    """The same light and dark, wide and narrow, without loading the page again; and nothing is wider than it."""
    for scheme, width in _LOOKS:
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 900})
        check(page, f"{state}, {scheme} at {width}")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1"), (state, width)
    page.emulate_media(color_scheme="light")
    page.set_viewport_size({"width": 1440, "height": 900})


def tab_to(page, wanted: str, limit: int = 120) -> None:
    """Goes on by Tab until the control of that name has the focus."""
    for _ in range(limit):
        page.keyboard.press("Tab")
        name = page.evaluate("""() => { const e = document.activeElement;
          return [e.getAttribute('aria-label'), e.labels && e.labels[0] && e.labels[0].textContent, e.matches('a, button, summary') && e.textContent, e.id].filter(Boolean).join(' | '); }""")
        if wanted in name:
            return
    raise AssertionError(f"{wanted!r} is not reached by Tab")
