"""What is not of this examination is no finding of it, and what is of it stays one, wherever the two stand together.

The sentences are in not_of_today.toml; every one is read with tests, findings, muscles, digits, movements, grips, pulses
and reflexes, with both sides. Common practice, no source: what was red in March tells nothing of today.
"""

from __future__ import annotations

import pytest
from sentence_frames import capital, facts, frames

_FRAMES = frames("not_of_today")
# what is told, as a subject, what is said of it and a name; the side stands where {side} does
_TOLD = {
    "finding": [
        ("the {side} wrist", "swollen", "swelling of the {side} wrist", "swelling {side} wrist present"),
        ("the {side} elbow", "bruised", "bruising of the {side} elbow", "bruising {side} elbow present"),
    ],
    "test": [
        ("Phalen's test", "positive on the {side}", "a positive Phalen's test on the {side}", "phalen_test {side} positive"),
        ("Froment's test", "positive on the {side}", "a positive Froment's test on the {side}", "froment_sign {side} positive"),
    ],
    "power": [
        ("{side} APB power", "grade 3", "weakness of the {side} APB", "apb_power {side} 3"),
        ("{side} biceps power", "grade 4", "weakness of the {side} biceps", "biceps_power {side} 4"),
    ],
    "sensation": [
        (
            "light touch", "reduced in the {side} ring finger", "reduced light touch in the {side} ring finger",
            "light_touch {side} ring reduced",
        ),
        (
            "light touch", "reduced in the {side} thumb", "reduced light touch in the {side} thumb",
            "light_touch {side} thumb reduced",
        ),
    ],
    "range": [
        ("{side} wrist flexion", "40 degrees", "limited wrist flexion on the {side}", "wrist_flexion {side} 40"),
        ("{side} supination", "50 degrees", "limited supination on the {side}", "supination {side} 50"),
    ],
    "grip": [
        ("{side} grip strength", "12 kg", "a weak grip on the {side}", "grip_strength {side} 12"),
        ("{side} key pinch", "3 kg", "a weak key pinch on the {side}", "key_pinch {side} 3"),
    ],
    "pulse": [
        ("the {side} radial pulse", "absent", "an absent radial pulse on the {side}", "radial_pulse {side} absent"),
        ("the {side} ulnar pulse", "absent", "an absent ulnar pulse on the {side}", "ulnar_pulse {side} absent"),
    ],
    "reflex": [
        ("the {side} biceps reflex", "absent", "an absent biceps reflex on the {side}", "biceps_reflex {side} absent"),
        (
            "the {side} triceps reflex", "absent", "an absent triceps reflex on the {side}",
            "triceps_reflex {side} absent",
        ),
    ],
}  # fmt: skip


def _clauses(now, then, side, other):
    """The words of a frame: what is so now on one side, what was so on the other."""
    subject, said, _, fact = (each.format(side=side) for each in now)
    thing, told, name, _ = (each.format(side=other) for each in then)
    words = {
        "now": f"{subject} is {said}", "nowp": f"{subject} was {said}", "fact": fact, "past": f"{thing} was {told}",
        "pres": f"{thing} is {told}", "noun": name, "bnoun": name.removeprefix("a ").removeprefix("an "),
        "q": f"is {thing} {told}?",
    }  # fmt: skip
    return words | {key.capitalize(): word[0].upper() + word[1:] for key, word in words.items()}


def _cases(frame):
    for kind in frame.get("kinds", _TOLD):
        first, second = _TOLD[kind]
        yield _clauses(first, second, "right", "left")
        yield _clauses(first, first, "right", "left")
        yield _clauses(first, second, "left", "right")
        yield _clauses(second, first, "left", "left")


@pytest.mark.parametrize("frame", [pytest.param(each, id=each["text"]) for kind in _FRAMES.values() for each in kind])
def test_what_is_of_today_alone_is_found(frame, read_note):
    for words in _cases(frame):
        text = capital(frame["text"].format(**words))
        read = read_note(text, language="en-GB")
        assert facts(read.findings) == {fact.format(**words) for fact in frame["facts"]}, text
