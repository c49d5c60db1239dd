"""A reading as short lines, so that a table of notes and facts can be read and extended without the code."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from letterkit.reading.read import read
from letterkit.reading.result import ReadFinding, Reading, ReadStage


def _finding(finding: ReadFinding) -> str:
    value = finding.value
    if isinstance(value, dict) and "from" in value:
        told = f"{value['from']:g}-{value['to']:g}"
    elif isinstance(value, dict):
        told = f"{value['comparator']}{value['value']:g}"
    elif isinstance(value, list):
        told = "/".join(f"{each:g}" for each in value)
    elif isinstance(value, float):
        told = f"{value:g}"
    else:
        told = str(value) if finding.state == "graded" else ""
    state = "" if finding.state in {"measured", "graded"} else finding.state
    qualifiers = [
        f"{key}={value:g}" if isinstance(value, float) else f"{key}={value}"
        for key, value in finding.qualifiers.items()
    ]
    parts = [finding.item, finding.side or "-", "+".join(finding.sites), state, told, *sorted(qualifiers)]
    return " ".join(part for part in parts if part) + ("" if finding.sure == "certain" else " ?")


def _stage(word: str, stage: ReadStage) -> str:
    record = stage.record
    site = record.get("site") or ""
    parts = [
        word,
        str(record.get("item") or record.get("stage")),
        record.get("side") or "-",
        site if isinstance(site, str) else "+".join(site),
    ]
    return " ".join(part for part in parts if part)


@pytest.fixture(scope="session")
def facts() -> Callable[..., list[str]]:
    """The facts of a note, one line each: item, side (- where unknown), sites, state or value, qualifiers, ? for a look."""

    def of(text: str, language: str = "en-GB") -> list[str]:
        reading = read(text, language=language)
        return [
            *(_finding(finding) for finding in reading.findings),
            *(_stage("normal", stage) for stage in reading.normal),
            *(_stage("unexamined", stage) for stage in reading.not_examined),
        ]

    return of


@pytest.fixture(scope="session")
def read_note() -> Callable[..., Reading]:
    """The reader itself."""
    return read
