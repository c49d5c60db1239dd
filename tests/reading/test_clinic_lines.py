"""Lines in the many styles of clinic notes and case reports give just the facts that stand beside them."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

_LINES = tomllib.loads((Path(__file__).parent / "clinic_lines.toml").read_text(encoding="utf-8"))["line"]


@pytest.mark.parametrize(("text", "expected"), [(line["text"], line["facts"]) for line in _LINES])
def test_a_line_gives_just_its_facts(facts, text, expected):
    assert expected == facts(text, language="en-US")


def test_no_line_is_told_twice():
    assert len({line["text"] for line in _LINES}) == len(_LINES)
