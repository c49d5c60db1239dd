"""`letterkit read`: what a pasted note says, and what of it could not be read."""

from __future__ import annotations

import json
from typing import Any

import click

from letterkit.cli.common import UnusableInput, read_input, told_plainly
from letterkit.reading.read import read as read_note
from letterkit.reading.result import ReadFinding, Reading, Span

_STYLES: dict[str, dict[str, Any]] = {
    "read": {"fg": "green", "bold": True},
    "not_current": {"dim": True},
    "unread": {"fg": "yellow", "underline": True, "bold": True},
    "plain": {},
}


def _finding(finding: ReadFinding, reading: Reading) -> dict[str, Any]:
    return {
        **finding.record,
        "quote": reading.quote(finding),
        "start": finding.start,
        "end": finding.end,
        "sure": finding.sure,
        "reasons": list(finding.reasons),
    }


def _spans(spans: tuple[Span, ...], reading: Reading) -> list[dict[str, Any]]:
    return [{"quote": reading.quote(span), "start": span.start, "end": span.end, "why": span.why} for span in spans]


def _as_json(reading: Reading) -> str:
    return json.dumps(
        {
            "encounter": reading.encounter,
            "findings": [_finding(finding, reading) for finding in reading.findings],
            "notCurrent": _spans(reading.not_current, reading),
            "unread": _spans(reading.unread, reading),
        },
        ensure_ascii=False,
        indent=2,
    )


def _line(finding: ReadFinding, reading: Reading) -> str:
    where = " ".join(part for part in (finding.side, ", ".join(finding.sites) or finding.words) if part)
    look = f"  LOOK: {'; '.join(finding.reasons)}" if finding.sure != "certain" else ""
    told = f"{finding.item}: {finding.state}"
    if finding.value is not None and finding.value != finding.state:
        told += f" {finding.value}"
    return f"  {told}{f' ({where})' if where else ''}  <- {reading.quote(finding)!r}{look}"


def _tell(reading: Reading) -> None:
    """The note with its spans marked, then the findings, then what a person must look at."""
    click.echo("".join(click.style(reading.quote(span), **_STYLES[span.kind]) for span in reading.spans))
    click.echo(f"\nFindings ({len(reading.findings)})")
    for finding in reading.findings:
        click.echo(_line(finding, reading))
    for title, stages in (("Normal by exception", reading.normal), ("Not examined", reading.not_examined)):
        if stages:
            click.echo(title)
            for stage in stages:
                told = ", ".join(f"{key} {value}" for key, value in stage.record.items())
                click.echo(f"  {told}  <- {reading.quote(stage)!r}")
    for title, spans in (("Not of this examination", reading.not_current), ("Not read", reading.unread)):
        if spans:
            click.echo(title)
            for span in spans:
                why = f" ({span.why})" if span.why else ""
                click.echo(f"  {reading.quote(span).strip()!r}{why}")


@click.command()
@click.argument("note", metavar="NOTE.txt")
@click.option("--json", "as_json", is_flag=True, help="For machines: the encounter, the findings with their words.")
@click.option("--language", type=click.Choice(["en-GB", "en-US"]), default="en-GB", show_default=True)
def read(note: str, as_json: bool, language: str) -> None:  # noqa: FBT001 - click passes options by name
    """Read a pasted note ('-' for standard input): findings, each with its words, and what could not be read.

    Green: read. Yellow, underlined: not read. Dim: recognised, but not of this examination.
    """
    with told_plainly(note):
        data = read_input(note)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnusableInput(f"{note}: not UTF-8 text; save the note as UTF-8") from None
    reading = read_note(text, language=language)
    if as_json:
        click.echo(_as_json(reading))
    else:
        _tell(reading)
