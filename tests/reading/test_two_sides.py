"""A sentence about two sides gives each its own: no finding is lost, and none stands on the other side.

The sentences are in two_sides.toml; every one is read with several words and with the sides both ways. Common
practice, no source: what is said of a wrist on the right is nothing of an elbow on the left.
"""

from __future__ import annotations

import tomllib
from itertools import permutations
from pathlib import Path

import pytest

from letterkit.reading.result import ReadFinding

_FRAMES = tomllib.loads((Path(__file__).parent / "two_sides.toml").read_text(encoding="utf-8"))
_SEEN = {"swollen": "swelling", "bruised": "bruising", "red": "redness", "stiff": "stiffness"}
_PARTS = {"wrist": "wrist", "elbow": "elbow", "thumb": "thumb", "ring finger": "ring"}
_FINGERS = {"index finger": "index", "thumb": "thumb", "ring finger": "ring", "little finger": "little"}
_TESTS = {"Phalen's": "phalen_test", "Finkelstein's": "finkelstein_test", "Froment's": "froment_sign"}
_MUSCLES = {"biceps": "biceps_power", "triceps": "triceps_power", "APB": "apb_power"}
_JERKS = {"biceps": "biceps_reflex", "triceps": "triceps_reflex", "supinator": "supinator_reflex"}
_MOVEMENTS = ("wrist flexion", "wrist extension", "pronation", "supination")
_GRIPS = {"grip": "grip_strength", "key pinch": "key_pinch", "tip pinch": "tip_pinch"}
_PULSES = {"radial pulse": "radial_pulse", "ulnar pulse": "ulnar_pulse"}


def _named(letter: str, items: dict[str, str], count: int) -> list[dict[str, str]]:
    """Words for the slots of a letter, and the items they name: M1 'biceps', I1 'biceps_power'."""
    return [
        {f"{letter}{at}": word for at, word in enumerate(chosen, 1)}
        | {f"I{at}": items[word] for at, word in enumerate(chosen, 1)}
        for chosen in permutations(items, count)
    ]


def _findings() -> list[dict[str, str]]:
    cases = []
    for (first, second), (part, other) in zip(permutations(_SEEN, 2), permutations(_PARTS, 2), strict=True):
        words = {"A1": first, "A2": second, "N1": _SEEN[first], "N2": _SEEN[second], "P1": part, "P2": other}
        cases.append(words | {"I1": _SEEN[first], "I2": _SEEN[second], "W1": _PARTS[part], "W2": _PARTS[other]})
    return cases


def _fingers() -> list[dict[str, str]]:
    return [
        {"P1": first, "P2": second, "W1": _FINGERS[first], "W2": _FINGERS[second]}
        for first, second in permutations(_FINGERS, 2)
    ]


def _movements() -> list[dict[str, str]]:
    cases = []
    for chosen in permutations(_MOVEMENTS, 2):
        words = {f"M{at}": each for at, each in enumerate(chosen, 1)}
        words |= {f"V{at}": each.replace(" ", "_") for at, each in enumerate(chosen, 1)}
        cases.append(words | {f"R{at}": f"{each.replace(' ', '_')}_range" for at, each in enumerate(chosen, 1)})
    return cases


_CASES = {
    "finding": _findings(),
    "test": _named("T", _TESTS, 3),
    "power": _named("M", _MUSCLES, 2),
    "reflex": _named("M", _JERKS, 2),
    "sensation": _fingers(),
    "range": _movements(),
    "grip": _named("M", _GRIPS, 2),
    "pulse": _named("M", _PULSES, 2),
}


def _told(finding: ReadFinding) -> set[str]:
    value = f"{finding.value:g}" if isinstance(finding.value, float) else finding.value
    told = value if finding.state in {"graded", "measured"} else finding.state
    return {
        " ".join(part for part in (finding.item, finding.side or "-", site, str(told)) if part)
        for site in finding.sites or ("",)
    }


def test_every_kind_of_sentence_has_words():
    assert set(_FRAMES) == set(_CASES)


@pytest.mark.parametrize(
    ("kind", "frame"), [pytest.param(kind, each, id=each["text"]) for kind in _FRAMES for each in _FRAMES[kind]]
)
def test_each_side_has_what_is_said_of_it(kind, frame, read_note):
    for words in _CASES[kind]:
        for first, second in (("right", "left"), ("left", "right")):
            filled = words | {"S1": first, "S2": second}
            text = frame["text"].format(**filled)
            text = text[0].upper() + text[1:]
            read = read_note(text, language="en-GB").findings
            assert set().union(*map(_told, read)) == {fact.format(**filled) for fact in frame["facts"]}, text
