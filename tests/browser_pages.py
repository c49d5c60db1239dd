"""What several browser tests do with the pages."""

from __future__ import annotations

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


def sign_in(page, address: str, login: str) -> None:
    page.goto(f"{address}/sign-in")
    page.get_by_label("Sign-in name").fill(login)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)
