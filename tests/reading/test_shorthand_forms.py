"""Notation as it is typed gives every part, muscle and side its own result, and nothing that is not there.

The forms are in shorthand_forms.toml: lists of digits and joints, signs and figures in columns, pairs of right and left,
units in a heading. Each is read with several words and with the sides both ways. Common practice, no source.
"""

from __future__ import annotations

import tomllib
from itertools import permutations, product
from pathlib import Path

import pytest

from letterkit.reading.result import ReadFinding

_FRAMES = tomllib.loads((Path(__file__).parent / "shorthand_forms.toml").read_text(encoding="utf-8"))
_SEEN = {"swollen": ("swelling", "swelling"), "bruised": ("bruising", "bruising"), "red": ("redness", "redness")}
_PARTS = (("wrist", "elbow", "MCP"), ("elbow", "thumb", "PIP"), ("thumb", "wrist", "DIP"))
_TESTS = {"Phalen": "phalen_test", "Finkelstein": "finkelstein_test", "Froment": "froment_sign"}
_MUSCLES = {
    "APB": "apb_power",
    "EPL": "epl_power",
    "FPL": "fpl_power",
    "FDI": "first_dorsal_interosseous_power",
    "triceps": "triceps_power",
}
_JERKS = {
    "biceps jerk": "biceps_reflex",
    "triceps jerk": "triceps_reflex",
    "supinator jerk": "supinator_reflex",
}
_MOVEMENTS = {
    "wrist flexion": "wrist_flexion",
    "wrist extension": "wrist_extension",
    "pronation": "pronation",
    "supination": "supination",
}
_GRIPS = {"grip": "grip_strength", "key pinch": "key_pinch", "tip pinch": "tip_pinch"}
_PULSES = {"radial pulse": "radial_pulse", "ulnar pulse": "ulnar_pulse"}


def _named(letter: str, items: dict[str, str], count: int, step: int = 1) -> list[dict[str, str]]:
    """Words for the slots of a letter, and the items they name: M1 'APB', I1 'apb_power'."""
    return [
        {f"{letter}{at}": word for at, word in enumerate(chosen, 1)}
        | {f"I{at}": items[word] for at, word in enumerate(chosen, 1)}
        for chosen in list(permutations(items, count))[::step]
    ]


def _findings() -> list[dict[str, str]]:
    cases = []
    for (first, second), (one, two, joints) in zip(permutations(_SEEN, 2), _PARTS * 2, strict=True):
        words = {"A1": first, "A2": second, "P1": one, "P2": two, "J": joints, "j": joints.lower()}
        words |= {"N1": _SEEN[first][0], "N2": _SEEN[second][0], "I1": _SEEN[first][1], "I2": _SEEN[second][1]}
        cases.append(words)
    return cases


_CASES = {
    "finding": _findings(),
    "test": _named("T", _TESTS, 3, 2),
    "power": _named("M", _MUSCLES, 3, 13),
    "reflex": _named("M", _JERKS, 3, 2),
    "sensation": [{}],
    "range": _named("M", _MOVEMENTS, 3, 7),
    "grip": _named("M", _GRIPS, 3, 2),
    "pulse": _named("M", _PULSES, 2),
}


def _told(finding: ReadFinding) -> set[str]:
    value = f"{finding.value:g}" if isinstance(finding.value, float) else finding.value
    told = value if finding.state in {"graded", "measured"} else finding.state
    return {
        " ".join(part for part in (finding.item, finding.side or "-", site, str(told)) if part)
        for site in finding.sites or ("",)
    }


def _each(fact: str) -> set[str]:
    """'light_touch right index|middle normal' as one fact of each digit."""
    return {" ".join(words) for words in product(*(word.split("|") for word in fact.split(" ")))}


def test_every_kind_of_notation_has_words():
    assert set(_FRAMES) == set(_CASES)


@pytest.mark.parametrize(
    ("kind", "frame"), [pytest.param(kind, each, id=each["text"]) for kind in _FRAMES for each in _FRAMES[kind]]
)
def test_each_result_is_of_what_it_is_typed_for(kind, frame, read_note):
    for words in _CASES[kind]:
        for first, second in (("right", "left"), ("left", "right")):
            filled = words | {"S1": first, "S2": second, "s1": first[0].upper(), "s2": second[0].upper()}
            filled |= {"C1": first.capitalize(), "C2": second.capitalize()}
            text = frame["text"].format(**filled)
            text = text[0].upper() + text[1:]
            read = read_note(text, language="en-GB").findings
            facts = set().union(*(_each(fact.format(**filled)) for fact in frame["facts"]))
            assert set().union(*map(_told, read)) == facts, text
