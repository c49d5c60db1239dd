"""Sheets over HTTP: upload, progress, results, and what goes wrong."""

from __future__ import annotations

import io
import json
import os
import signal
import time
import zipfile
from pathlib import Path

import pytest
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

pytestmark = pytest.mark.slow
PATH = "/v1/bulk-runs"
WAIT_S = 60


def lines(count: int) -> bytes:
    """A sheet of JSON Lines: one demo case under references of its own."""
    case = json.loads((DEMO / "ganglion.json").read_bytes())
    return b"".join(json.dumps(case | {"reference": f"HHC-{number:05d}"}).encode() + b"\n" for number in range(count))


@pytest.fixture
def opened(tmp_path):
    opened = open_service(tmp_path)
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        opened.client = client
        yield opened


def _upload(client, content: bytes, name: str = "clinic.jsonl", key: str | None = None, **fields):
    headers = {"Idempotency-Key": f'"{key}"'} if key else {}
    return client.post(PATH, files={"sheet": (name, content, "application/octet-stream")}, data=fields, headers=headers)


def _wait(client, run: dict) -> dict:
    ends = time.monotonic() + WAIT_S
    while time.monotonic() < ends:
        run = client.get(run["links"]["self"]).json()
        if run["state"] in {"done", "failed"}:
            return run
        time.sleep(0.1)
    raise AssertionError(f"the run is still {run}")


def test_a_sheet_becomes_letters_and_an_outcome_sheet(opened):
    client = opened.client
    answer = _upload(client, lines(5), formats=["docx", "text"], readers=["doctor"])
    assert answer.status_code == 202, answer.text
    run = answer.json()
    assert answer.headers["location"] == run["links"]["self"]
    second = _upload(client, lines(1))
    assert second.status_code == 202
    early = client.get(run["links"]["results"])
    if early.status_code != 200:
        assert (early.status_code, early.json()["type"]) == (409, "/v1/problems/not-done")
    with client.stream("GET", run["links"]["events"]) as stream:
        told = [json.loads(line[6:]) for line in stream.iter_lines() if line.startswith("data: ")]
    assert told[-1]["state"] == "done"
    assert told[-1]["drafted"] + told[-1]["queried"] == 5
    results = client.get(run["links"]["results"])
    assert int(results.headers["content-length"]) == len(results.content)
    names = zipfile.ZipFile(io.BytesIO(results.content)).namelist()
    assert "outcome.xlsx" in names
    assert sum(name.endswith(".docx") for name in names) == sum(name.endswith(".txt") for name in names) == 5
    assert not any("Yarrow" in name for name in names)
    both = client.get(_wait(client, second.json())["links"]["results"])
    assert len([name for name in zipfile.ZipFile(io.BytesIO(both.content)).namelist() if name.endswith(".docx")]) == 2


def test_the_same_upload_under_the_same_key_is_one_run(opened):
    client = opened.client
    first, again = (_upload(client, lines(1), key="a") for _ in range(2))
    assert first.json()["id"] == again.json()["id"]
    other = _upload(client, lines(2), key="a")
    assert (other.status_code, other.json()["type"]) == (422, "/v1/problems/key-reused")
    folders = [path for path in opened.settings.runs_folder.iterdir() if path.is_dir()]
    assert len(folders) == 1
    _wait(client, first.json())


def test_a_sheet_that_cannot_be_used_says_why(opened):
    run = _upload(opened.client, b"colour;weather\nred;rain\n", "clinic.csv").json()
    run = _wait(opened.client, run)
    assert run["state"] == "failed"
    assert run["said"]
    assert opened.client.get(run["links"]["results"]).status_code == 409


@pytest.mark.parametrize("name", ["clinic.exe", "clinic", "clinic.csv.zip", ""])
def test_a_file_of_another_kind_is_refused(opened, name):
    answer = _upload(opened.client, b"x", name)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"


def test_the_sheets_name_is_not_used(opened):
    run = _upload(opened.client, lines(1), "../../../etc/evil.jsonl").json()
    folder = opened.settings.runs_folder / run["id"]
    assert (folder / "sheet.jsonl").exists()
    _wait(opened.client, run)


def test_a_far_cell_is_refused_in_bounded_time(opened):
    """A small workbook whose one cell lies in the last column of the last row."""
    made = io.BytesIO()
    sheet = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</sheetData></worksheet>'
    cells = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr(
            "[Content_Types].xml", '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>'
        )
        archive.writestr("xl/worksheets/sheet1.xml", sheet.format(cells))
    began = time.monotonic()
    run = _wait(opened.client, _upload(opened.client, made.getvalue(), "clinic.xlsx").json())
    assert run["state"] == "failed"
    assert time.monotonic() - began < 30


def test_a_sheet_too_large_is_cut_off(tmp_path):
    opened = open_service(tmp_path, max_sheet=10_000)
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        answer = _upload(client, b"x" * 20_000)
        assert (answer.status_code, answer.json()["type"]) == (413, "/v1/problems/body-too-large")
    assert not list(opened.settings.runs_folder.glob("*"))


def _at_work(folder: Path) -> list[int]:
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if str(folder) in (process / "cmdline").read_text() or (process / "cwd").readlink() == folder:
                found.append(int(process.name))
        except OSError:
            continue
    return found


def test_a_killed_run_goes_on_and_doubles_nothing(opened):
    client = opened.client
    run = _upload(client, lines(400), readers=["doctor"]).json()
    folder = opened.settings.runs_folder / run["id"]
    ends = time.monotonic() + WAIT_S
    while client.get(run["links"]["self"]).json()["state"] != "drafting" and time.monotonic() < ends:
        time.sleep(0.05)
    for process in _at_work(folder):
        os.kill(process, signal.SIGKILL)
    run = _wait(client, run)
    assert (run["state"], run["drafted"] + run["queried"]) == ("done", 400)
    names = zipfile.ZipFile(io.BytesIO(client.get(run["links"]["results"]).content)).namelist()
    assert len([name for name in names if name.endswith(".docx")]) == len(set(names)) - 1 == 400


def test_runs_need_records(tmp_path):
    with TestClient(open_service(tmp_path, stateless=True).asgi, base_url="http://localhost") as client:
        assert _upload(client, lines(1)).json()["type"] == "/v1/problems/stateless"
