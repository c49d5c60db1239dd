"""The letter as a document Bundle: what FHIR asks of a document, every word of the letter, and every finding behind it."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import docx
import pytest
from click.testing import CliRunner
from fhir.resources.R4B.bundle import Bundle
from lxml import etree

from letterkit import draft
from letterkit.catalogue import catalogue
from letterkit.catalogue.codes import codes
from letterkit.cli.main import cli
from letterkit.errors import InvalidInput, InvalidValue
from letterkit.findings.facts import expand
from letterkit.findings.fhir import read_bundle
from letterkit.letter.approval import approve, content_digest
from letterkit.letter.model import BulletList, Heading, Lines, Paragraph, Picture, Sentence, Table, Title
from letterkit.render.fhir import Attachment, bundle, document

DAY = date(2026, 11, 25)
AT = datetime(2026, 11, 26, 9, 30, tzinfo=UTC)
XHTML = "{http://www.w3.org/1999/xhtml}"
CASE = Path(__file__).resolve().parents[2] / "demo_cases" / "follow_up_with_earlier_figures.json"
# Narrative may use these and no others of HTML (FHIR R4, narrative; from memory).
ALLOWED = {
    "div",
    "p",
    "h1",
    "h2",
    "h3",
    "h4",
    "ul",
    "ol",
    "li",
    "br",
    "table",
    "caption",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
}
# The closed lists of the codes a document carries, which the models do not check.
ENUMS = {
    ("Bundle", "type"): {"document"},
    ("Composition", "status"): {"preliminary", "final", "amended", "entered-in-error"},
    ("DocumentReference", "status"): {"current", "superseded", "entered-in-error"},
    ("DocumentReference", "docStatus"): {"preliminary", "final", "amended", "entered-in-error"},
    ("Observation", "status"): {"preliminary", "final"},
    ("Encounter", "status"): {"finished"},
    ("ServiceRequest", "status"): {"active", "completed"},
    ("ServiceRequest", "intent"): {"order"},
    ("CommunicationRequest", "status"): {"active", "completed"},
    ("QuestionnaireResponse", "status"): {"completed"},
    ("Patient", "gender"): {"male", "female", "other", "unknown"},
}
URIS = re.compile(r"^(urn:|https?://)")


@pytest.fixture
def drafted(demo_case):
    return draft(demo_case.read_bytes(), drafted=DAY)


def ready():
    """A draft whose record has nothing that stands in the way of approval."""
    return draft(CASE.read_bytes(), drafted=DAY)


def resources(made):
    return [entry["resource"] for entry in made["entry"]]


def of(made, kind):
    return [each for each in resources(made) if each["resourceType"] == kind]


def composition(made):
    first = resources(made)[0]
    assert first["resourceType"] == "Composition"
    return first


def references(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "reference":
                yield inner
            else:
                yield from references(inner)
    elif isinstance(value, list):
        for each in value:
            yield from references(each)


def narrative_words(made):
    words = []
    for section in composition(made)["section"]:
        words += section["title"].split()
        for element in etree.fromstring(section["text"]["div"]).iter():
            words += (element.text or "").split()
            words += (element.tail or "").split()
    return words


def letter_words(letter):
    texts = []
    for block in letter.blocks:
        match block:
            case Title():
                continue
            case Heading():
                texts.append(block.text)
            case Paragraph():
                texts += [sentence.text for sentence in block.sentences]
            case Lines():
                texts += block.lines
            case BulletList():
                texts += [sentence.text for entry in block.entries for sentence in entry]
            case Table():
                texts += [
                    block.description,
                    block.caption,
                    *block.header,
                    *(cell.text for row in block.rows for cell in row),
                ]
            case Picture():
                texts.append(block.alt)
    return [word for text in texts for word in text.split()]


def test_document_is_valid_and_well_formed(drafted):
    made = bundle(drafted)
    urls = [entry["fullUrl"] for entry in made["entry"]]
    head = composition(made)

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert len(urls) == len(set(urls))
    assert set(references(made)) <= set(urls)
    assert set(urls[1:]) <= {*references(made)}  # nothing in it that nothing refers to
    assert {"system", "value"} <= set(made["identifier"])
    assert made["timestamp"][:10] >= head["date"][:10]
    assert not {"total", "link"} & set(made)
    assert not [entry for entry in made["entry"] if {"search", "request", "response"} & set(entry)]
    assert head["author"]
    assert head["subject"]["reference"] in urls


def test_codes_are_of_their_closed_lists(drafted):
    made = bundle(drafted, attachments=[Attachment(b"x", "application/pdf")])
    for resource in [made, *resources(made)]:
        for (kind, field), allowed in ENUMS.items():
            if resource["resourceType"] == kind and field in resource:
                assert resource[field] in allowed
    systems = re.findall(r'"system": "([^"]*)"', json.dumps(made))
    assert not [system for system in systems if system not in {"phone", "email"} and not URIS.match(system)]


def test_every_word_of_the_letter_stands_in_its_sections_in_order(drafted):
    told = [section["title"] for section in composition(bundle(drafted))["section"]]
    added = {"Attendance details", "Patient demographics", "Recipient", "Caution", "Note"}
    words = narrative_words(bundle(drafted))
    for title in [each for each in told if each in added]:  # headings that the letter's opening has not
        at = next(i for i in range(len(words)) if words[i : i + len(title.split())] == title.split())
        del words[at : at + len(title.split())]

    assert words == letter_words(drafted.letter)


def test_narratives_hold_only_what_a_narrative_may(drafted):
    made = bundle(drafted)
    for text in [composition(made)["text"], *(section["text"] for section in composition(made)["section"])]:
        div = etree.fromstring(text["div"])
        assert text["status"] == "generated"
        assert {element.tag.removeprefix(XHTML) for element in div.iter()} <= ALLOWED
        assert {name.rsplit("}", 1)[-1] for element in div.iter() for name in element.attrib} <= {"lang"}
        assert "".join(div.itertext()).strip()


def facts_stated(made, section):
    by_url = {entry["fullUrl"]: entry["resource"] for entry in made["entry"]}
    found = [by_url[each["reference"]] for each in section.get("entry", [])]
    return [each for each in found if each["resourceType"] == "Observation"]


def test_every_finding_stands_behind_a_section(drafted):
    """Reading the Observations that the sections refer to gives the facts of the record, no more and no fewer."""
    made = bundle(drafted)
    stated = [each["id"] for section in composition(made)["section"] for each in facts_stated(made, section)]
    patient = next(entry for entry in made["entry"] if entry["resource"]["resourceType"] == "Patient")
    keep = [entry for entry in made["entry"] if entry["resource"].get("id") in stated]
    visit = [entry for entry in made["entry"] if entry["resource"]["resourceType"] == "Encounter"]
    read = read_bundle({"resourceType": "Bundle", "type": "collection", "entry": [patient, *visit, *keep]})

    def places(facts):
        return sorted((f.item, f.side or "", f.site or "", f.state, repr(f.value)) for f in facts)

    found = expand(read.encounter, catalogue())
    assert places(found.facts) == places(drafted.facts.facts)
    assert found.earlier == drafted.facts.earlier


def test_sections_have_the_codes_of_the_standard(drafted):
    for section in composition(bundle(drafted))["section"]:
        expected = codes().section(section["title"])
        assert [each["code"] for each in section.get("code", {"coding": []})["coding"]] == (
            [expected] if expected else []
        )
    assert codes().section("Examination findings") == "715851000000102"


def test_a_draft_says_that_it_is_one():
    made = bundle(ready())
    head = composition(made)

    assert head["status"] == "preliminary"
    assert {each["status"] for each in of(made, "Observation") if "encounter" in each} == {"preliminary"}
    assert "DRAFT" in head["title"]
    assert "DRAFT" in head["text"]["div"]
    assert "attester" not in head


def test_an_approved_letter_is_final_and_says_who_approved_it():
    drafted = ready()
    final = approve(drafted, by=drafted.encounter.author.name, at=AT)
    made = bundle(drafted, approved=final)
    head = composition(made)
    party = next(e["resource"] for e in made["entry"] if e["fullUrl"] == head["attester"][0]["party"]["reference"])

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert head["status"] == "final"
    assert head["identifier"]["value"] == final.digest
    assert head["attester"] == [{"mode": "legal", "time": "2026-11-26T09:30:00+00:00", "party": head["author"][0]}]
    assert party["resourceType"] in {"Practitioner", "PractitionerRole"}
    assert "DRAFT" not in json.dumps(made)
    assert {each["status"] for each in of(made, "Observation")} == {"final"}


def test_an_approver_who_is_not_the_author_is_somebody_of_their_own():
    drafted = ready()
    made = bundle(
        drafted, approved=approve(drafted, by="Miss R. Calder", role="Consultant", identifier="0000001", at=AT)
    )
    head = composition(made)
    role = next(e["resource"] for e in made["entry"] if e["fullUrl"] == head["attester"][0]["party"]["reference"])

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert role["code"] == [{"text": "Consultant"}]
    assert head["attester"][0]["party"] != head["author"][0]


@pytest.mark.parametrize(
    ("replaces", "system"), [("a" * 64, "urn:letterkit:content-digest"), ("HHC-1", "urn:letterkit:letter")]
)
def test_a_correction_names_what_it_replaces(replaces, system):
    drafted = ready()
    made = bundle(
        drafted,
        approved=approve(drafted, by="Miss R. Calder", at=AT, replaces=replaces),
        attachments=[Attachment(b"x", "application/pdf")],
    )
    target = {"system": system, "value": replaces}

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert composition(made)["status"] == "amended"
    assert composition(made)["relatesTo"] == [{"code": "replaces", "targetIdentifier": target}]
    assert of(made, "DocumentReference")[0]["docStatus"] == "amended"
    assert of(made, "DocumentReference")[0]["relatesTo"] == [{"code": "replaces", "target": {"identifier": target}}]


def test_only_an_approved_letter_is_withdrawn():
    drafted = ready()
    made = bundle(
        drafted,
        approved=approve(drafted, by="Miss R. Calder", at=AT),
        withdrawn=True,
        attachments=[Attachment(b"x", "application/pdf")],
    )

    assert composition(made)["status"] == "entered-in-error"
    assert (of(made, "DocumentReference")[0]["status"], of(made, "DocumentReference")[0]["docStatus"]) == (
        "entered-in-error",
        "entered-in-error",
    )
    with pytest.raises(InvalidInput, match="only an approved letter"):
        bundle(drafted, withdrawn=True)


@pytest.mark.parametrize(
    ("state", "composition_status", "document", "completion"),
    [
        ("draft", "preliminary", "preliminary", "PA"),
        ("approved", "final", "final", "AU"),
        ("corrected", "amended", "amended", "AU"),
        ("withdrawn", "entered-in-error", "entered-in-error", "AU"),
    ],
)
def test_states_are_mapped(state, composition_status, document, completion):
    known = codes().status(state)

    assert (known.composition, known.document, known.completion) == (composition_status, document, completion)


def test_the_file_travels_inside():
    made = json.loads(ready().render("fhir"))
    found = of(made, "DocumentReference")[0]["content"][0]["attachment"]
    binary = next(e["resource"] for e in made["entry"] if e["fullUrl"] == found["url"])
    content = base64.b64decode(binary["data"])

    Bundle.model_validate(made)
    assert found["size"] == len(content)
    assert base64.b64decode(found["hash"]) == hashlib.sha1(content).digest()
    assert found["contentType"] == binary["contentType"]
    assert docx.Document(io.BytesIO(content)).core_properties.content_status == "Draft"
    assert "Thistlewood" not in found["title"]


def test_the_same_letter_gives_the_same_bytes_and_another_version_another_id():
    drafted = ready()
    final = approve(drafted, by="Miss R. Calder", at=AT)

    assert document(drafted) == document(draft(CASE.read_bytes(), drafted=DAY))
    ids = [
        (bundle(drafted, approved=each)["identifier"]["value"], composition(bundle(drafted, approved=each))["id"])
        for each in (None, final)
    ]
    assert not set(ids[0]) & set(ids[1])
    patients = {of(bundle(drafted, approved=each), "Patient")[0]["id"] for each in (None, final)}
    assert len(patients) == 1


def test_the_patients_copy_is_the_letter_of_its_bundle():
    drafted = ready()
    copy = drafted.patient_copy()
    made = bundle(drafted, letter=copy)

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert composition(made)["identifier"]["value"] == content_digest(copy)


def test_markup_in_a_record_stays_words():
    drafted = ready()
    words = Paragraph((Sentence('<script src="https://harrowmere.example/x.js">&</script>', origin="clinician"),))
    letter = replace(drafted.letter, blocks=(*drafted.letter.blocks, words))
    made = bundle(drafted, letter=letter)
    last = composition(made)["section"][-1]["text"]["div"]

    assert {element.tag.removeprefix(XHTML) for element in etree.fromstring(last).iter()} <= ALLOWED
    assert "&lt;script" in last


def test_a_letter_of_another_record_is_refused():
    drafted = ready()
    alien = replace(
        drafted.letter, blocks=(Heading(1, "History"), Paragraph((Sentence("Swollen.", ("f99",), "finding"),)))
    )

    with pytest.raises(InvalidValue, match="f99"):
        bundle(SimpleNamespace(encounter=drafted.encounter, facts=drafted.facts, letter=alien))


def test_without_author_and_visit_it_is_still_a_document():
    drafted = draft({"patient": {"name": {"family": "Testwell"}}, "examination": {"findings": []}}, drafted=DAY)
    made = bundle(drafted)

    Bundle.model_validate(json.loads(json.dumps(made)))
    assert composition(made)["author"] == [{"display": "Author not supplied"}]


# --- the commands ---


def run(*arguments, **more):
    return CliRunner().invoke(cli, [str(each) for each in arguments], **more)


def test_draft_writes_fhir_beside_its_input_and_never_over_it(tmp_path):
    case = tmp_path / "case.json"
    case.write_bytes(CASE.read_bytes())
    done = run("draft", case, "--format", "fhir", "--out", tmp_path, "--for", "both")

    assert done.exit_code == 0, done.output
    assert case.read_bytes() == CASE.read_bytes()
    for name in ("case.fhir.json", "case-patient.fhir.json"):
        Bundle.model_validate(json.loads((tmp_path / name).read_bytes()))


def test_approve_writes_a_final_document(tmp_path):
    done = run(
        "approve",
        CASE,
        "--by",
        "Miss R. Calder",
        "--format",
        "fhir",
        "--out",
        tmp_path,
        "--date",
        "2026-11-25",
        "--at",
        "2026-11-26T09:30:00+00:00",
    )
    made = json.loads(next(tmp_path.glob("*.fhir.json")).read_bytes())

    assert done.exit_code == 0, done.output
    assert composition(made)["status"] == "final"


def case_bundle():
    patient = {"resourceType": "Patient", "id": "p", "name": [{"text": "Avery Testwell"}]}
    test = {
        "resourceType": "Observation", "id": "o", "status": "final", "subject": {"reference": "Patient/p"}, "issued": "2026-03-04T00:00:00Z",
        "code": {"coding": [{"system": "urn:letterkit:item", "code": "phalen_test"}]}, "bodySite": {"text": "left"}, "valueBoolean": True,
        "derivedFrom": [{"reference": "Observation/x"}],
    }  # fmt: skip
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": patient}, {"resource": test}]}


@pytest.mark.parametrize("command", [("draft", "--format", "text"), ("check",), ("draft", "--explain")])
def test_commands_take_a_bundle_and_tell_what_it_holds_beyond_a_letter(command, tmp_path):
    case = tmp_path / "visit.json"
    case.write_text(json.dumps(case_bundle()))
    done = run(command[0], case, *command[1:])

    assert done.exit_code in {0, 1}
    assert "Observation/o.derivedFrom: not held" in done.stderr
    assert "derivedFrom" not in done.stdout
    assert command[0] == "check" or "phalen" in done.stdout.casefold()


def test_a_bundle_without_side_is_refused_by_the_resource_name(tmp_path):
    given = case_bundle()
    del given["entry"][1]["resource"]["bodySite"]
    case = tmp_path / "visit.json"
    case.write_text(json.dumps(given))
    done = run("draft", case, "--format", "text")

    assert done.exit_code == 2
    assert "Observation/o.bodySite: no side" in done.stderr
    assert done.stdout == ""


def test_sections_follow_the_letter(drafted):
    titles = [section["title"] for section in composition(bundle(drafted))["section"]]
    headings = [block.text for block in drafted.letter.blocks if isinstance(block, Heading) and block.level == 1]
    order = [titles.index(each) for each in headings if each in titles]

    assert all(one < other for one, other in pairwise(order))
    assert set(headings) <= set(titles)
