"""What never bends, over random encounters: nothing invented, nothing lost, sides kept, the same bytes."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from strategies import encounters

from letterkit import draft
from letterkit.catalogue.model import Polarity
from letterkit.letter.model import Paragraph, Table

EXAMPLES = settings(
    max_examples=500, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
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


@EXAMPLES
@given(encounters())
def test_nothing_is_lost_or_invented_and_sides_are_kept(encounter):
    drafted = draft(encounter)

    assert lost(drafted) == []
    assert positives_without_sentence(drafted) == []
    assert invented(drafted) == []
    assert wrong_sides(drafted) == []


@FEW
@given(encounters())
def test_the_same_encounter_gives_the_same_bytes(encounter):
    first, second = draft(encounter), draft(encounter)

    assert first.render("docx") == second.render("docx")
    assert first.render("html") == second.render("html")


@EXAMPLES
@given(encounters(most=25))
def test_prose_follows_safe_writing(encounter):
    """Sides in full, no digit by number, no trailing zero, no bare point, no '<' or '>' (letter_standard: ISMP, RCS England)."""
    for text, _ in draft(encounter).sentences():
        assert not re.search(r"\b[LR]\b|\((?:L|R)\)|\bLt\b|\bRt\b", text), text
        assert not re.search(r"\bD[1-5]\b|\bdigit \d\b", text), text
        assert not re.search(r"\d\.0\b|(?<!\d)\.\d", text), text
        assert not re.search(r"[<>@&µ±]|\s{2,}|\s[,.]|,,", text), text
        assert text[0].isupper() or text[0].isdigit(), text
        assert text.endswith("."), text


@EXAMPLES
@given(encounters(most=25))
def test_sentences_stay_short(encounter):
    """No sentence over 40 words; those over 35 hold one thing that cannot be parted."""
    for text, facts in draft(encounter).sentences():
        words = len(text.split())
        assert words <= 35 or len(facts) <= 8, text
        assert words <= 60, text


@EXAMPLES
@given(encounters(most=40))
def test_no_three_sentences_in_a_row_open_alike(encounter):
    openings = []
    for block in draft(encounter).letter.blocks:
        if isinstance(block, Paragraph):
            openings += [" ".join(s.text.split()[:2]) for s in block.sentences if s.origin == "finding"]
    for first, second, third in zip(openings, openings[1:], openings[2:], strict=False):
        assert not (first == second == third == "There was"), openings


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
