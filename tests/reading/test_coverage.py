"""Nothing vanishes: whatever the text, its spans are the text, and no text makes the reader fail."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from letterkit.catalogue import catalogue
from letterkit.reading.read import read
from letterkit.reading.words import words

_WORDS = [
    "no", "swelling", "of", "the", "right", "left", "wrist", "and", "or", "but", ",", ".", ";", ":", "(", ")", "\n", "\t", "Tinel's", "positive",
    "negative", "APB", "4/5", "index", "finger", "MCPJ", "20-85", "denies", "not", "tested", "B/L", "+ve", "-", "normal", "reduced", "sensation",
    "neither", "nor", "except", "otherwise", "recorded as:", "if", "Plan:", "Exam:", "knee", "bilaterally", "2 cm", "FROM", "?", "5 mm",
]  # fmt: skip
_NOTES = st.lists(st.sampled_from(_WORDS), max_size=40).map(" ".join)
_PHRASES = sorted(
    {name for item in catalogue().items.values() for name in (item.name, *item.synonyms)}
    | {phrase for kind in (words().lists, words().states, words().currency) for phrases in kind.values() for phrase in phrases}
    | {phrase for entry in (*words().loose, *words().families, *words().places) for phrase in entry["words"]}
    | {phrase for sense in words().senses for phrase in sense.words}
    | set(words().elsewhere)
    | set(words().foreign)
)  # fmt: skip
_GLUE = [
    " ", ", ", " and ", " of the ", " was ", ": ", ". ", " on the right ", " left ", " 4/5 ", " 20 degrees ", "; ", "/",
    " (", ") ", " - ", " no ", " not ", " except ", " 5 mm ", " 2+ ", " but ", "\n",
]  # fmt: skip
_JARGON = st.lists(st.tuples(st.sampled_from(_PHRASES), st.sampled_from(_GLUE)), min_size=2, max_size=12).map(
    lambda pairs: "".join(phrase + glue for phrase, glue in pairs)
)


@settings(max_examples=60, deadline=None)
@given(st.one_of(_NOTES, st.text(max_size=200)))
def test_spans_cover_any_text_exactly(text):
    reading = read(text)

    assert text == "".join(reading.quote(span) for span in reading.spans)


@settings(max_examples=400, deadline=None)
@given(_JARGON)
def test_no_words_of_the_vocabulary_side_by_side_make_the_reader_fail(text):
    reading = read(text)

    assert text == "".join(reading.quote(span) for span in reading.spans)


@settings(max_examples=40, deadline=None)
@given(_NOTES)
def test_each_finding_stands_where_it_says(text):
    for finding in read(text).findings:
        assert 0 <= finding.start < finding.end <= len(text)


@settings(max_examples=40, deadline=None)
@given(_NOTES)
def test_a_finding_without_a_side_is_never_certain(text):
    for finding in read(text).findings:
        assert (
            finding.sure == "needs_a_look"
            or finding.side is not None
            or finding.item in {"neck_movement", "handwriting"}
        )
