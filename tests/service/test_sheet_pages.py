"""Sheets on the pages, without a browser: who may, columns, corrections, two people, a stop in between."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import threading
import time
import zipfile
from contextlib import suppress
from pathlib import Path
from types import SimpleNamespace

import pytest
from bulk_rows import BASE, bulk_process, made, printed_words, rows, write_csv
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.bulk.corrections import load_corrections
from letterkit.bulk.mapping import load_mapping, mapping_path
from letterkit.records import access
from letterkit.records.access import Role, Scope
from letterkit.records.store import Doing
from letterkit.service import warm
from letterkit.service.callers import COOKIE, ROLE_SCOPES
from letterkit.service.keeper import beside, ended
from letterkit.service.pages import matching, sheets
from letterkit.service.pages import rows as row_pages

pytestmark = pytest.mark.slow
HTML = {"Accept": "text/html"}
NAMES = list(BASE)
GRIP = NAMES.index("Grip R (kg)")
PASSWORD = "a long enough phrase"
ANY_RUN = "0" * 32
OPERATIONS = {
    ("GET", "/sheets"): Scope.BULK, ("POST", "/sheets"): Scope.BULK, ("GET", "/sheets/known.json"): Scope.BULK,
    ("GET", f"/sheets/{ANY_RUN}"): Scope.BULK, ("GET", f"/sheets/{ANY_RUN}/columns"): Scope.BULK,
    ("POST", f"/sheets/{ANY_RUN}/columns"): Scope.BULK, ("POST", f"/sheets/{ANY_RUN}/discard"): Scope.BULK,
    ("GET", f"/sheets/{ANY_RUN}/rows/2"): Scope.BULK, ("POST", f"/sheets/{ANY_RUN}/rows/2"): Scope.BULK,
    ("GET", f"/sheets/{ANY_RUN}/print/print-run.1.docx"): Scope.BULK,
    ("GET", f"/finish/{ANY_RUN}/letter/pages.json"): Scope.DRAFT, ("GET", f"/finish/{ANY_RUN}/letter/1/1.png"): Scope.DRAFT,
}  # fmt: skip


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    opened = open_service(tmp_path_factory.mktemp("sheets"))
    opened.people = {}
    for role in Role:
        access.add_person(opened.store, role.value, f"The {role.value}", role, PASSWORD, Doing("tests"))
        _, token = access.sign_in(opened.store, role.value, PASSWORD, Doing("tests"))
        opened.people[role] = {"Cookie": f"{COOKIE}={token}", **HTML}
    with (
        pytest.MonkeyPatch.context() as patch,
        TestClient(opened.asgi, base_url="http://localhost", follow_redirects=False) as client,
    ):
        patch.setattr(warm, "_WAIT_S", 60.0)  # whoever corrects a row waits as long as the machine needs to begin
        opened.client = client
        opened.get = lambda path, role=Role.SECRETARY: client.get(path, headers=opened.people[role])
        opened.post = lambda path, data, role=Role.SECRETARY: client.post(path, data=data, headers=opened.people[role])
        yield opened


def _given(opened, given, names=None, **asked) -> str:
    """Gives a sheet in; the id of its run."""
    path = write_csv(opened.settings.runs_folder.parent / "friday.csv", given)
    if names:
        path.write_text(path.read_text().replace(",".join(NAMES), ",".join(names), 1))
    answer = opened.client.post(
        "/sheets", files={"sheet": ("friday.csv", path.read_bytes(), "text/csv")},
        data={"readers": "doctor", "formats": "docx"} | asked, headers=opened.people[Role.SECRETARY],
    )  # fmt: skip
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].split("/")[2]


def _seen(opened, path: str) -> str:
    return re.search(r'name="seen" value="([^"]*)"', opened.get(path).text)[1]


def _draft(opened, run: str, **choices) -> None:
    seen = _seen(opened, f"/sheets/{run}/columns")
    answer = opened.post(f"/sheets/{run}/columns", {"seen": seen, "then": "draft"} | choices)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/sheets/{run}")
    _wait(opened, run)


def _wait(opened, run: str) -> str:
    ends = time.monotonic() + 60
    while time.monotonic() < ends:
        page = opened.get(f"/sheets/{run}").text
        if "<table" in page or "could not be used" in page:
            return page
        time.sleep(0.2)
    raise AssertionError("the run does not end")


def _correct(opened, run, number, role=Role.SECRETARY, seen="0", **cells):
    return opened.post(f"/sheets/{run}/rows/{number}", {"seen": seen, **cells}, role)


@pytest.mark.parametrize(("method", "path", "scope"), [(*key, scope) for key, scope in OPERATIONS.items()])
def test_a_role_may_do_what_its_scopes_say(opened, method, path, scope):
    for role in Role:
        answer = opened.client.request(method, path, headers=opened.people[role])
        allowed = scope in ROLE_SCOPES[role]
        assert (answer.status_code == 403) == (not allowed), (role, answer.status_code)
    assert opened.client.request(method, path, headers=HTML).headers["location"].startswith("/sign-in")
    strange = opened.people[Role.SECRETARY] | {"Sec-Fetch-Site": "cross-site"}
    if method == "POST":
        assert opened.client.request(method, path, headers=strange).status_code == 403


def test_the_table_names_every_page_of_sheets(opened):
    known = {
        (method, route.path.replace("{run_id}", ANY_RUN).replace("{number}", "2").replace("{name}", "print-run.1.docx"))
        for router in (matching.router, row_pages.router, sheets.router)
        for route in router.routes
        for method in route.methods
    }
    assert known == {key for key in OPERATIONS if key[1].startswith("/sheets")}


def test_a_sheet_from_columns_to_a_corrected_print_run(opened, tmp_path):
    given = list(rows(3))
    given[1] |= {"Grip R (kg)": "300"}
    names = [{"Phalen R": "Phal test thumb", "Occupation": "x"}.get(name, name) for name in NAMES]
    run = _given(opened, given, names)
    page = opened.get(f"/sheets/{run}/columns").text
    assert "1 of 26 columns needs a choice" in page
    assert opened.get(f"/sheets/{run}").headers["location"] == f"/sheets/{run}/columns"
    seen = _seen(opened, f"/sheets/{run}/columns")
    answer = opened.post(f"/sheets/{run}/columns", {"seen": seen, "then": "draft"})
    assert answer.status_code == 422
    assert "1 column needs a choice." in answer.text
    at = names.index("Phal test thumb")
    _draft(opened, run, **{f"holds-{at}": "i:phalen_test", f"side-{at}": "right"})

    page = opened.get(f"/sheets/{run}").text
    assert page.index("row 3") < page.index("row 2")  # refused rows come first
    assert "<strong>Grip R (kg), cell W3:</strong> 300 kg is outside 0 to 150 for grip strength." in page
    assert ">Grip R (kg)</a> (W3): 300 kg is outside" in opened.get(f"/sheets/{run}/rows/3").text
    sheet = opened.app.state.service.runs.sheet(run)
    assert load_mapping(mapping_path(sheet)).columns == {"phal test thumb": "phalen_test right"}
    assert _correct(opened, run, 3, **{f"cell-{GRIP}": "30"}).headers["location"] == f"/sheets/{run}?done=3"
    page = opened.get(f"/sheets/{run}?done=3").text
    assert "Row 3 was corrected:" in page  # at once, whether the print run is written or not
    assert "corrected by The secretary" in page
    page = _over(opened, run)
    name = re.search(rf"/sheets/{run}/print/(print-run[^\"]+)", page)[1]
    (tmp_path / "print.docx").write_bytes(opened.get(f"/sheets/{run}/print/{name}").content)
    words = printed_words(tmp_path / "print.docx")
    assert [words.count(f"HHC-00000{number}") for number in range(3)] == [1, 1, 1]
    assert "30\N{NO-BREAK SPACE}kg" in words
    archive = zipfile.ZipFile(io.BytesIO(opened.get(f"/v1/bulk-runs/{run}/results").content))
    assert sorted(archive.namelist()) == ["HHC-000000.docx", "HHC-000001.docx", "HHC-000002.docx", "outcome.xlsx", name]

    # The command line makes the same of the same files, and says nothing else of it.
    out = tmp_path / "out"
    assert bulk_process(sheet, out, "--date", _drafted(archive)).returncode == 1
    for letter in ("HHC-000000.docx", "HHC-000001.docx", "HHC-000002.docx"):
        assert made(out)[letter] == archive.read(letter)
    with opened.store.engine.connect() as connection:
        acts = connection.exec_driver_sql("SELECT action FROM audit_entries WHERE subject = ?", (run,)).scalars().all()
    assert acts == ["bulk.given", "bulk.columns", "bulk.begun", "bulk.corrected"]
    assert opened.get(f"/sheets/{run}/print/print-run.1.docx").status_code == 404  # it holds a letter's older state
    assert opened.get(f"/sheets/{run}/print/outcome.xlsx").status_code == 404


def test_two_people_on_one_row_the_second_is_told_and_loses_nothing(opened):
    run = _given(opened, rows(2))
    plan = NAMES.index("Plan")
    both = {f"cell-{GRIP}": "18", f"cell-{plan}": "Review in eight weeks"}
    _correct(opened, run, 2, Role.CLINICIAN, **both | {f"cell-{GRIP}": "31"})
    answer = _correct(opened, run, 2, **both | {f"cell-{GRIP}": "33", f"cell-{plan}": "Review in six weeks"})
    assert answer.status_code == 409
    assert "The clinician corrected this row" in answer.text
    assert 'value="33"' in answer.text
    assert 'value="Review in six weeks"' in answer.text
    assert "The other correction has: 31" in answer.text
    assert "data-run" not in answer.text  # what was typed is not lost to a page that loads itself again
    again = _correct(opened, run, 2, seen="1", **both | {f"cell-{GRIP}": "33", f"cell-{plan}": "Review in six weeks"})
    assert again.status_code == 303
    found = load_corrections(opened.app.state.service.runs.sheet(run)).of("row 2")
    assert [(each.by, dict(each.cells)) for each in found] == [
        ("The clinician", {GRIP: "31"}), ("The secretary", {GRIP: "33", plan: "Review in six weeks"}),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("cells", "status", "words"),
    [
        ({f"cell-{GRIP}": "18"}, 422, "Nothing differs"),
        ({f"cell-{at}": "" for at in range(len(NAMES))}, 422, "cannot be emptied"),
        ({"cell-999": "x"}, 422, "Nothing differs"),
    ],
)  # fmt: skip
def test_what_is_no_correction_is_told(opened, cells, status, words):
    run = _given(opened, rows(1))
    answer = _correct(opened, run, 2, **cells)
    assert (answer.status_code, words in answer.text) == (status, True)
    assert len(load_corrections(opened.app.state.service.runs.sheet(run))) == 0
    assert _correct(opened, run, 99, **cells).status_code == 404


def _drafted(archive) -> str:
    """The day on which the letters of an archive were drafted."""
    with zipfile.ZipFile(io.BytesIO(archive.read("HHC-000000.docx"))) as letter:
        return re.search(r"<dcterms:created[^>]*>([\d-]{10})", letter.read("docProps/core.xml").decode())[1]


def _kill(folder) -> bool:
    """Waits until a process is at work in a folder, and kills what is; whether there was one."""
    found = False
    ends = time.monotonic() + 10
    while not found and time.monotonic() < ends:
        for process in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                if (process / "cwd").readlink() == folder:
                    os.kill(int(process.name), signal.SIGKILL)
                    found = True
    return found


def _until_ended(folder) -> None:
    """Until every correction that was kept has its letter."""
    ends = time.monotonic() + 60
    while not ended(folder) and time.monotonic() < ends:
        time.sleep(0.05)


def _over(opened, run: str) -> str:
    """The page once the print run stands as well."""
    ends = time.monotonic() + 60
    while time.monotonic() < ends:
        if "All letters as a zip" in (page := opened.get(f"/sheets/{run}").text):
            return page
        time.sleep(0.1)
    raise AssertionError("the run does not end")


def test_killed_between_correction_and_redraft_nothing_is_lost(opened, monkeypatch):
    run = _given(opened, rows(3))
    _draft(opened, run)
    runs = opened.app.state.service.runs
    folder = runs.sheet(run).parent
    monkeypatch.setattr(type(runs), "redraft", lambda self, run_id: None)  # the service dies right after it has kept it
    _correct(opened, run, 2, **{f"cell-{GRIP}": "31"})
    assert not ended(folder)
    monkeypatch.undo()
    other = open_service(folder.parent.parent)
    with TestClient(other.asgi, base_url="http://localhost", follow_redirects=False) as client:
        page = _wait(SimpleNamespace(get=lambda path: client.get(path, headers=opened.people[Role.SECRETARY])), run)
    assert page.count("version 2") == 1  # and no other letter has another version
    assert ended(folder)

    both = [
        threading.Thread(target=_correct, args=(opened, run, number), kwargs={"seen": seen, f"cell-{GRIP}": grip})
        for number, seen, grip in ((2, "1", "32"), (3, "0", "33"))
    ]
    for each in both:
        each.start()
    assert _kill(folder)  # in the middle of it
    for each in both:
        each.join()
    _until_ended(folder)  # the letters of the first may stand before the second is begun
    page = _over(opened, run)
    assert (page.count("version 3"), page.count("version 2")) == (1, 1)
    names = zipfile.ZipFile(io.BytesIO(opened.get(f"/v1/bulk-runs/{run}/results").content)).namelist()
    assert [name for name in names if name.startswith("HHC-")] == [
        "HHC-000000.v3.docx", "HHC-000001.v2.docx", "HHC-000002.docx",
    ]  # fmt: skip
    assert "Grip R (kg): 31 → 32, corrected by The secretary" in opened.get(f"/sheets/{run}/rows/2").text


def test_columns_that_somebody_changed_meanwhile_are_shown_again(opened):
    run = _given(opened, rows(1))
    seen = _seen(opened, f"/sheets/{run}/columns")
    plan = NAMES.index("Plan")
    assert opened.post(f"/sheets/{run}/columns", {"seen": seen, f"holds-{plan}": "-"}).status_code == 303
    answer = opened.post(f"/sheets/{run}/columns", {"seen": seen, f"holds-{plan}": ""})
    assert answer.status_code == 409
    assert "Somebody changed the matching" in answer.text
    assert "plan" in load_mapping(mapping_path(opened.app.state.service.runs.sheet(run))).ignore


def test_a_required_column_that_is_missing_is_named_before_any_letter(opened):
    run = _given(opened, rows(1), [name if name != "Surname" else "Forename's friend" for name in NAMES])
    seen = _seen(opened, f"/sheets/{run}/columns")
    at = NAMES.index("Surname")
    answer = opened.post(f"/sheets/{run}/columns", {"seen": seen, "then": "draft", f"holds-{at}": "-"})
    assert answer.status_code == 422
    assert "No column holds the patient&#39;s family name" in answer.text
    assert not opened.app.state.service.runs.begun(run)
    choice = {"seen": _seen(opened, f"/sheets/{run}/columns"), f"holds-{at}": "i:pip_movement", f"side-{at}": "left"}
    answer = opened.post(f"/sheets/{run}/columns", choice)
    assert answer.status_code == 422
    assert "choose the place of movement of the proximal" in answer.text
    assert '<option value="i:pip_movement" selected>' in answer.text


def test_a_sheet_that_cannot_be_read_is_not_kept(opened):
    before = set(opened.settings.runs_folder.glob("*"))
    for name, content, words in (
        ("x.xlsx", b"nonsense", "is no workbook of this kind"), ("x.csv", b"", "is empty"),
        ("x.exe", b"x", "whose name ends in"), ("", b"", "Choose a file"),
    ):  # fmt: skip
        files = {"sheet": (name, content, "text/csv")} if name else None
        data = {"readers": "doctor", "formats": "docx"}
        answer = opened.client.post("/sheets", files=files, data=data, headers=opened.people[Role.SECRETARY])
        assert (answer.status_code, words in answer.text) == (422, True), answer.text
    assert set(opened.settings.runs_folder.glob("*")) == before


def test_a_sheet_is_discarded_before_its_letters_and_not_after(opened):
    run = _given(opened, rows(1))
    assert "friday.csv" in opened.get("/sheets").text
    assert opened.post(f"/sheets/{run}/discard", {}).status_code == 303
    assert opened.get(f"/sheets/{run}/columns").status_code == 404
    run = _given(opened, rows(1))
    folder = opened.app.state.service.runs.sheet(run).parent
    (folder / "asked.json").write_text("{}")
    (folder / "ended").write_text(f"0 {beside(folder)}")
    assert opened.post(f"/sheets/{run}/discard", {}).status_code == 403


def test_whole_encounters_are_drafted_at_once_and_have_no_columns(opened):
    case = json.loads((DEMO / "ganglion.json").read_bytes())
    answer = opened.client.post(
        "/sheets", files={"sheet": ("clinic.jsonl", json.dumps(case).encode(), "text/plain")},
        data={"readers": ["doctor", "patient"], "formats": "docx"}, headers=opened.people[Role.SECRETARY],
    )  # fmt: skip
    run = answer.headers["location"].split("/")[2]
    page = _over(opened, run)
    assert "Print run of the patients’ copies" in page
    assert f"/sheets/{run}/columns" not in page
    assert opened.get(f"/sheets/{run}/columns").headers["location"] == f"/sheets/{run}"
    assert opened.get(f"/sheets/{run}/rows/1").status_code == 404
