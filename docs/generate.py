"""Writes the pages of documentation that are made from the program itself, or says which of them are stale.

Run it as `make docs`; `make lint` runs it with --check, which changes nothing and ends with 1 if a page is stale.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from letterkit.catalogue import catalogue
from letterkit.catalogue.page import page as catalogue_page
from letterkit.consistency.page import page as rules_page
from letterkit.findings.schema import encounter_schema
from letterkit.letter.template_page import templates_page

DOCS = Path(__file__).parent


def _schema() -> str:
    return json.dumps(encounter_schema(), ensure_ascii=False, indent=2) + "\n"


PAGES: Mapping[str, Callable[[], str]] = {
    "catalogue.md": lambda: catalogue_page(catalogue()),
    "rules.md": rules_page,
    "schema.json": _schema,
    "templates.md": templates_page,
}


def stale(folder: Path) -> dict[str, str]:
    """The pages of a folder that are missing or differ from what the program gives, with what they should hold."""
    wanted = {name: make() for name, make in PAGES.items()}
    files = {name: folder / name for name in wanted}
    return {
        name: text
        for name, text in wanted.items()
        if not files[name].is_file() or files[name].read_text(encoding="utf-8") != text
    }


def main(arguments: list[str] | None = None, folder: Path = DOCS) -> int:
    """Give the exit code: 1 with --check and a stale page, else 0."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="change nothing; end with 1 if a page is stale")
    given = parser.parse_args(arguments)
    found = stale(folder)
    for name, text in found.items():
        if given.check:
            sys.stderr.write(f"docs/{name}: stale; run make docs\n")
        else:
            (folder / name).write_text(text, encoding="utf-8")
            sys.stdout.write(f"docs/{name}\n")
    return 1 if given.check and found else 0


if __name__ == "__main__":
    sys.exit(main())
