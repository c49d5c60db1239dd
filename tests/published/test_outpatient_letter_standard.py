"""The outpatient letter record standard: where each of its elements stands in the letter of every demo case.

Sources: NHS message profile ITK3 Outpatient Letter 2.9.0-live (headings and elements, confirmed); NHS Common User
Interface standards (display of identity and dates, confirmed); RCS England, ISMP and the Joint Commission (safe
writing, confirmed). The table of elements is outpatient_standard.toml.
"""

from __future__ import annotations

import io
import json
import re
import tomllib
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any

import docx
import pypdf
import pytest

from letterkit.catalogue.model import ValueKind
from letterkit.letter.approval import approve, unanswered
from letterkit.letter.model import BulletList, Heading, Letter, Lines, Paragraph, Sentence, Table, Title
from letterkit.pipeline import Draft, draft
from letterkit.prose.words import MONTHS

ROOT = Path(__file__).parents[2]
STANDARD: dict[str, Any] = tomllib.loads((Path(__file__).parent / "outpatient_standard.toml").read_text("utf-8"))
HEADINGS: list[dict[str, Any]] = STANDARD["heading"]
ELEMENTS = [(heading, element) for heading in HEADINGS for element in heading["element"]]
CASES = {path.stem: path for path in sorted((ROOT / "demo_cases").glob("*.json"))}
KINDS = (None, "new", "follow-up", "discharge", "urgent-referral")
NO_BREAK = "\u00a0"

# Sections of a letter that are none of the record standard's, and what each is for.
OWN_HEADINGS = {
    "Change since the earlier examination": "history since last contact, as far as it is findings",
    "Not supplied to this letter": "mandatory elements that the record does not hold",
    "Drawing of the findings": "the findings again, for the eye",
    "What others do meanwhile": "the plan of an urgent referral, apart from what is asked of the reader",
}


@cache
def drafted(case: str, kind: str | None = None) -> Draft:
    record = json.loads(CASES[case].read_text("utf-8"))
    if kind:
        record["options"] = record.get("options", {}) | {"letter": kind}
    return draft(record)


def record_of(case: str) -> dict[str, Any]:
    return json.loads(CASES[case].read_text("utf-8"))


every_case = pytest.mark.parametrize("case", CASES)
every_kind = pytest.mark.parametrize("kind", KINDS)


def _texts(block: object) -> list[str]:
    match block:
        case Paragraph():
            return [" ".join(sentence.text for sentence in block.sentences)]
        case BulletList():
            return [" ".join(sentence.text for sentence in entry) for entry in block.entries]
        case Lines():
            return list(block.lines)
        case Heading() | Title():
            return [block.text]
        case Table():
            return [block.caption, *block.header, *(cell.text for row in block.rows for cell in row)]
        case _:
            return []


def sections(letter: Letter) -> dict[str, list[str]]:
    """The texts of a letter by section; 'head' is what stands before the first."""
    found: dict[str, list[str]] = {"head": []}
    name = "head"
    for block in letter.blocks:
        if isinstance(block, Heading) and block.level == 1:
            name = block.text
            found.setdefault(name, [])
        else:
            found[name] += _texts(block)
    return found


def sentences(letter: Letter) -> list[Sentence]:
    found = []
    for block in letter.blocks:
        if isinstance(block, Paragraph):
            found += block.sentences
        elif isinstance(block, BulletList):
            found += [sentence for entry in block.entries for sentence in entry]
    return found


def _plain(text: str) -> str:
    return " ".join(text.replace(NO_BREAK, " ").split())


# The table itself


def test_the_table_has_every_heading_of_the_profile_once():
    assert len(HEADINGS) == 27
    assert len({heading["name"] for heading in HEADINGS}) == 27
    assert len({heading["code"] for heading in HEADINGS}) == 27
    assert [heading["name"] for heading in HEADINGS if heading["level"] == "M"] == [
        "Patient demographics", "GP practice", "Attendance details", "Clinical summary",
        "Allergies and adverse reactions", "Person completing record",
    ]  # fmt: skip


def _sums_to_a_multiple_of_ten(code: str) -> bool:
    """Verhoeff's check digit, which every SNOMED CT identifier ends in (SNOMED CT release file specification, from memory)."""
    multiply = [[0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [1, 2, 3, 4, 0, 6, 7, 8, 9, 5], [2, 3, 4, 0, 1, 7, 8, 9, 5, 6],
                [3, 4, 0, 1, 2, 8, 9, 5, 6, 7], [4, 0, 1, 2, 3, 9, 5, 6, 7, 8], [5, 9, 8, 7, 6, 0, 4, 3, 2, 1],
                [6, 5, 9, 8, 7, 1, 0, 4, 3, 2], [7, 6, 5, 9, 8, 2, 1, 0, 4, 3], [8, 7, 6, 5, 9, 3, 2, 1, 0, 4],
                [9, 8, 7, 6, 5, 4, 3, 2, 1, 0]]  # fmt: skip
    permute = [[0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [1, 5, 7, 6, 2, 8, 3, 0, 9, 4]]
    for _ in range(6):
        permute.append([permute[1][digit] for digit in permute[-1]])
    check = 0
    for index, digit in enumerate(reversed(code)):
        check = multiply[check][permute[index % 8][int(digit)]]
    return check == 0


@pytest.mark.parametrize("heading", HEADINGS, ids=lambda heading: heading["name"])
def test_an_entry_of_the_table_is_complete(heading):
    assert heading["level"] in {"M", "R", "O"}
    assert heading["mark"] in {"confirmed", "from memory", "common practice, no source"}
    assert re.fullmatch(r"[01]\.\.1", heading["card"])
    assert (heading["level"] == "M") == (heading["card"] == "1..1")
    assert _sums_to_a_multiple_of_ten(heading["code"])
    for element in heading["element"]:
        assert element["level"] in {"M", "R", "O"}
        assert ("field" in element) != ("absent" in element), element["name"]
        if (
            element["level"] == "M"
            and heading["level"] == "M"
            and "field" in element
            and element["field"] != "patient.name"
        ):
            assert "missing" in element, element["name"]


# Each element in each letter


def _held(record: Any, path: str) -> list[Any]:
    """What a record holds at a dotted path; every entry of a list where the path says so."""
    name, _, rest = path.partition(".")
    many = name.endswith("[]")
    value = record.get(name.removesuffix("[]")) if isinstance(record, dict) else None
    values = value if many and isinstance(value, list) else [value]
    found = [each for each in values if each is not None and each not in ([], {})]
    return [each for one in found for each in _held(one, rest)] if rest else found


def _short(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day.day:02d}-{MONTHS[day.month - 1][:3]}-{day.year}"


def _displayed(value: Any, form: str) -> list[str]:
    """What a letter must hold for a value: forms of the Common User Interface standards, worked out here anew."""
    match form:
        case "text":
            return [str(value).rstrip(".")]
        case "date":
            return [_short(value)]
        case "gender":
            return [{"male": "Male", "female": "Female", "other": "Not specified", "unknown": "Not Known"}[value]]
        case "nhs":
            digits = value["value"].replace(" ", "")
            if "nhs-number" not in value.get("system", ""):
                return [value["value"]]
            return [f"NHS{NO_BREAK}No. {digits[:3]}{NO_BREAK}{digits[3:6]}{NO_BREAK}{digits[6:]}"]
        case "banner":
            if "family" not in value:
                return [value["text"]]
            name = f"{value['family'].upper()}, {' '.join(value['given'])}"
            return [f"{name} ({' '.join(value['prefix'])})" if value.get("prefix") else name]
        case "address":
            return [", ".join([*value["line"], value["city"], value["postalCode"].upper()])]
        case "person":
            return [value["name"], *([value["organization"]] if value.get("organization") else [])]
        case "allergies":
            return ["No known allergies"] if value == "none known" else [each["agent"] for each in value]
    raise AssertionError(form)


def _part(letter: Letter, where: str) -> list[str]:
    found = sections(letter)
    if where == "plan":
        return [*found["Plan and requested actions"], *found.get("What others do meanwhile", [])]
    return found.get(where, [])


def _absence_told(element: dict[str, Any], letter: Letter) -> bool:
    found = sections(letter)
    told = " ".join(found.get("Not supplied to this letter", [])).casefold()
    return element["missing"].casefold() in told or element["missing"] in " ".join(_part(letter, "plan"))


@every_kind
@every_case
@pytest.mark.parametrize(
    ("heading", "element"), [pytest.param(*each, id=each[1]["name"]) for each in ELEMENTS if "field" in each[1]]
)
def test_an_element_stands_where_the_table_says_or_is_said_to_be_missing(case, kind, heading, element):
    letter = drafted(case, kind).letter
    held = _held(record_of(case), element["field"])
    part = _part(letter, element["where"])
    together = "\n".join(part).casefold()
    for value in held:
        for words in _displayed(value, element["as"]):
            assert words.casefold() in together, (heading["name"], element["name"])
            if lead := element.get("lead"):
                assert any(lead in line.replace(NO_BREAK, " ") for line in part), lead
    if (
        not held
        and "missing" in element
        and not (element.get("missing_field") and _held(record_of(case), element["missing_field"]))
    ):
        assert _absence_told(element, letter), element["name"]


@every_kind
@every_case
@pytest.mark.parametrize(
    "element",
    [
        pytest.param(each[1], id=each[1]["name"])
        for each in ELEMENTS
        if "missing_field" in each[1] and "absent" in each[1]
    ],
)
def test_an_element_that_travels_as_data_is_missed_aloud(case, kind, element):
    if not _held(record_of(case), element["missing_field"]):
        assert _absence_told(element, drafted(case, kind).letter)


@every_kind
@every_case
def test_sections_are_called_as_in_the_standard(case, kind):
    names = {heading["name"] for heading in HEADINGS}
    printed = [name for name in sections(drafted(case, kind).letter) if name != "head"]
    assert set(printed) <= names | set(OWN_HEADINGS)


@every_kind
@every_case
def test_no_section_is_empty(case, kind):
    assert [name for name, texts in sections(drafted(case, kind).letter).items() if not texts] == []


def test_the_missing_element_of_a_letter_would_be_noticed():
    """A planted fault: a letter without its head holds no address."""
    letter = drafted("thumb_base").letter
    cut = Letter(letter.properties, letter.blocks[6:], letter.continuation, letter.draft_mark)
    (element,) = [each for _, each in ELEMENTS if each["name"] == "date of contact"]
    assert _displayed(record_of("thumb_base")["visit"]["date"], element["as"])[0] not in " ".join(sections(cut)["head"])


# Two lists, all recipients, two dates


@every_kind
@every_case
def test_actions_of_professionals_and_of_the_patient_are_two_lists(case, kind):
    """Actions for professionals and for the patient or carer are separate lists (profile, confirmed)."""
    letter = drafted(case, kind).letter
    lists: dict[str, list[str]] = {}
    group = ""
    for block in letter.blocks:
        if isinstance(block, Heading):
            group = block.text
        elif isinstance(block, BulletList):
            lists.setdefault(group, []).extend(_texts(block))
    for action in record_of(case).get("plan", []):
        holding = [
            name for name, entries in lists.items() if any(action["text"].rstrip(".") in entry for entry in entries)
        ]
        assert len(holding) == 1, action
        expected = {"clinic": "For the clinic", "patient": "For the patient"}.get(action.get("actor", "clinic"))
        assert holding[0] == expected if expected else holding[0] not in {"For the clinic", "For the patient"}


@every_kind
@every_case
def test_every_recipient_sees_every_other(case, kind):
    record = record_of(case)
    told = " ".join(sections(drafted(case, kind).letter).get("Distribution list", []))
    people = [each for each in (record.get("recipient"), *record.get("copies", []), record.get("gpPractice")) if each]
    for person in people:
        assert person["name"] in told
    assert len({person["name"] for person in people}) == len(
        [name for name in {p["name"] for p in people} if name in told]
    )


AT = datetime(2027, 3, 5, 16, 7, tzinfo=UTC)


@every_kind
@every_case
def test_contact_and_completion_are_two_dates_each_with_its_label(case, kind):
    made = drafted(case, kind)
    assert unanswered(made) == ()
    head = _plain(" ".join(sections(made.letter)["head"]))
    record = record_of(case)
    contact = _short(record["visit"]["date"]) if "visit" in record else "Not recorded"
    assert f"Clinic date {contact}" in head
    assert f"Drafted {_short(record['drafted'])}" in head
    final = approve(made, by="Miss R. Calder", at=AT).letter
    told = _plain(" ".join(sections(final)["Person completing record"]))
    assert re.search(r"Checked and approved by Miss R\. Calder.* on 05-Mar-2027 at 16:07\.", told)
    assert f"Clinic date {contact}" in _plain(" ".join(sections(final)["head"]))


@every_kind
@every_case
def test_a_draft_is_called_one_in_the_body_on_every_page_and_in_the_properties(case, kind):
    made = drafted(case, kind)
    document = docx.Document(io.BytesIO(made.render("docx")))
    assert document.core_properties.content_status == "Draft"
    for header in (document.sections[0].first_page_header, document.sections[0].header):
        assert any("DRAFT" in paragraph.text for paragraph in header.paragraphs)
    assert any("This draft words the findings" in paragraph.text for paragraph in document.paragraphs)


@every_kind
@every_case
def test_the_readers_own_actions_begin_in_the_first_third_of_the_page(case, kind):
    """Readers spend a median of 30 seconds and read the first paragraph (Melville 2002, confirmed). Cautions come before
    where a finding is urgent."""
    made = drafted(case, kind)
    page = pypdf.PdfReader(io.BytesIO(made.render("pdf"))).pages[0]
    found: list[float] = []

    def visit(text: str, page_matrix: Any, text_matrix: Any, *_: Any) -> None:
        if text.strip().startswith("Plan and requested actions"):
            found.append(text_matrix[5] * page_matrix[3] + page_matrix[5])

    page.extract_text(visitor_text=visit)
    height = float(page.mediabox.height)
    urgent = any(chosen.caution.urgent for chosen in made.summary.cautions) and kind != "urgent-referral"
    assert len(found) == 1
    assert 1 - found[0] / height <= (0.42 if urgent else 1 / 3)


# Laterality


SIDE = re.compile(r"\b(right|left|both|either)\b")


@every_kind
@every_case
def test_every_sentence_about_a_side_names_it(case, kind):
    """8.7 % of clinic letters name no side (audit of 803 letters, confirmed); here none."""
    made = drafted(case, kind)
    by_id = {fact.id: fact for fact in made.facts.facts}
    about = [
        sentence
        for sentence in sentences(made.letter)
        if any(by_id[each].side for each in sentence.facts if each in by_id)
    ]
    if made.facts.facts:
        assert about
    for sentence in about:
        sides = {by_id[each].side for each in sentence.facts if each in by_id} - {None}
        words = set(SIDE.findall(sentence.text.casefold()))
        assert words, sentence.text
        assert ({"right", "left"} if words & {"both", "either"} else words) == sides, sentence.text


@every_kind
@every_case
def test_a_caution_about_a_side_names_it(case, kind):
    made = drafted(case, kind)
    by_id = {fact.id: fact for fact in made.facts.facts}
    told = [s.text for s in sentences(made.letter) if s.origin == "caution" and s.text.startswith("Caution")]
    sided = [c for c in made.summary.cautions if any(by_id[each].side for each in c.facts)]
    assert bool(told) == bool(made.summary.cautions)
    if sided and len(sided) == len(made.summary.cautions):
        assert all(SIDE.search(text) for text in told)


# Displaying identity (NHS Common User Interface standards)


@every_case
def test_identity_is_displayed_as_the_standards_say(case):
    line = next(
        block for block in drafted(case).letter.blocks if isinstance(block, Paragraph) and block.role == "subject"
    )
    text = line.sentences[0].text
    labels = [text.index(label) for label in ("Born", "Gender", "NHS")]
    assert labels == sorted(labels)  # PAB-0016: name, date of birth, gender, NHS number
    assert ":" not in text  # PAB-0033: no colon after a label
    assert "?" not in text  # PAB-0019: unknown is told in words
    if "family" in record_of(case)["patient"]["name"]:
        assert re.match(r"[^a-z,]+, \S", text)  # NID-0001: family name in capitals, a comma, the given name
    for number in re.findall(rf"NHS{NO_BREAK}No\. ([\d{NO_BREAK}]+)", text):
        digits = number.replace(NO_BREAK, "")
        assert re.fullmatch(rf"\d{{3}}{NO_BREAK}\d{{3}}{NO_BREAK}\d{{4}}", number)  # NUM-0001: 3-3-4
        total = sum(int(digit) * weight for digit, weight in zip(digits, range(10, 1, -1), strict=False))
        assert (11 - total % 11) % 11 == int(digits[9])  # NHS Data Dictionary, modulus 11 (confirmed)


@every_kind
@every_case
def test_dates_have_the_form_of_their_place(case, kind):
    """Identity and table: DD-Mmm-YYYY; prose: 6 August 2018 (D+Ta-0002 to 0018, confirmed)."""
    letter = drafted(case, kind).letter
    months = "|".join(MONTHS)
    own = [sentence.text for sentence in sentences(letter) if sentence.origin != "clinician"]
    for text in [
        *own,
        *(line for block in letter.blocks if isinstance(block, (Lines, Table)) for line in _texts(block)),
    ]:
        assert not re.search(r"\b\d{1,2}/\d{1,2}/\d{2,4}\b|\b\d{4}-\d\d-\d\d\b", text), text
        assert not re.search(rf"\b\d{{1,2}}(st|nd|rd|th) ({months})", text), text
        for found in re.findall(r"\b\d{1,2}-\w{3}-\d{4}\b", text):
            assert re.fullmatch(r"\d\d-(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)-\d{4}", found)
    prose = " ".join(sentence.text for sentence in sentences(letter) if sentence.origin in {"finding", "change"})
    assert not re.search(r"\d-[A-Z][a-z]{2}-\d", prose)


def test_what_is_unknown_is_told_in_words():
    letter = draft({"patient": {"name": {"family": "Marlow"}}, "examination": {}, "drafted": "2026-03-05"}).letter
    assert "Born Not Known" in _plain(letter.continuation)
    assert "NHS No. Not Known" in _plain(letter.continuation)
    assert "Gender Not Known" in _plain(letter.continuation)
    assert "Clinic date Not recorded" in _plain(" ".join(sections(letter)["head"]))


# Safe writing


UNSAFE = {
    "a side that is abbreviated": r"(?<![\w'])(L|R|Lt|Rt|LH|RH)(?![\w'.])|\((L|R)\)",
    "a digit by number": r"\b(digit|finger) [1-5]\b|\b[DF][1-5]\b|\b(IF|MF|RF|LF)\b",
    "a trailing zero": r"\d\.0\b",
    "a bare point": r"(?<![\d.])\.\d",
    "a sign for a word": r"[<>@&µμ±°]|\+\+|(?<=\d)\+",
    "a full stop after a unit": r"\d\s?(mm|cm|kg|ml|mL|mg)\.(?=\s[a-z])",
    "an unsafe abbreviation": r"\b(OD|OS|OU|QD|QOD|D/C|TIW|cc|IU|NAD|ROM|CTS|FDP|FDS|DIPJ|PIPJ|MCPJ)\b",
    "a ditto": r"\b(ditto|as above|see last letter)\b",
}


def own_texts(made: Draft) -> list[str]:
    """All words that are not the clinician's own: a clinician's are queried and never changed."""
    notes = [fact.note for fact in made.facts.facts if fact.note]
    found = [s.text for s in sentences(made.letter) if s.origin != "clinician"]
    found += [cell for block in made.letter.blocks if isinstance(block, Table) for cell in _texts(block)]
    for note in notes:
        found = [text.replace(note, "") for text in found]
    return found


@pytest.mark.parametrize("what", UNSAFE)
@every_kind
@every_case
def test_nothing_is_written_that_is_misread(case, kind, what):
    for text in own_texts(drafted(case, kind)):
        assert not re.search(UNSAFE[what], text), text


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("a side that is abbreviated", "Grip was weak in the R hand."), ("a digit by number", "Triggering of D4."),
        ("a trailing zero", "Grip was 14.0 kg."), ("a bare point", "The gap was .5 cm."),
        ("a sign for a word", "Grip was <5 kg."), ("a full stop after a unit", "A lump of 5 mm. over the wrist"),
        ("an unsafe abbreviation", "CTS on the right."), ("a ditto", "Ditto on the left, as above."),
    ],
)  # fmt: skip
def test_each_check_of_writing_can_fail(what, text):
    assert re.search(UNSAFE[what], text)


@every_kind
@every_case
def test_a_negative_says_no_before_what_it_denies(case, kind):
    """List readers skim the first word (NHS Common User Interface, clinical statements, confirmed)."""
    made = drafted(case, kind)
    by_id = {fact.id: fact for fact in made.facts.facts}
    from letterkit.catalogue import catalogue  # noqa: PLC0415

    items = catalogue().items
    for sentence in sentences(made.letter):
        facts = [by_id[each] for each in sentence.facts if each in by_id]
        if (
            sentence.origin != "finding"
            or not facts
            or any(items[f.item].value is not ValueKind.PRESENCE or f.state != "absent" for f in facts)
        ):
            continue
        text = sentence.text.casefold()
        for fact in facts:
            wording = items[fact.item].doctor
            places = [text.find(word.casefold()) for word in (wording.noun, wording.plural, items[fact.item].name)
                      if word and word.casefold() in text]  # fmt: skip
            no = re.search(r"\b(no|not|neither|without|nor)\b", text)
            assert no is not None, sentence.text
            assert not places or no.start() < max(places), sentence.text
