"""What a user installs holds all that the program needs at run time, and no test and no private file."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest

from letterkit.findings.read_input import parse_encounter

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The built wheel, made without network and without an environment of its own."""
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stderr
    (path,) = out.glob("*.whl")
    with zipfile.ZipFile(path) as archive:
        yield archive


def inside(wheel, start):
    return {name.removeprefix(start) for name in wheel.namelist() if name.startswith(start)}


def outside(folder, *suffixes):
    return {
        str(path.relative_to(ROOT / folder))
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix in suffixes
    }


def test_every_template_and_letterhead_is_inside(wheel):
    assert inside(wheel, "letterkit/templates/") >= outside("templates", ".j2", ".docx") > {"letters/clinic.j2"}


def test_every_demo_case_is_inside_and_can_be_read(wheel):
    names = inside(wheel, "letterkit/demo_cases/")
    assert names >= outside("demo_cases", ".json") > {"ganglion.json"}
    assert parse_encounter(wheel.read("letterkit/demo_cases/ganglion.json")).patient.name


def test_every_module_and_every_file_of_data_is_inside(wheel):
    kinds = (".py", ".toml", ".typ", ".json", ".html", ".css", ".js", ".txt")
    assert inside(wheel, "letterkit/") >= outside("letterkit", *kinds)


def test_nothing_else_is_inside(wheel):
    tops = {name.split("/", 1)[0] for name in wheel.namelist()}
    assert {top for top in tops if top != "letterkit" and not top.endswith(".dist-info")} == set()
    assert [name for name in wheel.namelist() if "__pycache__" in name or "/tests/" in name] == []


def test_it_brings_the_command_and_says_which_python_it_needs(wheel):
    folder = next(name.split("/", 1)[0] for name in wheel.namelist() if name.endswith(".dist-info/METADATA"))
    metadata = Parser().parsestr(wheel.read(f"{folder}/METADATA").decode())
    assert (metadata["Name"], metadata["Requires-Python"]) == ("letterkit", ">=3.11")
    assert "letterkit = letterkit.cli.main:main" in wheel.read(f"{folder}/entry_points.txt").decode()


def test_a_letter_is_drafted_from_the_unpacked_wheel_alone(wheel, tmp_path):
    """Templates and data are found inside the package, not beside the source."""
    wheel.extractall(tmp_path)
    script = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r}); import letterkit; "
        f"assert letterkit.__file__.startswith({str(tmp_path)!r}), letterkit.__file__; "
        "print(letterkit.draft(open(sys.argv[1], 'rb').read()).render('text').decode())"
    )
    case = tmp_path / "letterkit" / "demo_cases" / "ganglion.json"
    done = subprocess.run(
        [sys.executable, "-c", script, case], cwd=tmp_path, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(case.read_text("utf-8"))["patient"]["name"]["family"].upper() in done.stdout
    assert "Examination findings" in done.stdout
