"""The kinds of letter: which one is chosen, and what each says first."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from letterkit.letter.kinds import letter_template
from letterkit.letter.model import BulletList, Heading, Paragraph, Title
from letterkit.pipeline import as_encounter, draft

ROOT = Path(__file__).parents[2]
CASES = {path.stem: path for path in (ROOT / "demo_cases").glob("*.json")}
KINDS = ("new", "follow-up", "discharge", "urgent-referral")
TITLES = {
    "new": "Clinic letter: new patient", "follow-up": "Clinic letter: follow-up",
    "discharge": "Clinic letter: discharge", "urgent-referral": "Urgent onward referral", None: "Clinic letter",
}  # fmt: skip
HEADING = "Plan and requested actions"


def _record(case="hot_swollen_digit", letter=None, **changes):
    record = json.loads(CASES[case].read_text("utf-8")) | changes
    if letter:
        record["options"] = record.get("options", {}) | {"letter": letter}
    return record


def _letter(*given, **changes):
    return draft(_record(*given, **changes)).letter


def _title(letter):
    return next(block.text for block in letter.blocks if isinstance(block, Title))


def _headings(letter, level=1):
    return [block.text for block in letter.blocks if isinstance(block, Heading) and block.level == level]


def _texts(letter):
    """Every heading, list entry and paragraph, in order."""
    for block in letter.blocks:
        if isinstance(block, Heading):
            yield block.text
        elif isinstance(block, Paragraph):
            yield " ".join(sentence.text for sentence in block.sentences)
        elif isinstance(block, BulletList):
            yield from (" ".join(sentence.text for sentence in entry) for entry in block.entries)


def _at(letter, words):
    return next(index for index, text in enumerate(_texts(letter)) if words in text)


@pytest.mark.parametrize(
    ("visit", "option", "template"),
    [
        ("new", None, "letters/new.j2"),
        ("follow-up", None, "letters/follow_up.j2"),
        ("discharge", None, "letters/discharge.j2"),
        ("other", None, "letters/clinic.j2"),
        ("new", "urgent-referral", "letters/urgent_referral.j2"),
        ("follow-up", "discharge", "letters/discharge.j2"),
    ],
)
def test_the_kind_is_that_of_the_visit_unless_another_is_chosen(visit, option, template):
    record = _record(letter=option)
    record["visit"]["kind"] = visit
    assert letter_template(as_encounter(record)) == template


def test_a_record_without_a_visit_gives_the_common_letter():
    assert _title(_letter("four_findings_only")) == TITLES[None]


def test_a_clinics_single_template_serves_every_kind(tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "clinic.j2").write_text('# Our letter\n{% include "blocks/examination.j2" %}\n')
    for kind in KINDS:
        assert _title(draft(_record(letter=kind), templates=tmp_path).letter) == "Our letter"
    (tmp_path / "letters" / "discharge.j2").write_text('# Our discharge\n{% include "blocks/examination.j2" %}\n')
    assert _title(draft(_record(letter="discharge"), templates=tmp_path).letter) == "Our discharge"
    assert _title(draft(_record(letter="new"), templates=tmp_path).letter) == "Our letter"


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_says_which_it_is(kind):
    assert _title(_letter(letter=kind)) == TITLES[kind]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("case", sorted(CASES))
def test_no_kind_of_letter_loses_a_finding_or_a_word_of_the_clinician(case, kind):
    plain = draft(_record(case))
    other = draft(_record(case, letter=kind))
    assert sorted(other.sentences()) == sorted(plain.sentences())
    words = [sentence.text for block in other.letter.blocks if isinstance(block, (Paragraph, BulletList))
             for entry in (block.entries if isinstance(block, BulletList) else (block.sentences,))
             for sentence in entry if sentence.origin == "clinician"]  # fmt: skip
    for text in [*(each.text for each in other.encounter.plan), *(each.text for each in other.encounter.impression)]:
        assert sum(text.rstrip(".") in word for word in words) >= 1, text
    assert len(
        [word for word in words for each in other.encounter.plan if word.startswith(each.text.rstrip("."))]
    ) == len(other.encounter.plan)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("case", sorted(CASES))
def test_what_the_receiving_doctor_is_to_do_comes_before_what_others_do(case, kind):
    letter = _letter(case, letter=kind)
    groups = _headings(letter, level=2)
    groups = [group for group in groups if group != "Not examined"]
    if len(groups) > 1:
        assert groups[1:] == [name for name in ("For the clinic", "For the patient") if name in groups]
        assert "For the clinic" not in groups[0]


@pytest.mark.parametrize("kind", KINDS)
def test_actions_stand_before_the_summary_and_the_findings(kind):
    letter = _letter(letter=kind)
    headings = _headings(letter)
    assert headings[0] == HEADING
    assert headings.index(HEADING) < headings.index("Examination findings")


# What is different in each


def test_a_first_letter_gives_the_reason_for_referral_before_the_findings():
    letter = _letter(letter="new")
    headings = _headings(letter)
    assert headings.index("History") < headings.index("Examination findings")
    assert any(text.startswith("Reason for referral: ") for text in _texts(letter))


def test_a_follow_up_says_first_what_has_changed():
    letter = _letter("follow_up_with_earlier_figures")
    headings = _headings(letter)
    assert headings[:2] == [HEADING, "Change since the earlier examination"]
    assert "rose by 32 degrees" in " ".join(_texts(letter)).replace("\u00a0", " ")


def test_a_follow_up_without_earlier_findings_says_that_there_are_none():
    assert "No earlier findings were supplied to compare with." in list(_texts(_letter(letter="follow-up")))


def test_another_letter_with_earlier_findings_tells_the_change_after_the_findings():
    letter = _letter("follow_up_with_earlier_figures", letter="new")
    headings = _headings(letter)
    assert headings.index("Examination findings") < headings.index("Change since the earlier examination")


def test_a_discharge_says_that_follow_up_ends_and_what_is_taken_over():
    record = _record("late_nerve_compression", letter="discharge")
    letter = draft(record).letter
    (asked,) = [each["text"].rstrip(".") for each in record["plan"] if each["actor"] == "recipient"]
    assert _at(letter, "Follow-up in this clinic ends with this visit.") < _at(letter, "to take over")
    assert _at(letter, "to take over") < _at(letter, asked) < _at(letter, "For the clinic")


def test_a_discharge_hands_over_nothing_that_the_plan_does_not_hold():
    letter = _letter("early_nerve_compression", letter="discharge")
    assert "The recorded plan hands nothing over to you." in list(_texts(letter))
    words = " ".join(_texts(letter))
    assert "monitor" not in words
    assert "re-refer" not in words


def test_no_other_letter_says_that_follow_up_ends():
    for kind in ("new", "follow-up", "urgent-referral"):
        assert "Follow-up in this clinic ends" not in " ".join(_texts(_letter(letter=kind)))


def test_an_urgent_referral_puts_the_request_and_the_urgent_cautions_first():
    plan = [{"text": "Please see today for washout of the flexor sheath", "actor": "recipient", "side": "right"}]
    service = {"name": "Dr O. Ferris", "role": "On call", "organization": "Northmoor Hand Surgery Service"}
    letter = _letter(letter="urgent-referral", plan=plan, recipient=service)
    texts = list(_texts(letter))
    cautions = [
        index for index, block in enumerate(letter.blocks) if isinstance(block, Paragraph) and block.role == "caution"
    ]
    first_heading_after = [index for index, block in enumerate(letter.blocks) if isinstance(block, Heading)][2]
    assert "Requested of Northmoor Hand Surgery Service" in texts
    assert _at(letter, "Please see today") < _at(letter, "Caution")
    assert cautions[0] < first_heading_after
    assert any(
        "Northmoor Hand Surgery Service" in line
        for block in letter.blocks
        if hasattr(block, "lines") and block.role == "recipient"
        for line in block.lines
    )


def test_an_urgent_referral_calls_the_urgency_the_clinicians_and_asks_nothing_of_its_own():
    letter = _letter(letter="urgent-referral", plan=[], recipient=None)
    words = " ".join(_texts(letter))
    assert "sent as urgent by decision of the clinician named below" in words
    assert "The requested action was not supplied to this letter." in words
    assert "was not supplied to this letter" in words.partition("Diagnoses")[0]


def test_medicines_and_allergies_of_an_urgent_referral_stand_before_what_others_do():
    headings = _headings(_letter(letter="urgent-referral"))
    assert headings.index("Allergies and adverse reactions") < headings.index("What others do meanwhile")
