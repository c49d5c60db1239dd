"""The tree itself: nothing unfinished, no overgrown module, nothing that belongs to one machine."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TEXTS = {
    ".py",
    ".toml",
    ".md",
    ".j2",
    ".json",
    ".txt",
    ".cfg",
    ".yml",
    ".typ",
    ".sh",
    ".lock",
    ".html",
    ".css",
    ".js",
    "",
}
MOST_LINES = 450


def kept():
    """The files that are or will be under version control."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    names = done.stdout.splitlines() if done.returncode == 0 else [
        str(path.relative_to(ROOT)) for folder in ("letterkit", "tests", "docs", "templates", "demo_cases") for path in (ROOT / folder).rglob("*")
    ]  # fmt: skip
    return [
        path for name in names if (path := ROOT / name).is_file() and path.suffix in TEXTS and "__pycache__" not in name
    ]


FILES = kept()

# In two halves each, so that this file does not hold the words it looks for.
MARKS = [
    ("TO", "DO"),
    ("FIX", "ME"),
    ("XX", "X"),
    ("HA", "CK:"),
    ("raise Not", "ImplementedError"),
    ("lorem", " ipsum"),
]
FOREIGN = [
    ("/wo", "rk/main"), ("share", "d/reference"), ("trans", "cript"), ("C", "EO"), ("language", " model"), ("chat", "bot"),
    ("A", "I-generated"), ("prom", "pt engineering"), ("/home", "/"), ("/ro", "ot/"), ("/tm", "p/brief"),
]  # fmt: skip


def lines_with(words, files):
    pattern = re.compile(rf"(?<![A-Za-z]){re.escape(words)}(?![A-Za-z])" if words[-1].isalpha() else re.escape(words))
    return [
        f"{path.relative_to(ROOT)}:{number}"
        for path in files
        for number, line in enumerate(path.read_text("utf-8", errors="replace").splitlines(), 1)
        if pattern.search(line)
    ]


def test_there_is_something_to_look_at():
    assert len([path for path in FILES if path.suffix == ".py"]) > 100
    assert lines_with("from __future__ import annotations", FILES)


@pytest.mark.parametrize("halves", MARKS, ids="".join)
def test_nothing_is_marked_as_unfinished(halves):
    assert lines_with("".join(halves), [path for path in FILES if path.name != "pyproject.toml"]) == []


@pytest.mark.parametrize("halves", FOREIGN, ids="".join)
def test_nothing_speaks_of_where_it_was_made(halves):
    assert lines_with("".join(halves), FILES) == []


def test_no_module_is_overgrown():
    modules = [path for path in FILES if path.suffix == ".py" and path.is_relative_to(ROOT / "letterkit")]
    lengths = {str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in modules}
    assert {name: length for name, length in lengths.items() if length > MOST_LINES} == {}


def test_every_module_says_what_it_is_for():
    modules = [path for path in FILES if path.suffix == ".py" and path.is_relative_to(ROOT / "letterkit")]
    assert [str(path.relative_to(ROOT)) for path in modules if not path.read_text("utf-8").startswith('"""')] == []


def test_every_text_is_utf_8_with_one_last_line_break():
    odd = []
    for path in FILES:
        data = path.read_bytes()
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            odd.append(str(path.relative_to(ROOT)))
            continue
        if path.suffix == ".py" and data and (not data.endswith(b"\n") or data.endswith(b"\n\n") or b"\r" in data):
            odd.append(str(path.relative_to(ROOT)))
    assert odd == []


def test_demo_identifiers_are_from_the_range_kept_for_tests():
    """Numbers of the form of an NHS number begin with 999 everywhere, so that none is a patient's."""
    pattern = re.compile(r"(?<![\d.])(\d{3})[ \u00a0](\d{3})[ \u00a0]\d{4}(?!\d)")
    other = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in FILES
        if path.suffix in {".py", ".json", ".md", ".j2"}
        for match in pattern.finditer(path.read_text("utf-8", errors="replace"))
        if match[1] != "999"
    ]
    assert other == []
