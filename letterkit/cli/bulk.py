"""`letterkit bulk`: a sheet of encounters in, letters and an outcome sheet out; and `letterkit bulk status`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from letterkit.bulk import READERS
from letterkit.cli.common import INVALID, told_plainly

QUERIES = 1  # exit code: all drafted, some with queries
STOPPED = 3  # exit code: not all rows were come to
INTERRUPTED = 130
_FORMATS = ("docx", "html", "pdf", "text")


class _Parted(click.ParamType[tuple[str, ...]]):
    """Words parted by commas, of an allowed list."""

    name = "list"

    def __init__(self, allowed: tuple[str, ...]) -> None:
        self._allowed = allowed

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, ...]:
        if isinstance(value, tuple):
            return value
        found = tuple(dict.fromkeys(part.strip() for part in str(value).split(",") if part.strip()))
        if wrong := [part for part in found if part not in self._allowed]:
            self.fail(f"{wrong[0]!r} is not allowed; allowed: {', '.join(self._allowed)}", param, ctx)
        if not found:
            self.fail(f"is empty; allowed: {', '.join(self._allowed)}", param, ctx)
        return found


class _BulkGroup(click.Group):
    """Takes a sheet where no command of its own is named."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A known command, or the run of a sheet."""
        if args and args[0] in self.commands:
            return super().resolve_command(ctx, args)
        return "SHEET", self.commands["run"], args

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Leaves options before the sheet to the run."""
        if args and args[0] not in self.commands and args[0] not in {"-h", "--help"}:
            args = ["run", *args]
        return super().parse_args(ctx, args)


@click.group(cls=_BulkGroup, invoke_without_command=False)
def bulk() -> None:
    """Draft letters from a sheet: letterkit bulk SHEET --out DIR.

    letterkit bulk run --help shows every option; letterkit bulk status --out DIR shows how far a run is.
    """


@bulk.command("run")
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), required=True, help="Folder for the letters.")
@click.option("--format", "formats", type=_Parted(_FORMATS), default="docx", show_default=True, metavar="LIST",
              help="Formats, parted by commas: docx, pdf, html, text.")  # fmt: skip
@click.option("--for", "readers", type=_Parted(READERS), default=",".join(READERS), show_default=True, metavar="LIST",
              help="Whose letters: doctor, patient, or both parted by a comma.")  # fmt: skip
@click.option("--pattern", default="{reference}", show_default=True,
              help="Files' names, of {reference} {serial} {date} {family} {given} {recipient} {problem}.")  # fmt: skip
@click.option("--print-run", is_flag=True, help="Also one DOCX of all letters, in order of recipient, for the printer.")
@click.option("--print-all", is_flag=True, help="The same of every letter of the sheet, not only of those made now.")
@click.option("--mapping", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
              help="The mapping of columns; default: SHEET.columns.toml beside the sheet.")  # fmt: skip
@click.option("--letterhead", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="The clinic's .docx.")
@click.option("--template", "templates", type=click.Path(exists=True, file_okay=False, path_type=Path), metavar="DIR",
              help="A folder of letter templates that come before those that ship.")  # fmt: skip
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), help="Date of drafting; default: today.")
@click.option("--store", envvar="LETTERKIT_STORE", metavar="URL",
              help="postgresql:// URL for runs with workers elsewhere; default: a file in the folder.")  # fmt: skip
@click.option("--processes", type=click.IntRange(1, 64), help="Processes that draft; default: one a core.")
@click.option("--limit", type=click.IntRange(1), help="Take the first rows only.")
@click.option("--dry-run", is_flag=True, help="Check every row and write nothing.")
@click.option("--quiet", is_flag=True, help="Only the last line.")
def run_sheet(
    sheet: Path, out: Path, formats: tuple[str, ...], readers: tuple[str, ...], pattern: str, print_run: bool,  # noqa: FBT001
    print_all: bool, mapping: Path | None, letterhead: Path | None, templates: Path | None,  # noqa: FBT001
    day: datetime | None, store: str | None,
    processes: int | None, limit: int | None, dry_run: bool, quiet: bool,  # noqa: FBT001 - click passes options by name
) -> None:  # fmt: skip
    """Draft a letter from every row of SHEET: CSV, XLSX, ODS, JSON Lines, or a folder of encounters.

    Stopped by whatever, the same command continues. The same sheet again makes nothing new; of a corrected sheet only
    what changed is drafted, as new versions. Exit code: 0 all drafted, 1 some with queries, 2 some refused or the
    sheet cannot be used, 3 stopped before the end.
    """
    from letterkit.bulk.durable import FolderInUse
    from letterkit.bulk.mapping import ColumnsUnmatched, mapping_path
    from letterkit.bulk.run import Options, RunStopped, run, usable_cores

    options = Options(
        sheet=sheet, out=out, formats=formats, readers=readers, pattern=pattern, print_run=print_run, limit=limit,
        print_all=print_all, drafted=day.date() if day else None, letterhead=letterhead, templates=templates,
        mapping=mapping, store=store,
        processes=usable_cores() if processes is None else processes, quiet=quiet, dry_run=dry_run,
    )  # fmt: skip
    with told_plainly(str(sheet)):
        try:
            result = run(options, lambda line: None if quiet else click.echo(line))
        except ColumnsUnmatched as error:
            _offer_mapping(sheet, mapping or mapping_path(sheet), error)
            raise
        except (FolderInUse, RunStopped, OSError) as error:
            said = (
                f"{error.strerror or error}; mend that, and the same command continues"
                if isinstance(error, OSError)
                else error
            )
            click.echo(str(said), err=True)
            raise click.exceptions.Exit(STOPPED) from None
        except KeyboardInterrupt:
            click.echo("interrupted; the same command continues", err=True)
            raise click.exceptions.Exit(INTERRUPTED) from None
    totals = result.totals
    new = "nothing new" if not result.tasks else f"{totals.new} new letters" if totals.new != 1 else "1 new letter"
    made = "nothing written" if dry_run else f"{new}; see {out / 'outcome.xlsx'}"
    twice = f", {totals.duplicates} rows twice in the sheet" if totals.duplicates else ""
    for name in result.print_runs:
        click.echo(str(out / name))
    click.echo(
        f"{totals.rows} rows: {totals.drafted} drafted, {totals.queried} drafted with queries, {totals.refused} refused"
        f"{twice}; {made}"
    )
    if code := INVALID if totals.refused else QUERIES if totals.queried else 0:
        raise click.exceptions.Exit(code)


def _offer_mapping(sheet: Path, path: Path, error: object) -> None:
    from letterkit.bulk.mapping import ColumnsUnmatched, skeleton

    assert isinstance(error, ColumnsUnmatched)
    if not path.exists():
        path.write_text(skeleton(sheet, error.problems, error.names), encoding="utf-8")
        click.echo(f"Say in {path} what these columns hold, or list them under ignore:", err=True)


@bulk.command("status")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), required=True, help="Folder of the letters.")
@click.option("--store", envvar="LETTERKIT_STORE", metavar="URL", help="The store's URL, where the run was given one.")
def status(out: Path, store: str | None) -> None:
    """Show how far the last run of a folder is. Exit code: 0 done, 3 not done, 2 no run."""
    from letterkit.bulk import ledger

    if store is None and not (out / ".letterkit" / "bulk.sqlite").is_file():
        raise click.ClickException(f"{out}: no run has written to this folder")
    url = store or ledger.embedded_url(out)
    ledger.prepare(url)
    with ledger.reading(url) as connection:
        folder = ledger.find_folder(connection, str(out.resolve()))
        found = ledger.latest(connection, folder) if folder is not None else None
        if found is None:
            raise click.ClickException(f"{out}: no run has written to this folder")
        counts = ledger.counts(connection, found.id)
    words = {
        "reading": "reading the sheet",
        "drafting": "drafting",
        "done": "done",
        "superseded": "given up for another",
    }
    click.echo(
        f"Run {found.number}, {found.sheet}, {words[found.state]}: {found.rows} rows, {found.tasks} to draft; "
        f"{counts['drafted']} drafted, {counts['queried']} with queries, {counts['refused']} refused, "
        f"{counts['waiting']} waiting"
    )
    if found.stopped:
        click.echo(f"Stopped: {found.stopped}. The same command continues.")
    if found.state != "done":
        raise click.exceptions.Exit(STOPPED)
