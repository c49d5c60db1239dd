"""The pages without a browser: their policy, who may see them, the preview of half a record, work in the making."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from paths import DEMO_CASES

from letterkit.records.errors import NotStored, VersionConflict
from letterkit.records.store import Store
from letterkit.service.pages.examination import form, hands
from letterkit.service.pages.preview import see, told
from letterkit.service.pages.worktable import Worktable, new_id

STATIC = Path(__file__).resolve().parents[2] / "letterkit" / "service" / "static"
TEMPLATES = Path(__file__).resolve().parents[2] / "templates" / "web"


@pytest.fixture
def table(tmp_path):
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    yield Worktable(store.engine)
    store.close()


def _demo(name="early_nerve_compression"):
    return json.loads(next(path for path in DEMO_CASES if path.stem == name).read_text(encoding="utf-8"))


def test_work_is_kept_over_the_version_that_was_read(table):
    work = new_id()

    assert table.save(work, 0, {"encounter": {}}, "person:a", "A") == 1
    assert table.save(work, 1, {"encounter": {"reference": "R1"}}, "person:b", "B") == 2
    with pytest.raises(VersionConflict, match="B has changed this letter"):
        table.save(work, 1, {"encounter": {}}, "person:a", "A")
    assert table.load(work).reference == "R1"


def test_of_two_at_once_one_is_told(table):
    work = new_id()
    table.save(work, 0, {"encounter": {}}, "person:a", "A")

    def save(name):
        try:
            return table.save(work, 1, {"encounter": {"reference": name}}, f"person:{name}", name)
        except VersionConflict:
            return None

    with ThreadPoolExecutor(8) as pool:
        assert sorted(pool.map(save, "abcdefgh"), key=str) == [2, *[None] * 7]


def test_work_that_is_over_cannot_be_written(table):
    work = new_id()
    table.save(work, 0, {"encounter": {}}, "person:a", "A")
    table.end(work, "person:a", "work.discarded")

    with pytest.raises(NotStored, match="approved or discarded"):
        table.save(work, 1, {"encounter": {}}, "person:a", "A")
    with pytest.raises(NotStored):
        table.load(work)


def test_who_else_has_a_letter_open(table):
    work = new_id()

    assert table.others(work, "1" * 32, "A") == ()
    assert table.others(work, "2" * 32, "B") == ("A",)
    table.leave(work, "1" * 32)
    assert table.others(work, "2" * 32, "B") == ()


@pytest.mark.parametrize("case", DEMO_CASES, ids=lambda path: path.stem)
def test_every_sentence_of_a_preview_leads_to_entries(case):
    record = json.loads(case.read_text(encoding="utf-8"))
    shown = told(see(record, None, None))

    assert shown["problems"] == [], shown["problems"]
    positions = {at for found in shown["facts"].values() for at in found}
    assert positions == set(range(len(record["examination"]["findings"])))
    assert "<main" not in shown["html"]
    assert "<style" not in shown["html"]


def test_what_cannot_be_read_is_left_out_and_told_at_its_place():
    record = _demo()
    findings = record["examination"]["findings"]
    record["patient"]["birthDate"] = "1971-13-40"
    findings[3] = {"item": "median_sensation", "side": "right", "value": "purple"}
    findings.insert(1, {"item": "nonsense_sign", "side": "left", "value": "positive"})
    shown = told(see(record, None, None))

    paths = [each["path"] for each in shown["problems"]]
    assert "patient.birthDate" in paths
    assert any(path.startswith("examination.findings[1]") for path in paths)
    assert any(path.startswith("examination.findings[4]") for path in paths)
    assert {at for found in shown["facts"].values() for at in found} == set(range(len(findings))) - {1, 4}
    assert "purple" not in shown["html"]
    assert "Grip strength was" in shown["html"]


def test_a_record_without_a_name_shows_its_findings_and_asks_for_it():
    shown = told(
        see({"examination": {"findings": [{"item": "phalen_test", "side": "right", "value": "positive"}]}}, None, None)
    )

    assert [each["path"] for each in shown["problems"]] == ["patient.name.family"]
    assert "was positive on the right" in shown["html"]


def test_words_of_a_record_are_never_markup():
    record = _demo()
    record["reason"]["text"] = "<img src=x onerror=alert(1)>"
    record["patient"]["name"]["family"] = "<script>alert(1)</script>"
    shown = told(see(record, None, None))["html"]

    assert "<img" not in shown
    assert "<script" not in shown


def test_the_form_holds_every_item_of_the_catalogue():
    from letterkit.catalogue import catalogue  # noqa: PLC0415 - beside its use

    told_of = json.loads(form()[0])

    assert [item["slug"] for item in told_of["items"]] == list(catalogue().items)
    for item in told_of["items"]:
        assert ("choices" in item) == (item["kind"] in {"presence", "test", "state", "mrc"}), item["slug"]


def test_places_of_the_drawing_can_be_told_apart():
    for hand in hands():
        for at, one in enumerate(hand.targets):
            for other in hand.targets[at + 1 :]:
                assert (one.x - other.x) ** 2 + (one.y - other.y) ** 2 >= 24**2, (one, other)
        assert {"mcp_thumb", "pip_ring", "dip_little"} <= {target.site for target in hand.targets}


def test_a_right_hand_has_its_thumb_left_seen_from_the_back():
    for hand in hands():
        places = {target.site: target.x for target in hand.targets}
        thumb_is_left = places["mcp_thumb"] < places["mcp_little"]
        assert thumb_is_left == ((hand.side == "right") == (hand.view == "back"))


@pytest.mark.parametrize(
    "path", [*sorted(TEMPLATES.glob("*.j2")), *sorted(STATIC.iterdir())], ids=lambda path: path.name
)
def test_pages_fetch_nothing_from_elsewhere_and_need_no_exception_of_the_policy(path):
    text = (
        path.read_text(encoding="utf-8")
        .replace("http://www.w3.org/2000/svg", "")
        .replace("https://fhir.nhs.uk/Id/nhs-number", "")
    )

    for banned in (
        "http://",
        "https://",
        " style=",
        'onclick="',
        "<style",
        "eval(",
        "new Function",
        "javascript:",
        "@import",
    ):
        assert banned not in text
    assert len(text.splitlines()) <= 300
