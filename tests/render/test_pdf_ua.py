"""PDF/UA-1 as a public checker sees it: the package pdfua, which tests what a machine can decide (ISO 14289-1)."""

from __future__ import annotations

import pytest
from pdfua import Severity, validate

from letterkit import draft


def test_a_public_checker_finds_no_error_in_a_letter(demo_case, tmp_path):
    file = tmp_path / "letter.pdf"
    file.write_bytes(draft(demo_case.read_bytes()).render("pdf"))

    found = [(each.rule_id, each.message) for each in validate(str(file)).findings if each.severity is Severity.ERROR]

    assert found == []


def test_the_checker_does_find_the_errors_of_an_untagged_page(tmp_path):
    pikepdf = pytest.importorskip("pikepdf")
    file = tmp_path / "bare.pdf"
    with pikepdf.new() as document:
        document.add_blank_page()
        document.save(file)

    assert [each for each in validate(str(file)).findings if each.severity is Severity.ERROR]
