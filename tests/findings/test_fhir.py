"""What a Bundle may say, what is refused by name, and what is reported."""

from __future__ import annotations

import copy
import json
import time

import pytest
from fhir.resources.R4B.bundle import Bundle

from letterkit import check, draft
from letterkit.catalogue import catalogue
from letterkit.catalogue.codes import codes
from letterkit.errors import InvalidInput
from letterkit.findings.facts import expand
from letterkit.findings.fhir import read_bundle
from letterkit.findings.fhir_codes import LATERALITY_URL, Profile
from letterkit.pipeline import as_encounter, receive

SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
ITEM = "urn:letterkit:item"
SITE = "urn:letterkit:site"
PART = "urn:letterkit:part"
INTERPRETATION = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
LEFT, RIGHT, BOTH = "7771000", "24028007", "51440002"
PRESENT, ABSENT_CODE, POSITIVE, NEGATIVE = "52101004", "2667000", "10828004", "260385009"

PATIENT = {
    "resourceType": "Patient",
    "id": "p1",
    "name": [{"use": "official", "family": "Ashdown", "given": ["Marjorie"]}],
    "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "9990000018"}],
}
ENCOUNTER = {
    "resourceType": "Encounter",
    "id": "e1",
    "status": "finished",
    "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "AMB"},
    "subject": {"reference": "Patient/p1"},
    "period": {"start": "2026-03-04"},
}


def concept(*codings, text=None):
    found = {"coding": [{"system": system, "code": code} for system, code in codings]} if codings else {}
    return {**found, **({"text": text} if text else {})}


def quantity(value, code, system=UCUM, **more):
    return {"value": value, "unit": code, "system": system, "code": code, **more}


def observation(item, identity="o1", **fields):
    base = {
        "resourceType": "Observation",
        "id": identity,
        "status": "final",
        "code": concept((ITEM, item)) if isinstance(item, str) else item,
        "subject": {"reference": "Patient/p1"},
        "encounter": {"reference": "Encounter/e1"},
    }
    made = {**base, **fields}
    return {key: value for key, value in made.items() if value is not None}


def bundle(*resources, patient=PATIENT, encounter=ENCOUNTER, **head):
    entries = [each for each in (patient, encounter, *resources) if each is not None]
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": each} for each in entries], **head}


def facts_of(*resources, profile=None, **parts):
    read = read_bundle(bundle(*resources, **parts), profile)
    return [(f.item, f.side, f.site, f.state) for f in expand(read.encounter, catalogue()).facts]


def extension(value, url=LATERALITY_URL):
    return {"extension": [{"url": url, "valueCodeableConcept": value}]}


TINEL = {"valueCodeableConcept": concept((SNOMED, POSITIVE))}
STRUCTURE = {
    "resourceType": "BodyStructure",
    "id": "bs",
    "patient": {"reference": "Patient/p1"},
    "location": concept((SITE, "index")),
    "locationQualifier": [concept((SNOMED, LEFT))],
}
BODY_SITE_URL = "http://hl7.org/fhir/StructureDefinition/bodySite"
TO_STRUCTURE = {"extension": [{"url": BODY_SITE_URL, "valueReference": {"reference": "BodyStructure/bs"}}]}
SITE_PROFILE = Profile(
    laterality_urls=frozenset({"https://harrowmere.example/side"}),
    items={("https://harrowmere.example/tests", "T1"): "phalen_test"},
    sites={(SNOMED, "123456789"): ("index", None), (SNOMED, "987654321"): ("index", "left")},
)

SIDES = {
    "a lateralised code of ours": {"bodySite": concept((SITE, "left_index"))},
    "a lateralised code of the profile": {"bodySite": concept((SNOMED, "987654321"))},
    "a second coding": {"bodySite": concept((SITE, "index"), (SNOMED, LEFT))},
    "an expression with laterality": {"bodySite": concept((SNOMED, f"123456789:272741003={LEFT}"))},
    "an expression with terms": {"bodySite": concept((SNOMED, f"123456789 |Finger| : 272741003 |Laterality| = {LEFT} |Left|"))},
    "an extension of the site": {"bodySite": {**concept((SITE, "index")), **extension(concept((SNOMED, LEFT)), "https://harrowmere.example/side")}},
    "an extension in words": {"bodySite": {**concept((SITE, "index")), **extension({"text": "Left"}, "https://harrowmere.example/side")}},
    "a BodyStructure": TO_STRUCTURE,
    "a BodyStructure of the site": {"bodySite": TO_STRUCTURE},
    "a component of laterality": {"bodySite": concept((SITE, "index")), "component": [{"code": concept((SNOMED, "272741003")), "valueCodeableConcept": concept((SNOMED, LEFT))}]},
    "a component named side": {"bodySite": concept((SITE, "index")), "component": [{"code": {"text": "Side"}, "valueString": "left"}]},
    "words of the site": {"bodySite": {"text": "left index finger"}},
    "the display of the site": {"bodySite": {"coding": [{"system": SITE, "code": "index", "display": "Left index finger"}]}},
    "words of the code": {"code": concept((ITEM, "swelling"), text="Swelling, left"), "bodySite": concept((SITE, "index"))},
}  # fmt: skip


@pytest.mark.parametrize("fields", SIDES.values(), ids=SIDES)
def test_side_is_read_from(fields):
    found = facts_of(observation("swelling", valueBoolean=True, **fields), STRUCTURE, profile=SITE_PROFILE)

    assert found == [("swelling", "left", "index", "present")]


def test_both_sides_by_one_code():
    found = facts_of(observation("phalen_test", bodySite=concept((SNOMED, BOTH)), **TINEL))

    assert found == [("phalen_test", "right", None, "positive"), ("phalen_test", "left", None, "positive")]


def test_components_by_side_are_findings_of_one_side_each():
    grip = observation("grip_strength", component=[
        {"code": {"text": "Right"}, "valueQuantity": quantity(38, "kg")},
        {"code": concept((SNOMED, LEFT)), "dataAbsentReason": concept((ABSENT, "not-performed"))},
    ])  # fmt: skip
    examination = read_bundle(bundle(grip)).encounter.examination

    assert [(f.side, f.value) for f in examination.findings] == [("right", {"value": 38, "unit": "kg"})]
    assert [(u.item, u.side) for u in examination.not_examined] == [("grip_strength", "left")]


def test_a_panel_is_read_by_its_members():
    panel = observation(concept(text="Hand examination"), "panel", hasMember=[{"reference": "Observation/o1"}])
    found = facts_of(panel, observation("phalen_test", bodySite={"text": "right"}, **TINEL))

    assert found == [("phalen_test", "right", None, "positive")]


def test_components_may_be_items_of_their_own():
    group = observation(
        concept(text="Provocation tests"), bodySite={"text": "right"},
        component=[{"code": concept((ITEM, "phalen_test")), "valueBoolean": False}],
    )  # fmt: skip

    assert facts_of(group) == [("phalen_test", "right", None, "negative")]


def test_codes_of_the_profile_name_items():
    code = concept(("https://harrowmere.example/tests", "T1"))

    assert facts_of(observation(code, bodySite={"text": "left"}, **TINEL), profile=SITE_PROFILE) == [
        ("phalen_test", "left", None, "positive")
    ]


VALUES = {
    "present": ("swelling", {"valueCodeableConcept": concept((SNOMED, PRESENT))}, "present"),
    "absent": ("swelling", {"valueCodeableConcept": concept((SNOMED, ABSENT_CODE))}, "absent"),
    "positive": ("phalen_test", {"valueCodeableConcept": concept((SNOMED, POSITIVE))}, "positive"),
    "negative": ("phalen_test", {"valueCodeableConcept": concept((SNOMED, NEGATIVE))}, "negative"),
    "true": ("swelling", {"valueBoolean": True}, "present"),
    "false": ("phalen_test", {"valueBoolean": False}, "negative"),
    "words": ("phalen_test", {"valueString": "negative"}, "negative"),
    "POS": ("phalen_test", {"interpretation": [concept((INTERPRETATION, "POS"))]}, "positive"),
    "NEG": ("phalen_test", {"interpretation": [concept((INTERPRETATION, "NEG"))]}, "negative"),
    "DET": ("swelling", {"interpretation": [concept((INTERPRETATION, "DET"))]}, "present"),
    "ND": ("swelling", {"interpretation": [concept((INTERPRETATION, "ND"))]}, "absent"),
    "IND": ("phalen_test", {"interpretation": [concept((INTERPRETATION, "IND"))]}, "equivocal"),
    "N of a scale": ("median_sensation", {"interpretation": [concept((INTERPRETATION, "N"))]}, "normal"),
    "state": ("median_sensation", {"valueCodeableConcept": concept(("urn:letterkit:state", "reduced"))}, "reduced"),
}


@pytest.mark.parametrize(("item", "fields", "state"), VALUES.values(), ids=VALUES)
def test_value_says(item, fields, state):
    site = concept((SITE, "left_index")) if item == "swelling" else {"text": "left"}

    assert [found[3] for found in facts_of(observation(item, bodySite=site, **fields))] == [state]


UNITS = [
    ("grip_strength", quantity(30, "kg"), 30.0, ""),
    ("grip_strength", quantity(30, "kgf"), 30.0, ""),
    ("grip_strength", quantity(294.2, "N"), 30.0, "converted"),
    ("grip_strength", quantity(66.1, "[lbf_av]"), 30.0, "converted"),
    ("kapandji_score", quantity(7, "{score}"), 7.0, ""),
    ("kapandji_score", quantity(7, "1"), 7.0, ""),
    ("wrist_flexion", quantity(70, "deg"), 70.0, ""),
    ("capillary_refill_time", quantity(2, "s", comparator="<"), 2.0, ""),
]


@pytest.mark.parametrize(("item", "given", "number", "notice"), UNITS, ids=[f"{u[0]} in {u[1]['code']}" for u in UNITS])
def test_ucum_units(item, given, number, notice):
    site = concept((SITE, "left_index")) if item == "capillary_refill_time" else {"text": "left"}
    read = read_bundle(bundle(observation(item, bodySite=site, valueQuantity=given)))
    fact = expand(read.encounter, catalogue()).facts[0]

    assert fact.value.number == pytest.approx(number, abs=0.05)
    assert fact.value.comparator == given.get("comparator", "")
    assert [notice in str(each) for each in read.notices] == ([True] if notice else [])


LEFT_SITE = {"bodySite": {"text": "left"}}
OTHER_PATIENT = {**PATIENT, "id": "p2"}
REFUSED = {
    "no side": (observation("phalen_test", **TINEL), "Observation/o1.bodySite: no side; phalen_test needs left, right or both"),
    "a site without side": (observation("swelling", bodySite=concept((SITE, "index")), valueBoolean=True), "Observation/o1.bodySite: no side"),
    "words of two sides": (observation("phalen_test", bodySite={"text": "left more than right"}, **TINEL), "no side"),
    "sides that disagree": (observation("phalen_test", bodySite={**concept((SNOMED, LEFT)), "text": "right wrist"}, **TINEL), "the side is left .* but right"),
    "code and component disagree": (
        observation("phalen_test", code=concept((ITEM, "phalen_test"), text="Phalen test right"), component=[{"code": concept((PART, "side")), "valueString": "left"}], **TINEL),
        "the side is left .* but right|the side is right .* but left",
    ),
    "component of another side than the site": (
        observation("grip_strength", bodySite={"text": "left"}, component=[{"code": {"text": "right"}, "valueQuantity": quantity(3, "kg")}]),
        "the side is right .* but left",
    ),
    "an extension that holds no side": (observation("phalen_test", bodySite=extension(concept((SNOMED, "1"))), **TINEL), "holds no side"),
    "an extension to nowhere": (observation("swelling", **TO_STRUCTURE, valueBoolean=True), "refers to no BodyStructure"),
    "sites that disagree": (observation("swelling", bodySite=concept((SITE, "left_index"), text="left thumb"), valueBoolean=True), "different sites"),
    "an unknown site of ours": (observation("swelling", bodySite=concept((SITE, "sixth"), (SNOMED, LEFT)), valueBoolean=True), "does not know"),
    "a site not of the item": (observation("swelling", bodySite={"text": "left ear"}, valueBoolean=True), r"Observation/o1 \(examination.findings\[0\].site\)"),
    "an unknown item of ours": (observation("no_such_test", **LEFT_SITE, **TINEL), "names an item that the catalogue does not know"),
    "code and words disagree": (observation(concept((ITEM, "phalen_test"), text="Finkelstein test"), **LEFT_SITE, **TINEL), "by its code but"),
    "two values": (observation("phalen_test", **LEFT_SITE, valueBoolean=True, valueString="positive"), "2 values"),
    "value and reason for none": (observation("phalen_test", **LEFT_SITE, **TINEL, dataAbsentReason=concept((ABSENT, "not-performed"))), "a value and a reason"),
    "codes that disagree": (observation("phalen_test", **LEFT_SITE, valueCodeableConcept=concept((SNOMED, POSITIVE), (SNOMED, NEGATIVE))), "its codes say"),
    "words against the code": (observation("swelling", bodySite=concept((SITE, "left_index")), valueCodeableConcept=concept((SNOMED, PRESENT), text="absent")), "the words say something else"),
    "interpretation against the value": (observation("phalen_test", **LEFT_SITE, **TINEL, interpretation=[concept((INTERPRETATION, "NEG"))]), "contradicts"),
    "interpretations that disagree": (observation("phalen_test", **LEFT_SITE, interpretation=[concept((INTERPRETATION, "POS"), (INTERPRETATION, "NEG"))]), "correct the one"),
    "a unit in words": (observation("grip_strength", **LEFT_SITE, valueQuantity={"value": 66, "unit": "lbs"}), "not given by a UCUM code"),
    "a unit of another system": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(66, "kg", system="urn:units")), "not given by a UCUM code"),
    "a degree sign": (observation("wrist_flexion", **LEFT_SITE, valueQuantity=quantity(60, "°")), "unit does not fit"),
    "a unit of another case": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(30, "KG")), "unit does not fit"),
    "a unit of another kind": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(30, "mm")), "unit does not fit"),
    "pounds in words, kilograms in code": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(66, "kg") | {"unit": "lbs"}), "another unit"),
    "centimetres in words, millimetres in code": (observation("static_two_point_discrimination", bodySite=concept((SITE, "left_pulp_index")), valueQuantity=quantity(6, "mm") | {"unit": "cm"}), "another unit"),
    "a number without unit": (observation("grip_strength", **LEFT_SITE, valueInteger=30), "bare number"),
    "a comparator of another sign": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(30, "kg", comparator="~")), "not a comparator"),
    "a number out of range": (observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(900, "kg")), "outside"),
    "true of a scale": (observation("median_sensation", **LEFT_SITE, valueBoolean=True), "takes state"),
    "a range of a single value": (observation("grip_strength", **LEFT_SITE, valueRange={"low": quantity(1, "kg"), "high": quantity(2, "kg")}), "not a range"),
    "half an arc": (observation("wrist_flexion", **LEFT_SITE, component=[{"code": concept((PART, "from")), "valueQuantity": quantity(0, "deg")}]), "no angles"),
    "a mean that is none": (
        observation("grip_strength", **LEFT_SITE, valueQuantity=quantity(40, "kg"), component=[{"code": concept((PART, "trial")), "valueQuantity": quantity(20, "kg")}]),
        "not the mean",
    ),
    "a gap with a qualifier": (
        observation("phalen_test", **LEFT_SITE, dataAbsentReason=concept((ABSENT, "not-performed")), component=[{"code": concept((PART, "onset_s")), "valueQuantity": quantity(9, "s")}]),
        "was not examined",
    ),
    "a status of no standard": (observation("phalen_test", status="done", **LEFT_SITE, **TINEL), "not a status"),
    "no status": (observation("phalen_test", status=None, **LEFT_SITE, **TINEL), "status: missing"),
    "another subject": (observation("phalen_test", subject={"reference": "Patient/p9"}, **LEFT_SITE, **TINEL), "Observation/o1.subject: does not lead to Patient/p1"),
    "another encounter": (observation("phalen_test", encounter={"reference": "Encounter/e9"}, **LEFT_SITE, **TINEL), "another encounter"),
    "a day that is not the visit's": (observation("phalen_test", effectiveDateTime="2026-02-01", **LEFT_SITE, **TINEL), "not the day of the visit"),
    "a day after the visit": (observation("phalen_test", encounter=None, effectiveDateTime="2026-04-01", **LEFT_SITE, **TINEL), "not the day of the visit"),
    "a modifier extension": (observation("phalen_test", modifierExtension=[{"url": "urn:not", "valueBoolean": True}], **LEFT_SITE, **TINEL), "modifierExtension"),
    "implicit rules": (observation("phalen_test", implicitRules="urn:rules", **LEFT_SITE, **TINEL), "implicitRules"),
    "a stage that is not one": (observation(concept(("urn:letterkit:stage", "gait")), valueCodeableConcept=concept(text="normal")), "not a stage"),
    "a stage recorded as abnormal": (observation(concept(("urn:letterkit:stage", "inspection")), valueBoolean=False), "recorded as normal"),
    "code that is no list": (observation("phalen_test", code={"coding": "x"}, **LEFT_SITE, **TINEL), "not a list"),
    "a site that is no object": (observation("phalen_test", bodySite="left", **TINEL), "not an object"),
    "an id of no standard": (observation("phalen_test", "a b", **LEFT_SITE, **TINEL), "not an id"),
}  # fmt: skip


@pytest.mark.parametrize(("resource", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(resource, message):
    with pytest.raises(InvalidInput, match=message):
        read_bundle(bundle(resource))


def test_n_of_a_test_is_not_negative():
    read = read_bundle(bundle(observation("phalen_test", **LEFT_SITE, interpretation=[concept((INTERPRETATION, "N"))])))

    assert read.encounter.examination.findings == ()
    assert {each.kind for each in read.notices} == {"not held", "to settle"}


GOOD = observation("phalen_test", **LEFT_SITE, **TINEL)
BUNDLES = {
    "another patient's observation": (bundle(GOOD, OTHER_PATIENT), "2 patients"),
    "no patient": (bundle(patient=None, encounter=None), "0 patients"),
    "two encounters": (bundle(GOOD, {**ENCOUNTER, "id": "e2"}), "2 Encounters"),
    "several encounters without one": (
        bundle(GOOD, {**GOOD, "id": "o2", "encounter": {"reference": "Encounter/e2"}}, encounter=None), "several encounters",
    ),
    "several days without an encounter": (
        bundle(*[{**observation("phalen_test", f"o{n}", **LEFT_SITE, **TINEL), "encounter": None, "effectiveDateTime": f"2026-03-0{n}"} for n in (1, 2)], encounter=None),
        "several days|not an object",
    ),
    "a visit that did not take place": (bundle(GOOD, encounter={**ENCOUNTER, "status": "cancelled"}), "not a visit that took place"),
    "the same resource twice": (bundle(GOOD, GOOD), "stands twice"),
    "a transaction": (bundle(GOOD, type="transaction"), "Bundle.type"),
    "no type": (bundle(GOOD, type=None), "Bundle.type: missing"),
    "one page of several": (bundle(GOOD, type="searchset", link=[{"relation": "next", "url": "https://harrowmere.example/2"}]), "one page"),
    "a single resource": (GOOD, "not a Bundle"),
    "an entry without resource": ({**bundle(GOOD), "entry": [{"fullUrl": "urn:uuid:1"}]}, "has no resource"),
    "a resource without type": (bundle({"id": "x"}), "no resourceType"),
    "no name": (bundle(GOOD, patient={**PATIENT, "name": [{"use": "old", "family": "Ash"}]}), "no name"),
    "a year of birth": (bundle(GOOD, patient={**PATIENT, "birthDate": "1951"}), "not a whole date"),
    "a wrong NHS number": (bundle(GOOD, patient={**PATIENT, "identifier": [{**PATIENT["identifier"][0], "value": "9990000019"}]}), "check digit"),
    "a structure of another patient": (bundle(GOOD, {**STRUCTURE, "patient": {"reference": "Patient/p7"}}), "BodyStructure/bs.patient"),
    "a contained other patient": (
        bundle({**GOOD, "contained": [{**PATIENT, "id": "c"}], "subject": {"reference": "#c"}}), "does not lead to Patient/p1",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("given", "message"), BUNDLES.values(), ids=BUNDLES)
def test_bundle_refused(given, message):
    with pytest.raises(InvalidInput, match=message):
        read_bundle(given)


def deep(levels):
    value = {"url": "urn:x"}
    for _ in range(levels):
        value = {"url": "urn:x", "extension": [value]}
    return value


@pytest.mark.parametrize(
    "hostile",
    [
        pytest.param(lambda: bundle({**GOOD, "extension": [deep(2000)]}), id="deep"),
        pytest.param(lambda: bundle(*[{**GOOD, "id": f"o{n}"} for n in range(3000)]), id="many entries"),
        pytest.param(lambda: bundle({**GOOD, "note": [{"text": "x"}] * 400_000}), id="many values"),
    ],
)
def test_limits_are_kept_in_bounded_time(hostile):
    given = hostile()
    start = time.perf_counter()

    with pytest.raises(InvalidInput, match=r"levels deep|at most|more than"):
        read_bundle(given)
    assert time.perf_counter() - start < 5


def test_a_panel_that_refers_to_itself_ends():
    loop = observation(concept(text="Panel"), "loop", hasMember=[{"reference": "Observation/loop"}])

    assert facts_of(loop, GOOD) == [("phalen_test", "left", None, "positive")]


@pytest.mark.parametrize(
    ("status", "kind", "read"),
    [
        ("cancelled", "left out", 0),
        ("entered-in-error", "left out", 0),
        ("registered", "to settle", 0),
        ("preliminary", "to settle", 1),
        ("unknown", "to settle", 1),
        ("amended", None, 1),
        ("corrected", None, 1),
    ],
)
def test_status(status, kind, read):
    found = read_bundle(bundle({**GOOD, "status": status}))

    assert len(found.encounter.examination.findings) == read
    assert [each.kind for each in found.notices] == ([kind] if kind else [])


@pytest.mark.parametrize(
    ("reason", "expected", "settle"),
    [
        (concept((ABSENT, "not-performed"), text="in plaster"), ("in plaster", False), 0),
        (concept((ABSENT, "asked-declined")), (None, True), 0),
        (concept((ABSENT, "not-applicable"), text="finger lost"), ("finger lost", False), 0),
        (concept((ABSENT, "not-applicable")), None, 1),
        *((concept((ABSENT, code)), None, 1) for code in ("unknown", "asked-unknown", "not-asked", "masked", "error")),
        ({"text": "no time"}, None, 1),
    ],
)
def test_not_examined(reason, expected, settle):
    read = read_bundle(bundle(observation("phalen_test", **LEFT_SITE, dataAbsentReason=reason)))
    gaps = read.encounter.examination.not_examined

    assert read.encounter.examination.findings == ()
    assert [(gap.reason, gap.declined) for gap in gaps] == ([expected] if expected else [])
    assert [each.kind for each in read.notices] == ["to settle"] * settle


def test_neither_value_nor_reason_is_asked_and_not_read():
    read = read_bundle(bundle(observation("phalen_test", **LEFT_SITE)))

    assert read.encounter.examination.findings == ()
    assert [each.kind for each in read.notices] == ["to settle"]


UNHELD = {
    "a field": ({**GOOD, "derivedFrom": [{"reference": "Observation/x"}]}, "Observation/o1.derivedFrom"),
    "an extension": ({**GOOD, "extension": [{"url": "urn:x", "valueString": "y"}]}, "Observation/o1.extension[0]"),
    "a field with its extension": ({**GOOD, "_status": {"id": "s"}}, "Observation/o1._status"),
    "a narrative of its own": ({**GOOD, "text": {"status": "additional", "div": "<div/>"}}, "Observation/o1.text"),
    "a tag": ({**GOOD, "meta": {"versionId": "1", "tag": [{"code": "x"}]}}, "Observation/o1.meta.tag"),
    "a resource": ({"resourceType": "MedicationStatement", "id": "m", "status": "active"}, "MedicationStatement/m"),
    "an unknown code": (observation(concept(("http://loinc.org", "0000-0")), "x", valueBoolean=True), "Observation/x"),
    "about somebody else": ({**GOOD, "focus": [{"display": "her sister"}]}, "Observation/o1"),
    "a site without place": (observation("phalen_test", bodySite={"text": "left wrist"}, **TINEL), "Observation/o1.bodySite"),
    "a month": ({**GOOD, "encounter": None, "effectiveDateTime": "2026-03"}, "Observation/o1"),
    "a performer elsewhere": ({**GOOD, "performer": [{"reference": "Practitioner/x"}]}, "Observation/o1.performer[0]"),
    "a member elsewhere": ({**GOOD, "hasMember": [{"reference": "Observation/x"}]}, "Observation/o1.hasMember[0]"),
    "a method": ({**GOOD, "method": {"text": "seated"}}, "Observation/o1.method"),
    "a component": ({**GOOD, "component": [{"code": {"text": "time of day"}, "valueString": "noon"}]}, "Observation/o1.component[0]"),
    "words beside the code": ({**GOOD, "code": concept((ITEM, "phalen_test"), text="Phalen test after a minute")}, "Observation/o1.code"),
    "an author of a note": ({**GOOD, "note": [{"text": "sore", "authorString": "x"}]}, "Observation/o1.note[0].authorString"),
    "an unproven condition": (
        {"resourceType": "Condition", "id": "c", "subject": {"reference": "Patient/p1"}, "encounter": {"reference": "Encounter/e1"},
         "verificationStatus": concept(("http://terminology.hl7.org/CodeSystem/condition-ver-status", "differential")), "code": {"text": "x"}},
        "Condition/c",
    ),
    "a refuted condition in words": (
        {"resourceType": "Condition", "id": "c", "subject": {"reference": "Patient/p1"}, "encounter": {"reference": "Encounter/e1"},
         "verificationStatus": {"text": "refuted"}, "code": {"text": "x"}},
        "Condition/c",
    ),
    "a condition of another visit": (
        {"resourceType": "Condition", "id": "c", "subject": {"reference": "Patient/p1"}, "code": {"text": "x"}}, "Condition/c",
    ),
    "a draft request": (
        {"resourceType": "ServiceRequest", "id": "s", "status": "draft", "intent": "order", "subject": {"reference": "Patient/p1"}}, "ServiceRequest/s",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("resource", "path"), UNHELD.values(), ids=UNHELD)
def test_what_has_no_place_is_reported_not_dropped(resource, path):
    given = {key: value for key, value in resource.items() if value is not None}
    read = read_bundle(bundle(given))

    assert [each.path for each in read.notices if each.path.endswith(path)], [str(each) for each in read.notices]
    assert read.encounter.diagnoses == ()


def test_a_notice_never_repeats_what_the_patient_record_says():
    marked = copy.deepcopy(GOOD) | {
        "derivedFrom": [{"display": "Ashdown secret"}],
        "focus": [{"display": "Ashdown secret"}],
    }
    read = read_bundle(bundle(marked))

    assert read.notices
    assert not [each for each in read.notices if "secret" in str(each)]


def test_all_faults_are_told_at_once():
    first = observation("phalen_test", "o1", **TINEL)
    second = observation("grip_strength", "o2", **LEFT_SITE, valueInteger=3)
    with pytest.raises(InvalidInput) as caught:
        read_bundle(bundle(first, second))

    assert len(caught.value.problems) == 2


def test_an_earlier_observation_is_an_earlier_value():
    old = observation(
        "grip_strength", "old", encounter=None, effectiveDateTime="2026-01-05T09:00:00Z", bodySite={"text": "left"},
        valueQuantity=quantity(12, "kg"),
    )  # fmt: skip
    encounter = read_bundle(bundle(GOOD, old)).encounter

    assert [(str(e.date), e.item, e.side) for e in encounter.earlier] == [("2026-01-05", "grip_strength", "left")]
    assert len(encounter.examination.findings) == 1


def test_the_day_of_the_visit_without_an_encounter_is_the_observations_day():
    given = {**GOOD, "effectiveDateTime": "2026-03-04T10:00:00+00:00"}
    del given["encounter"]
    visit = read_bundle(bundle(given, encounter=None)).encounter.visit

    assert str(visit.date) == "2026-03-04"
    assert visit.kind == "other"  # nothing said that it was a first visit


def practitioner(identity, name):
    return {"resourceType": "Practitioner", "id": identity, "name": [{"text": name}]}


def test_the_one_performer_is_the_author():
    given = {**GOOD, "performer": [{"reference": "Practitioner/d"}]}

    assert read_bundle(bundle(given, practitioner("d", "Miss O Tarrant"))).encounter.author.name == "Miss O Tarrant"


def test_an_author_is_not_chosen_among_several_performers():
    given = {**GOOD, "performer": [{"reference": "Practitioner/d"}, {"reference": "Practitioner/e"}]}
    read = read_bundle(bundle(given, practitioner("d", "Miss O Tarrant"), practitioner("e", "Mr B Hale")))

    assert read.encounter.author is None
    assert "to settle" in [each.kind for each in read.notices]


def test_a_cancelled_observations_performer_is_no_author():
    given = {**GOOD, "status": "cancelled", "performer": [{"reference": "Practitioner/d"}]}

    assert read_bundle(bundle(given, practitioner("d", "Miss O Tarrant"))).encounter.author is None


def response(*items, status="completed"):
    return {
        "resourceType": "QuestionnaireResponse",
        "id": "q",
        "status": status,
        "subject": {"reference": "Patient/p1"},
        "item": list(items),
    }


def answered(link, *answers, **more):
    return {"linkId": link, "answer": list(answers), **more}


ANSWERS = {
    "side in the link": (answered("phalen_test:left", {"valueBoolean": True}), ("phalen_test", "left", None, "positive")),
    "side in the text": (answered("phalen_test", {"valueBoolean": False}, text="Phalen test, right"), ("phalen_test", "right", None, "negative")),
    "side as an item": (
        answered("phalen_test", {"valueString": "positive", "item": [answered("side", {"valueCoding": {"system": SNOMED, "code": LEFT}})]}),
        ("phalen_test", "left", None, "positive"),
    ),
    "site and side in the link": (answered("swelling:index:left", {"valueBoolean": True}), ("swelling", "left", "index", "present")),
    "a coded answer": (answered("median_sensation:left", {"valueCoding": {"system": "urn:letterkit:state", "code": "reduced"}}), ("median_sensation", "left", "median_area", "reduced")),
    "a quantity": (answered("grip_strength:left", {"valueQuantity": quantity(30, "kg")}), ("grip_strength", "left", None, "measured")),
    "by definition": (answered("1.1", {"valueBoolean": True}, definition=f"{ITEM}#phalen_test", text="left"), ("phalen_test", "left", None, "positive")),
    "inside a group": ({"linkId": "tests", "item": [answered("phalen_test:left", {"valueBoolean": True})]}, ("phalen_test", "left", None, "positive")),
}  # fmt: skip


@pytest.mark.parametrize(("item", "expected"), ANSWERS.values(), ids=ANSWERS)
def test_answer_is_a_finding(item, expected):
    read = read_bundle(bundle(response(item)))

    assert [(f.item, f.side, f.site, f.state) for f in expand(read.encounter, catalogue()).facts] == [expected]
    assert read.notices == ()


def test_an_item_without_an_answer_is_not_a_negative():
    examination = read_bundle(bundle(response({"linkId": "phalen_test:left"}, GROUP))).encounter.examination

    assert (examination.findings, examination.not_examined) == ((), ())


GROUP = {"linkId": "group", "item": [{"linkId": "swelling:index:left", "text": "Swelling"}]}

ANSWERS_REFUSED = {
    "no side": (answered("phalen_test", {"valueBoolean": True}), "no side"),
    "sides that disagree": (answered("phalen_test:left", {"valueBoolean": True}, text="Right Phalen test"), "the side is"),
    "a number without unit": (answered("grip_strength:left", {"valueDecimal": 30.5}), "bare number"),
    "several answers": (answered("phalen_test:left", {"valueBoolean": True}, {"valueBoolean": False}), "2 answers"),
    "a field twice": (answered("reference", {"valueString": "A"}, {"valueString": "B"}), "answered more than once"),
    "a field of another kind": (answered("patient.handedness", {"valueQuantity": quantity(1, "1")}), "give it as valueString"),
    "a hand of no kind": (answered("patient.handedness", {"valueString": "sinister"}), "patient.handedness"),
}  # fmt: skip


@pytest.mark.parametrize(("item", "message"), ANSWERS_REFUSED.values(), ids=ANSWERS_REFUSED)
def test_answer_refused(item, message):
    with pytest.raises(InvalidInput, match=message):
        read_bundle(bundle(response(item)))


@pytest.mark.parametrize(
    ("status", "read"), [("entered-in-error", 0), ("stopped", 0), ("in-progress", 1), ("amended", 1)]
)
def test_status_of_answers(status, read):
    found = read_bundle(bundle(response(answered("phalen_test:left", {"valueBoolean": True}), status=status)))

    assert len(found.encounter.examination.findings) == read


def test_answers_of_another_day_are_not_read():
    given = {**response(answered("phalen_test:left", {"valueBoolean": True})), "authored": "2025-03-04"}
    read = read_bundle(bundle(given))

    assert read.encounter.examination.findings == ()
    assert [each.kind for each in read.notices] == ["to settle"]


def test_answers_of_another_visit_are_refused():
    given = {
        **response(answered("phalen_test:left", {"valueBoolean": True})),
        "encounter": {"reference": "Encounter/e9"},
    }

    with pytest.raises(InvalidInput, match="another encounter"):
        read_bundle(bundle(given))


@pytest.mark.parametrize(("end", "read"), [("2026-03-05T01:00:00Z", 1), ("2026-03-12", 0)])
def test_a_visit_may_run_past_midnight_and_no_longer(end, read):
    encounter = {**ENCOUNTER, "period": {"start": "2026-03-04T22:00:00Z", "end": end}}
    day = "2026-03-05" if read else "2026-03-10"
    given = bundle({**GOOD, "effectiveDateTime": f"{day}T00:30:00Z"}, encounter=encounter)
    if not read:
        with pytest.raises(InvalidInput, match="not the day of the visit"):
            read_bundle(given)
    else:
        assert len(read_bundle(given).encounter.examination.findings) == 1


def test_a_finding_that_names_no_visit_and_no_day_is_to_be_settled():
    given = {key: value for key, value in GOOD.items() if key != "encounter"}

    assert [each.kind for each in read_bundle(bundle(given)).notices] == ["to settle"]


def test_a_participant_of_another_part_is_no_author():
    part = {
        "type": [concept(("http://terminology.hl7.org/CodeSystem/v3-ParticipationType", "ESC"))],
        "individual": {"display": "Mr B Hale"},
    }
    read = read_bundle(bundle(GOOD, encounter={**ENCOUNTER, "participant": [part]}))

    assert read.encounter.author is None
    assert [each.kind for each in read.notices] == ["not held"]


def test_an_unknown_question_is_reported():
    read = read_bundle(bundle(response(answered("mood", {"valueString": "good"}))))

    assert [each.kind for each in read.notices] == ["not held"]


def test_answers_that_say_why_there_is_none():
    item = answered("phalen_test:left", {"valueCoding": {"system": ABSENT, "code": "asked-declined"}})
    gaps = read_bundle(bundle(response(item))).encounter.examination.not_examined

    assert [(gap.item, gap.side, gap.declined) for gap in gaps] == [("phalen_test", "left", True)]


def test_a_bundle_is_taken_wherever_an_encounter_is():
    given = bundle(GOOD)
    text = json.dumps(given)

    assert as_encounter(given) == as_encounter(text) == as_encounter(text.encode()) == read_bundle(given).encounter
    assert draft(text).facts.facts[0].item == "phalen_test"
    assert check(text) == check(given)


def test_notices_travel_with_the_draft():
    given = bundle({**GOOD, "status": "preliminary"})

    assert draft(given).notices == receive(given)[1]
    assert [each.kind for each in draft(given).notices] == ["to settle"]


def test_the_table_of_codes_says_where_each_comes_from():
    known = codes()

    assert known.sides == {LEFT: "left", RIGHT: "right", BOTH: "both"}
    assert {each.code: each.mark for each in known.side} == dict.fromkeys((LEFT, RIGHT, BOTH), "confirmed")
    assert known.units["[lbf_av]"].factor == pytest.approx(0.45359237)
    assert known.units["N"].factor == pytest.approx(1 / 9.80665)


def test_the_bundles_of_these_tests_are_valid_fhir():
    Bundle.model_validate(bundle(GOOD, response(ANSWERS["a quantity"][0]), STRUCTURE))
