"""What a sentence takes from the ones before it: the side, the part or the test, and no more than was said.

The sentences are in carried_on.toml; every one is read with several words and with the sides both ways, and a fact that a
clinician should look at ends with '?'. Common practice, no source: a test told of after both sides is of neither for sure.
"""

from __future__ import annotations

import re
from itertools import permutations

import pytest
from sentence_frames import facts, frames, named

_FRAMES = frames("carried_on")
_SEEN = {"swollen": "swelling", "bruised": "bruising", "red": "redness"}
_PARTS = {"wrist": "wrist", "elbow": "elbow", "thumb": "thumb"}
_FINGERS = {"index finger": "index", "thumb": "thumb", "ring finger": "ring"}
_TESTS = {"Phalen's": "phalen_test", "Finkelstein's": "finkelstein_test", "Froment's": "froment_sign"}
_MUSCLES = {"biceps": "biceps_power", "triceps": "triceps_power", "APB": "apb_power"}
_JERKS = {"biceps": "biceps_reflex", "triceps": "triceps_reflex", "supinator": "supinator_reflex"}
_MOVES = {each: each.replace(" ", "_") for each in ("wrist flexion", "wrist extension", "pronation")}
_GRIPS = {"grip": "grip_strength", "key pinch": "key_pinch", "tip pinch": "tip_pinch"}
_PULSES = {"radial pulse": "radial_pulse", "ulnar pulse": "ulnar_pulse"}


def _orders(items: dict[str, str]) -> list[dict[str, str]]:
    """Words for M1, M2, M3, and the items I1, I2, I3 that they name."""
    return named("M", items, len(items))[:4]


def _placed(parts: dict[str, str]) -> list[dict[str, str]]:
    """Words for P1, P2, P3, and the sites W1, W2, W3 that they name, with what may be seen there."""
    cases = []
    for chosen, seen in zip(permutations(parts), permutations(_SEEN), strict=True):
        words = {f"P{at}": each for at, each in enumerate(chosen, 1)}
        words |= {f"W{at}": parts[each] for at, each in enumerate(chosen, 1)}
        words |= {f"A{at}": each for at, each in enumerate(seen, 1)}
        cases.append(words | {f"{letter}{at}": _SEEN[each] for at, each in enumerate(seen, 1) for letter in "NI"})
    return cases[:4]


_CASES = {
    "finding": _placed(_PARTS), "test": _orders(_TESTS), "power": _orders(_MUSCLES), "reflex": _orders(_JERKS),
    "sensation": _placed(_FINGERS), "range": _orders(_MOVES), "grip": _orders(_GRIPS), "pulse": _orders(_PULSES),
}  # fmt: skip


def _written(text):
    """The text with a capital where a sentence begins."""
    return re.sub(r"(?:^|(?<=[.\n] )|(?<=\n))[a-z]", lambda begin: begin[0].upper(), text)


@pytest.mark.parametrize(
    ("kind", "frame"), [pytest.param(kind, each, id=each["text"]) for kind in _FRAMES for each in _FRAMES[kind]]
)
def test_what_was_said_before_is_carried_no_further_than_it_was_meant(kind, frame, read_note):
    for words in _CASES[kind]:
        for first, second in (("right", "left"), ("left", "right")):
            filled = words | {"S1": first, "S2": second}
            text = _written(frame["text"].format(**filled))
            read = read_note(text, language="en-GB").findings
            assert facts(read, looks=True) == {fact.format(**filled) for fact in frame["facts"]}, text
