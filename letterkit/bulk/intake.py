"""The taking in of a sheet: every row entered in the ledger, told apart as new, changed, unchanged or there twice."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import sqlalchemy as sa

from letterkit import __version__
from letterkit.bulk import files
from letterkit.bulk.ledger import folders, letters, rows, runs, writing
from letterkit.bulk.rows import Issue, Row

_BATCH = 500


def canonical(value: object) -> str:
    """Data as text that is the same for the same data; in ASCII, so that no character of a record is in its way."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), default=str)


def issues_text(issues: Sequence[Issue]) -> str:
    """Issues as they are kept in the ledger."""
    return json.dumps([asdict(issue) for issue in issues])


def issues_of(text: str) -> list[Issue]:
    """Issues as they were kept in the ledger."""
    return [Issue(**each) for each in json.loads(text)]


def _part(record: Mapping[str, Any], *path: str) -> Any:
    found: Any = record
    for step in path:
        found = found.get(step) if isinstance(found, dict) else None
    return found


def _key(record: Mapping[str, Any], salt: str) -> tuple[str, str | None]:
    """What a row is known by: its reference, or a keyed digest of who was seen when."""
    reference = record.get("reference")
    if isinstance(reference, str) and reference.strip() and reference.strip().isprintable():
        return "r:" + " ".join(reference.split()).casefold(), reference.strip()
    numbers = sorted(canonical(each) for each in _part(record, "patient", "identifier") or ())
    who = numbers or [_part(record, "patient", "name"), _part(record, "patient", "birthDate")]
    seen = canonical([who, _part(record, "visit", "date")] if any(who) else record).casefold()
    return "p:" + hashlib.blake2b(seen.encode(), key=salt.encode(), digest_size=16).hexdigest(), None


def _sort(record: Mapping[str, Any]) -> str:
    to = [_part(record, "recipient", part) or "" for part in ("organization", "name")]
    return canonical([*to, _part(record, "recipient", "address", "postalCode") or ""]).casefold()


class Intake:
    """Takes the rows of one run. `look` is the digest of what letters look like (letterhead, templates)."""

    def __init__(self, url: str, run_id: str, folder: int, settings: Mapping[str, Any]) -> None:
        self._url, self._run, self._folder, self._settings = url, run_id, folder, settings
        self._waiting: list[tuple[int, Row]] = []
        self._seq = self._task = 0
        with writing(url) as connection:
            # An intake that was stopped begins again; what it entered about letters is found there as it was.
            connection.execute(sa.delete(rows).where(rows.c.run_id == run_id))
            connection.execute(sa.update(letters).where(letters.c.run_id == run_id).values(task=0))
            self._salt: str = connection.execute(sa.select(folders.c.salt).where(folders.c.id == folder)).scalar_one()
            last = sa.select(sa.func.max(letters.c.serial)).where(letters.c.folder_id == folder)
            self._serial: int = connection.execute(last).scalar() or 0

    def add(self, row: Row) -> None:
        """Take a row."""
        self._seq += 1
        self._waiting.append((self._seq, row))
        if len(self._waiting) >= _BATCH:
            self._flush()

    def finish(self) -> None:
        """Enter what is left, and let drafting begin."""
        self._flush()
        with writing(self._url) as connection:
            connection.execute(
                sa.update(runs).where(runs.c.id == self._run).values(state="drafting", rows=self._seq, tasks=self._task)
            )

    def _flush(self) -> None:
        taken, self._waiting = self._waiting, []
        if not taken:
            return
        keyed = [(seq, row, *_key(row.encounter, self._salt)) for seq, row in taken]
        with writing(self._url) as connection:
            batch = self._batch(connection, [each[2] for each in keyed], [each[1] for each in keyed])
            for seq, row, key, reference in keyed:
                self._enter(connection, batch, seq, row, key, reference)
            batch.write(connection)

    def _batch(self, connection: sa.Connection, keys: Sequence[str], new: Sequence[Row]) -> _Batch:
        own = letters.c.folder_id == self._folder
        found = connection.execute(sa.select(letters).where(own, letters.c.key.in_(keys))).mappings()
        known = {row["key"]: dict(row) for row in found}
        numbers = [letter["id"] for letter in known.values()]
        seen = connection.execute(
            sa.select(rows.c.letter_id, rows.c.place).where(
                rows.c.run_id == self._run, rows.c.letter_id.in_(numbers), rows.c.fate != "duplicate"
            )
        )
        stems = [files.stem(self._settings["pattern"], row.encounter, 0).casefold() for row in new]
        names = connection.execute(sa.select(letters.c.name_folded).where(own, letters.c.name_folded.in_(stems)))
        return _Batch(known, {row.letter_id: row.place for row in seen}, set(names.scalars()), frozenset(stems))

    def _enter(
        self, connection: sa.Connection, batch: _Batch, seq: int, row: Row, key: str, reference: str | None
    ) -> None:
        errors = [asdict(issue) for issue in row.issues if issue.kind == "error"]
        content = canonical([row.encounter, row.note, errors, self._settings["look"]])
        digest = hashlib.sha256(content.encode()).hexdigest()
        letter = batch.known.get(key)
        fate, issues = "draft", "[]"
        if letter is None:
            letter = self._new(connection, batch, row, key, reference, digest)
        elif (twin := batch.places.get(letter["id"])) is not None:
            if letter["digest"] == digest:
                fate, issues = "duplicate", issues_text((_twin(twin),))
            else:
                fate, issues = "conflict", issues_text((_clash(twin, reference),))
                letter.update(
                    state="conflict", digest="", payload=None, issues=issues_text((_clash(row.place, reference),))
                )
                batch.touched[letter["id"]] = letter
        elif letter["digest"] == digest and self._settled(letter):
            fate = "unchanged"
        else:
            letter.update(digest=digest, again=letter["made"] == digest)
        if fate == "draft":
            self._task += 1
            payload = {"e": row.encounter, "o": row.origins, "n": row.note, "i": [asdict(each) for each in row.issues]}
            letter.update(
                state="waiting", run_id=self._run, task=self._task, sort=_sort(row.encounter),
                payload=json.dumps(payload),
                drafted=letter["made_on"] if letter["again"] else self._settings["drafted"],
            )  # fmt: skip
            batch.touched[letter["id"]] = letter
        batch.places.setdefault(letter["id"], row.place)
        batch.rows.append(
            {
                "run_id": self._run,
                "seq": seq,
                "place": row.place,
                "letter_id": letter["id"],
                "fate": fate,
                "issues": issues,
            }
        )

    def _settled(self, letter: Mapping[str, Any]) -> bool:
        """Whether the same content leaves nothing to do: made for all that is asked, or refused by this version."""
        if letter["state"] == "drafted":
            return set(self._settings["outputs"].split()) <= set(letter["outputs"].split())
        return bool(letter["state"] == "refused" and letter["maker"] == __version__)

    def _new(
        self, connection: sa.Connection, batch: _Batch, row: Row, key: str, reference: str | None, digest: str
    ) -> dict[str, Any]:
        self._serial += 1
        name = self._free(connection, batch, files.stem(self._settings["pattern"], row.encounter, self._serial))
        made: dict[str, Any] = {
            "id": f"{self._folder}.{self._serial}", "folder_id": self._folder, "key": key, "serial": self._serial,
            "reference": reference, "name": name, "name_folded": name.casefold(), "version": 0, "digest": digest,
            "made": "", "made_on": "", "outputs": "", "maker": "", "again": False, "queries": 0, "issues": "[]",
            "files": "[]",
        }  # fmt: skip
        batch.known[key] = batch.fresh[made["id"]] = made
        return made

    def _free(self, connection: sa.Connection, batch: _Batch, name: str) -> str:
        """The name, or the first with a number after it that no other letter of the folder has, in any case."""
        wanted, count = name, 1
        while self._is_taken(connection, batch, wanted.casefold()):
            count += 1
            wanted = f"{name}-{count}"
        batch.names.add(wanted.casefold())
        return wanted

    def _is_taken(self, connection: sa.Connection, batch: _Batch, name: str) -> bool:
        if name in batch.names or name in batch.asked:
            return name in batch.names
        query = sa.select(letters.c.id).where(letters.c.folder_id == self._folder, letters.c.name_folded == name)
        return connection.execute(query).first() is not None


_CHANGING = ("digest", "state", "run_id", "task", "again", "drafted", "payload", "sort", "issues")


@dataclass(slots=True)
class _Batch:
    """Rows on their way into the ledger: the letters they belong to by key, where each was seen, names in use."""

    known: dict[str, dict[str, Any]]
    places: dict[str, str]
    names: set[str]
    asked: frozenset[str]  # names that were looked for in the ledger: those not in `names` are free
    fresh: dict[str, dict[str, Any]] = field(default_factory=dict)
    touched: dict[str, dict[str, Any]] = field(default_factory=dict)
    rows: list[dict[str, Any]] = field(default_factory=list)

    def write(self, connection: sa.Connection) -> None:
        """Enter it all; a statement a table, not one a row."""
        if self.fresh:
            connection.execute(sa.insert(letters), list(self.fresh.values()))
        changed = [letter for number, letter in self.touched.items() if number not in self.fresh]
        if changed:
            statement = sa.update(letters).where(letters.c.id == sa.bindparam("number"))
            connection.execute(
                statement.values({name: sa.bindparam(f"new_{name}") for name in _CHANGING}),
                [{"number": each["id"], **{f"new_{name}": each[name] for name in _CHANGING}} for each in changed],
            )
        connection.execute(sa.insert(rows), self.rows)


def _twin(place: str) -> Issue:
    return Issue("note", "", f"the same as {place}; one letter is made for both")


def _clash(place: str, reference: str | None) -> Issue:
    by = f"the reference {reference!r}" if reference else "the same patient and date, and no reference"
    return Issue("error", "reference", f"{place} has {by} with other content", "give each visit a reference of its own")
