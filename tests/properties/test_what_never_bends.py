"""What never bends, over random encounters: nothing invented, nothing lost, sides kept, the same bytes."""

from __future__ import annotations

import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from strategies import encounters

from letterkit import draft
from letterkit.catalogue.model import Polarity
from letterkit.letter.model import Paragraph, Table

SOAK = bool(os.environ.get("LETTERKIT_SOAK"))
SHARES = range(20 if SOAK else 1)  # a soak drafts 20,000 encounters, in shares for the processes of pytest
EXAMPLES = settings(
    max_examples=1000 if SOAK else 500,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def stated(drafted):
    """Ids of the facts in sentences, and in cells of the table."""
    sentences = [fact for _, facts in drafted.sentences() for fact in facts]
    cells = [
        fact
        for block in drafted.letter.blocks
        if isinstance(block, Table)
        for row in block.rows
        for cell in row
        for fact in cell.facts
    ]
    return sentences, cells


def lost(drafted):
    sentences, cells = stated(drafted)
    return [fact.id for fact in drafted.facts.facts if fact.id not in {*sentences, *cells}]


def positives_without_sentence(drafted):
    sentences, _ = stated(drafted)
    return [f.id for f in drafted.facts.facts if f.polarity is Polarity.ABNORMAL and f.id not in sentences]


def invented(drafted):
    known = {fact.id for fact in drafted.facts.facts}
    known |= {fact.id for fact in (*drafted.facts.normal, *drafted.facts.unexamined)}
    sentences, cells = stated(drafted)
    return [fact for fact in (*sentences, *cells) if fact not in known]


SIDE_WORDS = {"right": {"right"}, "left": {"left"}, "both": {"both", "either"}}


def wrong_sides(drafted):
    """Sentences that name a side none of their facts has, or leave out one that a fact has."""
    by_id = {fact.id: fact for fact in drafted.facts.facts}
    found = []
    for text, ids in drafted.sentences():
        sides = {by_id[each].side for each in ids if each in by_id} - {None}
        words = set(re.findall(r"\b(right|left|both|either)\b", text.casefold()))
        named = ({"right", "left"} if words & {"both", "either"} else set()) | (words & {"right", "left"})
        if sides and named != sides:
            found.append((text, sides, named))
    return found


@pytest.mark.parametrize("share", SHARES)
@EXAMPLES
@given(encounter=encounters(most=40))
def test_every_letter_keeps_what_never_bends(share, encounter):
    """Nothing lost or invented, no side changed, safe writing and short sentences, and read back as it was recorded."""
    drafted = draft(encounter)

    assert lost(drafted) == []
    assert positives_without_sentence(drafted) == []
    assert invented(drafted) == []
    assert wrong_sides(drafted) == []
    assert unsafe(drafted) == []
    assert overlong(drafted) == []
    assert alike(drafted) == []


def unsafe(drafted):
    """Sentences against safe writing: sides in full, no digit by number, no trailing zero, no bare point, no '<' or '>'.

    Source: letter standard (ISMP list of error-prone abbreviations; Royal College of Surgeons of England), confirmed.
    """
    return [
        text
        for text, _ in drafted.sentences()
        if re.search(r"\b[LR]\b|\((?:L|R)\)|\bLt\b|\bRt\b", text)
        or re.search(r"\bD[1-5]\b|\bdigit \d\b", text)
        or re.search(r"\d\.0\b|(?<!\d)\.\d", text)
        or re.search(r"[<>@&µ±]|\s{2,}|\s[,.]|,,", text)
        or not (text[0].isupper() or text[0].isdigit())
        or not text.endswith(".")
    ]


def overlong(drafted):
    """Sentences over 35 words that hold many facts, and all over 60."""
    counts = [(text, len(text.split()), len(facts)) for text, facts in drafted.sentences()]
    return [text for text, words, facts in counts if (words > 35 and facts > 8) or words > 60]


def alike(drafted):
    """Runs of three sentences that open with 'There was'."""
    openings = []
    for block in drafted.letter.blocks:
        if isinstance(block, Paragraph):
            openings += [" ".join(s.text.split()[:2]) for s in block.sentences if s.origin == "finding"]
    triples = zip(openings, openings[1:], openings[2:], strict=False)
    return [each for each in triples if set(each) == {"There was"}]


@FEW
@given(encounters())
def test_the_same_encounter_gives_the_same_bytes(encounter):
    first, second = draft(encounter), draft(encounter)

    assert first.render("docx") == second.render("docx")
    assert first.render("html") == second.render("html")


class _Broken:
    """A draft with planted faults, to show that the properties can fail."""

    def __init__(self, drafted, sentences):
        self.facts, self.letter, self._sentences = drafted.facts, drafted.letter, sentences

    def sentences(self):
        return self._sentences


@pytest.fixture
def sample():
    return draft(
        {
            "patient": {"name": {"text": "Avery Testwell"}},
            "examination": {"findings": [{"item": "thenar_wasting", "side": "right", "value": "present"}]},
        }
    )


def test_a_lost_sentence_is_noticed(sample):
    broken = _Broken(sample, ())

    assert lost(broken)
    assert positives_without_sentence(broken)


def test_a_swapped_side_is_noticed(sample):
    swapped = tuple((text.replace("right", "left"), facts) for text, facts in sample.sentences())

    assert wrong_sides(_Broken(sample, swapped))


def test_an_invented_fact_is_noticed(sample):
    assert invented(_Broken(sample, (("There was swelling on the right.", ("f99",)),)))


@pytest.mark.parametrize(
    "text", ["Swelling of the R wrist was seen.", "Grip was 5.0 kg.", "there was swelling.", "Swelling"]
)
def test_unsafe_writing_is_noticed(sample, text):
    assert unsafe(_Broken(sample, ((text, ()),))) == [text]


def test_a_long_sentence_is_noticed(sample):
    assert overlong(_Broken(sample, ((" ".join(["word"] * 61) + ".", ("f0",)),)))
