"""`letterkit draft`: encounters in, letters out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import click

from letterkit.cli.common import INVALID, UnusableInput, folder_for_letters, read_input, told_plainly, write_file
from letterkit.cli.formats import FORMAT_NAMES, Writer, tell_notices, writer
from letterkit.errors import LetterkitError
from letterkit.letter.model import Letter
from letterkit.pipeline import Draft
from letterkit.pipeline import draft as make_draft

_SHOWN_ROWS = 200


def _inputs(cases: tuple[str, ...]) -> list[str]:
    """The encounters meant: files, '-' and the JSON files of folders, in order of name."""
    found: list[str] = []
    for case in cases:
        path = Path(case)
        found += sorted(str(each) for each in path.glob("*.json")) if case != "-" and path.is_dir() else [case]
    return found


def _same_name(names: list[str]) -> str | None:
    """A name that two of the encounters share, though they lie in different folders."""
    stems = [Path(name).stem for name in names]
    return next((stem for stem in stems if stems.count(stem) > 1), None)


def _explain(drafted: Draft) -> None:
    """Prints each stage on the way to the letter: facts, statements, sentences."""
    click.echo("Facts")
    for fact in drafted.facts.facts:
        click.echo(f"  {fact.id}: {fact.item} {fact.side or ''} {fact.site or ''} {fact.state} {fact.value or ''}")
    click.echo("Statements")
    for statement in drafted.summary.statements:
        click.echo(f"  {statement.tier}: {', '.join(statement.facts)}")
    click.echo("Sentences")
    for text, facts in drafted.sentences():
        click.echo(f"  {text} [{', '.join(facts)}]")


def _letters(drafted: Draft, readers: str, templates: Path | None) -> Iterator[tuple[str, Letter]]:
    """The letters that are asked for, each with what its file's name ends in."""
    if readers in {"doctor", "both"}:
        yield "", drafted.letter
    if readers in {"patient", "both"}:
        yield "-patient", drafted.patient_copy(templates)


def _one(
    name: str, day: date, templates: Path | None, previous: bytes | None, chosen: Writer, out: Path | None,
    readers: str,
) -> tuple[Draft, tuple[str, ...]]:  # fmt: skip
    drafted = make_draft(read_input(name), drafted=day, templates=templates, previous=previous)
    tell_notices(name, drafted.notices)
    stem = "letter" if name == "-" else Path(name).stem
    targets = []
    for ending, letter in _letters(drafted, readers, templates):
        content = chosen.write(drafted, letter)
        if out is None:
            click.echo(content.decode(), nl=False)
            continue
        target = out / f"{stem}{ending}{chosen.suffix}"
        write_file(target, content)
        targets.append(str(target))
    return drafted, tuple(targets)


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE.json...")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the letters; default: here.")
@click.option("--format", "format_name", type=click.Choice(FORMAT_NAMES), default="docx", show_default=True)
@click.option("--letterhead", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="The clinic's .docx.")
@click.option("--template", type=click.Path(exists=True, file_okay=False, path_type=Path), metavar="DIR",
              help="A folder of letter templates that come before those that ship.")  # fmt: skip
@click.option("--for", "readers", type=click.Choice(["doctor", "patient", "both"]), default="doctor", show_default=True,
              help="Whose letter; the patient's is in plain English, its file's name ends in -patient.")  # fmt: skip
@click.option("--previous", metavar="OLD.json",
              help="An earlier visit of the same patient, to compare with; for one encounter only.")  # fmt: skip
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), help="Date of drafting; default: today.")
@click.option("--explain", is_flag=True, help="Print facts, statements and sentences instead of a letter.")
def draft(
    cases: tuple[str, ...],
    out: Path | None,
    format_name: str,
    letterhead: Path | None,
    template: Path | None,
    readers: str,
    previous: str | None,
    day: datetime | None,
    explain: bool,  # noqa: FBT001 - click passes options by name
) -> None:
    """Draft a letter from each encounter: JSON files, folders of them, or '-' for standard input.

    An encounter may also be a FHIR R4 Bundle; what it carries and a letter cannot hold is told on standard error.

    One encounter in html or text without --out goes to standard output; everything else goes to files.
    """
    names = _inputs(cases)
    if not names:
        raise UnusableInput("no encounter found: the folder holds no .json file")
    if twice := _same_name(names):
        raise UnusableInput(f"two encounters are called {twice}, and one letter would overwrite the other; rename one")
    if previous is not None and len(names) > 1:
        raise UnusableInput("--previous belongs to one encounter; draft the others without it")
    with told_plainly(previous or ""):
        before = read_input(previous) if previous is not None else None
    try:
        chosen = writer(format_name, letterhead)
    except (LetterkitError, OSError) as error:
        raise UnusableInput(str(error)) from None
    drafted_on = (day or datetime.now().astimezone()).date()
    to_screen = out is None and chosen.media_type.startswith("text/") and len(names) == 1
    folder = None if to_screen else (out or Path())
    if folder is not None:
        folder_for_letters(folder)
    failed = 0
    rows: list[tuple[str, str, str]] = []
    for name in names:
        try:
            if explain:
                explained = make_draft(read_input(name), drafted=drafted_on, templates=template, previous=before)
                tell_notices(name, explained.notices)
                _explain(explained)
                continue
            made, targets = _one(name, drafted_on, template, before, chosen, folder, readers)
        except LetterkitError as error:
            failed += 1
            shown = "standard input" if name == "-" else name
            for line in str(error).splitlines():
                click.echo(f"{shown}: {line}", err=True)
            continue
        rows += [(target, str(len(made.facts.facts)), str(len(made.queries))) for target in targets]
    _table(rows)
    if failed:
        click.echo(f"{failed} of {len(names)} could not be drafted.", err=True)
        raise click.exceptions.Exit(INVALID)


def _table(rows: list[tuple[str, str, str]]) -> None:
    if not rows:
        return
    width = max(len("letter"), *(len(row[0]) for row in rows))
    click.echo(f"{'letter':<{width}}  facts  queries")
    for target, facts, queries in rows[:_SHOWN_ROWS]:
        click.echo(f"{target:<{width}}  {facts:>5}  {queries:>7}")
    if len(rows) > _SHOWN_ROWS:
        click.echo(f"... and {len(rows) - _SHOWN_ROWS} more")
    click.echo(f"{len(rows)} drafted; each is a draft until a named clinician approves it.")
