"""The patient's copy: what it holds, in which order, and in which print."""

from __future__ import annotations

import io
import json
import re
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from lxml import etree
from paths import ROOT
from reading_ease import ours, sentences

from letterkit.catalogue import catalogue
from letterkit.catalogue.glossary import glossary, load
from letterkit.cli.drafting import draft as draft_command
from letterkit.errors import CatalogueError, LetterheadError
from letterkit.letter.model import BulletList, Heading, Letter, Paragraph
from letterkit.pipeline import draft
from letterkit.render.base import renderer

EARLY = ROOT / "demo_cases" / "early_nerve_compression.json"
W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
ORDER = [
    "What we found", "What was normal", "What it means", "What happens next", "What we told you", "When to seek help",
    "What we did not check", "Your letter", "Who else gets a letter about this visit",
]  # fmt: skip
PLAN_ORDER = ["What we ask you to do", "What the clinic does", "What we ask"]


def case(**more: object) -> dict[str, object]:
    return {**json.loads(EARLY.read_text(encoding="utf-8")), **more}


def copy_of(record: dict[str, object]) -> Letter:
    return draft(record, drafted=date(2018, 8, 6)).patient_copy()


def texts(letter: Letter) -> list[str]:
    return [sentence.text for sentence in sentences(letter)]


def headings(letter: Letter, level: int) -> list[str]:
    return [block.text for block in letter.blocks if isinstance(block, Heading) and block.level == level]


def test_every_fact_of_a_case_is_told(demo_case):
    drafted = draft(demo_case.read_bytes(), drafted=date(2026, 11, 25))
    facts = drafted.facts
    told = {fact for sentence in sentences(drafted.patient_copy()) for fact in sentence.facts}
    assert told == {each.id for each in (*facts.facts, *facts.normal, *facts.unexamined)}


def test_sections_stand_in_their_order(demo_case):
    letter = draft(demo_case.read_bytes(), drafted=date(2026, 11, 25)).patient_copy()
    assert headings(letter, 1) == [name for name in ORDER if name in headings(letter, 1)]
    told = [next(start for start in PLAN_ORDER if text.startswith(start)) for text in headings(letter, 2)]
    assert told == [start for start in PLAN_ORDER if start in told]


def test_our_words_hold_no_short_form_but_those_explained(demo_case):
    drafted = draft(demo_case.read_bytes(), drafted=date(2026, 11, 25))
    known = {"OK", "DASH", "PRWHE", "PEM", "HAQ"}
    for text in ours(drafted.patient_copy(), drafted.encounter):
        forms = set(re.findall(r"\b[A-Z]{2,}\b", text)) - known
        assert all(re.search(rf"\b{form}\b.*\b(?:is|are|makes?|means)\b", text) for form in forms), text


def test_it_is_addressed_to_the_patient_with_long_dates():
    letter = copy_of(case(drafted=None))
    whole = renderer("html").render(letter).decode()
    assert "Dear Mrs Ashdown," in whole
    assert "6\u00a0August\u00a02018" in whole
    assert "20\u00a0November\u00a02026" in whole
    assert not re.search(r"\d{2}-[A-Z][a-z]{2}-\d{4}", whole)
    assert (
        letter.continuation
        == "Mrs Marjorie Ashdown  Born\u00a014\u00a0March\u00a01971  NHS\u00a0number 999\u00a0000\u00a00018"
    )


def test_trade_words_are_explained_once_after_the_clinicians_words():
    letter = copy_of(case())
    entries = [entry for block in letter.blocks if isinstance(block, BulletList) for entry in block.entries]
    diagnosis = next(entry for entry in entries if entry[0].text.startswith("Right carpal tunnel syndrome"))
    explanation = glossary().entries["carpal_tunnel_syndrome"].explanation
    assert diagnosis[0].origin == "clinician"
    assert diagnosis[1].text == explanation
    assert texts(letter).count(explanation) == 1


def test_only_recorded_words_say_what_it_means():
    letter = copy_of(case(impression=[], diagnoses=[]))
    assert "What it means" not in headings(letter, 1)


def test_cautions_say_where_and_defer_once(demo_case):
    drafted = draft(demo_case.read_bytes(), drafted=date(2026, 11, 25))
    letter = drafted.patient_copy()
    told = [block for block in letter.blocks if isinstance(block, Paragraph) and block.role == "caution"]
    assert bool(told) == bool(drafted.summary.cautions)
    if told:
        deferrals = {each.patient for each in catalogue().deferrals.values()}
        assert [block.sentences[0].text in deferrals for block in told] == [False] * (len(told) - 1) + [True]
        assert all(block.sentences[0].facts for block in told[:-1])


def under(letter: Letter, heading: str) -> set[str]:
    """The facts told under a heading."""
    told: set[str] = set()
    inside = False
    for block in letter.blocks:
        if isinstance(block, Heading):
            inside = block.text == heading
        elif inside:
            part = replace(letter, blocks=(block,))
            told |= {fact for sentence in sentences(part) for fact in sentence.facts}
    return told


@pytest.mark.parametrize(
    "item", [item for item in catalogue().items.values() if not item.reassuring], ids=lambda item: item.slug
)
def test_a_negative_that_is_no_comfort_is_not_told_as_normal(item):
    finding = {"item": item.slug, "side": "left", "value": "negative"}
    if item.sites:
        finding["site"] = item.sites[0]
    letter = copy_of(case(examination={"findings": [finding]}))
    assert under(letter, "What we found")
    assert not under(letter, "What was normal")


def test_past_history_is_told_in_sentences_or_in_one_list():
    for past, told in (
        (["Type 2 diabetes.", "Fracture of the left wrist in 2009"],
         "Past history: Type 2 diabetes. Fracture of the left wrist in 2009."),
        (["diabetes", "wrist fracture in 2009"], "Past history: diabetes; wrist fracture in 2009."),
    ):  # fmt: skip
        letter = draft(case(history={"past": past}), drafted=date(2026, 11, 25)).letter
        assert told in texts(letter)


def test_it_promises_nothing(demo_case):
    letter = draft(demo_case.read_bytes(), drafted=date(2026, 11, 25)).patient_copy()
    own = " ".join(sentence.text for sentence in sentences(letter) if sentence.origin != "clinician").casefold()
    for words in ("nothing to worry", "will be fine", "no need to", "do not worry", "rule out", "ruled out", "proves"):
        assert words not in own


@pytest.mark.parametrize(
    ("needs", "options", "large"),
    [
        ([], {}, False),
        (["British Sign Language interpreter"], {}, False),
        (["Large print"], {}, True),
        (["letters in larger type, 18 point"], {}, True),
        ([], {"largePrint": True}, True),
    ],
)
def test_large_print_by_need_or_by_option(needs, options, large):
    record = case(options=options)
    record["patient"] = {**record["patient"], "communicationNeeds": needs}
    drafted = draft(record)
    letter = drafted.patient_copy()
    assert letter.properties.large_print is large
    assert not drafted.letter.properties.large_print
    assert any(need in text for need in needs for text in texts(letter)) is bool(needs)
    assert (b"html{font-size:150%}" in renderer("html").render(letter)) is large
    assert (smallest_size(renderer("docx").render(letter)) >= 32) is large


def smallest_size(document: bytes) -> int:
    """The smallest size, in half-points, of the styles that the body of a document uses, defaults included."""
    with zipfile.ZipFile(io.BytesIO(document)) as package:
        styles = etree.fromstring(package.read("word/styles.xml"))
        body = etree.fromstring(package.read("word/document.xml"))
    used = {style.get(f"{W}val") for style in body.iter(f"{W}pStyle")}
    sizes = []
    for style in styles.iter(f"{W}style"):
        based = style.find(f"{W}basedOn")
        if style.get(f"{W}styleId") in used or style.get(f"{W}default") == "1" or based is None:
            sizes += [int(size.get(f"{W}val")) for size in style.iter(f"{W}sz") if style.get(f"{W}type") == "paragraph"]
    sizes += [int(size.get(f"{W}val")) for size in styles.iterfind(f"{W}docDefaults//{W}sz")]
    return min(sizes)


def test_an_american_copy_has_american_words_but_the_clinicians_own():
    finding = {
        "item": "scar",
        "site": "little",
        "side": "left",
        "value": "present",
        "lengthCm": 2,
        "note": "pale colour",
    }
    side = {"item": "digital_nerve_sensation", "site": "ulnar_side_little", "side": "left", "value": "normal"}
    letter = copy_of(case(options={"language": "en-US"}, examination={"findings": [finding, side]}))
    told = texts(letter)
    assert "We saw a scar on your left small finger." in told
    assert "It was 2\u00a0centimeters long." in told
    assert "Our notes say: pale colour." in told
    assert "Feeling on the outer side of your left small finger was normal." in told
    assert letter.properties.language == "en-US"


def test_a_name_without_parts_is_used_as_given():
    record = case(patient={"name": {"text": "Avery Testwell"}})
    record.pop("drafted")
    letter = copy_of(record)
    assert "Dear Avery Testwell," in renderer("text").render(letter).decode()
    assert letter.continuation == "Avery Testwell"


def test_a_record_of_nothing_but_findings_makes_a_letter():
    letter = copy_of(
        {
            "patient": {"name": {"family": "Testwell"}},
            "examination": {"findings": [{"item": "swelling", "site": "wrist", "side": "left", "value": "present"}]},
        }
    )
    assert headings(letter, 1) == ["What we found", "Your letter"]
    assert "We saw swelling of your left wrist." in texts(letter)


def test_the_clinics_own_template_comes_first(tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "patient.j2").write_text("# Ours\n{{ opening }}\n", encoding="utf-8")
    letter = draft(case()).patient_copy(tmp_path)
    assert len(letter.blocks) == 2
    (tmp_path / "letters" / "patient.j2").write_text("# Ours\n{{ nowhere }}\n", encoding="utf-8")
    (tmp_path / "second").mkdir()
    (tmp_path / "second" / "letters").mkdir()
    (tmp_path / "second" / "letters" / "patient.j2").write_text("# Ours\n{{ nowhere }}\n", encoding="utf-8")
    with pytest.raises(LetterheadError, match="nowhere"):
        draft(case()).patient_copy(tmp_path / "second")


@pytest.mark.parametrize(
    ("reader", "names"),
    [
        ("doctor", {"early_nerve_compression.txt"}),
        ("patient", {"early_nerve_compression-patient.txt"}),
        ("both", {"early_nerve_compression.txt", "early_nerve_compression-patient.txt"}),
    ],
)
def test_the_command_writes_the_letters_asked_for(tmp_path, reader, names):
    given = [str(EARLY), "--for", reader, "--format", "text", "--out", str(tmp_path), "--date", "2026-11-25"]
    done = CliRunner().invoke(draft_command, given)
    assert done.exit_code == 0, done.output
    assert {path.name for path in tmp_path.iterdir()} == names


# The glossary


@pytest.mark.parametrize("entry", glossary().entries.values(), ids=lambda entry: entry.slug)
def test_an_explanation_is_short_and_says_what_a_word_means(entry):
    words = entry.explanation.casefold()
    assert len(words.split()) <= 14
    assert not re.search(r"\b(?:should|must|need to|usually gets|will|cure|serious|harmless|common)\b", words)
    for term in entry.terms:
        assert [found.slug for found, _, _ in glossary().found(f"Early {term}, here.")] == [entry.slug]


def test_the_longest_term_counts_and_capitals_are_kept_apart():
    assert [entry.slug for entry, _, _ in glossary().found("Flexor tendon repair; RA; ra; carpal tunnel")] == [
        "tendon_repair", "rheumatoid_arthritis", "carpal_tunnel",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "holds no term"),
        ("[[term]\n", "not readable"),
        ('[[term]]\nslug = "a"\nterms = ["x"]\nexplanation = "No full stop"\n', "term a: explanation"),
        ('[[term]]\nslug = "a"\nterms = ["x"]\nexplanation = "An x."\n' * 2, "defined twice"),
        (
            (
                '[[term]]\nslug = "a"\nterms = ["x"]\nexplanation = "An x."\n'
                '[[term]]\nslug = "b"\nterms = ["X y", "x"]\nexplanation = "An x."\n'
            ),
            "also means a",
        ),
    ],
)
def test_a_fault_of_the_glossary_is_named(tmp_path: Path, text, fault):
    file = tmp_path / "glossary.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError, match=fault):
        load(file)
