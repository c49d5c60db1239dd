from __future__ import annotations

import copy
import json
from concurrent.futures import ThreadPoolExecutor

import pytest

from letterkit.records import retention
from letterkit.records.store import Doing

DOCX = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"


def contradictory(encounter: dict) -> dict:
    """A record that says two things of one place."""
    changed = copy.deepcopy(encounter)
    changed["examination"]["findings"].append({"item": "thenar_wasting", "side": "left", "value": "present"})
    return changed


def test_a_letter_comes_with_text_statements_queries_and_links(client, letter):
    assert "Yarrow" in letter["text"]
    assert letter["state"] == "draft"
    assert all(each["findings"] for each in letter["statements"])
    assert {"rule", "class", "message", "settle", "open", "blocksApproval"} <= set(letter["queries"][0])
    for name, media in (
        ("docx", DOCX),
        ("pdf", "application/pdf"),
        ("html", "text/html; charset=utf-8"),
        ("text", "text/plain; charset=utf-8"),
    ):
        answer = client.get(letter["links"][name])
        assert (answer.status_code, answer.headers["content-type"]) == (200, media)


def test_every_statement_points_at_findings_that_are_there(letter, encounter):
    count = len(encounter["examination"]["findings"])
    places = {place for each in letter["statements"] for place in each["findings"]}
    positions = [int(place[len("examination.findings[") : -1]) for place in places if "findings[" in place]
    assert positions
    assert all(0 <= position < count for position in positions)


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        ("*/*", "application/json"),
        ("application/pdf", "application/pdf"),
        ("text/html;q=0.5, application/pdf;q=0.9", "application/pdf"),
        (f"{DOCX};q=1.0, */*;q=0.1", DOCX),
        ("text/*", "text/html; charset=utf-8"),
        ("image/png, text/plain;q=0.2", "text/plain; charset=utf-8"),
    ],
)
def test_the_form_follows_the_accept_header(client, letter, accept, media):
    answer = client.get(f"/v1/letters/{letter['id']}", headers={"Accept": accept})
    assert answer.headers["content-type"] == media


def test_a_form_that_there_is_not_is_refused(client, letter):
    answer = client.get(f"/v1/letters/{letter['id']}", headers={"Accept": "image/png"})
    assert (answer.status_code, answer.json()["type"]) == (406, "/v1/problems/not-acceptable")


def test_the_same_version_is_not_sent_twice(client, letter):
    first = client.get(f"/v1/letters/{letter['id']}?format=pdf")
    again = client.get(f"/v1/letters/{letter['id']}?format=pdf", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_a_file_is_named_without_the_patient(client, letter):
    answer = client.get(letter["links"]["docx"])
    assert answer.headers["content-disposition"] == 'attachment; filename="letter.docx"'


def test_the_patients_copy_is_in_plain_english(client, letter):
    answer = client.get(letter["links"]["patientCopy"], params={"format": "text"})
    assert answer.status_code == 200
    assert answer.text != letter["text"]
    assert "DRAFT" in answer.text


def test_a_correction_is_a_new_version(client, letter, encounter):
    encounter = copy.deepcopy(encounter)
    encounter["examination"]["findings"][0]["side"] = "right"
    path = f"/v1/letters/{letter['id']}/versions"
    answer = client.post(path, json=encounter, headers={"If-Match": '"1-json"'})
    assert (answer.status_code, answer.json()["version"], answer.headers["etag"]) == (201, 2, '"2-json"')
    assert client.get(f"{path}/1").json()["text"] == letter["text"]
    assert [each["kind"] for each in client.get(path).json()["versions"]] == ["drafted", "changed"]


@pytest.mark.parametrize(("if_match", "status"), [(None, 428), ('"7-json"', 412), ("1", 400), ('"1-json"', 201)])
@pytest.mark.parametrize("change", ["versions", "answers", "approval"])
def test_a_change_says_which_version_it_changes(client, letter, encounter, change, if_match, status):
    body = {
        "versions": encounter,
        "answers": {"answers": [{"rule": letter["queries"][0]["rule"], "answer": "kept", "reason": "So it was"}]},
        "approval": {"by": "Miss R. Calder"},
    }[change]
    headers = {"If-Match": if_match} if if_match else {}
    answer = client.post(f"/v1/letters/{letter['id']}/{change}", json=body, headers=headers)
    assert answer.status_code == status, answer.text


def test_of_two_changes_at_once_one_is_kept(client, letter, encounter):
    def change(_):
        path = f"/v1/letters/{letter['id']}/versions"
        return client.post(path, json=encounter, headers={"If-Match": '"1-json"'}).status_code

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(change, range(4))) == [201, 412, 412, 412]


def test_an_answer_settles_its_query(client, letter):
    query = next(each for each in letter["queries"] if each["open"])
    body = {"answers": [{"rule": query["rule"], "answer": "kept", "reason": "Seen twice", "by": "Miss R. Calder"}]}
    answer = client.post(f"/v1/letters/{letter['id']}/answers", json=body, headers={"If-Match": '"1-json"'})
    after = {each["rule"]: each["open"] for each in answer.json()["queries"]}
    assert after[query["rule"]] is False


def test_an_answer_replaces_an_earlier_one_to_the_same_query(client, letter, service):
    rule = letter["queries"][0]["rule"]
    for number, reason in ((1, "first"), (2, "second")):
        body = {"answers": [{"rule": rule, "answer": "kept", "reason": reason}]}
        client.post(f"/v1/letters/{letter['id']}/answers", json=body, headers={"If-Match": f'"{number}-json"'})
    kept = service.store.version(letter["id"]).content.encounter["answers"]
    assert [each["reason"] for each in kept] == ["second"]


def test_approval_waits_for_what_contradicts_itself(client, encounter):
    letter = client.post("/v1/letters", json=contradictory(encounter)).json()
    blocking = [each for each in letter["queries"] if each["blocksApproval"]]
    assert blocking
    path = f"/v1/letters/{letter['id']}"
    refused = client.post(f"{path}/approval", json={"by": "Miss R. Calder"}, headers={"If-Match": '"1-json"'})
    assert (refused.status_code, refused.json()["type"]) == (422, "/v1/problems/not-approvable")
    assert len(refused.json()["errors"]) == len(blocking)
    body = {"answers": [{"rule": each["rule"], "answer": "kept", "reason": "Both were seen"} for each in blocking]}
    client.post(f"{path}/answers", json=body, headers={"If-Match": '"1-json"'})
    done = client.post(f"{path}/approval", json={"by": "Miss R. Calder"}, headers={"If-Match": '"2-json"'})
    assert (done.status_code, done.json()["state"]) == (201, "final")


def test_an_approved_letter_is_final_and_says_so(client, letter, encounter):
    path = f"/v1/letters/{letter['id']}"
    assert client.get(f"{path}/approval").status_code == 404
    done = client.post(f"{path}/approval", json={"by": "Miss R. Calder"}, headers={"If-Match": '"1-json"'}).json()
    assert "DRAFT" not in done["text"]
    assert "Checked and approved by Miss R. Calder" in done["text"]
    assert done["approval"]["role"] == "Consultant hand surgeon"
    assert client.get(f"{path}/approval").json()["by"] == "Miss R. Calder"
    assert "DRAFT" not in client.get(f"{path}/patient-copy?format=text").text
    for change, body in (("versions", encounter), ("approval", {"by": "Miss R. Calder"})):
        refused = client.post(f"{path}/{change}", json=body, headers={"If-Match": '"2-json"'})
        assert (refused.status_code, refused.json()["type"]) == (409, "/v1/problems/letter-final")
    correction = client.post("/v1/letters", json=encounter).json()
    body = {"by": "Miss R. Calder", "replaces": done["digest"]}
    final = client.post(f"/v1/letters/{correction['id']}/approval", json=body, headers={"If-Match": '"1-json"'}).json()
    assert final["approval"]["replaces"] == done["digest"]


def test_the_files_of_a_version_never_change(client, letter):
    first = client.get(letter["links"]["docx"]).content
    assert client.get(letter["links"]["docx"]).content == first


def test_an_erased_letter_is_gone(client, letter, service):
    retention.erase(service.store, letter["id"], Doing("tests"))
    assert client.get(f"/v1/letters/{letter['id']}").status_code == 410
    assert client.get(letter["links"]["versions"]).json()["state"] == "erased"


def test_what_is_not_there_is_not_found(client):
    assert client.get(f"/v1/letters/{'0' * 32}").status_code == 404


def test_the_same_request_under_the_same_key_is_done_once(client, encounter, service):
    headers = {"Idempotency-Key": '"4c1d"', "Content-Type": "application/json"}
    body = json.dumps(encounter)

    def send(_):
        return client.post("/v1/letters", content=body, headers=headers)

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(send, range(8)))
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.content for answer in answers}) == 1
    other = client.post("/v1/letters", content=body + " ", headers=headers)
    assert (other.status_code, other.json()["type"]) == (422, "/v1/problems/key-reused")
    mine = service.client.post("/v1/letters", content=body, headers=headers | service.headers["draft"])
    assert mine.json()["id"] != answers[0].json()["id"]


def test_a_change_under_the_same_key_is_done_once(client, letter, encounter):
    headers = {"Idempotency-Key": '"5e2f"', "If-Match": '"1-json"'}
    path = f"/v1/letters/{letter['id']}/versions"
    first, again = (client.post(path, json=encounter, headers=headers) for _ in range(2))
    assert (first.status_code, first.content) == (201, again.content)


def test_a_key_out_of_form_is_refused(client, encounter):
    assert client.post("/v1/letters", json=encounter, headers={"Idempotency-Key": "bare"}).status_code == 400


def test_faults_are_named_by_their_place(client):
    body = {
        "patient": {"name": {"family": "Yarrow"}, "birthDate": "soon"},
        "examination": {"findings": [{"item": "x"}]},
    }
    answer = client.post("/v1/letters", json=body)
    assert answer.headers["content-type"] == "application/problem+json"
    problem = answer.json()
    assert (problem["status"], problem["type"], problem["request_id"]) == (
        422, "/v1/problems/invalid-input", answer.headers["x-request-id"],
    )  # fmt: skip
    assert problem["errors"][0]["pointer"] == "#/patient/birthDate"
    assert client.get(problem["type"]).json()["title"] == problem["title"]


@pytest.mark.parametrize("value", ["true", '"3"', "false"])
def test_a_truth_value_or_text_is_not_a_number(client, encounter, value):
    encounter = copy.deepcopy(encounter)
    encounter["examination"]["findings"][0]["count"] = json.loads(value)
    answer = client.post("/v1/checks", json=encounter)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/examination/findings/0/count"


def test_checks_readings_and_previews_store_nothing(client, encounter, service):
    before = len(service.store.listed(10_000))
    assert client.post("/v1/checks", json=encounter).json()["queries"]
    assert client.post("/v1/previews", json=encounter).json()["id"] is None
    assert client.post("/v1/previews?format=pdf", json=encounter).content.startswith(b"%PDF")
    note = "Right hand: Phalen's test positive at 20 s. Something else entirely."
    reading = client.post("/v1/readings", json={"text": note}).json()
    assert {"item": "phalen_test", "side": "right"}.items() <= reading["findings"][0]["finding"].items()
    assert [reading["spans"][0]["start"], reading["spans"][-1]["end"]] == [0, len(note)]
    assert len(service.store.listed(10_000)) == before


def test_what_is_known_can_be_asked(client):
    assert len(client.get("/v1/catalogue").json()["items"]) > 100
    assert 0 < len(client.get("/v1/catalogue?matching=thenar").json()["items"]) < 20
    assert len(client.get("/v1/rules").json()["rules"]) > 50
    assert client.get("/v1/schema").json()["$schema"].endswith("2020-12/schema")
    assert client.get("/healthz").json() == client.get("/readyz").json() == {"status": "ok", "stateless": False}


def test_the_list_goes_page_by_page(client, encounter):
    made = [client.post("/v1/letters", json=encounter).json()["id"] for _ in range(3)]
    first = client.get("/v1/letters?limit=2").json()
    assert [each["id"] for each in first["letters"]] == made[:0:-1]
    assert client.get(first["next"]).json()["letters"][0]["id"] == made[0]


def test_the_trail_is_whole_after_all_this(service):
    assert retention.verify(service.store).entries > 20


def test_a_fhir_bundle_is_taken_and_given(client, letter):
    given = client.get(letter["links"]["fhir"])
    assert given.headers["content-type"] == "application/fhir+json"
    bundle = given.json()
    assert (bundle["resourceType"], bundle["type"]) == ("Bundle", "document")
    headers = {"Content-Type": "application/fhir+json"}
    again = client.post("/v1/letters", content=given.content, headers=headers)
    assert again.status_code == 201, again.text
    assert {each["kind"] for each in again.json()["notices"]} <= {"not held", "left out", "to settle"}
    checked = client.post("/v1/checks", content=given.content, headers=headers)
    assert checked.status_code == 200


def test_a_final_letter_is_a_final_bundle(client, letter):
    path = f"/v1/letters/{letter['id']}"
    client.post(f"{path}/approval", json={"by": "Miss R. Calder"}, headers={"If-Match": '"1-json"'})
    bundle = client.get(f"{path}?format=fhir").json()
    assert bundle["entry"][0]["resource"]["status"] == "final"
