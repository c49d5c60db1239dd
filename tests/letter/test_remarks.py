"""Which words of a letter a query belongs to, and that no query reaches an approved letter."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import docx
import pypdf
import pytest

from letterkit.errors import InvalidValue
from letterkit.letter.approval import approve, unanswered
from letterkit.letter.model import BulletList, Letter, Lines, Paragraph, Remark, Table
from letterkit.letter.remarks import HEADING, marked, remarks_of, told
from letterkit.letter.templates import CLOSE, OPEN
from letterkit.pipeline import Draft, draft
from letterkit.render import FORMATS, renderer

ROOT = Path(__file__).parents[2]
AT = datetime(2027, 1, 1, 9, tzinfo=UTC)


def _record(**changes):
    base = {
        "patient": {"name": {"family": "Quill", "given": ["Peter"]}, "birthDate": "1960-04-07", "handedness": "right"},
        "visit": {"date": "2026-11-05"},
        "reason": {"text": "Numb right hand", "side": "right"},
        "history": {"presenting": "Numb at night", "past": ["Wrist fracture of the right side"]},
        "examination": {"findings": [{"item": "thenar_wasting", "side": "right", "value": "present"}]},
        "plan": [
            {"text": "Review in six weeks", "actor": "clinic"},
            {"text": "Release of the left carpal tunnel", "actor": "clinic", "side": "left"},
        ],
    }
    return {**base, **changes}


def _at(made: Letter, number: int) -> str:
    """The marked words that the remark of that number belongs to."""
    noted = marked(made)
    whole: list[str] = []
    for block in noted.blocks:
        if isinstance(block, Paragraph):
            whole += [sentence.text for sentence in block.sentences]
        elif isinstance(block, BulletList):
            whole += [sentence.text for entry in block.entries for sentence in entry]
        elif isinstance(block, Table):
            whole += [cell.text for row in block.rows for cell in row]
        elif isinstance(block, Lines):
            whole.append("\n".join(block.lines))
        else:
            whole.append(getattr(block, "text", ""))
    stretches = [text.partition(OPEN)[2].partition(CLOSE)[0] for text in whole if OPEN in text]
    position = next(index for index, spot in enumerate(noted.spots) if number in spot)
    return stretches[position]


def _with(made: Draft, *, facts: tuple[str, ...] = (), places: tuple[str, ...] = ()) -> str:
    remark = Remark("some-rule", "unusual", "Is it?", "Say so.", facts, places)
    return _at(replace(made.letter, remarks=(remark,)), 0)


@pytest.fixture(scope="module")
def drafted() -> Draft:
    return draft(_record(
        examination={
            "findings": [
                {"item": "thenar_wasting", "side": "right", "value": "present"},
                {"item": "grip_strength", "side": "right", "value": 30},
                {"item": "grip_strength", "side": "left", "value": 31},
                {"item": "key_pinch", "side": "both", "value": 7},
                {"item": "tip_pinch", "side": "both", "value": 6},
            ],
            "normal": [{"stage": "inspection", "side": "left"}],
            "notExamined": [{"item": "phalen_test", "side": "right", "reason": "painful"}],
        },
        medication=["Apixaban"],
        allergies=[{"agent": "Penicillin"}],
        diagnoses=[{"text": "Median nerve compression", "side": "right"}],
        informationGiven=["Driving was discussed"],
    ))  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "places", "words"),
    [
        (("f0",), (), "There was thenar wasting on the right."),
        (("f9", "f0"), ("plan[1]",), "There was thenar wasting on the right."),
        ((), ("examination.findings[0]",), "There was thenar wasting on the right."),
        (("f3.0",), (), "7"),
        ((), ("examination.notExamined[0].reason",), "Phalen's test"),
        ((), ("plan[1].text",), "Release of the left carpal tunnel."),
        ((), ("plan[0]",), "Review in six weeks."),
        ((), ("diagnoses[0]",), "Median nerve compression (right)."),
        ((), ("informationGiven[0]",), "Driving was discussed."),
        ((), ("history.presenting",), "Numb at night."),
        ((), ("history.past[0]",), "Past history: Wrist fracture of the right side."),
        ((), ("reason.side",), "Numb right hand."),
        ((), ("medication[0]",), "Apixaban."),
        ((), ("allergies[0]",), "Penicillin."),
        ((), ("visit.date",), "Clinic date 05-Nov-2026"),
        ((), ("patient.handedness",), "Right-handed"),
        ((), ("earlier[0].date",), "Examination findings"),
        ((), (), "Examination findings"),
        (("f99",), ("plan[7]", "plan[1]"), "Release of the left carpal tunnel."),
    ],
)
def test_a_query_belongs_to_the_words_it_is_about(drafted, facts, places, words):
    assert words in _with(drafted, facts=facts, places=places)


def test_a_plan_entry_is_found_by_its_position_in_the_record_and_not_in_its_list():
    record = _record(plan=[{"text": "Please arrange blood tests", "actor": "recipient"},
                           {"text": "Review in six weeks", "actor": "clinic"}])  # fmt: skip
    assert _with(draft(record), places=("plan[1]",)) == "Review in six weeks."


def test_the_queries_of_a_draft_are_its_remarks(demo_case):
    made = draft(demo_case.read_bytes())
    assert made.letter.remarks == remarks_of(made.queries)
    assert len(marked(made.letter).spots) <= len(made.queries)
    placed = sorted(number for spot in marked(made.letter).spots for number in spot)
    assert placed == list(range(len(made.queries)))


def test_a_remark_says_how_it_is_answered():
    made = draft(_record(answers=[{"rule": "no-such-rule", "answer": "corrected"}]))
    remark = next(each for each in made.letter.remarks if each.rule == "answer-without-query")
    assert told(remark)[1:] == (
        f"Settled by: {remark.settle}",
        "Rule: answer-without-query (unusual); entries: answers[0].rule",
    )


def _read(name: str, data: bytes) -> str:
    if name == "docx":
        document = docx.Document(io.BytesIO(data))
        return " ".join([paragraph.text for paragraph in document.paragraphs] + [c.text for c in document.comments])
    if name == "pdf":
        return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    return data.decode()


@pytest.mark.parametrize("name", FORMATS)
def test_no_query_reaches_an_approved_letter(name):
    case = ROOT / "demo_cases" / "late_nerve_compression.json"
    made = draft(json.loads(case.read_text("utf-8")))
    assert made.queries
    assert not unanswered(made)
    final = approve(made, by="Dr A. Approver", at=AT).letter
    assert final.remarks == ()
    before, after = (" ".join(_read(name, renderer(name).render(each)).split()) for each in (made.letter, final))
    for remark in made.letter.remarks:
        assert remark.rule in before
        assert remark.rule not in after
        assert remark.settle not in after
    assert HEADING not in after
    assert "Queries" not in after


def test_a_letter_without_draft_mark_cannot_hold_queries(drafted):
    assert drafted.letter.remarks
    with pytest.raises(InvalidValue, match="without draft mark"):
        replace(drafted.letter, draft_mark=None)


def test_the_patients_copy_holds_no_query(drafted):
    assert drafted.patient_copy().remarks == ()
