"""Read-back: every sentence of a letter gives its facts again, and a sentence with another fact is found out."""

from __future__ import annotations

import pytest
from paths import DEMO_CASES

from letterkit.letter.model import BulletList, Paragraph, Sentence
from letterkit.pipeline import draft
from letterkit.reading.letter import read_letter_back
from letterkit.reading.readback import FactKey, keys_of, read_back

SENTENCES = [
    ("Phalen's test was positive on the right after 20\u00a0seconds and negative on the left.",
     (FactKey("phalen_test", "right", None, "positive", "", "onset_s 20"), FactKey("phalen_test", "left", None, "negative"))),
    ("There was no swelling, redness or deformity of either wrist.",
     tuple(FactKey(item, side, "wrist", "absent") for item in ("swelling", "redness", "deformity") for side in ("right", "left"))),
    ("Power of abductor pollicis brevis was grade 4 minus out of 5 on the left.",
     (FactKey("apb_power", "left", None, "graded", "4-"),)),
    ("Palpation was not examined.", (FactKey("stage:palpation", None, None, "not_examined"),)),
    ("The neurovascular examination was otherwise normal on the right.",
     (FactKey("stage:neurovascular", "right", None, "normal"),)),
]  # fmt: skip
ALTERED = [
    ("right", "left"),
    ("positive", "negative"),
    ("no swelling", "swelling"),
    ("either wrist", "the right wrist"),
    ("grade 4 minus", "grade 4"),
    ("abductor", "flexor"),
    ("normal", "abnormal"),
]


def _sentences(letter) -> list[Sentence]:
    found = []
    for part in (getattr(letter, name) for name in letter.__dataclass_fields__):
        for block in part if isinstance(part, tuple) else ():
            if isinstance(block, Paragraph):
                found += block.sentences
            elif isinstance(block, BulletList):
                found += [sentence for entry in block.entries for sentence in entry]
    return [sentence for sentence in found if sentence.origin == "finding"]


def _keyed(encounter):
    made = draft(encounter)
    keys = keys_of(made.facts)
    return [(each.text, tuple(key for fact in each.facts for key in keys[fact])) for each in _sentences(made.letter)]


@pytest.mark.parametrize("sentence", SENTENCES, ids=[text for text, _ in SENTENCES])
def test_a_sentence_gives_back_its_facts(sentence):
    assert read_back([sentence]) == ()


@pytest.mark.parametrize("path", DEMO_CASES, ids=lambda path: path.stem)
def test_every_demo_letter_reads_back(path):
    made = draft(path.read_text(encoding="utf-8"))

    assert [str(each) for each in read_letter_back(made.letter, made.facts)] == []


@pytest.mark.parametrize(("old", "new"), ALTERED)
def test_a_changed_word_is_found_out(old, new):
    changed = [(text.replace(old, new), keys) for text, keys in SENTENCES if old in text]

    assert changed
    assert len(changed) == len(read_back(changed))


def test_a_dropped_and_an_added_fact_are_named():
    (mismatch,) = read_back(
        [("Phalen's test was positive on the right.", (FactKey("phalen_test", "left", None, "positive"),))]
    )

    assert (FactKey("phalen_test", "left", None, "positive"),) == mismatch.missing
    assert (FactKey("phalen_test", "right", None, "positive"),) == mismatch.added
    assert "sentence 1" in str(mismatch)


def test_no_sentence_knows_of_the_one_before():
    sentences = [
        (
            "Tinel's sign at the carpal tunnel was positive on the right.",
            (FactKey("tinel_carpal_tunnel", "right", None, "positive"),),
        ),
        ("Phalen's test was negative.", (FactKey("phalen_test", None, None, "negative"),)),
    ]

    assert read_back(sentences) == ()
