"""Pages of a letter as pictures: of the Word document where that can be had, else of the PDF; nothing left behind."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.pipeline import draft
from letterkit.render.base import renderer
from letterkit.render.pdf import pictures
from letterkit.service import paper
from letterkit.service.pages.desk import demo_body
from letterkit.service.pages.worktable import Worktable, new_id

PNG = b"\x89PNG\r\n"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Where folders for conversions are made."""
    folder = tmp_path / "place"
    folder.mkdir()
    monkeypatch.setattr(paper, "_place", lambda: folder)
    return folder


@pytest.fixture(scope="module")
def letter():
    return draft(json.loads((DEMO / "late_nerve_compression.json").read_text(encoding="utf-8"))).letter


def _program(folder, body):
    script = folder / "soffice"
    script.write_text(f"#!/bin/sh\n{body}\n")
    script.chmod(0o755)
    return str(script)


def _docx(letter):
    return renderer("docx").render(letter)


def test_the_pdfs_pages_are_those_of_the_letter_without_its_queries(letter):
    from io import BytesIO  # noqa: PLC0415 - beside its use

    from pypdf import PdfReader  # noqa: PLC0415 - the same

    pages = pictures(letter)
    assert all(page.startswith(PNG) for page in pages)
    whole = PdfReader(BytesIO(renderer("pdf").render(letter)))
    queries = sum("Queries" in (page.extract_text() or "") for page in whole.pages)
    assert letter.remarks
    assert len(pages) <= len(whole.pages) - 1
    assert queries >= 1
    assert pictures(letter) == pages


@pytest.mark.libreoffice
def test_the_word_documents_pages_are_shown_and_nothing_stays(letter, place):
    if not paper.office():
        pytest.skip("LibreOffice is not installed")
    pages = paper.word_pages(paper.office(), _docx(letter))
    assert len(pages) >= 2
    assert all(page.startswith(PNG) for page in pages)
    assert list(place.iterdir()) == []


def test_a_conversion_beyond_its_time_is_ended_with_all_it_started(letter, place, tmp_path):
    told = tmp_path / "child"
    program = _program(tmp_path, f"sleep 60 & echo $! > {told}; wait")
    began = time.monotonic()
    with pytest.raises(paper.LetterkitError, match="in time"):
        paper.word_pages(program, b"x", within=0.5)
    assert time.monotonic() - began < 5
    assert list(place.iterdir()) == []
    time.sleep(0.1)
    state = Path(f"/proc/{told.read_text().strip()}/stat")
    assert not state.exists() or " Z " in state.read_text()


@pytest.mark.parametrize("body", ["exit 3", "exit 0", "echo nonsense > letter.pdf"])
def test_where_the_word_document_cannot_be_shown_the_pdf_is(letter, place, tmp_path, body):
    maker = paper.Paper(with_word=False)
    maker._program = _program(tmp_path, body)
    key = ("w", 1, "letter", None)
    found = maker.ask(key, lambda: letter, _docx).result(20)
    assert (found.how, found.pictures) == ("pdf", pictures(letter))
    assert list(place.iterdir()) == []
    assert maker.ask(key, lambda: letter, _docx).result(0) is found
    maker.forget("w")
    assert maker._jobs == {}
    maker.close()


def test_beyond_a_few_that_wait_the_pdf_is_shown(letter, place, tmp_path):
    maker = paper.Paper(with_word=False)
    maker._program = _program(tmp_path, "sleep 0.3; exit 3")
    asked = [maker.ask(("w", number, "letter", None), lambda: letter, _docx) for number in range(6)]
    assert all(each.result(30).how == "pdf" for each in asked)
    maker.close()


def test_what_a_killed_service_left_is_removed_and_nothing_else(place):
    old, young, strange = (place / name for name in ("letterkit-pages-a", "letterkit-pages-b", "other"))
    for folder in (old, young, strange):
        folder.mkdir()
        (folder / "letter.docx").write_bytes(b"x")
    long_ago = time.time() - 1000
    for folder in (old, strange):
        os.utime(folder, (long_ago, long_ago))
    paper.sweep()
    assert sorted(each.name for each in place.iterdir()) == ["letterkit-pages-b", "other"]


def test_pages_of_work_over_http(tmp_path, place):
    opened = open_service(tmp_path, word_pages=False)
    table, work = Worktable(opened.store.engine), new_id()
    table.save(work, 0, demo_body(), "local", "A")
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        base = f"/finish/{work}/letter"
        ends = time.monotonic() + 20
        while (told := client.get(f"{base}/pages.json")).status_code == 202 and time.monotonic() < ends:
            time.sleep(0.1)
        told = told.json()
        assert told["how"] == "pdf"
        assert "may break its pages elsewhere" in told["said"]
        assert [each["alt"][:9] for each in told["pages"]] == [f"Page {n} of" for n in range(1, len(told["pages"]) + 1)]
        image = client.get(told["pages"][0]["src"])
        assert (image.headers["content-type"], image.headers["cache-control"]) == ("image/png", "no-store")
        assert image.content.startswith(PNG)
        assert client.get(f"{base}/1/99.png").status_code == 404
        assert client.get(f"{base}/7/1.png").status_code == 412
        assert client.post(f"/work/{work}/discard", headers={"Accept": "text/html"}).status_code in {200, 303}
        assert client.get(told["pages"][0]["src"]).status_code == 404
        assert opened.app.state.paper._jobs == {}
