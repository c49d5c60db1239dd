"""The service as a process: where it listens, how it stops, what it says in its logs, and what a kill leaves."""

from __future__ import annotations

import asyncio
import itertools
import json
import os
import signal
import socket
import subprocess
import threading
import time
from http.client import HTTPException
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
import service_fixtures
from service_fixtures import BASE_ENVIRONMENT, DEMO, command, open_service, running
from starlette.testclient import TestClient

from letterkit.records import retention
from letterkit.records.store import Store
from letterkit.service.logs import ALLOWED

pytestmark = pytest.mark.slow
JSON = {"Content-Type": "application/json"}


def _run(folder: Path, *arguments: str, given: str = "", **settings: str) -> subprocess.CompletedProcess:
    environment = BASE_ENVIRONMENT | {"LETTERKIT_RECORDS": f"sqlite:///{folder / 'records.db'}"} | settings
    return subprocess.run(
        command(*arguments),
        capture_output=True,
        text=True,
        timeout=60,
        cwd=folder,
        env=environment,
        input=given,
        check=False,
    )


def _send(address: str, path: str, body: bytes | None = None, **headers: str):
    request = Request(address + path, data=body, headers=JSON | headers)
    try:
        with urlopen(request, timeout=30) as answer:
            return answer.status, answer.read()
    except HTTPError as error:
        return error.code, error.read()


def test_it_does_not_listen_to_others_without_a_key(tmp_path):
    refused = _run(tmp_path, "serve", "--host", "0.0.0.0", "--port", "0")
    assert refused.returncode == 2
    assert "make one first with `letterkit keys add`" in refused.stderr


def test_a_stateless_service_does_not_listen_to_others_without_a_key_file(tmp_path):
    refused = _run(tmp_path, "serve", "--stateless", "--host", "::", "--port", "0")
    assert refused.returncode == 2
    assert not (tmp_path / "records.db").exists()


def test_a_misspelt_setting_stops_it(tmp_path):
    refused = _run(tmp_path, "serve", LETTERKIT_WORKRES="9")
    assert (refused.returncode, "did you mean LETTERKIT_WORKERS?" in refused.stderr) == (2, True)


def test_with_a_key_it_listens_and_wants_it(tmp_path):
    shown = _run(tmp_path, "keys", "add", "clinic system", "--scope", "draft", "--scope", "read").stdout.strip()
    body = (DEMO / "ganglion.json").read_bytes()
    with running(tmp_path, "--host", "0.0.0.0", "--workers", "2") as service:
        assert _send(service.address, "/v1/letters", body)[0] == 401
        status, answer = _send(service.address, "/v1/letters", body, Authorization=f"Bearer {shown}")
        assert (status, json.loads(answer)["state"]) == (201, "draft")
        assert _send(service.address, "/metrics", Authorization=f"Bearer {shown}")[0] == 403
    listed = _run(tmp_path, "keys", "list").stdout
    assert "clinic system  draft read  until revoked" in listed
    assert shown not in listed
    assert _run(tmp_path, "keys", "revoke", listed.split()[0]).returncode == 0
    assert "revoked" in _run(tmp_path, "keys", "list").stdout


def test_a_stateless_service_stores_nothing(tmp_path, monkeypatch):
    made = _run(tmp_path, "keys", "add", "x", "--scope", "draft", "--as-record")
    (tmp_path / "keys.jsonl").write_text(made.stdout)
    headers = {"Authorization": f"Bearer {made.stderr.strip().rpartition(' ')[2]}"} | JSON
    body = (DEMO / "ganglion.json").read_bytes()
    opened = open_service(tmp_path, stateless=True, stateless_keys=tmp_path / "keys.jsonl")
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        assert client.post("/v1/previews", content=body, headers=JSON).status_code == 401
        assert client.post("/v1/previews", content=body, headers=headers).json()["text"]
        assert client.post("/v1/checks", content=body, headers=headers).status_code == 200
        refused = client.post("/v1/letters", content=body, headers=headers)
        assert (refused.status_code, refused.json()["type"]) == (409, "/v1/problems/stateless")
        assert client.get("/readyz").json() == {"status": "ok", "stateless": True}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["keys.jsonl"]


@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_port_that_is_taken_is_said(tmp_path, workers):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        refused = _run(tmp_path, "serve", "--port", str(other.getsockname()[1]), "--workers", workers)
    assert refused.returncode != 0


def test_settings_are_shown_without_secrets(tmp_path):
    shown = _run(tmp_path, "settings", "--explain", LETTERKIT_RECORDS="postgresql://letters:hunter2@db/letters").stdout
    assert "hunter2" not in shown
    assert "LETTERKIT_RECORDS=postgresql://letters:***@db/letters" in shown
    assert "LETTERKIT_MAX_BODY=1048576" in shown


def _accepted(port: int) -> int:
    """How many connections a service has taken; those that wait in the system's queue have no inode yet."""
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    return sum(row[1].endswith(f":{port:04X}") and row[3] == "01" and row[9] != "0" for row in rows)


def test_a_stop_finishes_what_was_begun(tmp_path):
    body = (DEMO / "ninety_findings.json").read_bytes()
    with running(tmp_path) as service:
        statuses = []
        threads = [
            threading.Thread(target=lambda: statuses.append(_send(service.address, "/v1/letters", body)[0]))
            for _ in range(8)
        ]
        for thread in threads:
            thread.start()
        until = time.monotonic() + 20
        while _accepted(service.port) + len(statuses) < len(threads) and time.monotonic() < until:
            time.sleep(0.005)  # what the service has not taken yet is not begun
        time.sleep(0.15)
        service.process.send_signal(signal.SIGTERM)
        for thread in threads:
            thread.join()
        service.process.wait(timeout=40)
    assert set(statuses) == {201}
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    assert len(store.listed(100)) == 8
    store.close()


def _words() -> set[str]:
    """What identifies the patients of the demo cases."""
    found = set()
    for path in DEMO.glob("*.json"):
        case = json.loads(path.read_bytes())
        patient = case["patient"]
        name = patient["name"]
        found |= {name[part] for part in ("family", "text") if part in name} | set(name.get("given", ()))
        found |= {each["value"] for each in patient.get("identifier", ())}
        found |= {each["value"].replace(" ", "") for each in patient.get("identifier", ())}
        address = patient.get("address", {})
        found |= set(address.get("line", ())) | {address[part] for part in ("postalCode",) if part in address}
        found |= {patient["birthDate"]} if "birthDate" in patient else set()
        found |= {case["reference"]} if "reference" in case else set()
    assert len(found) > 60
    return found


def test_nothing_of_a_patient_is_logged_counted_or_said_in_an_error(tmp_path):
    said: list[bytes] = []

    def ask(path: str, body: bytes | None = None, **headers: str):
        status, answer = _send(service.address, path, body, **headers)
        if status >= 400:
            said.append(answer)
        return status, answer

    with running(tmp_path, LETTERKIT_LOG_LEVEL="debug", LETTERKIT_RATE_PER_MINUTE="100000") as service:
        for path in sorted(DEMO.glob("*.json")):
            body = path.read_bytes()
            status, answer = ask("/v1/letters", body, **{"Idempotency-Key": f'"{path.stem}"'})
            assert status == 201
            letter = json.loads(answer)
            for form in ("docx", "pdf", "html", "text", "fhir", "patientCopy", "versions"):
                assert ask(letter["links"][form])[0] == 200
            assert ask("/v1/checks", body)[0] == ask("/v1/previews", body)[0] == 200
            assert ask("/v1/readings", json.dumps({"text": letter["text"]}).encode())[0] == 200
            one = f"/v1/letters/{letter['id']}"
            ask(f"{one}/approval", b'{"by": "Miss R. Calder"}', **{"If-Match": '"1-json"'})
            ask(f"{one}/approval", b'{"by": "Miss R. Calder"}', **{"If-Match": '"1-json"'})
            ask(f"{one}/versions", body, **{"If-Match": '"9-json"'})
            ask("/v1/letters", body + b" ", **{"Idempotency-Key": f'"{path.stem}"'})
            for wrong in _broken(json.loads(body)):
                assert ask("/v1/letters", json.dumps(wrong).encode())[0] == 422
            ask("/v1/letters", body[:-20])
            ask("/v1/letters", body, **{"Content-Type": "text/plain"})
            ask("/nowhere", body)
        figures = _send(service.address, "/metrics")[1]
    log = service.log.read_text()
    assert len(said) > 150
    assert '"event": "request"' in log
    assert b"letterkit_requests_total" in figures
    for word in _words():
        for place, text in (("log", log), ("figures", figures.decode()), ("errors", b"".join(said).decode())):
            assert word not in text, place


def _broken(case: dict):
    """The record with a fault in a patient's field, in a finding, and at a field that does not exist."""
    patient = case["patient"]
    yield case | {"patient": patient | {"birthDate": patient["name"].get("family") or patient["name"].get("text")}}
    yield case | {"patient": patient | {"gender": patient["name"].get("family", "x")}}
    yield case | {"patient": patient | {"surname": patient["name"].get("family", "x")}}
    yield case | {"patient": patient | {"name": {"family": 7, "given": [patient["name"].get("family", "x")]}}}
    yield case | {"patient": patient | {"identifier": [{"system": "NHS number", "value": "999 000 2060"}]}}
    yield case | {"examination": {"findings": [{"item": "no such item", "note": patient["name"].get("family", "x")}]}}


def test_every_log_line_is_json_of_known_fields(tmp_path):
    with running(tmp_path, "--workers", "2") as service:
        _send(service.address, "/v1/rules", **{"X-Request-Id": "seen-in-the-log"})
    lines = [json.loads(line) for line in service.log.read_text().splitlines()]
    assert all(set(line) <= ALLOWED for line in lines)
    assert any(line.get("request_id") == "seen-in-the-log" and line["route"] == "/v1/rules" for line in lines)


def test_a_kill_under_load_loses_no_acknowledged_letter_and_doubles_none(tmp_path):
    """Ten clients post under keys of their own and repeat what was not answered; the service is killed three times."""
    body = (DEMO / "ganglion.json").read_bytes()
    port = service_fixtures.free_port()
    acknowledged: dict[str, str] = {}
    numbers = itertools.count()
    stop = threading.Event()

    def client() -> None:
        while not stop.is_set():
            key = f'"{next(numbers)}"'
            while True:
                try:
                    status, answer = _send(f"http://127.0.0.1:{port}", "/v1/letters", body, **{"Idempotency-Key": key})
                except (OSError, HTTPException):
                    time.sleep(0.05)
                    continue
                assert status == 201
                acknowledged[key] = json.loads(answer)["id"]
                break

    def start():
        return service_fixtures.start(tmp_path, "--workers", "2", port=port, LETTERKIT_RATE_PER_MINUTE="1000000")

    service = start()
    threads = [threading.Thread(target=client) for _ in range(10)]
    for thread in threads:
        thread.start()
    for _ in range(3):
        time.sleep(1.5)
        for process in _family(service.process.pid):
            os.kill(process, signal.SIGKILL)
        service.process.wait()
        service = start()
    time.sleep(1)
    stop.set()
    for thread in threads:
        thread.join()
    service.process.terminate()
    service.process.wait(timeout=40)
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    stored = {info.letter_id for info in store.listed(1_000_000)}
    retention.verify(store)
    store.close()
    assert len(acknowledged) >= 10
    assert len(set(acknowledged.values())) == len(acknowledged)
    assert stored == set(acknowledged.values())


def _family(process: int) -> list[int]:
    """A process and all below it."""
    found = [process]
    for children in Path(f"/proc/{process}/task").glob("*/children"):
        for child in children.read_text().split():
            found += _family(int(child))
    return found


@pytest.mark.parametrize("workers", ["1", "2"])
def test_figures_are_of_all_workers(tmp_path, workers):
    body = (DEMO / "four_findings_only.json").read_bytes()
    with running(tmp_path, "--workers", workers) as service:
        asyncio.run(service_fixtures.load(service.port, "/v1/letters", [body], 8, 40))
        figures = _send(service.address, "/metrics")[1].decode()
    assert 'letterkit_letters_total{kind="drafted"} 40.0' in figures
