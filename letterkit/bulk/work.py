"""The drafting of a chunk of rows in a worker process: words out of the ledger, files into the folder, counts back.

Only a run's id and a range of turns come in, and only counts go out: no word of a patient passes between processes.
"""

from __future__ import annotations

import gc
import json
import os
import signal
import threading
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from letterkit import __version__
from letterkit.bulk import files
from letterkit.bulk.columns import fields
from letterkit.bulk.intake import issues_text
from letterkit.bulk.ledger import letters, reading, settings_of, writing
from letterkit.bulk.rows import Issue
from letterkit.catalogue import catalogue
from letterkit.errors import CatalogueError, InvalidInput, LetterheadError, LetterkitError, Problem
from letterkit.letter.model import Letter
from letterkit.pipeline import Draft, draft
from letterkit.render.base import Renderer, renderer


@dataclass(frozen=True, slots=True)
class Made:
    """What was made of one row: files by name, or the errors that refuse it."""

    files: tuple[tuple[str, bytes], ...]
    issues: tuple[Issue, ...]
    queries: int = 0

    @property
    def state(self) -> str:
        """Drafted or refused, as the ledger has it."""
        return "refused" if any(issue.kind == "error" for issue in self.issues) else "drafted"


def begin_worker() -> None:
    """Make this process end with the one that started it, however that ends, and leave Ctrl-C to it."""
    import multiprocessing as mp  # noqa: PLC0415 - of the child's start only
    from multiprocessing import connection  # noqa: PLC0415 - the same

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = mp.parent_process()

    def watch() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def warm_up() -> None:
    """Load the examination and the reader, so that the first letter does not wait for them."""
    from letterkit.reading.read import note_reader  # noqa: PLC0415 - heavy, and of a drafting process only

    catalogue()
    note_reader("en-GB")
    gc.collect()
    gc.freeze()  # what is loaded stays: the collector need not go over it after every few letters


@lru_cache(maxsize=4)
def _settings(url: str, run_id: str) -> Mapping[str, Any]:
    with reading(url) as connection:
        return settings_of(connection, run_id)


@lru_cache(maxsize=16)
def _renderer(name: str, letterhead: str | None) -> Renderer:
    return renderer(name, letterhead=Path(letterhead) if letterhead and name == "docx" else None)


def _column(path: str, origins: Sequence[str], columns: Mapping[str, str]) -> str:
    """The column a place of the encounter came from, or what such a column would hold; the place itself where there are
    no columns."""
    if path.startswith("examination.findings[") and origins:
        number = path.removeprefix("examination.findings[").partition("]")[0]
        return origins[int(number)] if number.isdigit() and int(number) < len(origins) else path
    names = [name for known, name in columns.items() if path == known or path.startswith((f"{known}[", f"{known}."))]
    names += [name for known, name in columns.items() if known.startswith(f"{path}.")]
    if names or not columns:
        return names[0] if names else path
    near = [field.words for field in fields().values() if f"{field.path}.".startswith(f"{path}.")]
    return near[0] if near else path


def _refusals(
    error: LetterkitError, origins: Sequence[str], columns: Mapping[str, str], known: set[str]
) -> list[Issue]:
    """A refusal by column; what a faulty cell has already been told about is not told again as missing."""
    problems = error.problems if isinstance(error, InvalidInput) else (Problem("", str(error)),)
    issues = [Issue.error(_column(each.path, origins, columns), each.message) for each in problems]
    return [issue for issue in issues if issue.column not in known]


def _with_note(payload: dict[str, Any], column: str, language: str) -> list[Issue]:
    """Read the free-text examination into the payload's encounter; gives what a person must look at."""
    from letterkit.reading.read import read  # noqa: PLC0415 - heavy, and only where a sheet has such a column

    found = read(payload["n"], language=language)
    issues: list[Issue] = []
    examination = payload["e"].setdefault("examination", {})
    for key, records in found.encounter["examination"].items():
        examination.setdefault(key, []).extend(records)
    payload["o"] = [*payload["o"], *[column] * len(found.findings)]
    for finding in found.findings:
        if not finding.is_clear:
            meant = f"{catalogue().items[finding.item].name}, {finding.state.replace('_', ' ')}"
            message = f"{found.quote(finding)!r} is read as {meant}: {', '.join(finding.reasons)}"
            issues.append(Issue("query", column, message, "correct the note, or give the finding a column"))
    issues += [
        Issue("unread", column, f"{found.quote(span)!r} was not read", "give the finding a column, or reword the note")
        for span in found.unread
    ]
    return issues


def _letter_of(drafted: Draft, reader: str, templates: Path | None) -> Letter:
    return drafted.letter if reader == "doctor" else drafted.patient_copy(templates)


def make(payload: dict[str, Any], name: str, version: int, drafted_on: date, settings: Mapping[str, Any]) -> Made:
    """The files of one row, or why there are none. A fault of the program refuses the row and names no word of it."""
    columns: Mapping[str, str] = settings["columns"]
    issues = [Issue(**each) for each in payload["i"]]
    known = {issue.column for issue in issues if issue.kind == "error"}
    templates = Path(settings["templates"]) if settings["templates"] else None
    try:
        if payload["n"]:
            language = payload["e"].get("options", {}).get("language", "en-GB")
            issues += _with_note(payload, columns.get("examination", "examination"), language)
        drafted = draft(payload["e"], drafted=drafted_on, templates=templates)
        for query in drafted.queries:
            where = ", ".join(dict.fromkeys(_column(path, payload["o"], columns) for path in query.paths))
            issues.append(Issue("query", where, f"{query.message} ({query.query_class.value})", query.settle))
        if known:
            return Made((), tuple(issues))
        renderers = [_renderer(each, settings["letterhead"]) for each in settings["formats"]]
        composed = {reader: _letter_of(drafted, reader, templates) for reader in settings["readers"] if renderers}
        contents = [
            (files.file_name(name, reader, version, chosen.suffix), chosen.render(letter))
            for chosen in renderers
            for reader, letter in composed.items()
        ]
    except (CatalogueError, LetterheadError):
        raise  # not of this row: no letter can be made until it is mended
    except LetterkitError as error:
        return Made((), (*issues, *_refusals(error, payload["o"], columns, known)))
    except Exception as error:  # noqa: BLE001 - one row never stops the others, and a traceback would quote it
        fault = f"a fault of the program ({type(error).__name__})"
        return Made((), (*issues, Issue("error", "", fault, "draft this encounter by itself and report the fault")))
    waiting = sum(issue.kind in {"query", "unread"} for issue in issues)
    return Made(tuple(contents), tuple(issues), waiting)


def _check_folder(folder: Path, run_id: str) -> None:
    marker = files.hidden(folder) / files.MARKER
    if not marker.is_file() or marker.read_text(encoding="utf-8").strip() != run_id:
        raise OSError(0, f"{folder} is not the run's folder on this machine; every worker needs it under this path")


def draft_chunk(url: str, run_id: str, first: int, last: int) -> dict[str, int]:
    """Draft the letters of a run whose turn is from `first` to `last` and that are still waiting; gives counts.

    Files are whole on disk before the ledger says so. Raises OSError where the folder cannot be written.
    """
    settings = _settings(url, run_id)
    with reading(url) as connection:
        if settings_of(connection, run_id)["state"] != "drafting":
            return {}
        waiting = connection.execute(
            sa.select(letters)
            .where(letters.c.run_id == run_id, letters.c.task.between(first, last), letters.c.state == "waiting")
            .order_by(letters.c.task)
        ).all()
    if not waiting:
        return {}
    folder = Path(settings["folder"])
    if settings["outputs"]:
        _check_folder(folder, run_id)
    contents: list[tuple[str, bytes]] = []
    updates: list[dict[str, Any]] = []
    counts = {"drafted": 0, "queried": 0, "refused": 0}
    for letter in waiting:
        version = letter.version if letter.again else letter.version + 1
        made = make(json.loads(letter.payload), letter.name, version, date.fromisoformat(letter.drafted), settings)
        contents += made.files
        change: dict[str, Any] = {
            "number": letter.id, "content": letter.digest, "state": made.state, "queries": made.queries,
            "issues": issues_text(made.issues), "maker": __version__, "version": letter.version, "made": letter.made,
            "made_on": letter.made_on, "files": letter.files, "outputs": letter.outputs,
        }  # fmt: skip
        if made.state == "drafted":
            change |= {
                "version": version, "made": letter.digest, "made_on": letter.drafted,
                "files": json.dumps([name for name, _ in made.files]), "outputs": settings["outputs"],
            }  # fmt: skip
        updates.append(change)
        counts["refused" if made.state == "refused" else "queried" if made.queries else "drafted"] += 1
    if contents:
        files.put(folder, contents)
    _enter(url, updates)
    return counts


def _enter(url: str, updates: Sequence[Mapping[str, Any]]) -> None:
    # A letter that another process finished meanwhile is no longer waiting, and keeps what that one entered.
    own = letters.c.id == sa.bindparam("number")
    statement = sa.update(letters).where(own, letters.c.state == "waiting", letters.c.digest == sa.bindparam("content"))
    names = ("state", "queries", "issues", "maker", "version", "made", "made_on", "files", "outputs")
    with writing(url) as connection:
        connection.execute(
            statement.values(payload=None, **{name: sa.bindparam(f"new_{name}") for name in names}),
            [
                {"number": each["number"], "content": each["content"], **{f"new_{name}": each[name] for name in names}}
                for each in updates
            ],
        )


def refuse_turn(url: str, run_id: str, turn: int) -> None:
    """Refuse one row whose drafting ends the process each time, so that it stops no other."""
    issue = Issue(
        "error", "", "drafting this row ends the program", "draft this encounter by itself and report the fault"
    )
    with writing(url) as connection:
        connection.execute(
            sa.update(letters)
            .where(letters.c.run_id == run_id, letters.c.task == turn, letters.c.state == "waiting")
            .values(state="refused", payload=None, maker=__version__, queries=0, issues=json.dumps([asdict(issue)]))
        )
