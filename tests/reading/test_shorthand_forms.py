"""Notation as it is typed gives every part, muscle and side its own result, and nothing that is not there.

The forms are in shorthand_forms.toml: lists of digits and joints, signs and figures in columns, pairs of right and left,
units in a heading. Each is read with several words and with the sides both ways. Common practice, no source.
"""

from __future__ import annotations

from itertools import permutations, product

import pytest
from sentence_frames import capital, facts, frames, named

_FRAMES = frames("shorthand_forms")
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


def _findings() -> list[dict[str, str]]:
    cases = []
    for (first, second), (one, two, joints) in zip(permutations(_SEEN, 2), _PARTS * 2, strict=True):
        words = {"A1": first, "A2": second, "P1": one, "P2": two, "J": joints, "j": joints.lower()}
        words |= {"N1": _SEEN[first][0], "N2": _SEEN[second][0], "I1": _SEEN[first][1], "I2": _SEEN[second][1]}
        cases.append(words)
    return cases


_CASES = {
    "finding": _findings(),
    "test": named("T", _TESTS, 3, 2),
    "power": named("M", _MUSCLES, 3, 13),
    "reflex": named("M", _JERKS, 3, 2),
    "sensation": [{}],
    "range": named("M", _MOVEMENTS, 3, 7),
    "grip": named("M", _GRIPS, 3, 2),
    "pulse": named("M", _PULSES, 2),
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
            text = capital(frame["text"].format(**filled))
            read = read_note(text, language="en-GB").findings
            expected = set().union(*(_each(fact.format(**filled)) for fact in frame["facts"]))
            assert facts(read) == expected, text
