"""Shared by all tests: where the demo cases and golden letters are, and the option that regenerates golden files."""

from __future__ import annotations

import gc
import os
from pathlib import Path

import pytest
from hypothesis import settings
from paths import DEMO_CASES

# The suite tries the same random examples every time, so that only a change turns it red; a soak tries new ones.
settings.register_profile("suite", derandomize=True, deadline=None)
settings.register_profile("soak", derandomize=False, deadline=None, database=None)
settings.load_profile("soak" if os.environ.get("LETTERKIT_SOAK") else "suite")

# Commands that tests start keep what Python compiles, as an installed package does; without, each start of a command
# compiles a thousand modules anew and takes half a second longer.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The modules and tests of the suite are a million objects that stay. Going over them after every few hundred new ones,
# which is usual, took a quarter of the time; a start of the command looks as seldom.
gc.set_threshold(50_000, 10, 10)


def pytest_collection_finish():
    """What is loaded by now lives as long as the run: the collector need not go over it again."""
    gc.collect()
    gc.freeze()


def pytest_addoption(parser):
    parser.addoption("--regen", action="store_true", help="write golden files anew; review the difference as text")


@pytest.fixture
def regen(request) -> bool:
    return bool(request.config.getoption("--regen"))


@pytest.fixture(params=DEMO_CASES, ids=lambda path: path.stem)
def demo_case(request) -> Path:
    return request.param
