"""Encounters with one fault each: the path at which it is told, and parts of the message."""

from __future__ import annotations

from made_records import found, record

MARLOW = {"name": {"family": "Marlow"}}
TRIGGER = found("triggering", site="ring")


def patient(**more):
    return {"patient": MARLOW | more, "examination": {}}


def examination(**parts):
    return {"patient": MARLOW, "examination": parts}


def finding(*words, **more):
    return record(found(*words, **more))


def triggering(**changes):
    return record({key: value for key, value in (TRIGGER | changes).items() if value is not None})


def earlier(**changes):
    given = {"date": "2026-01-05", "item": "grip_strength", "side": "right", "value": 20} | changes
    return record(earlier=[{key: value for key, value in given.items() if value is not None}])


def ring(value):
    return finding("pip_movement", value, site="ring")


NHS = "https://fhir.nhs.uk/Id/nhs-number"

# encounter, path of the fault, parts of the message
FAULTS = {
    # a name nobody knows, at every level
    "field of the encounter": (record(patiant={}), "patiant", ["did you mean patient?"]),
    "field with no near name": (record(zzz=1), "zzz", ["known here: allergies, answers, author"]),
    "field of the patient": (patient(birthDat="2000-01-01"), "patient.birthDat", ["did you mean birthDate?"]),
    "field of the name": ({"patient": {"name": {"family": "M", "gven": []}}, "examination": {}}, "patient.name.gven", ["given"]),
    "field of an identifier": (patient(identifier=[{"value": "1", "sistem": "x"}]), "patient.identifier[0].sistem", ["system"]),
    "field of an address": (patient(address={"postcode": "x"}), "patient.address.postcode", ["did you mean postalCode?"]),
    "field of the examination": (examination(findngs=[]), "examination.findngs", ["did you mean findings?"]),
    "field of a finding": (triggering(sevrity="mild"), "examination.findings[0].sevrity", ["did you mean severity?"]),
    "field of a stage": (
        examination(normal=[{"stage": "function", "sid": "left"}]), "examination.normal[0].sid", ["did you mean side?"],
    ),
    "field of what was not examined": (
        examination(notExamined=[{"stage": "function", "resson": "x"}]), "examination.notExamined[0].resson", ["reason"],
    ),
    "field of an earlier value": (earlier(sid="left"), "earlier[0].sid", ["did you mean side?"]),
    "field of the visit": (record(visit={"date": "2026-01-05", "knd": "new"}), "visit.knd", ["did you mean kind?"]),
    "field of the reason": (record(reason={"txt": "x"}), "reason.txt", ["did you mean text?"]),
    "field of the history": (record(history={"presentin": "x"}), "history.presentin", ["did you mean presenting?"]),
    "field of the recipient": (record(recipient={"name": "x", "rol": "y"}), "recipient.rol", ["did you mean role?"]),
    "field of a copy": (record(copies=[{"name": "x", "organisation": "y"}]), "copies[0].organisation", ["organization"]),
    "field of the author": (record(author={"name": "x", "titel": "y"}), "author.titel", ["telecom"]),
    "field of the author's identifier": (
        record(author={"name": "x", "identifier": {"value": "1", "sistem": "y"}}), "author.identifier.sistem", ["system"],
    ),
    "field of an action": (record(plan=[{"text": "x", "acter": "clinic"}]), "plan[0].acter", ["did you mean actor?"]),
    "field of an answer": (record(answers=[{"rule": "x", "answer": "kept", "reson": "y"}]), "answers[0].reson", ["reason"]),
    "field of the options": (record(options={"languge": "en-GB"}), "options.languge", ["did you mean language?"]),
    # something is missing
    "no patient": ({"examination": {}}, "patient", ["missing"]),
    "no examination": ({"patient": MARLOW}, "examination", ["missing"]),
    "a patient without a name": ({"patient": {}, "examination": {}}, "patient.name", ["missing"]),
    "a name without a name": ({"patient": {"name": {}}, "examination": {}}, "patient.name", ["family name", "text"]),
    "a finding without an item": (triggering(item=None), "examination.findings[0].item", ["missing"]),
    "a finding without a value": (triggering(value=None), "examination.findings[0].value", ["missing", "notExamined"]),
    "an earlier value without a value": (earlier(value=None), "earlier[0].value", ["missing"]),
    "kept without a reason": (record(answers=[{"rule": "x", "answer": "kept"}]), "answers[0]", ["reason"]),
    # of another type
    "a name as a number": ({"patient": {"name": {"family": 5}}, "examination": {}}, "patient.name.family", ["5", "text"]),
    "a visit as a list": (record(visit=[]), "visit", ["object"]),
    "findings as an object": (examination(findings={}), "examination.findings", ["list"]),
    "medication as text": (record(medication="ramipril"), "medication", ["list"]),
    "seconds as a word": (finding("phalen_test", "positive", onsetS="ten"), "examination.findings[0].onsetS", ["number"]),
    "seconds out of range": (finding("phalen_test", "positive", onsetS=700), "examination.findings[0].onsetS", ["600"]),
    "an empty note": (triggering(note="  "), "examination.findings[0].note", ["at least 1"]),
    "a note too long": (triggering(note="x" * 201), "examination.findings[0].note", ["200"]),
    "a line break in a line": (triggering(note="a\nb"), "examination.findings[0].note", ["one line"]),
    "a kind of visit nobody knows": (record(visit={"date": "2026-01-05", "kind": "first"}), "visit.kind", ["'new'", "'follow-up'"]),
    "a stage nobody knows": (examination(normal=[{"stage": "feeling"}]), "examination.normal[0].stage", ["'palpation'"]),
    "a problem nobody knows": (record(reason={"problem": "numb toe"}), "reason.problem", ["'numb toe'", "known: numb or tingling hand"]),
    # dates
    "a date the other way round": (record(visit={"date": "20/11/2026"}), "visit.date", ["YYYY-MM-DD"]),
    "a day that does not exist": (record(drafted="2026-02-30"), "drafted", ["YYYY-MM-DD"]),
    "a date as a number": (record(drafted=86400), "drafted", ["YYYY-MM-DD"]),
    "a date as digits": (record(drafted="86400"), "drafted", ["YYYY-MM-DD"]),
    "a date in words": (patient(birthDate="14 March 1961"), "patient.birthDate", ["YYYY-MM-DD"]),
    "an earlier date in words": (earlier(date="last year"), "earlier[0].date", ["YYYY-MM-DD"]),
    # identifiers
    "an NHS number with a wrong digit": (
        patient(identifier=[{"system": NHS, "value": "999 123 4567"}]), "patient.identifier[0]", ["check digit"],
    ),
    "an NHS number with hyphens": (
        patient(identifier=[{"system": "NHS number", "value": "999-000-0018"}]), "patient.identifier[0]", ["ten digits", "spaces"],
    ),
    # sides
    "a side missing": (finding("triggering", side=None, site="ring"), "examination.findings[0].side", ["left, right or both"]),
    "a side too many": (finding("jaundice", "absent"), "examination.findings[0].side", ["has no side", "leave it out"]),
    "a side nobody knows": (triggering(side="ulnar"), "examination.findings[0].side", ["'left', 'right' or 'both'"]),
    "a side missing of an earlier value": (earlier(side=None), "earlier[0].side", ["left, right or both"]),
    # sites
    "a site missing": (finding("triggering"), "examination.findings[0].site", ["needs a site, for example thumb"]),
    "a site too many": (finding("thenar_wasting", site="thumb"), "examination.findings[0].site", ["without a site"]),
    "a site nobody knows": (triggering(site="knee"), "examination.findings[0].site", ["'knee'"]),
    "LF alone": (triggering(site="LF"), "examination.findings[0].site", ["little finger in Britain", "'little' or 'middle'"]),
    "LF with a joint": (finding("swelling", site="LF PIPJ"), "examination.findings[0].site", ["'little' or 'middle'"]),
    "MP": (finding("swelling", site="index MP"), "examination.findings[0].site", ["'MCP' or 'middle phalanx'"]),
    "a finger by number": (triggering(site="2nd finger"), "examination.findings[0].site", ["2nd"]),
    "a joint the digit has not": (finding("swelling", site="thumb PIP"), "examination.findings[0].site", ["the thumb has no proximal"]),
    "a joint without a digit": (finding("swelling", site="PIP joint"), "examination.findings[0].site", ["says no digit"]),
    "joints of two kinds": (finding("swelling", site="index PIP and MCP"), "examination.findings[0].site", ["list of sites"]),
    "a site the item has not": (finding("mallet_deformity", site="pip_index"), "examination.findings[0].site", ["not a site of mallet"]),
    "a site of other items in short": (finding("joint_tenderness", site="CMCJ"), "examination.findings[0].site", ["not a site of joint tenderness; allowed: metacarpophalangeal joint of the thumb", "more"]),
    "the side in the site": (triggering(site="left thumb"), "examination.findings[0].site", ["side"]),
    "half a range": (triggering(site="index to"), "examination.findings[0].site", ["range"]),
    "a range without a start": (triggering(site="to ring"), "examination.findings[0].site", ["range"]),
    "one range after another": (triggering(site="thumb-index-ring"), "examination.findings[0].site", ["range"]),
    "a site of a stage": (
        examination(notExamined=[{"stage": "palpation", "site": "thumb"}]), "examination.notExamined[0].site", ["has no site"],
    ),
    # items
    "an item misspelt": (triggering(item="trigering"), "examination.findings[0].item", ["did you mean triggering?"]),
    "an item nobody knows": (triggering(item="xylophone"), "examination.findings[0].item", ["'xylophone'", "catalogue"]),
    "an item with two meanings": (
        finding("cascade", "normal"), "examination.findings[0].item", ["'cascade' may mean resting cascade or rotational alignment"],
    ),
    "an ambiguous ligament": (finding("UCL", "stable"), "examination.findings[0].item", ["ligament of the thumb", "ligament of the proximal interphalangeal joint"]),
    "a little or middle finger's power": (finding("LF abduction", 5), "examination.findings[0].item", ["'LF abduction' may mean"]),
    "an earlier item nobody knows": (earlier(item="grp strength"), "earlier[0].item", ["did you mean grip strength"]),
    "an item and a stage not examined": (
        examination(notExamined=[{"item": "phalen_test", "stage": "palpation"}]), "examination.notExamined[0]", ["either"],
    ),
    "nothing not examined": (examination(notExamined=[{}]), "examination.notExamined[0]", ["either"]),
    # values
    "a presence in other words": (triggering(value="maybe so"), "examination.findings[0].value", ["'maybe so'", "present, absent"]),
    "a presence as a list": (triggering(value=["present"]), "examination.findings[0].value", ["['present']"]),
    "a presence as an object": (triggering(value={"a": 1}), "examination.findings[0].value", ["triggering"]),
    "a presence as a number": (triggering(value=1), "examination.findings[0].value", ["present, absent"]),
    "a severity of a test": (finding("phalen_test", "mild"), "examination.findings[0].value", ["positive, negative, equivocal"]),
    "two severities": (triggering(value="mild", severity="severe"), "examination.findings[0].severity", ["mild", "severe"]),
    "a severity of what is absent": (triggering(value="absent", severity="mild"), "examination.findings[0].severity", ["absent"]),
    "a count of what is absent": (
        finding("scar", "absent", site="palm", count=2), "examination.findings[0].count", ["absent"],
    ),
    "a state nobody knows": (finding("median_sensation", "fine"), "examination.findings[0].value", ["normal, reduced, absent"]),
    "a state as an object": (finding("median_sensation", {}), "examination.findings[0].value", ["median nerve area"]),
    "a grip of 300 kg": (finding("grip_strength", 300), "examination.findings[0].value", ["300 kg", "0 to 150", "pounds?"]),
    "a grip below nothing": (finding("grip_strength", -1), "examination.findings[0].value", ["-1 kg", "0 to 150"]),
    "a grip in pounds": (finding("grip_strength", "60 lb"), "examination.findings[0].value", ["'lb'", "kg", "0.4536"]),
    "a grip in words": (finding("grip_strength", "strong"), "examination.findings[0].value", ["'strong'", "number in kg"]),
    "a grip with a decimal comma": (finding("grip_strength", "22,5"), "examination.findings[0].value", ["',5'", "kg"]),
    "a grip that is true": (finding("grip_strength", True), "examination.findings[0].value", ["True", "number in kg"]),
    "a grip without end": (finding("grip_strength", float("inf")), "examination.findings[0].value", ["inf"]),
    "no reading of the grip": (finding("grip_strength", []), "examination.findings[0].value", ["empty list"]),
    "a reading that is a bound": (finding("grip_strength", [20, "<21"]), "examination.findings[0].value", ["less than"]),
    "a quantity with an unknown field": (
        finding("grip_strength", {"value": 20, "unt": "kg"}), "examination.findings[0].value", ["'unt'", "value, unit, comparator"],
    ),
    "a quantity with an unknown comparator": (
        finding("grip_strength", {"value": 20, "comparator": "~"}), "examination.findings[0].value", ["'~'", "<, <=, >, >="],
    ),
    "a comparator as a list": (finding("grip_strength", {"value": 20, "comparator": ["<"]}), "examination.findings[0].value", ["comparator"]),
    "an arc backwards": (ring({"from": 90, "to": 10}), "examination.findings[0].value", ["90 to 10", "backwards", "swapped?"]),
    "an arc of two meanings": (ring("-15/90"), "examination.findings[0].value", ["lack of extension", "hyperextension", '"from": -15']),
    "an arc beyond what is possible": (ring("0-250"), "examination.findings[0].value", ["0 to 250", "-80 to 140"]),
    "an arc of one angle": (ring(90), "examination.findings[0].value", ['{"from": 0, "to": 90}']),
    "an arc of three angles": (ring([0, 20, 90]), "examination.findings[0].value", ["degrees"]),
    "an arc with an unknown field": (ring({"from": 0, "too": 9}), "examination.findings[0].value", ["'too'", "from, to"]),
    "an arc of no number": (ring({"from": 0, "to": float("nan")}), "examination.findings[0].value", ["arc"]),
    "power of 5 plus": (finding("apb_power", "5+"), "examination.findings[0].value", ["'5+'", "0 to 5"]),
    "power of 6": (finding("apb_power", 6), "examination.findings[0].value", ["0 to 5"]),
    "power of 1 minus": (finding("apb_power", "1-"), "examination.findings[0].value", ["2- to 5-"]),
    "power of four and a half": (finding("apb_power", 4.5), "examination.findings[0].value", ["4.5"]),
    "power with two signs": (finding("apb_power", "4-/5+"), "examination.findings[0].value", ["'4-/5+'"]),
    "power that is true": (finding("apb_power", True), "examination.findings[0].value", ["True"]),
    "words as a number": (finding("aids_and_dressings", 3, site="hand"), "examination.findings[0].value", ["takes words"]),
    "words that no document can carry": (
        finding("aids_and_dressings", "a\x00b", site="hand"), "examination.findings[0].value", ["U+0000"],
    ),
    "words with a mark of the templates": (
        finding("aids_and_dressings", "\ue0000\ue001", site="hand"), "examination.findings[0].value", ["U+E000"],
    ),
    "words without end": (finding("aids_and_dressings", "x" * 5000, site="hand"), "examination.findings[0].value", ["200"]),
    "an earlier grip of 300 kg": (earlier(value=300), "earlier[0].value", ["0 to 150"]),
    # qualifiers
    "a size of wasting": (finding("thenar_wasting", sizeMm=3), "examination.findings[0].sizeMm", ["does not take this", "severity", "note"]),
    "a grade without its scale": (triggering(grade="II"), "examination.findings[0].grading", ["Green"]),
    "a scale without its grade": (triggering(grading="Green"), "examination.findings[0].grade", ["missing"]),
    # characters
    "a control character": (triggering(note="a\x00b"), "examination.findings[0].note", ["U+0000", "position 2"]),
    "a mark of the templates": (record(diagnoses=[{"text": "a\ue000b"}]), "diagnoses[0].text", ["U+E000"]),
    "too many findings": (record(*[TRIGGER] * 501), "examination.findings", ["500"]),
}  # fmt: skip
