"""Deliberately broken letters: whatever is changed in the words about findings, the read-back notices it.

Each demo letter is broken in at least 200 ways: sides, negations, results, digits, joints, ranges, grades and numbers
changed, sentences and cells lost or put in from elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations

import pytest
from paths import ROOT

from letterkit import draft
from letterkit.errors import LetterWithheld
from letterkit.letter.model import Paragraph, Table
from letterkit.reading.letter import _stated as stated_in
from letterkit.reading.letter import read_letter_back
from letterkit.reading.readback import keys_of, read_back

DIGITS = ["thumb", "index", "middle", "ring", "little"]
ROWS = ["metacarpophalangeal", "proximal interphalangeal", "distal interphalangeal"]
SWAPS = [
    ("right", "left"), ("left", "right"), ("both sides", "the right"), ("either side", "the left"),
    ("both hands", "the left hand"), ("either hand", "the right hand"), ("both", "the right"), ("either", "the left"),
    ("no ", "mild "), ("no ", ""), ("There was no", "There was"), ("There were no", "There were"),
    ("positive", "negative"), ("negative", "positive"), ("normal", "reduced"), ("reduced", "normal"),
    ("altered", "normal"), ("intact", "weak"), ("full", "reduced"), ("present", "absent"), ("absent", "present"),
    ("and none on", "and on"), ("incomplete", "full"), ("possible with difficulty", "possible"),
    ("not possible", "possible"), ("possible", "not possible"), ("mild ", "no "), ("moderate ", "no "),
    ("median", "ulnar"), ("ulnar", "median"), ("wrist", "elbow"), ("grade 5", "grade 4"), ("grade 4", "grade 5"),
    ("grade 3", "grade 5"), ("superficialis", "profundus"), ("profundus", "superficialis"), ("tenderness", "swelling"),
    ("swelling", "tenderness"), ("Phalen's", "Tinel's"), ("Finkelstein's", "Watson's"), ("flexion", "extension"),
    ("extension", "flexion"), ("adduction", "abduction"), ("abductor", "adductor"), ("Heberden's", "Bouchard's"),
    ("active", "passive"), ("passive", "active"), ("was not", "was"), ("were not", "were"),
]  # fmt: skip


def mutations(text):
    """The text with one thing changed, in every place where it can be changed."""
    for old, new in SWAPS:
        for match in re.finditer(rf"(?<!\w){re.escape(old)}(?![a-z])", text):
            yield text[: match.start()] + new + text[match.end() :]
    for group in (DIGITS, ROWS):
        for old in group:
            for match in re.finditer(rf"\b{old}\b", text):
                for new in group:
                    if new != old:
                        yield text[: match.start()] + new + text[match.end() :]
    for match in re.finditer(r"(?<![\w.])(?<!out of )\d+(?:\.\d+)?", text):
        for new in (float(match[0]) + 1, float(match[0]) * 10, float(match[0]) + 7):
            yield text[: match.start()] + f"{new:g}" + text[match.end() :]


# A change inside brackets touches the clinician's remark, not the finding; a fixed name holds words that are no choice.
_REMARK = re.compile(r"\([^()]*\)")
_NAMES = ("out of 5",)


def _outside(text):
    bare = _REMARK.sub("", text)
    for name in _NAMES:
        bare = bare.replace(name, "")
    return re.sub(r"\s+", " ", bare).strip()


def broken(stated):
    """Letters, each as its list of statements, with one or two statements changed, lost or exchanged."""
    for index, (text, facts) in enumerate(stated):
        for changed in dict.fromkeys(mutations(text)):
            if _outside(changed) != _outside(text):
                yield index, (changed, facts)
    for (i, (text, facts)), (_, (other, others)) in combinations(enumerate(stated), 2):
        if text != other and facts != others:
            yield i, (other, facts)


def _keyed(drafted):
    keys = keys_of(drafted.facts)
    return [(text, tuple(key for fact in facts for key in keys[fact])) for text, facts in stated_in(drafted.letter)]


@pytest.mark.slow
def test_every_broken_letter_is_noticed(demo_case):
    drafted = draft(demo_case.read_bytes())
    stated = _keyed(drafted)
    tried = list(broken(stated))
    passed = []
    # Each broken statement is read beside a sound one, as in a letter.
    for start in range(0, len(tried), 40):
        batch = tried[start : start + 40]
        noticed = {mismatch.sentence for mismatch in read_back([each for _, each in batch])}
        passed += [(stated[index][0], each[0]) for number, (index, each) in enumerate(batch) if number not in noticed]

    pairs = [(a, b) for a, b in combinations(tried, 2) if a[0] != b[0]][: max(0, 200 - len(tried))]
    half_noticed = [(a, b) for a, b in pairs if len({mismatch.sentence for mismatch in read_back([a[1], b[1]])}) < 2]

    assert passed == []
    assert half_noticed == []
    assert len(tried) + len(pairs) >= 200 or demo_case.stem == "four_findings_only"


def test_a_small_letter_is_broken_in_several_places_at_once_too():
    """Four findings give few single changes; two and three at once make up the number."""
    drafted = draft((ROOT / "demo_cases" / "four_findings_only.json").read_bytes())
    stated = _keyed(drafted)
    singles = [(each,) for each in broken(stated)]
    several = [
        group
        for size in (2, 3)
        for group in combinations([each for (each,) in singles], size)
        if len({index for index, _ in group}) == size
    ][:400]
    missed = []
    for group in (*singles, *several):
        letter = list(stated)
        for index, changed in group:
            letter[index] = changed
        if {mismatch.sentence for mismatch in read_back(letter)} != {index for index, _ in group}:
            missed.append(group)

    assert len(singles) + len(several) >= 200
    assert missed == []


def test_a_lost_sentence_and_a_lost_cell_are_noticed(demo_case):
    drafted = draft(demo_case.read_bytes())
    letter = drafted.letter
    for number, block in enumerate(letter.blocks):
        if isinstance(block, Paragraph) and any(sentence.origin == "finding" for sentence in block.sentences):
            for lost in range(len(block.sentences)):
                kept = (*block.sentences[:lost], *block.sentences[lost + 1 :])
                blocks = (*letter.blocks[:number], replace(block, sentences=kept), *letter.blocks[number + 1 :])
                facts = set(block.sentences[lost].facts)
                told_in_table = {
                    f for b in letter.blocks if isinstance(b, Table) for r in b.rows for c in r for f in c.facts
                }
                if facts - told_in_table and block.sentences[lost].origin == "finding":
                    assert read_letter_back(replace(letter, blocks=blocks), drafted.facts)


def test_a_letter_that_says_something_else_is_withheld(monkeypatch):
    """The whole way: prose that swaps a side never leaves."""
    from letterkit.prose import writer  # noqa: PLC0415

    def swapped(*arguments, **named):
        said = original(*arguments, **named)
        return [replace(each, text=each.text.replace("right", "left")) for each in said]

    original = writer.Writer._one
    monkeypatch.setattr(writer.Writer, "_one", swapped)
    encounter = {
        "patient": {"name": {"text": "Avery Testwell"}},
        "examination": {"findings": [{"item": "thenar_wasting", "side": "right", "value": "present"}]},
    }

    with pytest.raises(LetterWithheld, match=r"thenar_wasting.*|left"):
        draft(encounter)
