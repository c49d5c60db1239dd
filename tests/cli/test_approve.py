"""The command `letterkit approve`, as a clinic's computer calls it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import docx
import pytest
from click.testing import CliRunner
from paths import ROOT

from letterkit.cli.main import cli

CASE = Path(__file__).parents[2] / "demo_cases" / "late_nerve_compression.json"
BY = ("--by", "Miss R. Calder", "--at", "2026-11-14T16:05+00:00")


def _run(*words: object, given: str | None = None):
    return CliRunner().invoke(cli, ["approve", *map(str, words)], input=given)


def _made(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def test_it_writes_the_final_letter_and_prints_its_digest(tmp_path):
    done = _run(CASE, *BY, "--out", tmp_path)
    assert done.exit_code == 0, done.output
    digest = re.search(r"Content digest ([0-9a-f]{64})", done.output)
    assert digest
    path = _made(tmp_path)
    assert path.name == f"late_nerve_compression-approved-{digest[1][:8]}.docx"
    text = "\n".join(line.text for line in docx.Document(str(path)).paragraphs)
    assert "Checked and approved by Miss R. Calder, Consultant hand surgeon, on 14-Nov-2026 at 16:05." in text
    assert "Approved by Miss R. Calder on 14-Nov-2026 at 16:05." in done.output


@pytest.mark.parametrize(("name", "suffix"), [("html", ".html"), ("pdf", ".pdf"), ("text", ".txt"), ("docx", ".docx")])
def test_it_writes_every_format(tmp_path, name, suffix):
    assert _run(CASE, *BY, "--format", name, "--out", tmp_path / "new").exit_code == 0
    assert _made(tmp_path / "new").suffix == suffix


def test_the_digest_is_the_same_in_every_format(tmp_path):
    outputs = [_run(CASE, *BY, "--format", name, "--out", tmp_path).output for name in ("docx", "text")]
    assert len({re.search(r"digest (\w{64})", output)[1] for output in outputs}) == 1


def test_a_correction_stands_beside_what_it_replaces(tmp_path):
    first = _run(CASE, *BY, "--format", "text", "--out", tmp_path)
    digest = re.search(r"digest (\w{64})", first.output)[1]
    second = _run(CASE, "--by", "Miss R. Calder", "--at", "2026-11-15T09:00+00:00", "--format", "text",
                  "--replaces", digest, "--out", tmp_path)  # fmt: skip
    assert second.exit_code == 0, second.output
    assert f"Replaces {digest}" in second.output
    texts = [path.read_text("utf-8") for path in tmp_path.iterdir()]
    assert len(texts) == 2
    assert sum(digest[:16] in text for text in texts) == 1


def test_the_role_can_be_given(tmp_path):
    _run(CASE, "--by", "Dr P. Quill", "--role", "Locum consultant", "--identifier", "7654321",
         "--at", "2026-11-14T16:05+00:00", "--format", "text", "--out", tmp_path)  # fmt: skip
    text = " ".join(_made(tmp_path).read_text("utf-8").split())
    assert "approved by Dr P. Quill, Locum consultant, on" in text
    assert "7654321" not in text


def test_an_encounter_can_come_from_standard_input(tmp_path):
    assert _run("-", *BY, "--format", "text", "--out", tmp_path, given=CASE.read_text("utf-8")).exit_code == 0
    assert _made(tmp_path).name.startswith("letter-approved-")


def test_an_open_query_is_told_and_no_letter_is_written(tmp_path):
    record = json.loads(CASE.read_text("utf-8"))
    record["examination"]["findings"].append({"item": "thenar_wasting", "side": "right", "value": "absent"})
    done = _run("-", *BY, "--out", tmp_path, given=json.dumps(record))
    assert done.exit_code == 2
    assert "examination.findings[" in done.output
    assert "Before approval" in done.output
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(("words", "told"), [
    (("--by", "", "--at", "2026-11-14T16:05"), "by: "),
    (("--by", "Miss R. Calder", "--at", "2026-11-01T16:05"), "at: 01-Nov-2026 is before the letter was drafted"),
    (("--by", "Miss R. Calder", "--at", "yesterday"), "'yesterday' is not a date and time"),
    (("--by", "Miss R. Calder", "--at", "2026-11-14"), "'2026-11-14' has no time"),
    (("--by", "Miss R. Calder", "--at", "2026-11-14T16:05", "--replaces", "ab" * 30), "replaces: "),
    (("--at", "2026-11-14T16:05"), "Missing option '--by'"),
])  # fmt: skip
def test_what_cannot_be_used_is_told(tmp_path, words, told):
    done = _run(CASE, *words, "--out", tmp_path)
    assert done.exit_code == 2
    assert told in done.output
    assert not list(tmp_path.iterdir())


def test_without_a_time_it_is_now(tmp_path):
    record = json.loads(CASE.read_text("utf-8"))
    del record["drafted"]
    done = _run("-", "--by", "Miss R. Calder", "--format", "text", "--out", tmp_path, given=json.dumps(record))
    assert done.exit_code == 0, done.output
    assert re.search(r"Approved by Miss R\. Calder on \d\d-[A-Z][a-z]{2}-\d{4} at \d\d:\d\d\.", done.output)


def test_a_pdf_takes_no_letterhead(tmp_path):
    head = Path(__file__).parents[2] / "templates" / "letterheads" / "plain.docx"
    done = _run(CASE, *BY, "--format", "pdf", "--letterhead", head, "--out", tmp_path)
    assert done.exit_code == 2
    assert "only DOCX letters take one" in done.output


def test_a_pdf_draft_goes_to_a_file_and_not_to_the_screen(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(cli, ["draft", str(CASE), "--format", "pdf"])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "late_nerve_compression.pdf").read_bytes().startswith(b"%PDF-")


def test_the_help_names_the_command():
    assert "approve" in CliRunner().invoke(cli, ["--help"]).output


def test_the_patients_copy_is_approved_with_the_letter(tmp_path):
    case = ROOT / "demo_cases" / "normal_examination.json"
    result = CliRunner().invoke(
        cli, ["approve", str(case), "--by", "Miss R. Calder", "--at", "2026-11-20T09:30", "--for", "both",
              "--format", "text", "--out", str(tmp_path)]
    )  # fmt: skip
    files = sorted(tmp_path.iterdir())

    assert result.exit_code == 0, result.output
    assert len(files) == 2
    copy = next(file for file in files if file.name.endswith("-patient.txt")).read_text(encoding="utf-8")
    assert "Checked and approved by Miss R. Calder" in copy
    assert "20 November 2026" in copy.replace("\u00a0", " ")
    assert "DRAFT" not in copy
