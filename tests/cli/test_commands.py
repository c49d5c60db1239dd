"""The commands draft, check, schema, catalogue and rules, as a clinic's computer calls them."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import docx
import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from made_records import found, record

from letterkit.catalogue import catalogue
from letterkit.cli.main import COMMANDS, cli
from letterkit.consistency.registry import rules

CASES = Path(__file__).parents[2] / "demo_cases"
GANGLION = CASES / "ganglion.json"
CLEAN = record(found("thenar_wasting"))
QUERIED = record(found("thenar_wasting"), found("thenar_wasting", "absent"))
INVALID = record(found("grip_strength", 300))
DATE = ("--date", "2026-11-20")


def run(*words, given=None):
    return CliRunner().invoke(cli, [str(word) for word in words], input=given)


@pytest.fixture
def case(tmp_path):
    """Writes an encounter to a file and gives its path."""

    def write(encounter, name="case.json"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(encounter if isinstance(encounter, str) else json.dumps(encounter), "utf-8")
        return path

    return write


# Exit codes

CODES = {
    "check without a query": (["check", "-"], CLEAN, 0),
    "check with queries": (["check", "-"], QUERIED, 1),
    "check of an invalid record": (["check", "-"], INVALID, 2),
    "check of no JSON": (["check", "-"], "{", 2),
    "check of a file that is not there": (["check", "none.json"], None, 2),
    "check of a folder": (["check", str(CASES)], None, 2),
    "check without a case": (["check"], None, 2),
    "draft": (["draft", "-", "--format", "text"], CLEAN, 0),
    "draft with queries": (["draft", "-", "--format", "text"], QUERIED, 0),
    "draft of an invalid record": (["draft", "-", "--format", "text"], INVALID, 2),
    "draft of no JSON": (["draft", "-", "--format", "text"], "nothing", 2),
    "draft of a file that is not there": (["draft", "none.json", "--format", "text"], None, 2),
    "draft in a format nobody knows": (["draft", "-", "--format", "odt"], CLEAN, 2),
    "draft on a day that does not exist": (["draft", "-", "--date", "2026-02-30"], CLEAN, 2),
    "draft with a letterhead that is no DOCX": (["draft", "-", "--letterhead", str(GANGLION)], CLEAN, 2),
    "draft with an option nobody knows": (["draft", "-", "--fromat", "text"], CLEAN, 2),
    "schema": (["schema"], None, 0),
    "catalogue": (["catalogue", "phalen"], None, 0),
    "rules": (["rules"], None, 0),
    "a command nobody knows": (["chek", "-"], CLEAN, 2),
}  # fmt: skip


@pytest.mark.parametrize(("words", "encounter", "code"), CODES.values(), ids=CODES)
def test_the_exit_code_of(tmp_path, monkeypatch, words, encounter, code):
    monkeypatch.chdir(tmp_path)
    given = encounter if encounter is None or isinstance(encounter, str) else json.dumps(encounter)
    done = run(*words, given=given)

    assert done.exit_code == code, done.output
    assert done.exception is None or isinstance(done.exception, SystemExit)
    assert "Traceback" not in done.output
    if code == 2:
        assert done.stderr
        assert list(tmp_path.iterdir()) == []


# draft


def test_a_letter_goes_into_the_folder_under_the_name_of_its_case(tmp_path):
    out = tmp_path / "new" / "letters"
    done = run("draft", GANGLION, "--out", out)

    assert done.exit_code == 0, done.output
    assert [path.name for path in out.iterdir()] == ["ganglion.docx"]
    assert docx.Document(str(out / "ganglion.docx")).paragraphs
    assert re.search(r"ganglion\.docx\s+\d+\s+\d+", done.output)
    assert "1 drafted; each is a draft until a named clinician approves it." in done.output


def test_without_a_folder_it_goes_to_where_the_command_was_called(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run("draft", GANGLION).exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["ganglion.docx"]


@pytest.mark.parametrize(("name", "starts"), [("text", "DRAFT"), ("html", "<!")])
def test_a_readable_letter_goes_to_the_screen_and_nothing_else_does(tmp_path, monkeypatch, name, starts):
    monkeypatch.chdir(tmp_path)
    done = run("draft", GANGLION, "--format", name)

    assert done.stdout.lstrip().casefold().startswith(starts.casefold())
    assert "drafted;" not in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_a_letter_from_standard_input_has_a_name_that_tells_nothing(tmp_path):
    done = run("draft", "-", "--out", tmp_path, given=GANGLION.read_text("utf-8"))
    assert done.exit_code == 0, done.output
    assert [path.name for path in tmp_path.iterdir()] == ["letter.docx"]


def test_a_folder_means_all_its_encounters_in_order_of_name(case, tmp_path):
    for name in ("b.json", "a.json", "c.txt"):
        case(CLEAN, f"in/{name}")
    done = run("draft", tmp_path / "in", "--out", tmp_path / "out", "--format", "text")

    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a.txt", "b.txt"]
    assert done.output.index("a.txt") < done.output.index("b.txt")
    assert "2 drafted" in done.output


def test_a_folder_without_encounters_is_told(tmp_path):
    done = run("draft", tmp_path)
    assert done.exit_code != 0
    assert "holds no .json file" in done.stderr


def test_one_bad_record_does_not_keep_the_others_from_their_letters(case, tmp_path):
    good, bad, last = case(CLEAN, "good.json"), case(INVALID, "bad.json"), case(CLEAN, "last.json")
    done = run("draft", good, bad, last, "--out", tmp_path / "out", "--format", "text")

    assert done.exit_code == 2
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["good.txt", "last.txt"]
    assert f"{bad}: examination.findings[0].value: 300 kg is outside" in done.stderr
    assert "1 of 3 could not be drafted." in done.stderr


def test_one_missing_file_does_not_keep_the_others_from_their_letters(case, tmp_path):
    done = run("draft", case(CLEAN, "good.json"), tmp_path / "none.json", case(CLEAN, "last.json"), "--out", tmp_path / "out",
               "--format", "text")  # fmt: skip

    assert done.exit_code == 2
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["good.txt", "last.txt"]
    assert "1 of 3 could not be drafted." in done.stderr


def test_two_cases_of_one_name_never_share_a_letter(case, tmp_path):
    left = record(found("thenar_wasting", side="left"))
    done = run(
        "draft", case(CLEAN, "a/case.json"), case(left, "b/case.json"), "--out", tmp_path / "out", "--format", "text"
    )

    written = [path.read_text("utf-8") for path in (tmp_path / "out").iterdir()] if (tmp_path / "out").exists() else []
    assert done.exit_code != 0 or len(written) == 2


@pytest.mark.parametrize("where", ["under a file", "a file"])
def test_a_folder_that_cannot_be_made_is_told(case, tmp_path, where):
    path = case(CLEAN)
    out = path / "out" if where == "under a file" else path
    done = run("draft", path, "--out", out)

    assert done.exit_code == 2
    assert isinstance(done.exception, SystemExit)
    assert done.stderr


def test_a_letter_that_is_drafted_again_takes_the_place_of_the_first_and_leaves_nothing_aside(tmp_path):
    for _ in range(2):
        assert run("draft", GANGLION, "--out", tmp_path, *DATE).exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["ganglion.docx"]


def test_the_day_of_drafting_is_the_records_then_the_options(case):
    own = run("draft", "-", "--format", "text", *DATE, given=json.dumps(CLEAN | {"drafted": "2026-10-01"}))
    given = run("draft", "-", "--format", "text", *DATE, given=json.dumps(CLEAN))
    assert "Drafted 01-Oct-2026" in own.stdout
    assert "Drafted 20-Nov-2026" in given.stdout


@pytest.mark.parametrize(("readers", "names"), [
    ("doctor", ["ganglion.txt"]), ("patient", ["ganglion-patient.txt"]), ("both", ["ganglion-patient.txt", "ganglion.txt"]),
])  # fmt: skip
def test_the_letter_is_made_for(tmp_path, readers, names):
    assert run("draft", GANGLION, "--for", readers, "--format", "text", "--out", tmp_path).exit_code == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def test_a_clinics_own_template_is_used(tmp_path):
    (tmp_path / "letters").mkdir()
    for kind in ("clinic", "new", "follow_up", "discharge"):
        (tmp_path / "letters" / f"{kind}.j2").write_text("# Our own letter\n{{ findings.positive }}\n", "utf-8")
    done = run("draft", "-", "--format", "text", "--template", tmp_path, given=json.dumps(CLEAN))
    assert "Our own letter" in done.stdout
    assert "There was thenar wasting on the right." in done.stdout


def test_a_template_that_cannot_be_used_is_told(tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "clinic.j2").write_text("{{ 1 + 1 }}", "utf-8")
    done = run("draft", "-", "--format", "text", "--template", tmp_path, given=json.dumps(CLEAN))
    assert done.exit_code == 2
    assert "standard input: template letters/clinic.j2, line 1: add is not allowed" in done.stderr


def test_explain_tells_facts_statements_and_sentences_and_writes_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run("draft", "-", "--explain", given=json.dumps(CLEAN))
    assert done.exit_code == 0, done.output
    assert "f0: thenar_wasting right" in done.stdout
    assert "There was thenar wasting on the right. [f0]" in done.stdout
    assert list(tmp_path.iterdir()) == []


# check


def test_check_tells_every_query_with_its_place_and_what_settles_it():
    done = run("check", "-", given=json.dumps(QUERIED))
    assert "Contradictory" in done.stdout
    assert "Where: examination.findings[0], examination.findings[1]" in done.stdout
    assert "Settled by: " in done.stdout
    assert re.search(r"^\d+ quer(y|ies)\.$", done.stdout, re.MULTILINE)


def test_check_says_that_there_is_none():
    assert run("check", "-", given=json.dumps(CLEAN)).stdout == "No query.\n"


def test_check_for_machines():
    asked = json.loads(run("check", "-", "--json", given=json.dumps(QUERIED)).stdout)
    assert {tuple(each) for each in asked} == {("rule", "class", "message", "findings", "settle", "source")}
    assert ["examination.findings[0]", "examination.findings[1]"] in [each["findings"] for each in asked]
    assert json.loads(run("check", "-", "--json", given=json.dumps(CLEAN)).stdout) == []


def test_check_and_draft_count_the_same_queries(tmp_path):
    asked = json.loads(run("check", "-", "--json", given=json.dumps(QUERIED)).stdout)
    done = run("draft", "-", "--out", tmp_path, given=json.dumps(QUERIED))
    assert re.search(rf"letter\.docx\s+2\s+{len(asked)}\b", done.stdout)


# schema, catalogue, rules


def test_the_schema_is_valid_and_takes_the_demo_cases():
    schema = json.loads(run("schema").stdout)
    Draft202012Validator.check_schema(schema)
    assert Draft202012Validator(schema).is_valid(json.loads(GANGLION.read_text("utf-8")))


def test_the_catalogue_prints_what_was_asked_for():
    done = run("catalogue", "phalen")
    assert done.stdout.startswith("phalen_test: ")
    assert "grip_strength" not in done.stdout


def test_the_catalogue_without_words_prints_every_item():
    printed = run("catalogue").stdout
    assert [slug for slug in catalogue().items if f"{slug}: " not in printed] == []


def test_the_catalogue_for_machines():
    printed = json.loads(run("catalogue", "--json").stdout)
    assert [item["slug"] for item in printed] == list(catalogue().items)


def test_the_catalogue_says_when_nothing_matches():
    done = run("catalogue", "xylophone")
    assert done.exit_code != 0
    assert "no item matches 'xylophone'" in done.stderr


def test_the_rules_are_printed_with_their_source():
    printed = run("rules").stdout
    assert [rule.slug for rule in rules() if f"{rule.slug} ({rule.query_class.value})" not in printed] == []
    machine = json.loads(run("rules", "--json").stdout)
    assert [each["rule"] for each in machine] == [rule.slug for rule in rules()]
    assert all(each["source"] for each in machine)


# The group


@pytest.mark.parametrize(
    ("written", "meant"), [("chek", "check"), ("drafts", "draft"), ("catalog", "catalogue"), ("rule", "rules")]
)
def test_a_command_misspelt_is_told_the_nearest(written, meant):
    done = run(written)
    assert done.exit_code == 2
    assert f"no command '{written}'. Did you mean {meant}?" in done.stderr


def test_a_command_far_from_all_is_told_what_there_is():
    assert "Commands: draft, " in run("xylophone").stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name):
    done = run(name, "--help")
    assert done.exit_code == 0, done.output
    assert "Usage: " in done.stdout


# As a process of its own

SCRIPT = "import sys; from letterkit.cli.main import main; sys.argv[0] = 'letterkit'; main()"
HEAVY = ("pydantic", "spacy", "docx", "lxml", "jinja2", "numpy", "typst", "fastapi", "sqlalchemy", "rapidfuzz", "letterkit.pipeline",
         "letterkit.catalogue")  # fmt: skip


def process(*words, script=SCRIPT, **more):
    return subprocess.run(
        [sys.executable, "-c", script, *map(str, words)], capture_output=True, check=False, timeout=60, **more
    )


@pytest.mark.parametrize("words", [["--help"], ["--version"], []], ids=["help", "version", "nothing"])
def test_help_imports_nothing_heavy(words):
    ask = f"[name for name in {HEAVY!r} if name in sys.modules]"
    told = f"import atexit; atexit.register(lambda: print({ask}, file=sys.stderr)); "
    done = process(*words, script="import sys; " + told + SCRIPT)
    assert done.stderr.decode().splitlines()[-1] == "[]"


def test_importing_the_package_is_light():
    script = f"import sys, letterkit; print([name for name in {HEAVY!r} if name in sys.modules])"
    assert process(script=script).stdout.decode().strip() == "[]"


PROCESSES = {
    "check of an invalid record": (["check", "-"], json.dumps(INVALID).encode(), 2),
    "check of bytes": (["check", "-"], b"\xff\xfe\x00\x01", 2),
    "draft to a place that cannot be": (["draft", str(GANGLION), "--out", "/dev/null/letters"], b"", 2),
    "draft of deep nesting": (["draft", "-", "--format", "text"], b"[" * 200_000, 2),
    "a command nobody knows": (["chek"], b"", 2),
}


@pytest.mark.parametrize(("words", "given", "code"), PROCESSES.values(), ids=PROCESSES)
def test_bad_input_ends_without_a_traceback(words, given, code):
    done = process(*words, input=given)
    assert done.returncode == code
    assert b"Traceback" not in done.stderr
    assert done.stderr


def test_a_reader_that_goes_away_is_no_fault():
    script = "import os, sys; r, w = os.pipe(); os.dup2(w, 1); os.close(w); os.close(r); " + SCRIPT
    done = process("catalogue", script=script)
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr


# What is nobody else's business


def personal(encounter):
    """Words of a record that must stand in a letter alone."""
    patient = encounter["patient"]
    words = [
        patient["name"]["family"],
        *patient["name"]["given"],
        patient["birthDate"],
        patient["identifier"][0]["value"],
    ]
    return [*words, patient["identifier"][0]["value"].replace(" ", ""), *patient["address"]["line"]]


@pytest.mark.parametrize("name", ["ganglion", "late_nerve_compression", "ninety_findings"])
def test_no_patient_is_named_outside_the_letter(tmp_path, name):
    encounter = json.loads((CASES / f"{name}.json").read_text("utf-8"))
    outputs = [run("draft", CASES / f"{name}.json", "--out", tmp_path), run("check", CASES / f"{name}.json"),
               run("draft", "-", "--explain", given=json.dumps(encounter)), run("check", "-", "--json", given=json.dumps(encounter))]  # fmt: skip
    said = "\n".join([done.output for done in outputs] + [str(path.name) for path in tmp_path.iterdir()])
    assert [word for word in personal(encounter) if word in said] == []


def test_a_refusal_names_no_patient(tmp_path):
    encounter = json.loads(GANGLION.read_text("utf-8"))
    encounter["examination"]["findings"][0]["side"] = "middle"
    done = run("draft", "-", "--out", tmp_path, given=json.dumps(encounter))
    assert done.exit_code == 2
    assert [word for word in personal(encounter) if word in done.output] == []
    assert list(tmp_path.iterdir()) == []
