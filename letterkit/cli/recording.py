"""`letterkit records`: prove, back up, restore, erase, retain. And `keys`, `people`: who may use the service."""

from __future__ import annotations

import getpass
import json
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from letterkit.cli.common import INVALID, told_plainly
from letterkit.records import access, backup, retention
from letterkit.records.access import Role, Scope
from letterkit.records.errors import NotStored
from letterkit.records.store import Doing, Store
from letterkit.settings import load_settings

if TYPE_CHECKING:
    from letterkit.service.folders import Folders, Sheet

_DAYS = {"d": 1, "w": 7, "m": 30, "y": 365}


@contextmanager
def _store(url: str | None) -> Iterator[Store]:
    with told_plainly("records"):
        store = Store.open(url or load_settings().records.get_secret_value())
        try:
            yield store
        finally:
            store.close()


def _doing() -> Doing:
    return Doing(f"command:{getpass.getuser()}")


def _url_option(command: Any) -> Any:
    return click.option("--records", "url", metavar="URL", help="Database URL; default: the setting `records`.")(
        command
    )


class _Age(click.ParamType[timedelta]):
    """A number of days, weeks, months of 30 days or years of 365: 90d, 8y."""

    name = "age"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> timedelta:
        if isinstance(value, timedelta):
            return value
        found = re.fullmatch(r"([1-9][0-9]{0,4})([dwmy])", str(value))
        if not found:
            self.fail(f"{value!r} is not an age; give it as 90d, 12w, 18m or 8y", param, ctx)
        return timedelta(days=int(found[1]) * _DAYS[found[2]])


@click.group()
def records() -> None:
    """The stored letters: prove, back up, restore, erase and retain them."""


@records.command()
@_url_option
@click.option("--head", metavar="DIGEST", help="A head noted earlier; it must still be in the trail.")
def verify(url: str | None, head: str | None) -> None:
    """Prove that the audit trail is whole and every letter is as it was written. Exit code 2 where it is not.

    Note the head that is printed somewhere else: what is cut off at the trail's end shows only against it.
    """
    with _store(url) as store:
        found = retention.verify(store, head)
    click.echo(f"{found.entries} entries, {found.versions} versions, all as they were written.")
    click.echo(f"Head {found.head}")


@records.command("backup")
@click.argument("target", type=click.Path(dir_okay=False, path_type=Path))
@_url_option
def backup_(target: Path, url: str | None) -> None:
    """Write everything to one file, from one moment, while the service runs. The file holds patient data.

    The sheets that were given in go with it: each with its letters, its matching and its corrections.
    """
    with _store(url) as store:
        folders = _folders(url)
        rows = backup.backup(store, target, folders.kept())
    click.echo(f"{target}: {rows} rows{_with_sheets(len(folders.every()))}")


@records.command()
@click.argument("source", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@_url_option
def restore(source: Path, url: str | None) -> None:
    """Fill an empty database from a backup, all or nothing, and prove it. Sheets go to the folder of bulk runs."""
    from letterkit.service.folders import Restored

    with _store(url) as store:
        rows = backup.restore(store, source, Restored(_runs_folder(url)))
        found = retention.verify(store)
    told = f"{found.entries} entries, {found.versions} versions, all as they were written."
    click.echo(f"{rows} rows{_with_sheets(len(_folders(url).every()))} restored; {told}")


@records.command()
@click.argument("letters", nargs=-1, metavar="LETTER...")
@click.option("--patient", is_flag=True, help="Ask for an identifier, and erase every letter about that patient.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@_url_option
def erase(letters: tuple[str, ...], patient: bool, yes: bool, url: str | None) -> None:  # noqa: FBT001 - click's way
    """Erase letters for good; that they were there, and when they went, stays in the audit trail.

    A sheet may be given as well, by its id. It goes whole, with the letters of all its rows: with --patient every sheet
    that holds the identifier in a cell. Make sure that the letters of the others were taken from it before.

    A patient's identifier is asked for, never given on the command line, where it would be kept in its history.
    """
    if bool(letters) == patient:
        raise click.UsageError("give letters or --patient")
    with _store(url) as store:
        folders = _folders(url)
        unread: Sequence[Sheet] = ()
        if patient:
            identifier = click.prompt("Identifier", hide_input=True)
            chosen = tuple(retention.of_patient(store, identifier))
            sheets, unread = folders.of_patient(identifier)
        else:
            sheets = [each for each in folders.every() if each.id in letters]
            chosen = tuple(each for each in letters if each not in {sheet.id for sheet in sheets})
        for sheet in unread:
            click.echo(f"sheet {sheet.id}: cannot be read, and was not searched; look at it yourself", err=True)
        if not chosen and not sheets:
            raise NotStored("erase: no letter of this patient is stored")
        if not yes:
            whole = " (whole, with the letters of all their rows)" if sheets else ""
            click.confirm(f"Erase {_counted(len(chosen), len(sheets))}{whole} for good?", abort=True)
        for letter in chosen:
            retention.erase(store, letter, _doing())
            click.echo(f"{letter}: erased")
        _erase_sheets(store, folders, sheets, "bulk.erased")
    if unread:
        raise click.exceptions.Exit(INVALID)


@records.command()
@click.option("--for", "age", type=_Age(), required=True, help="How long letters are kept: 90d, 8y.")
@click.option("--erase", "really", is_flag=True, help="Erase them; without it they are only counted.")
@_url_option
def retain(age: timedelta, really: bool, url: str | None) -> None:  # noqa: FBT001 - click passes options by name
    """Keep letters for a time and erase the older ones; sheets likewise, by the day they were given in."""
    with _store(url) as store:
        before = datetime.now(UTC) - age
        old = retention.older_than(store, before)
        folders = _folders(url)
        sheets = [each for each in folders.every() if each.at < before]
        for letter in old if really else ():
            retention.erase(store, letter, _doing(), "letter.retention-over")
        if really:
            _erase_sheets(store, folders, sheets, "bulk.retention-over")
    told = "erased" if really else "are older; nothing was erased without --erase"
    click.echo(f"{_counted(len(old), len(sheets))} {told}.")


def _runs_folder(url: str | None) -> Path:
    return load_settings(records=url).runs_folder


def _folders(url: str | None) -> Folders:
    from letterkit.service.folders import Folders  # heavy, and not for keys and people

    return Folders(_runs_folder(url))


def _counted(letters: int, sheets: int) -> str:
    return f"{letters} letters{f' and {sheets} sheets' if sheets else ''}"


def _with_sheets(sheets: int) -> str:
    return f", {sheets} sheets with their letters" if sheets else ""


def _erase_sheets(store: Store, folders: Folders, sheets: Sequence[Sheet], action: str) -> None:
    for sheet in sheets:
        retention.erase_sheet(store, sheet.id, _doing(), action)
        folders.erase(sheet)
        click.echo(f"sheet {sheet.id}: erased")


@click.group()
def keys() -> None:
    """API keys of other systems."""


@keys.command("add")
@click.argument("name")
@click.option("--scope", "scopes", type=click.Choice([scope.value for scope in Scope]), multiple=True, required=True)
@click.option("--for", "age", type=_Age(), help="How long it lasts: 90d, 1y; default: until it is revoked.")
@click.option("--as-record", is_flag=True, help="Store nothing; print the line for a stateless service's key file.")
@_url_option
def add_key(name: str, scopes: tuple[str, ...], age: timedelta | None, as_record: bool, url: str | None) -> None:  # noqa: FBT001
    """Make a key and show it, once."""
    expires = datetime.now(UTC) + age if age else None
    if as_record:
        key_id, secret, shown = access.new_key()
        click.echo(f"Key, shown once: {shown}", err=True)
        click.echo(json.dumps({
            "id": key_id, "name": name, "scopes": sorted(scopes), "secret": access.hashed(secret),
            "expires": expires.isoformat() if expires else None,
        }))  # fmt: skip
        return
    with _store(url) as store:
        key, shown = access.add_key(store, name, frozenset(map(Scope, scopes)), _doing(), expires=expires)
    click.echo(f"{key.id} {name}: {' '.join(sorted(scopes))}", err=True)
    click.echo("The key is shown once and cannot be shown again:", err=True)
    click.echo(shown)


@keys.command("list")
@_url_option
def list_keys(url: str | None) -> None:
    """Show all keys, without their secrets."""
    with _store(url) as store:
        for key in access.keys(store):
            until = f"until {key.expires:%Y-%m-%d}" if key.expires else "until revoked"
            state = f"revoked {key.revoked:%Y-%m-%d}" if key.revoked else until
            click.echo(f"{key.id}  {key.name}  {' '.join(sorted(key.scopes))}  {state}")


@keys.command("revoke")
@click.argument("key_id")
@_url_option
def revoke_key(key_id: str, url: str | None) -> None:
    """End a key for good, at once."""
    with _store(url) as store:
        access.revoke_key(store, key_id, _doing())
    click.echo(f"{key_id}: revoked")


@click.group()
def people() -> None:
    """People with a password and a role."""


def _password() -> str:
    return str(click.prompt("Password", hide_input=True, confirmation_prompt=True))


@people.command("add")
@click.argument("login")
@click.option("--name", required=True, help="As it stands in a letter that the person approves.")
@click.option("--role", type=click.Choice([role.value for role in Role]), required=True)
@click.option("--job-title", help="As it stands in a letter, such as 'Consultant hand surgeon'.")
@click.option("--identifier", help="In a professional register.")
@_url_option
def add_person(
    login: str, name: str, role: str, job_title: str | None, identifier: str | None, url: str | None
) -> None:
    """Add a person; the password is asked for."""
    with _store(url) as store:
        access.add_person(
            store, login, name, Role(role), _password(), _doing(), job_title=job_title, identifier=identifier
        )
    click.echo(f"{login}: {role}")


@people.command("list")
@_url_option
def list_people(url: str | None) -> None:
    """Show all people."""
    with _store(url) as store:
        for person in access.everyone(store):
            click.echo(f"{person.login}  {person.name}  {person.role}{'  disabled' if person.disabled else ''}")


@people.command()
@click.argument("login")
@_url_option
def password(login: str, url: str | None) -> None:
    """Give a person a new password and end their sessions."""
    with _store(url) as store:
        access.set_password(store, login, _password(), _doing())
    click.echo(f"{login}: new password, all sessions ended")


@people.command()
@click.argument("login")
@_url_option
def disable(login: str, url: str | None) -> None:
    """Let a person in no more."""
    with _store(url) as store:
        access.disable_person(store, login, _doing())
    click.echo(f"{login}: disabled")
