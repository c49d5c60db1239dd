"""Shared by all tests: where the demo cases and golden letters are, and the option that regenerates golden files."""

from __future__ import annotations

from pathlib import Path

import pytest
from paths import DEMO_CASES


def pytest_addoption(parser):
    parser.addoption("--regen", action="store_true", help="write golden files anew; review the difference as text")


@pytest.fixture
def regen(request) -> bool:
    return bool(request.config.getoption("--regen"))


@pytest.fixture(params=DEMO_CASES, ids=lambda path: path.stem)
def demo_case(request) -> Path:
    return request.param
