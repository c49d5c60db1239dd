"""A bulk run from the sheet to the outcome: begun, or gone on with where it was stopped."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from letterkit.bulk import READERS, files, ledger, outcome
from letterkit.bulk.cells import Raw
from letterkit.bulk.columns import Field
from letterkit.bulk.corrections import Corrections, corrections_path, load_corrections
from letterkit.bulk.intake import Intake, canonical
from letterkit.bulk.mapping import Plan, load_mapping, mapping_path, plan
from letterkit.bulk.outcome import Totals
from letterkit.bulk.progress import shown
from letterkit.bulk.rows import Issue, Row, build
from letterkit.bulk.sheets import Records, Table, opened
from letterkit.errors import InvalidInput, LetterkitError, Problem

_POLL = 0.25


def usable_cores() -> int:
    """How many processes may draft at once: the cores this process may use, eight at most."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(8, cores))


class RunStopped(LetterkitError):
    """A run could not go on (a full disk, a folder that is gone); the same command continues it."""


@dataclass(frozen=True, slots=True)
class Options:
    """What a run is asked for. `readers` are doctor and patient; `store` is the embedded file where it is None.

    A print run holds the letters that this run made, or with `print_all` every letter of the sheet as it stands. With
    `here` the letters are drafted in this process, which begins no other and refuses more than a few.
    """

    sheet: Path
    out: Path
    formats: tuple[str, ...] = ("docx",)
    readers: tuple[str, ...] = READERS
    pattern: str = files.DEFAULT_PATTERN
    print_run: bool = False
    print_all: bool = False
    limit: int | None = None
    drafted: date | None = None
    letterhead: Path | None = None
    templates: Path | None = None
    mapping: Path | None = None
    store: str | None = None
    processes: int = field(default_factory=usable_cores)
    quiet: bool = False
    dry_run: bool = False
    here: bool = False


class Alongside:
    """What somebody does while a run goes on; this one does nothing."""

    def standing(self) -> None:
        """Every letter and the outcome sheet stand; what is still to come is the print run."""

    def still_wanted(self) -> None:
        """Asked again and again while the print run is written; what it raises stops that."""


@dataclass(frozen=True, slots=True)
class Result:
    """How a run came out; `print_runs` are the files of the print run."""

    totals: Totals
    tasks: int
    continued: bool
    print_runs: tuple[str, ...] = ()


def digest_of(path: Path | None) -> str:
    """A digest of a file, or of the files of a folder with their names."""
    whole = hashlib.sha256()
    for each in [] if path is None else sorted(path.rglob("*")) if path.is_dir() else [path]:
        if each.is_file() and not any(part.startswith(".") for part in each.parts[-1:]):
            with each.open("rb") as file:
                whole.update(each.name.encode() + hashlib.file_digest(file, "sha256").digest())
    return whole.hexdigest()


def _columns(made: Plan | None) -> dict[str, str]:
    """The column of each field, by its place in an encounter."""
    if made is None:
        return {}
    return {
        target.path.removesuffix(".nhs").removesuffix(".hospital"): name
        for name, target in zip(made.names, made.targets, strict=True)
        if isinstance(target, Field)
    }


def _settings(options: Options, made: Plan | None, sheet: str, day: date) -> dict[str, Any]:
    formats = [] if options.dry_run else list(options.formats)
    return {
        "folder": str(options.out.resolve()), "formats": formats, "readers": list(options.readers),
        "outputs": " ".join(f"{form}:{reader}" for form in formats for reader in options.readers),
        "pattern": files.check_pattern(options.pattern), "columns": _columns(made),
        "headings": list(made.names) if made else [], "sheet": sheet,
        "letterhead": str(options.letterhead.resolve()) if options.letterhead else None,
        "templates": str(options.templates.resolve()) if options.templates else None,
        "look": [digest_of(options.letterhead), digest_of(options.templates)],
        "drafted": day.isoformat(),
    }  # fmt: skip


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a field stands twice")
    return found


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is not a number of JSON")


def _record(place: str, text: bytes) -> Row:
    """An encounter of a JSON file or line; its faults are found when it is drafted."""
    try:
        data = json.loads(text, object_pairs_hook=_unique, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        fault = (
            f"not JSON: {error.msg} at column {error.colno}"
            if isinstance(error, json.JSONDecodeError)
            else "not JSON in UTF-8, or a field stands twice"
        )
        return Row(place, {"place": place}, issues=(Issue.error("", f"{fault}; write one encounter as a JSON object"),))
    if not isinstance(data, dict):
        return Row(place, {"place": place}, issues=(Issue.error("", "not an object; an encounter begins with {"),))
    return Row(place, data)


def _row(place: str, given: Sequence[Raw], made: Plan, corrections: Corrections) -> Row | None:
    row = build(place, corrections.over(place, given), made)
    if row is None or not corrections.of(place):
        return row
    return replace(row, issues=(*row.issues, *corrections.notes(place, made.names)))


def _rows(
    sheet: Table | Records, made: Plan | None, corrections: Corrections, limit: int | None
) -> Iterator[Row]:  # fmt: skip
    count = 0
    for place, given in sheet.rows:
        if limit is not None and count >= limit:
            return
        if isinstance(given, bytes):
            row: Row | None = _record(place, given)
        else:
            row = _row(place, given, made, corrections) if made else None
        if row is not None:
            count += 1
            yield row


def run(options: Options, tell: Callable[[str], None], alongside: Alongside | None = None) -> Result:
    """Make the letters of a sheet, or go on making them; `tell` is given lines to show before it begins.

    Raises `InvalidInput` for a sheet or option that cannot be used, `RunStopped` where making could not go on, and
    `letterkit.bulk.durable.FolderInUse` where another process is at it.
    """
    beside = alongside or Alongside()
    if not options.dry_run:
        return _run(options, tell, beside)
    with tempfile.TemporaryDirectory() as folder:
        return _run(replace(options, out=Path(folder), store=None, print_run=False, print_all=False), tell, beside)


def _run(options: Options, tell: Callable[[str], None], alongside: Alongside) -> Result:
    from letterkit.bulk.durable import sole  # noqa: PLC0415 - heavy, and not for a sheet that cannot be read

    mapping = load_mapping(options.mapping or mapping_path(options.sheet))
    if (options.print_run or options.print_all) and "docx" not in options.formats:
        raise InvalidInput((Problem("print run", "is made of DOCX letters; add docx to the formats"),))
    corrections = load_corrections(options.sheet) if options.sheet.is_file() else Corrections()
    with opened(options.sheet, sheet=mapping.sheet, encoding=mapping.encoding) as sheet:
        made = plan(sheet.header, mapping) if isinstance(sheet, Table) else None
        for note in sheet.notes:
            tell(f"{options.sheet.name}: {note}")
        for name, target in made.lines() if made else ():
            tell(f"  {name} -> {target}")
        if corrections:
            tell(f"{options.sheet.name}: {len(corrections)} corrections of rows are kept beside it")
        options.out.mkdir(parents=True, exist_ok=True)
        with sole(files.hidden(options.out) / "lock"):
            shutil.rmtree(files.hidden(options.out) / "aside", ignore_errors=True)
            return _letters(options, sheet, made, corrections, tell, alongside)


def _letters(
    options: Options, sheet: Table | Records, made: Plan | None, corrections: Corrections, tell: Callable[[str], None],
    alongside: Alongside,
) -> Result:  # fmt: skip
    url = options.store or ledger.embedded_url(options.out)
    ledger.prepare(url)
    day = options.drafted or date.today()  # noqa: DTZ011 - the clinic's own day
    settings = _settings(options, made, sheet.name if isinstance(sheet, Table) else "", day)
    asked = {key: value for key, value in settings.items() if key != "drafted"}
    mapping = "" if made is None else canonical([str(made.mapping), made.names])
    given = [digest_of(options.sheet), digest_of(corrections_path(options.sheet)) if corrections else ""]
    digest = hashlib.sha256(canonical([*given, mapping, asked, options.limit]).encode()).hexdigest()
    with ledger.writing(url) as connection:
        folder = ledger.folder_id(connection, settings["folder"])
        found = ledger.unfinished(connection, folder)
        continued = found is not None and found.digest == digest
        if continued and found is not None:
            run_id, state, day_text = found.id, found.state, found.drafted
            connection.execute(sa.update(ledger.runs).where(ledger.runs.c.id == run_id).values(stopped=None))
            settings["drafted"] = day_text
        else:
            values = {
                "sheet": options.sheet.name,
                "digest": digest,
                "settings": canonical(settings),
                "drafted": day.isoformat(),
            }
            run_id, state = ledger.begin(connection, folder, values), "reading"
    if state == "reading":
        intake = Intake(url, run_id, folder, settings)
        for row in _rows(sheet, made, corrections, options.limit):
            intake.add(row)
        intake.finish()
    (files.hidden(options.out) / files.MARKER).write_text(run_id, encoding="utf-8")
    tasks = _draft(options, url, run_id)
    totals = outcome.write(url, run_id, options.out, settings["drafted"])
    alongside.standing()
    printed: tuple[str, ...] = ()
    if options.print_run or options.print_all:
        from letterkit.bulk.printrun import write_print_runs  # noqa: PLC0415 - only where asked for

        printed = write_print_runs(
            url, run_id, options.out, options.readers, whole=options.print_all, still_wanted=alongside.still_wanted
        )
    if options.dry_run:
        for line in outcome.lines(url, run_id):
            for issue in line.issues:
                tell(f"{line.place}: {issue.kind}: {issue}{f'; {issue.remedy}' if issue.remedy else ''}")
    with ledger.writing(url) as connection:
        connection.execute(sa.update(ledger.runs).where(ledger.runs.c.id == run_id).values(state="done"))
    ledger.engine(url).dispose()
    return Result(totals, tasks, continued, printed)


def note_stop(url: str) -> Callable[[str, str], None]:
    """Give what enters in the ledger why a run could not go on."""

    def enter(run_id: str, why: str) -> None:
        with ledger.writing(url) as connection:
            connection.execute(sa.update(ledger.runs).where(ledger.runs.c.id == run_id).values(stopped=why))

    return enter


def _draft(options: Options, url: str, run_id: str) -> int:
    """Have the letters of a run made; gives how many there were to make."""
    with ledger.reading(url) as connection:
        tasks: int = connection.execute(sa.select(ledger.runs.c.tasks).where(ledger.runs.c.id == run_id)).scalar_one()
        waiting = ledger.counts(connection, run_id)["waiting"]
    if not waiting:
        return tasks
    if options.here:
        return _draft_here(url, run_id, tasks, waiting)
    from letterkit.bulk.durable import CHUNK, executing, sweeping  # noqa: PLC0415 - half a second, only where it is needed
    from letterkit.bulk.pool import Drafters  # noqa: PLC0415 - the same

    processes = min(options.processes, -(-waiting // CHUNK))
    drafters = Drafters(url, processes)
    stop = threading.Event()
    with executing(url, drafters.chunk, 2 * processes, note_stop(url)) as (executor, part):
        executor.submit(run_id, tasks, part)
        sweeper = threading.Thread(target=sweeping, args=(executor, stop), daemon=True)
        sweeper.start()
        try:
            with shown(tasks, quiet=options.quiet) as bar:
                _wait(url, run_id, executor.active, bar.update)
        finally:
            stop.set()
            sweeper.join()
            drafters.close()
    return tasks


def _draft_here(url: str, run_id: str, tasks: int, waiting: int) -> int:
    """The same in this process, without steps that are kept: what is not made when it ends is waiting still."""
    from letterkit.bulk.durable import CHUNK  # noqa: PLC0415 - as above
    from letterkit.bulk.work import draft_chunk  # noqa: PLC0415 - the same

    if waiting > CHUNK:
        raise RunStopped(f"{waiting} rows are too many to draft in one process; the same command continues")
    draft_chunk(url, run_id, 1, tasks)
    return tasks


def _wait(url: str, run_id: str, active: Callable[[str], bool], show: Callable[[dict[str, int]], None]) -> None:
    while True:
        busy = active(run_id)  # asked first: what was busy may be done when the letters are counted
        with ledger.reading(url) as connection:
            counts = ledger.counts(connection, run_id)
        show(counts)
        if not busy:
            break
        time.sleep(_POLL)
    if counts["waiting"]:
        with ledger.reading(url) as connection:
            why = connection.execute(sa.select(ledger.runs.c.stopped).where(ledger.runs.c.id == run_id)).scalar()
        raise RunStopped(
            f"stopped with {counts['waiting']} rows still to draft: {why or 'its steps were cancelled'}; "
            "mend that, and the same command continues"
        )
