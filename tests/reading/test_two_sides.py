"""A sentence about two sides gives each its own: no finding is lost, and none stands on the other side.

The sentences are in two_sides.toml, those of three clauses and of exceptions in three_clauses.toml; every one is read
with several words and with the sides both ways. Common practice, no source: what is said of a wrist on the right is
nothing of an elbow on the left.
"""

from __future__ import annotations

from itertools import permutations

import pytest
from sentence_frames import capital, facts, frames, named

_TWO, _THREE = frames("two_sides"), frames("three_clauses")
_FRAMES = {kind: [*_TWO[kind], *_THREE.get(kind, [])] for kind in _TWO}
_SEEN = {"swollen": "swelling", "bruised": "bruising", "red": "redness", "stiff": "stiffness"}
_PARTS = {"wrist": "wrist", "elbow": "elbow", "thumb": "thumb", "ring finger": "ring"}
_FINGERS = {"index finger": "index", "thumb": "thumb", "ring finger": "ring", "little finger": "little"}
_TESTS = {"Phalen's": "phalen_test", "Finkelstein's": "finkelstein_test", "Froment's": "froment_sign"}
_MUSCLES = {"biceps": "biceps_power", "triceps": "triceps_power", "APB": "apb_power"}
_JERKS = {"biceps": "biceps_reflex", "triceps": "triceps_reflex", "supinator": "supinator_reflex"}
_MOVEMENTS = ("wrist flexion", "wrist extension", "pronation", "supination")
_GRIPS = {"grip": "grip_strength", "key pinch": "key_pinch", "tip pinch": "tip_pinch"}
_PULSES = {"radial pulse": "radial_pulse", "ulnar pulse": "ulnar_pulse"}


def _findings() -> list[dict[str, str]]:
    cases = []
    for seen, parts in zip(permutations(_SEEN, 3), permutations(_PARTS, 3), strict=True):
        words = {f"A{at}": each for at, each in enumerate(seen, 1)} | {
            f"P{at}": each for at, each in enumerate(parts, 1)
        }
        words |= {f"{letter}{at}": _SEEN[each] for at, each in enumerate(seen, 1) for letter in "NI"}
        cases.append(words | {f"W{at}": _PARTS[each] for at, each in enumerate(parts, 1)})
    return cases[::2]


def _fingers() -> list[dict[str, str]]:
    return [
        {f"P{at}": each for at, each in enumerate(chosen, 1)}
        | {f"W{at}": _FINGERS[each] for at, each in enumerate(chosen, 1)}
        for chosen in list(permutations(_FINGERS, 3))[::2]
    ]


def _movements() -> list[dict[str, str]]:
    cases = []
    for chosen in list(permutations(_MOVEMENTS, 3))[::2]:
        words = {f"M{at}": each for at, each in enumerate(chosen, 1)}
        words |= {f"V{at}": each.replace(" ", "_") for at, each in enumerate(chosen, 1)}
        words |= {f"J{at}": "wrist " if "wrist" in each else "" for at, each in enumerate(chosen, 1)}
        cases.append(words | {f"R{at}": f"{each.replace(' ', '_')}_range" for at, each in enumerate(chosen, 1)})
    return cases


_CASES = {
    "finding": _findings(),
    "test": named("T", _TESTS, 3),
    "power": named("M", _MUSCLES, 3),
    "reflex": named("M", _JERKS, 3),
    "sensation": _fingers(),
    "range": _movements(),
    "grip": named("M", _GRIPS, 3),
    "pulse": named("M", _PULSES, 2),
}


def test_every_kind_of_sentence_has_words():
    assert set(_TWO) | set(_THREE) == set(_CASES)


@pytest.mark.parametrize(
    ("kind", "frame"), [pytest.param(kind, each, id=each["text"]) for kind in _FRAMES for each in _FRAMES[kind]]
)
def test_each_side_has_what_is_said_of_it(kind, frame, read_note):
    for words in _CASES[kind]:
        for first, second in (("right", "left"), ("left", "right")):
            filled = words | {"S1": first, "S2": second}
            text = capital(frame["text"].format(**filled))
            read = read_note(text, language="en-GB").findings
            assert facts(read) == {fact.format(**filled) for fact in frame["facts"]}, text
