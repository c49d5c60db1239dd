"""A clinic's own templates: what they can do, what they cannot, and what a record's words can never become."""

from __future__ import annotations

import time

import pytest
from made_records import DAY, found, record

from letterkit import draft
from letterkit.errors import LetterheadError, LetterWithheld
from letterkit.letter.model import BulletList, Heading, Paragraph, Title

NAME = "letters/clinic.j2"


@pytest.fixture
def folder(tmp_path):
    def fill(**files):
        for name, text in files.items():
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return tmp_path

    return fill


def letter(templates, *findings, **more):
    return draft(record(*(findings or [found("thenar_wasting")]), **more), drafted=DAY, templates=templates)


# what stands in the template, parts of the message
HOSTILE = {
    "attribute of the machine": ("{{ sender.__class__ }}", ["__class__"]),
    "attribute walk from a word": ("{{ ''.__class__.__mro__ }}", ["__class__"]),
    "attribute by its name as text": ('{{ sender["__class__"] }}', ["line 1", "getitem is not allowed"]),
    "attribute of the template": ("{{ self.__class__ }}", ["line 1", "self is not a value"]),
    "value behind what is printed": ("{{ salutation.value }}", ["value"]),
    "all values so far": ("{{ subject.values }}", ["values"]),
    "fields of a record": ("{{ findings._fields }}", ["_fields"]),
    "a record as a whole": ("{{ findings }}", ["name one of its fields", "positive"]),
    "call": ("{{ range(9) }}", ["line 1", "call is not allowed", "for and include"]),
    "method": ("{{ subject.upper() }}", ["line 1", "call is not allowed"]),
    "times": ("{{ 2 * 3 }}", ["line 1", "mul is not allowed"]),
    "to the power of": ("{{ 9 ** 9 ** 9 }}", ["line 1", "pow is not allowed"]),
    "words joined": ("{{ 'a' ~ 'b' }}", ["line 1", "concat is not allowed"]),
    "slice": ("{{ diagnoses[0:1] }}", ["line 1", "getitem is not allowed"]),
    "three loops": ("{% for a in x %}{% for b in x %}\n{% for c in x %}{% endfor %}{% endfor %}{% endfor %}", ["line 2", "too deeply"]),
    "loop into itself": ("{% for a in diagnoses recursive %}{{ a }}{% endfor %}", ["line 1", "too deeply"]),
    "assignment": ("{% set a = 1 %}", ["line 1", "assign is not allowed"]),
    "macro": ("{% macro a() %}{% endmacro %}", ["line 1", "macro is not allowed"]),
    "import": ('{% import "letters/clinic.j2" as a %}', ["line 1", "import is not allowed"]),
    "extends": ('{% extends "letters/clinic.j2" %}', ["line 1", "extends is not allowed"]),
    "filter": ("\n{{ subject|upper }}", ["line 2", "the filter upper", "default, first, last, length"]),
    "test": ("{% if subject is string %}x{% endif %}", ["line 1", "the test string", "defined, none, undefined"]),
    "include by a value": ("{% include subject %}", ["line 1", "fixed name"]),
    "include of what is not there": ('{% include "blocks/none.j2" %}', ["template blocks/none.j2", "not found"]),
    "include of a file of the machine": ('{% include "/etc/passwd" %}', ["not found"]),
    "include out of the folder": ('{% include "../../../../etc/passwd" %}', ["not found"]),
    "include of itself": (f'{{% include "{NAME}" %}}', ["includes itself", "break the circle"]),
    "forty includes": ('{% include "blocks/summary.j2" %}' * 41, ["more than 40"]),
    "syntax": ("# A\n{% if %}", ["line 2"]),
    "a bracket left open": ("# A\n\n{{ subject", ["line 3"]),
    "a tag nobody knows": ("\n{% debug %}", ["line 2", "debug"]),
    "a value nobody knows": ("# A\n\n{{ patient_secret }}", ["line 3", "patient_secret"]),
    "a field nobody knows": ("# A\n\n{{ findings.secrets }}", ["line 3", "secrets", "positive"]),
    "a role nobody knows": ("# A\n\n@shout {{ subject }}", ["@shout is no role", "caution"]),
    "a heading too deep": ("# A\n\n#### B", ["####", "use #, ## or ###"]),
    "a sub-section before any section": ("# A\n### B", ["'B'", "before any section"]),
    "a block inside a line": ("# A\nFrom {{ sender }}", ["line of its own"]),
    "too long": ("x" * 100_001, ["100,000 characters"]),
    "a private-use character": ("\ue0000\ue001", ["private-use"]),
    "a control character": ("a\x00b", ["U+0000"]),
    "not UTF-8": ("Ødegård".encode("latin-1"), ["UTF-8"]),
}  # fmt: skip


@pytest.mark.parametrize(("text", "told"), HOSTILE.values(), ids=HOSTILE)
def test_a_template_is_refused_by_name_for(folder, text, told):
    with pytest.raises(LetterheadError) as caught:
        letter(folder(**{NAME: text}), diagnoses=[{"text": "x"}]).render("text")

    message = str(caught.value)
    assert message.startswith("template ")
    assert [part for part in told if part not in message] == [], message
    assert "letterkit." not in message
    assert "\n" not in message


def test_a_circle_of_three_is_told_with_its_way(folder):
    files = {NAME: '{% include "a.j2" %}', "a.j2": '{% include "b.j2" %}', "b.j2": '{% include "a.j2" %}'}
    with pytest.raises(LetterheadError, match=r"template a\.j2: includes itself by way of .*a\.j2 and b\.j2"):
        letter(folder(**files))


def test_a_fault_in_an_included_template_is_told_under_its_own_name(folder):
    with pytest.raises(LetterheadError, match=r"template a\.j2, line 3: add is not allowed"):
        letter(folder(**{NAME: '# A\n{% include "a.j2" %}', "a.j2": "x\n\n{{ 1 + 1 }}"}))


def test_includes_that_double_at_every_step_end_at_once(folder):
    files = {f"a{step}.j2": f'{{% include "a{step + 1}.j2" %}}' * 2 for step in range(30)} | {"a30.j2": "x"}
    started = time.perf_counter()
    with pytest.raises(LetterheadError, match="more than 40"):
        letter(folder(**{NAME: '{% include "a0.j2" %}'}, **files))
    assert time.perf_counter() - started < 5


# Markup


def test_a_line_becomes_what_its_mark_says(folder):
    text = (
        "# Title\n\n## Section\n### Sub-section\nOne {{ salutation }} two.\n- first\n- second\n@note A note.\n"
        "{{ findings.positive }}\n"
    )
    blocks = letter(folder(**{NAME: text})).letter.blocks[:-1]
    assert [type(block) for block in blocks] == [Title, Heading, Heading, Paragraph, BulletList, Paragraph]
    assert [block.level for block in blocks if isinstance(block, Heading)] == [1, 2]
    assert blocks[5].role == "note"
    assert [entry[0].text for entry in blocks[4].entries] == ["first", "second"]
    assert blocks[3].sentences[0].text == "One colleague two."


def test_entries_of_a_list_that_were_not_recorded_leave_no_list(folder):
    text = "# T\n{% for each in diagnoses %}\n- {{ each }}\n{% endfor %}\n{{ findings.positive }}\n"
    assert [type(block) for block in letter(folder(**{NAME: text})).letter.blocks] == [Title, Paragraph]


def test_a_template_that_leaves_a_finding_out_gives_no_letter(folder):
    with pytest.raises(LetterWithheld, match="thenar_wasting"):
        letter(folder(**{NAME: "# T\nNothing was found.\n"}))


def test_a_sentence_keeps_its_facts_through_a_template(folder):
    drafted = letter(folder(**{NAME: "# T\n{{ findings.positive }}\n"}))
    assert drafted.sentences() == (("There was thenar wasting on the right.", ("f0",)),)


def test_one_block_of_a_clinic_stands_in_the_shipped_letter(folder):
    text = letter(folder(**{"blocks/summary.j2": "## Our own heading\nWords of the clinic.\n"})).render("text").decode()
    assert "Our own heading" in text
    assert "Examination findings" in text


MARKUP = {
    "a title": "# Title",
    "a section": "## Section",
    "a list": "- entry",
    "a role": "@caution Beware",
    "a value": "{{ findings }}",
    "a tag": "{% include 'letters/clinic.j2' %}",
    "a comment": "{# hidden #}",
    "a tag of HTML": "<script>alert(1)</script>",
    "an entity": "&lt;b&gt; &amp;",
    "emphasis": "**bold** _it_ `code`",
    "a field of Word": "{ MERGEFIELD name }",
    "markup of the typesetter": '#set page(fill: red) $x$ @ref \\ #image("a")',
}
PLACES = {
    "note": lambda words: {"examination": {"findings": [found("thenar_wasting", note=words)]}},
    "description": lambda words: {"examination": {"findings": [found("thenar_wasting", description=words)]}},
    "text value": lambda words: {"examination": {"findings": [found("aids_and_dressings", words, site="hand")]}},
    "diagnosis": lambda words: {"diagnoses": [{"text": words}]},
    "plan": lambda words: {"plan": [{"text": words, "actor": "recipient"}]},
    "history": lambda words: {"history": {"presenting": words}},
    "impression": lambda words: {"impression": [{"text": words}]},
    "recipient": lambda words: {"recipient": {"name": words, "salutation": words}},
    "reason not examined": lambda words: {"examination": {"notExamined": [{"stage": "function", "reason": words}]}},
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("words", MARKUP.values(), ids=MARKUP)
def test_words_of_a_record_that_look_like_markup_stay_words(place, words):
    plain = draft(record(**PLACES[place]("Zebra")), drafted=DAY).letter
    marked = draft(record(**PLACES[place](words)), drafted=DAY).letter

    assert [type(block) for block in marked.blocks] == [type(block) for block in plain.blocks]
    assert (
        words in repr(marked.blocks)
        or words.replace("'", "\\'") in repr(marked.blocks)
        or repr(words)[1:-1] in repr(marked.blocks)
    )


@pytest.mark.parametrize("words", MARKUP.values(), ids=MARKUP)
def test_words_that_look_like_markup_stand_in_the_page_as_written(words):
    drafted = draft(record(diagnoses=[{"text": words}]), drafted=DAY)
    flat = " ".join(drafted.render("text").decode().split())
    assert words in flat
    html = drafted.render("html").decode()
    assert "<script>" not in html
    assert "<b>" not in html


# Missing elements

FULL = {
    "patient": {"name": {"family": "Marlow"}, "birthDate": "1961-03-14", "address": {"line": ["1 Mill Lane"]}},
    "gpPractice": {"name": "Dr T. Penhallow"},
    "visit": {"date": "2026-11-19"},
    "author": {"name": "Miss R. Calder", "role": "Consultant", "identifier": {"system": "GMC", "value": "0000001"}},
    "impression": [{"text": "Stable"}],
    "allergies": "none known",
}
MISSING = {
    "date of birth": {"patient": {"name": {"family": "Marlow"}, "address": {"line": ["1 Mill Lane"]}}},
    "patient's address": {"patient": {"name": {"family": "Marlow"}, "birthDate": "1961-03-14"}},
    "general practice": {"gpPractice": None},
    "date of contact": {"visit": None},
    "clinical summary": {"impression": []},
    "allergies and adverse reactions": {"allergies": None},
    "role of the person completing the record": {"author": FULL["author"] | {"role": None}},
    "professional identifier of the author": {"author": FULL["author"] | {"identifier": None}},
}


def not_supplied(encounter):
    """What stands under the heading that lists what is missing."""
    blocks = draft(record(found("thenar_wasting")) | encounter, drafted=DAY).letter.blocks
    for at, block in enumerate(blocks):
        if isinstance(block, Heading) and block.text == "Not supplied to this letter":
            words = " ".join(sentence.text for sentence in blocks[at + 1].sentences).rstrip(".")
            return (words[:1].lower() + words[1:]).split("; ")
    return []


def test_a_full_record_misses_nothing():
    assert not_supplied(FULL) == []


@pytest.mark.parametrize("name", MISSING)
def test_what_the_standard_makes_mandatory_and_is_missing_is_listed(name):
    assert not_supplied(FULL | MISSING[name]) == [name]


def test_without_an_author_neither_author_nor_responsible_professional_is_known():
    assert not_supplied(FULL | {"author": None}) == ["responsible professional", "person completing the record"]


def test_a_responsible_professional_may_be_another_than_the_author():
    visit = {"date": "2026-11-19", "responsible": "Mr B. Lowe"}
    assert not_supplied(FULL | {"author": None, "visit": visit}) == ["person completing the record"]


def test_four_findings_and_a_name_make_a_letter_that_says_what_it_lacks():
    findings = [
        found("thenar_wasting"),
        found("phalen_test", "positive"),
        found("apb_power", 4),
        found("swelling", site="wrist"),
    ]
    missing = not_supplied(record(*findings))
    assert len(missing) == 8
    text = draft(record(*findings), drafted=DAY).render("text").decode()
    assert "Not supplied to this letter" in text
    assert "No plan was supplied to this letter." in text
