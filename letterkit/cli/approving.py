"""`letterkit approve`: a draft that a named clinician has checked becomes a final letter."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from letterkit.cli.common import folder_for_letters, read_input, told_plainly, write_file
from letterkit.cli.formats import FORMAT_NAMES, tell_notices, writer
from letterkit.letter.approval import approve as make_final
from letterkit.letter.display import short_date
from letterkit.pipeline import draft as make_draft

_SHOWN_OF_DIGEST = 8  # digits of it in a file's name


class _Moment(click.ParamType[datetime]):
    """A date and time of ISO 8601; without an offset it is local time."""

    name = "ISO time"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        if isinstance(value, datetime):
            return value
        text = str(value)
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.fail(f"{text!r} is not a date and time; give it as 2026-03-05T14:30 or with an offset", param, ctx)
        if len(text) <= len("2026-03-05"):
            self.fail(f"{text!r} has no time; an approval needs the time of day, as in 2026-03-05T14:30", param, ctx)
        return moment.astimezone() if moment.tzinfo is None else moment


@click.command()
@click.argument("case", metavar="CASE.json")
@click.option("--by", required=True, metavar="NAME", help="The clinician who checked the letter and answers for it.")
@click.option("--role", help="Default: the author's role, where the author approves.")
@click.option("--identifier", help="In a professional register; kept with the letter as data, not printed.")
@click.option("--at", type=_Moment(), help="Date and time of the approval; default: now.")
@click.option("--replaces", metavar="DIGEST", help="Content digest or reference of the letter that this one replaces.")
@click.option("--for", "readers", type=click.Choice(["doctor", "patient", "both"]), default="doctor", show_default=True,
              help="Whose letter; the patient's copy is approved with the doctor's.")  # fmt: skip
@click.option("--format", "format_name", type=click.Choice(FORMAT_NAMES), default="docx", show_default=True)
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), default=Path(), help="Folder; default: here.")
@click.option("--letterhead", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="The clinic's .docx.")
@click.option("--template", type=click.Path(exists=True, file_okay=False, path_type=Path), metavar="DIR",
              help="The folder of letter templates the draft was made with.")  # fmt: skip
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), help="Date of drafting; default: that of approval.")
def approve(
    case: str,
    by: str,
    role: str | None,
    identifier: str | None,
    at: datetime | None,
    replaces: str | None,
    readers: str,
    format_name: str,
    out: Path,
    letterhead: Path | None,
    template: Path | None,
    day: datetime | None,
) -> None:
    """Make the final letter of an encounter whose draft was checked, and print its content digest.

    Refused, with exit code 2, while a query about something impossible or contradictory is open. A correction names
    with --replaces the letter it replaces. No earlier version is overwritten: each has its digest in its name.
    """
    moment = at or datetime.now().astimezone()
    with told_plainly(case):
        chosen = writer(format_name, letterhead)
        drafted = make_draft(read_input(case), drafted=(day or moment).date(), templates=template)
        tell_notices(case, drafted.notices)
        final = make_final(
            drafted, by=by, role=role, identifier=identifier, at=moment, replaces=replaces, templates=template
        )
        letters = {"": final.letter} if readers in {"doctor", "both"} else {}
        letters |= {"-patient": final.patient} if final.patient and readers in {"patient", "both"} else {}
        contents = {ending: chosen.write(drafted, letter, final) for ending, letter in letters.items()}
    stem = "letter" if case == "-" else Path(case).stem
    folder_for_letters(out)
    for ending, content in contents.items():
        target = out / f"{stem}-approved-{final.digest[:_SHOWN_OF_DIGEST]}{ending}{chosen.suffix}"
        write_file(target, content)
        click.echo(str(target))
    click.echo(f"Approved by {final.approval.by} on {short_date(moment.date())} at {moment:%H:%M}.")
    click.echo(f"Content digest {final.digest}")
    if final.replaces:
        click.echo(f"Replaces {final.replaces}")
