"""`letterkit letterhead check`: whether a clinic's .docx can carry letters, and what a letter adds to it."""

from __future__ import annotations

import textwrap
from pathlib import Path

import click

from letterkit.cli.common import read_input, told_plainly, write_file

_WIDTH = 96


@click.group()
def letterhead() -> None:
    """Work with a clinic's letterheads."""


def _listed(label: str, words: tuple[str, ...]) -> None:
    text = f"{label}: {', '.join(words) if words else 'none'}"
    for line in textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent="    "):
        click.echo(line)


@letterhead.command()
@click.argument("file", metavar="FILE.docx")
@click.option("--sample", type=click.Path(dir_okay=False, path_type=Path), metavar="OUT.docx",
              help="Write an invented letter on this letterhead, with every style and a second page.")  # fmt: skip
def check(file: str, sample: Path | None) -> None:
    """Say what a letterhead brings, what a letter adds to it, and what the clinic may want to change.

    Exit code: 0 it can be used, 2 it is refused, with the part and the reason.
    """
    from letterkit.render.docx import DocxRenderer, load
    from letterkit.render.docx.inspection import inspect
    from letterkit.render.docx.sample import sample_letter

    name = "standard input" if file == "-" else Path(file).name
    with told_plainly(file):
        data = read_input(file)
        found = inspect(data, name)
        page = DocxRenderer(load(data, name)).render(sample_letter()) if sample is not None else b""
    click.echo(f"{name} can be used as a letterhead.")
    click.echo("Styles")
    _listed("its own", found.own)
    _listed("added to a letter", found.added)
    click.echo("Headers and footers")
    for line in found.furniture:
        for piece in textwrap.wrap(line, _WIDTH, initial_indent="  ", subsequent_indent="    "):
            click.echo(piece)
    if found.notes:
        click.echo("Notes")
        for note in found.notes:
            for piece in textwrap.wrap(note, _WIDTH, initial_indent="  ", subsequent_indent="    "):
                click.echo(piece)
    if sample is not None:
        sample.parent.mkdir(parents=True, exist_ok=True)
        write_file(sample, page)
        click.echo(f"Sample page: {sample}")
