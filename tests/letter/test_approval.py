"""Approval: what stands in its way, what the final letter says, and what it may not say any more."""

from __future__ import annotations

import io
import json
import shutil
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import docx
import pytest

from letterkit.errors import InvalidInput, LetterheadError
from letterkit.letter.approval import (
    ApprovedLetter,
    Completion,
    approve,
    completion_of_draft,
    content_digest,
    unanswered,
)
from letterkit.letter.model import BulletList, Cell, Letter, Lines, Paragraph, Sentence, Table
from letterkit.pipeline import Draft, draft
from letterkit.render import FORMATS, renderer

ROOT = Path(__file__).parents[2]
CASE = ROOT / "demo_cases" / "late_nerve_compression.json"
AT = datetime(2026, 11, 14, 16, 5, tzinfo=UTC)
EARLIER = "0123456789abcdef" * 4


def _record(**changes: Any) -> dict[str, Any]:
    return {**json.loads(CASE.read_text("utf-8")), **changes}


def _contradictory(**changes: Any) -> dict[str, Any]:
    """The record with two entries of thenar wasting on the right that cannot both hold."""
    record = _record(**changes)
    findings = [*record["examination"]["findings"], {"item": "thenar_wasting", "side": "right", "value": "absent"}]
    record["examination"] = {**record["examination"], "findings": findings}
    return record


def _text(letter: Letter) -> str:
    return " ".join(renderer("text").render(letter).decode().split())


@pytest.fixture(scope="module")
def drafted() -> Draft:
    return draft(_record())


@pytest.fixture(scope="module")
def final(drafted) -> ApprovedLetter:
    return approve(drafted, by="Miss R. Calder", at=AT)


def test_the_final_letter_says_who_approved_it_and_when(final):
    statement = "Checked and approved by Miss R. Calder, Consultant hand surgeon, on 14-Nov-2026 at 16:05."
    assert _text(final.letter).count(statement) == 1


def test_the_final_letter_bears_no_mark_of_a_draft(drafted, final):
    assert final.letter.draft_mark is None
    assert final.letter.properties.status == "Final"
    assert "This draft words" in _text(drafted.letter)
    text = _text(final.letter).replace("Drafted 13-Nov-2026", "")
    assert "draft" not in text.casefold()


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_of_a_final_letter_is_without_the_mark(name, drafted, final):
    make = renderer(name)
    assert make.render(final.letter) != make.render(drafted.letter)
    if name != "docx":
        assert b"not checked or approved" not in make.render(final.letter)
    else:
        made = docx.Document(io.BytesIO(make.render(final.letter)))
        headers = [section.first_page_header for section in made.sections] + [each.header for each in made.sections]
        assert not any("DRAFT" in line.text for header in headers for line in header.paragraphs)
        assert made.core_properties.content_status == "Final"


def test_no_letter_claims_to_be_unread_or_unsigned(demo_case):
    made = draft(demo_case.read_bytes())
    texts = [_text(made.letter)]
    if not unanswered(made):
        texts.append(_text(approve(made, by="Dr A. Approver", at=datetime(2027, 1, 1, 9, tzinfo=UTC)).letter))
    for text in texts:
        for phrase in ("dictated", "not signed", "unsigned", "not read", "electronically"):
            assert phrase not in text.casefold()


def test_what_is_said_of_the_patient_is_what_the_draft_said(demo_case):
    made = draft(demo_case.read_bytes())
    if unanswered(made):
        pytest.skip("this case has an open query")
    final = approve(made, by="Dr A. Approver", at=datetime(2027, 1, 1, 9, tzinfo=UTC)).letter

    def stated(letter: Letter) -> list[object]:
        return [
            block
            for block in letter.blocks
            if not isinstance(block, Paragraph) or any(sentence.origin != "template" for sentence in block.sentences)
        ]

    assert stated(final) == stated(made.letter)
    assert final.continuation == made.letter.continuation


def test_role_and_identifier_of_the_author_are_taken_from_the_record(final):
    assert final.approval.role == "Consultant hand surgeon"
    assert final.approval.identifier == "0000001"


def test_the_identifier_goes_as_data_and_is_not_printed(drafted):
    final = approve(drafted, by="Dr P. Quill", identifier="7654321", at=AT)
    assert final.approval.identifier == "7654321"
    assert "7654321" not in _text(final.letter)


def test_another_approver_has_no_role_of_the_author(drafted):
    text = _text(approve(drafted, by="Dr P. Quill", at=AT).letter)
    assert "Checked and approved by Dr P. Quill on 14-Nov-2026 at 16:05." in text
    assert "Checked and approved by Dr P. Quill, Locum consultant, on" in _text(
        approve(drafted, by="Dr P. Quill", role="Locum consultant", at=AT).letter
    )


@pytest.mark.parametrize(("hour", "told"), [(0, "00:05"), (9, "09:05"), (12, "12:05"), (23, "23:05")])
def test_the_time_is_given_in_24_hours_at_its_own_place(drafted, hour, told):
    at = datetime(2026, 11, 20, hour, 5, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    assert f"on 20-Nov-2026 at {told}." in _text(approve(drafted, by="Dr P. Quill", at=at).letter)


def test_a_contradictory_query_stands_in_the_way_and_is_named():
    made = draft(_contradictory())
    open_queries = unanswered(made)
    assert open_queries
    with pytest.raises(InvalidInput) as caught:
        approve(made, by="Miss R. Calder", at=AT)
    told = str(caught.value)
    assert len(caught.value.problems) == len(open_queries)
    for query in open_queries:
        assert query.message in told
        assert query.rule in told
        assert all(path in told for path in query.paths)


def test_each_query_needs_its_own_answer():
    made = draft(_contradictory())
    rules = sorted({query.rule for query in unanswered(made)})
    answers = [
        {"rule": rule, "answer": "kept", "reason": "Checked with the patient.", "by": "R. Calder"} for rule in rules
    ]
    answered = draft(_contradictory(answers=answers))
    assert answered.queries
    assert approve(answered, by="Miss R. Calder", at=AT).letter.draft_mark is None
    for missing in rules:
        partly = draft(_contradictory(answers=[each for each in answers if each["rule"] != missing]))
        with pytest.raises(InvalidInput, match=missing):
            approve(partly, by="Miss R. Calder", at=AT)


def test_an_answer_that_claims_a_correction_does_not_settle_what_is_still_there():
    rules = {query.rule for query in unanswered(draft(_contradictory()))}
    answers = [{"rule": rule, "answer": "corrected"} for rule in rules]
    with pytest.raises(InvalidInput):
        approve(draft(_contradictory(answers=answers)), by="Miss R. Calder", at=AT)


def test_queries_of_other_classes_do_not_stand_in_the_way(drafted):
    assert drafted.queries
    assert not unanswered(drafted)


def test_completion_codes_follow_the_life_of_a_letter(drafted, final):
    assert completion_of_draft(draft(_contradictory())) is Completion.INCOMPLETE
    assert completion_of_draft(drafted) is Completion.PRE_AUTHENTICATED
    assert final.completion is Completion.AUTHENTICATED
    assert {code.value for code in Completion} == {"DI", "DO", "IP", "IN", "PA", "AU", "LA"}


@pytest.mark.parametrize("by", ["", "   ", "x" * 201, "R. Calder\u0000", "R. \ue000 Calder"])
def test_an_approver_without_a_usable_name_is_refused(drafted, by):
    with pytest.raises(InvalidInput, match="by: "):
        approve(drafted, by=by, at=AT)


def test_a_time_without_its_offset_is_refused(drafted):
    with pytest.raises(InvalidInput, match="at: "):
        approve(drafted, by="Miss R. Calder", at=datetime(2026, 11, 14, 16, 5))  # noqa: DTZ001


def test_a_letter_is_not_approved_before_it_was_drafted(drafted):
    with pytest.raises(InvalidInput, match="at: 12-Nov-2026 is before the letter was drafted, 13-Nov-2026"):
        approve(drafted, by="Miss R. Calder", at=datetime(2026, 11, 12, 23, 59, tzinfo=UTC))


def test_a_correction_names_by_digest_what_it_replaces_as_a_whole(drafted):
    final = approve(drafted, by="Miss R. Calder", at=AT, replaces=EARLIER.upper())
    text = _text(final.letter)
    assert final.replaces == EARLIER
    assert "This letter is a correction. It replaces the whole of an earlier letter (content digest 0123456789abcdef)." in text  # fmt: skip
    assert text.index("This letter is a correction") < text.index("Dear Dr Penhallow")


def test_a_correction_names_by_reference_what_it_replaces(drafted):
    final = approve(drafted, by="Miss R. Calder", at=AT, replaces="HHC-0003, first version")
    assert "an earlier letter (reference HHC-0003, first version)." in _text(final.letter)


def test_a_letter_that_replaces_none_says_nothing_of_it(final):
    assert final.replaces is None
    assert "correction" not in _text(final.letter)


@pytest.mark.parametrize("replaces", ["abc123" * 10, "A" * 63, "0" * 65, "line\nbreak"])
def test_a_digest_that_is_cut_short_is_refused(drafted, replaces):
    with pytest.raises(InvalidInput, match="replaces: "):
        approve(drafted, by="Miss R. Calder", at=AT, replaces=replaces)


def test_a_new_version_has_a_new_digest_and_the_same_version_the_same(drafted, final):
    again = approve(drafted, by="Miss R. Calder", at=AT)
    later = approve(drafted, by="Miss R. Calder", at=AT + timedelta(minutes=1), replaces=final.digest)
    assert again == final
    assert len({final.digest, later.digest, content_digest(drafted.letter)}) == 3
    assert final.digest == content_digest(final.letter)


def _with(letter: Letter, *blocks: Any) -> str:
    return content_digest(replace(letter, blocks=(*letter.blocks, *blocks)))


def test_the_digest_is_of_the_words_and_of_the_patient(drafted):
    letter = drafted.letter
    table = Table("Grip", "", ("Measure", "Right", "Left"), ((Cell("Grip"), Cell("14"), Cell("")),))
    other_side = replace(table, rows=((Cell("Grip"), Cell(""), Cell("14")),))
    variants = [
        content_digest(letter),
        content_digest(replace(letter, continuation="QUILL, Peter (Mr)")),
        _with(letter, table),
        _with(letter, other_side),
        _with(letter, Paragraph((Sentence("One."),))),
        _with(letter, BulletList(((Sentence("Two."),),))),
        _with(letter, Lines(("Three",), "dates")),
    ]
    assert len(set(variants)) == len(variants)
    assert all(len(digest) == 64 for digest in variants)


def test_the_digest_takes_no_notice_of_mark_spaces_and_facts(drafted):
    letter = drafted.letter
    one = _with(letter, Paragraph((Sentence("Grip is  14\nkg.", ("f0",), "finding"), Sentence("So."))))
    two = _with(replace(letter, draft_mark=None, remarks=()), Paragraph((Sentence("Grip is 14 kg. So."),)))
    assert one == two


@pytest.fixture
def templates(tmp_path) -> Path:
    """A clinic's own folder of templates, to be changed by the test."""
    for folder in ("blocks", "letters"):
        shutil.copytree(ROOT / "templates" / folder, tmp_path / folder)
    return tmp_path


def _change(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text("utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new), "utf-8")


def _approved_with(folder: Path, **more: Any) -> ApprovedLetter:
    return approve(draft(_record(), templates=folder), by="Miss R. Calder", at=AT, templates=folder, **more)


def test_a_clinics_own_templates_make_the_final_letter_too(templates):
    _change(templates, "blocks/signature.j2", "## Person completing record", "## Who completed this record")
    assert "Who completed this record" in _text(_approved_with(templates).letter)


def test_a_template_that_leaves_out_who_approved_is_refused(templates):
    _change(templates, "blocks/signature.j2", "{{ approval.statement }} ", "")
    with pytest.raises(LetterheadError, match=r"leaves out the statement.*approval\.statement"):
        _approved_with(templates)


def test_a_template_that_leaves_out_what_is_replaced_is_refused(templates):
    _change(templates, "blocks/head.j2", "@note {{ approval.correction }}", "")
    assert _approved_with(templates)
    with pytest.raises(LetterheadError, match=r"leaves out the correction.*approval\.correction"):
        _approved_with(templates, replaces=EARLIER)


def test_a_template_that_calls_the_final_letter_a_draft_is_refused(templates):
    _change(templates, "letters/new.j2", "# Clinic letter: new patient\n", "# Clinic letter (draft)\n")
    with pytest.raises(LetterheadError, match=r"calls a final letter a draft.*is_draft"):
        _approved_with(templates)


def test_a_person_or_place_called_draft_is_no_draft_letter():
    record = _record(copies=[{"name": "Dr P. Draft", "organization": "Draft Lane Surgery"}])
    assert approve(draft(record), by="Dr P. Draft", at=AT).letter.draft_mark is None


def test_a_template_that_hides_findings_from_the_final_letter_is_refused(templates):
    _change(templates, "letters/new.j2", '{% include "blocks/examination.j2" %}',
            '{% if is_draft %}\n{% include "blocks/examination.j2" %}\n{% endif %}')  # fmt: skip
    with pytest.raises(LetterheadError, match="does not state what the approved draft states"):
        _approved_with(templates)


def test_other_templates_than_those_of_the_draft_are_refused(templates):
    _change(templates, "letters/new.j2", "# Clinic letter: new patient\n", "# Another letter\n")
    with pytest.raises(InvalidInput, match="templates: they do not give the letter that was checked"):
        approve(draft(_record()), by="Miss R. Calder", at=AT, templates=templates)


@dataclass(frozen=True)
class _Altered:
    """A draft whose letter was changed after it was composed."""

    encounter: Any
    summary: Any
    letter: Letter
    queries: Any
    drawing: Any = None


def test_a_letter_that_was_changed_after_drafting_is_refused(drafted):
    words = Paragraph((Sentence("The left hand is worse.", (), "clinician"),))
    letter = replace(drafted.letter, blocks=(*drafted.letter.blocks, words))
    altered = _Altered(drafted.encounter, drafted.summary, letter, drafted.queries)
    with pytest.raises(InvalidInput, match="letter that was checked"):
        approve(altered, by="Miss R. Calder", at=AT)


def test_names_with_marks_of_templates_are_only_text(drafted):
    by = "Dr {{ draft_mark }} {% raw %} # @note"
    assert by in _text(approve(drafted, by=by, at=AT).letter)
