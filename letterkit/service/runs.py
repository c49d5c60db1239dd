"""Bulk runs behind the service: each in a folder of its own, drafted by a process of its own that outlives a worker.

A run that was stopped by whatever is begun again by the same command and goes on where it was; so a worker that finds
a run neither done nor at work starts it again.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, TypeAlias

from sqlalchemy import Row
from sqlalchemy.exc import OperationalError

from letterkit.bulk import ledger, outcome
from letterkit.bulk.files import hidden
from letterkit.bulk.outcome import Line
from letterkit.records.errors import NotStored
from letterkit.service.keeper import ENDED as _ENDED
from letterkit.service.keeper import SAID as _SAID
from letterkit.service.keeper import ended, held, put, standing
from letterkit.service.problems import Refusal
from letterkit.service.warm import Redrafter, child_environment

SUFFIXES = (".csv", ".tsv", ".xlsx", ".ods", ".jsonl")
ASKED = "asked.json"
_GIVEN = "given.json"
RUN_ID = re.compile(r"[0-9a-f]{32}")
_AT_ONCE = 2  # runs at work at the same time; the others wait
_SAID_MOST = 4000


State: TypeAlias = Literal["waiting", "reading", "drafting", "done", "failed"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a run was asked for."""

    suffix: str
    formats: tuple[str, ...]
    readers: tuple[str, ...]
    print_run: bool


@dataclass(frozen=True, slots=True)
class Given:
    """A sheet as somebody gave it in on a page: the name it had with them, who they are, when, and what is asked."""

    name: str
    by: str
    at: datetime
    asked: Asked


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is; `said` is why it could not begin, or what it could not use."""

    id: str
    state: State
    rows: int = 0
    letters: int = 0
    drafted: int = 0
    queried: int = 0
    refused: int = 0
    waiting: int = 0
    said: str = ""


class Runs:
    """The bulk runs of one folder."""

    def __init__(self, folder: Path, letterhead: Path | None, templates: Path | None) -> None:
        self._folder = folder
        self._look = {
            "letterhead": str(letterhead.resolve()) if letterhead else None,
            "templates": str(templates.resolve()) if templates else None,
        }
        self._redrafter = Redrafter()
        self._lock = threading.Lock()

    def new(self) -> tuple[str, Path]:
        """The id of a new run, and its folder, to put the sheet into; nothing is begun yet."""
        run_id = secrets.token_hex(16)
        folder = self._folder / run_id
        folder.mkdir(parents=True, mode=0o700)
        return run_id, folder

    def drop(self, run_id: str) -> None:
        """Removes a run that was never begun."""
        shutil.rmtree(self._of(run_id), ignore_errors=True)

    def keep_given(self, run_id: str, given: Given) -> None:
        """Notes who gave a sheet in, before anything is begun."""
        told = {"name": given.name, "by": given.by, "at": given.at.isoformat(), "asked": asdict(given.asked)}
        put(self._of(run_id) / _GIVEN, json.dumps(told))

    def given(self, run_id: str) -> Given | None:
        """Who gave a sheet in on a page; None for one that came another way. Raises NotStored."""
        path = self._of(run_id) / _GIVEN
        if not path.exists():
            return None
        told = json.loads(path.read_text(encoding="utf-8"))
        asked = Asked(
            told["asked"]["suffix"], tuple(told["asked"]["formats"]), tuple(told["asked"]["readers"]),
            told["asked"]["print_run"],
        )  # fmt: skip
        return Given(told["name"], told["by"], datetime.fromisoformat(told["at"]), asked)

    def begun(self, run_id: str) -> bool:
        """Whether letters were asked for. Raises NotStored."""
        return (self._of(run_id) / ASKED).exists()

    def recent(self, limit: int) -> Sequence[str]:
        """The ids of the sheets given in last, the latest first."""
        found = [folder for folder in self._folder.glob("*") if RUN_ID.fullmatch(folder.name) and folder.is_dir()]
        dated = sorted(((given_in(folder), folder.name) for folder in found), reverse=True)
        return [name for _, name in dated[:limit]]

    def sheet(self, run_id: str) -> Path:
        """The file of a run's sheet. Raises NotStored."""
        found = [self._of(run_id) / f"sheet{suffix}" for suffix in SUFFIXES]
        sheet = next((path for path in found if path.is_file()), None)
        if sheet is None:
            raise NotStored(f"bulk run {run_id}: it has no sheet")
        return sheet

    def _of(self, run_id: str) -> Path:
        folder = self._folder / run_id
        if not folder.is_dir():
            raise NotStored(f"bulk run {run_id}: there is none")
        return folder

    def begin(self, run_id: str, asked: Asked) -> None:
        """Begins a run whose sheet is in its folder; harmless where it was begun before."""
        folder = self._of(run_id)
        if not (folder / ASKED).exists():
            told = {
                "suffix": asked.suffix,
                "formats": asked.formats,
                "readers": asked.readers,
                "print": asked.print_run,
            }
            put(folder / ASKED, json.dumps(told))
        self.see_to(run_id)

    def see_to_all(self) -> None:
        """Starts what is neither done nor at work, the oldest first, as far as there is room."""
        found = [folder for folder in self._folder.glob("*") if (folder / ASKED).exists()]
        for folder in sorted(found, key=lambda each: each.stat().st_mtime):
            self.see_to(folder.name)

    def see_to(self, run_id: str) -> None:
        """Starts a run that is neither done nor at work, if there is room."""
        folder = self._of(run_id)
        with self._lock:
            if ended(folder) or not (folder / ASKED).exists() or self._at_work(folder):
                return
            busy = sum(self._at_work(other) for other in self._folder.glob("*") if not (other / _ENDED).exists())
            if busy < _AT_ONCE:
                self._start(folder)

    def ready(self) -> None:
        """Begins what `redraft` needs, so that it has begun by the time a person has corrected a row."""
        self._redrafter.begin()

    def redraft(self, run_id: str) -> None:
        """Has a corrected row drafted, and waits a little until its letter stands.

        It is soon only in a process that has begun already; where there is none, the run is started as ever.
        """
        folder = self._of(run_id)
        if not (folder / ASKED).exists():
            return
        asked = json.loads((folder / ASKED).read_text(encoding="utf-8"))
        self._redrafter.redraft(folder, {**asked, **self._look}, lambda: self._see_to_what_is_left(run_id))

    def _see_to_what_is_left(self, run_id: str) -> None:
        """Starts a run that was left, maybe after whoever asked was answered; by then it may have been removed."""
        with suppress(NotStored):
            self.see_to(run_id)

    def standing(self, run_id: str) -> bool:
        """Whether every letter stands as it was corrected last, though the print run may be to come."""
        return standing(self._of(run_id))

    def close(self) -> None:
        """Ends what `ready` began, once it is done with what it has."""
        self._redrafter.close()

    def _at_work(self, folder: Path) -> bool:
        """Whether a keeper has this run in hand."""
        with held(folder) as free:
            return not free

    def _start(self, folder: Path) -> None:
        asked = json.loads((folder / ASKED).read_text(encoding="utf-8"))
        command = [
            sys.executable, "-m", "letterkit", "bulk", "run", f"sheet{asked['suffix']}", "--out", "letters",
            "--format", ",".join(asked["formats"]), "--for", ",".join(asked["readers"]), "--quiet",
            *(("--letterhead", self._look["letterhead"]) if self._look["letterhead"] else ()),
            *(("--template", self._look["templates"]) if self._look["templates"] else ()),
        ]  # fmt: skip
        if asked["print"]:
            command.append("--print-all")
        # The keeper holds the lock, so that it ends with the run and not with this worker.
        keeper = [sys.executable, "-m", "letterkit.service.keeper", str(folder), *command]
        process = subprocess.Popen(  # noqa: S603 - our own program with arguments of ours
            keeper, cwd=folder, env=child_environment(), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        assert process.stdout is not None
        process.stdout.readline()  # until the keeper has the lock
        process.stdout.close()
        threading.Thread(target=process.wait, daemon=True).start()

    def progress(self, run_id: str) -> Progress:
        """How far a run is. Raises NotStored."""
        folder = self._of(run_id)
        over = ended(folder)
        if not over:
            self.see_to(run_id)
        found, counts = _ledger(folder / "letters")
        if found is None:
            return Progress(run_id, "failed" if over else "waiting", said=self._said(folder) if over else "")
        state: State = found.state if found.state == "done" or not over else "failed"
        if state == "done" and not over:  # the last run is done, and another is due or has not come to its rows yet
            state = "reading"
        return Progress(run_id, state, found.rows, found.tasks, **counts, said=found.stopped or "")

    def _said(self, folder: Path) -> str:
        said = folder / _SAID
        return said.read_text(encoding="utf-8", errors="replace")[-_SAID_MOST:].strip() if said.exists() else ""

    def results(self, run_id: str) -> Sequence[tuple[Path, str]]:
        """The files that stand after a run that is done, each with its name in the archive.

        Raises Refusal where it is not done.
        """
        progress = self.progress(run_id)
        if progress.state != "done":
            raise Refusal("not-done", f"The run is {progress.state}; its results come when it is done.")
        letters = self._of(run_id) / "letters"
        url = ledger.embedded_url(letters)
        try:
            found = _latest(url, letters)
            names = sorted(outcome.current_files(url, found.id, letters)) if found is not None else []
        finally:
            ledger.engine(url).dispose()
        return [(letters / name, name) for name in names]

    def lines(self, run_id: str) -> Sequence[Line]:
        """What became of each row in the last run, in the sheet's order. Raises NotStored."""
        letters = self._of(run_id) / "letters"
        if not (hidden(letters) / "bulk.sqlite").is_file():
            return ()
        url = ledger.embedded_url(letters)
        try:
            found = _latest(url, letters)
            return list(outcome.lines(url, found.id)) if found is not None else ()
        finally:
            ledger.engine(url).dispose()


def given_in(folder: Path) -> float:
    """When a sheet was given in, as seconds: its file is never written again. Zero while there is none."""
    return max((path.stat().st_mtime for suffix in SUFFIXES if (path := folder / f"sheet{suffix}").exists()), default=0)


def _latest(url: str, letters: Path) -> Row[Any] | None:
    with ledger.reading(url) as connection:
        place = ledger.find_folder(connection, str(letters.resolve()))
        return ledger.latest(connection, place) if place is not None else None


def _ledger(letters: Path) -> tuple[Row[Any] | None, Mapping[str, int]]:
    """The run's line in the ledger of its folder with its counts; None where it has not come so far."""
    if not (hidden(letters) / "bulk.sqlite").is_file():
        return None, {}
    url = ledger.embedded_url(letters)
    try:
        with ledger.reading(url) as connection:
            place = ledger.find_folder(connection, str(letters.resolve()))
            found = ledger.latest(connection, place) if place is not None else None
            return found, ledger.counts(connection, found.id) if found is not None else {}
    except OperationalError:  # the file is there, its tables are not yet
        return None, {}
    finally:
        ledger.engine(url).dispose()


def as_json(progress: Progress) -> dict[str, Any]:
    """How far a run is, for the wire."""
    base = f"/v1/bulk-runs/{progress.id}"
    return {
        "id": progress.id, "state": progress.state, "rows": progress.rows, "letters": progress.letters,
        "drafted": progress.drafted, "queried": progress.queried, "refused": progress.refused,
        "waiting": progress.waiting, "said": progress.said,
        "links": {"self": base, "events": f"{base}/events", "results": f"{base}/results"},
    }  # fmt: skip
