"""A real service and a real browser: Debian's Chromium, driven over its own protocol; nothing is downloaded."""

from __future__ import annotations

import os
import shutil
import signal
from importlib.metadata import version
from pathlib import Path

import pytest
from browser_pages import PASSWORD
from service_fixtures import start

from letterkit.records.access import Role, add_person
from letterkit.records.store import Doing, Store

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")


def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in items:
        if here in Path(item.path).parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium():
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed (dev group)")
    if not CHROMIUM:
        pytest.skip("Chromium is not installed: apt-get install chromium, or name it in CHROMIUM")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"])
        print(f"Chromium {browser.version}, playwright {version('playwright')}")  # noqa: T201 - a pairing that nobody else tests
        yield browser
        browser.close()


class Clinic:
    """A running service with records of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.running = start(folder, forked=True)

    @property
    def address(self) -> str:
        return self.running.address

    def kill(self) -> None:
        self.running.process.send_signal(signal.SIGKILL)
        self.running.process.wait(timeout=10)

    def restart(self) -> None:
        self.running = start(self.folder, port=self.running.port, forked=True)

    def people(self) -> None:
        """A clinician, a secretary and an administrator: from now on everybody must sign in."""
        store = Store.open(f"sqlite:///{self.folder / 'records.db'}")
        for login, name, role, title in (
            ("admin", "Ada Wrenfield", Role.ADMINISTRATOR, None),
            ("calder", "Miss R. Calder", Role.CLINICIAN, "Consultant hand surgeon"),
            ("quill", "Tom Quill", Role.SECRETARY, None),
        ):
            add_person(store, login, name, role, PASSWORD, Doing("tests"), job_title=title)
        store.close()

    def stop(self) -> None:
        if self.running.process.poll() is None:
            self.running.process.terminate()
            self.running.process.wait(timeout=40)


@pytest.fixture
def clinic(tmp_path):
    found = Clinic(tmp_path)
    yield found
    found.stop()


@pytest.fixture(scope="module")
def shared_clinic(tmp_path_factory):
    """One service for tests that do not mind each other's letters."""
    found = Clinic(tmp_path_factory.mktemp("clinic"))
    yield found
    found.stop()


class Faults(list):
    """What a page complained of: errors of scripts, refused loads, violations of the policy."""

    def watch(self, page) -> None:
        page.on("pageerror", lambda error: self.append(f"error: {error}"))
        page.on("console", self._console)

    def _console(self, message) -> None:
        # A service that a test has stopped does not answer; that is no fault of the page.
        if message.type == "error" and "net::ERR_" not in message.text:
            self.append(message.text)


@pytest.fixture
def open_page(chromium):
    """Opens a page of its own session; the test fails where a page complains of anything."""
    contexts = []
    faults = Faults()

    def opened(**options):
        context = chromium.new_context(accept_downloads=True, **options)
        context.set_default_timeout(15_000)
        contexts.append(context)
        page = context.new_page()
        faults.watch(page)
        return page

    opened.faults = faults
    yield opened
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def page(open_page):
    return open_page(viewport={"width": 1440, "height": 900})
