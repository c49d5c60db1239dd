"""`letterkit sheet`: a new workbook to fill in, and how the columns of a sheet are read."""

from __future__ import annotations

from pathlib import Path

import click

from letterkit.cli.common import told_plainly


@click.group()
def sheet() -> None:
    """Make sheets for bulk runs, and show how the columns of one are read."""


@sheet.command("new")
@click.argument("problem")
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), required=True, help="The workbook to write, .xlsx."
)
def new(problem: str, out: Path) -> None:
    """Write a workbook with the columns for a presenting PROBLEM, drop-downs, examples and a page of notes."""
    from letterkit.bulk.new import write_workbook

    with told_plainly(str(out)):
        columns = write_workbook(problem, out)
    click.echo(f"{out}: {columns} columns; fill in its first sheet, then: letterkit bulk {out} --out DIR")


@sheet.command("columns")
@click.argument("path", metavar="SHEET", type=click.Path(path_type=Path))
def columns(path: Path) -> None:
    """Show what each column of SHEET is read as. Exit code 2 where one is not known."""
    from letterkit.bulk.mapping import load_mapping, mapping_path, plan
    from letterkit.bulk.sheets import Table, opened

    with told_plainly(str(path)):
        mapping = load_mapping(mapping_path(path))
        with opened(path, sheet=mapping.sheet, encoding=mapping.encoding) as found:
            if not isinstance(found, Table):
                raise click.ClickException(f"{path}: holds encounters, which have no columns")
            for note in found.notes:
                click.echo(note)
            for name, target in plan(found.header, mapping).lines():
                click.echo(f"{name} -> {target}")
