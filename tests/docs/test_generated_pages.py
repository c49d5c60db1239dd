"""The generated pages: whole, checked for staleness, and every value of a template explained."""

from __future__ import annotations

import importlib.util
import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from letterkit.catalogue import catalogue
from letterkit.consistency.registry import rules
from letterkit.letter.compose import values_for
from letterkit.letter.patient import values_for as patient_values_for
from letterkit.letter.template_page import LETTER_VALUES, PATIENT_VALUES, PLACING, templates_page
from letterkit.letter.templates import shipped_templates
from letterkit.pipeline import draft

ROOT = Path(__file__).parents[2]
_WORD = re.compile(r"\{[{%][^}]*[}%]\}")
_NAME = re.compile(r"(?<![\w.\"'/])[a-z_]+(?:\.[a-z_]+)*")
_SYNTAX = {"if", "else", "elif", "endif", "for", "in", "endfor", "include", "and", "or", "not", "is", "defined", "none",
           "first", "last", "length", "default", "undefined"}  # fmt: skip


@pytest.fixture(scope="module")
def generate():
    specification = importlib.util.spec_from_file_location("generate_docs", ROOT / "docs" / "generate.py")
    assert specification is not None
    assert specification.loader is not None
    module = importlib.util.module_from_spec(specification)
    specification.loader.exec_module(module)
    return module


def _flat(values: Any, before: str = "") -> set[str]:
    """Dotted names of all values; a record counts by its fields."""
    names = set()
    for name, value in values.items():
        whole = f"{before}{name}"
        names |= _flat(value, f"{whole}.") if isinstance(value, dict) else {whole}
    return names


@pytest.fixture(scope="module")
def sample():
    return draft((ROOT / "demo_cases" / "late_nerve_compression.json").read_bytes())


def test_every_value_of_a_letter_is_explained_and_nothing_else(sample):
    given = values_for(sample.encounter, sample.summary, date(2026, 1, 1), catalogue())
    assert set(LETTER_VALUES) == _flat(given)


def test_every_value_of_the_patients_copy_is_explained_and_nothing_else(sample):
    given = patient_values_for(sample.encounter, sample.facts, sample.summary, date(2026, 1, 1), catalogue())
    assert set(PATIENT_VALUES) == _flat(given)


def test_every_kind_of_value_says_how_it_is_placed():
    assert {kind for _, kind in (*LETTER_VALUES.values(), *PATIENT_VALUES.values())} == set(PLACING)


def test_the_shipped_templates_name_only_what_the_page_explains():
    known = set(LETTER_VALUES) | set(PATIENT_VALUES)
    tops = {name.partition(".")[0] for name in known}
    letters = [path for folder in ("letters", "blocks") for path in (shipped_templates() / folder).rglob("*.j2")]
    assert letters
    for path in letters:
        text = re.sub(r"\{#.*?#\}", "", path.read_text("utf-8"), flags=re.DOTALL)
        for expression in _WORD.findall(text):
            inner = re.sub(r"[\"'].*?[\"']", "", expression[2:-2])
            loop = re.match(r"\s*for (\w+) in", inner)
            own = {loop[1]} if loop else set()
            local = {match[1] for match in re.finditer(r"for (\w+) in", text)}
            for name in set(_NAME.findall(inner)) - _SYNTAX - own - local:
                assert name in known | tops, f"{path.name}: {name}"


def test_the_page_names_every_value():
    page = templates_page()
    assert all(f"| `{name}` |" in page for name in (*LETTER_VALUES, *PATIENT_VALUES))
    assert "{{ value }}" in page
    assert "{{{" not in page


def test_check_tells_of_stale_pages_and_changes_nothing(generate, tmp_path, capsys):
    assert generate.main(["--check"], tmp_path) == 1
    assert list(tmp_path.iterdir()) == []
    told = capsys.readouterr().err
    assert all(f"docs/{name}: stale" in told for name in generate.PAGES)


def test_pages_once_written_are_fresh_until_they_are_changed(generate, tmp_path, capsys):
    assert generate.main([], tmp_path) == 0
    assert {path.name for path in tmp_path.iterdir()} == set(generate.PAGES)
    assert generate.main(["--check"], tmp_path) == 0
    with (tmp_path / "rules.md").open("a", encoding="utf-8") as page:
        page.write("\nAn edit by hand.\n")
    capsys.readouterr()
    assert generate.main(["--check"], tmp_path) == 1
    assert capsys.readouterr().err == "docs/rules.md: stale; run make docs\n"


def test_pages_hold_what_they_are_made_from(generate):
    pages = {name: make() for name, make in generate.PAGES.items()}
    assert all(f"### {rule.slug}\n" in pages["rules.md"] for rule in rules())
    assert all(f"`{slug}`" in pages["catalogue.md"] for slug in catalogue().items)
    schema = json.loads(pages["schema.json"])
    Draft202012Validator.check_schema(schema)
    assert "measures" in schema["$defs"]["Options"]["properties"]
