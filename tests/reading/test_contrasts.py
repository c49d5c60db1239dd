"""Results denied, doubted, excepted or told of one side only, each said of several tests and findings."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from letterkit.reading.read import read

_DATA = tomllib.loads((Path(__file__).parent / "contrasts.toml").read_text(encoding="utf-8"))
_CASES = [
    (frame["says"].format(test=name, finding=name, Finding=name.capitalize()), item, frame["gives"])
    for frame in _DATA["frame"]
    for name, item in (_DATA["tests"] if "{test}" in frame["says"] else _DATA["findings"])
]


@pytest.mark.parametrize(("text", "item", "gives"), _CASES, ids=[text for text, _, _ in _CASES])
def test_a_contrast_is_read_as_it_is_meant(text, item, gives):
    found = [finding for finding in read(text).findings if finding.item == item]

    assert sorted(f"{finding.side or '-'} {finding.state}" for finding in found) == gives


@pytest.mark.parametrize("text", [text for text, _, gives in _CASES if not gives])
def test_what_gives_no_finding_is_shown(text):
    reading = read(text)

    assert reading.unread or reading.not_current
