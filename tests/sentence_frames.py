"""Frames of sentences with slots for words, and what a reading finds, written as the facts beside a frame are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from itertools import permutations
from pathlib import Path
from typing import Any

from letterkit.reading.result import ReadFinding

_READING = Path(__file__).parent / "reading"


def frames(name: str) -> dict[str, list[dict[str, Any]]]:
    """The frames of a file of tests/reading: by kind of finding, each with its `text` and its `facts`."""
    return tomllib.loads((_READING / f"{name}.toml").read_text(encoding="utf-8"))


def named(letter: str, items: Mapping[str, str], count: int, step: int = 1) -> list[dict[str, str]]:
    """Words for the slots of a letter, and the items they name: M1 'biceps', I1 'biceps_power'."""
    return [
        {f"{letter}{at}": word for at, word in enumerate(chosen, 1)}
        | {f"I{at}": items[word] for at, word in enumerate(chosen, 1)}
        for chosen in list(permutations(items, count))[::step]
    ]


def capital(text: str) -> str:
    """The text with a capital to begin with."""
    return text[0].upper() + text[1:]


def facts(findings: Iterable[ReadFinding], *, looks: bool = False) -> set[str]:
    """'swelling right wrist present': of each finding and site; with `looks`, a '?' where a clinician should look."""
    return {
        " ".join(part for part in (each.item, each.side or "-", site, _told(each), look) if part)
        for each in findings
        for look in ("?" if looks and each.sure != "certain" else "",)
        for site in each.sites or ("",)
    }


def _told(finding: ReadFinding) -> str:
    value = f"{finding.value:g}" if isinstance(finding.value, float) else finding.value
    return str(value if finding.state in {"graded", "measured"} else finding.state)
