"""Letters in the making: kept as they are written, with the version that tells when two people write one letter.

Work is no record: it has one state, the last, and is gone once its letter is approved or it is discarded.
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Engine, delete, insert, select, update

from letterkit.records.audit import Act, append
from letterkit.records.content import packed, unpacked
from letterkit.records.database import reading, writing
from letterkit.records.errors import NotStored, VersionConflict
from letterkit.records.store import now
from letterkit.records.tables import work
from letterkit.records.tables import work_present as present

_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|1\d|2\d|3[01])")
HERE_FOR = timedelta(seconds=25)
"""How long somebody counts as present after the page was last heard of."""


@dataclass(frozen=True, slots=True)
class Work:
    """A letter in the making. `body` is the encounter and what goes with it while it is written."""

    id: str
    version: int
    at: datetime
    by: str
    body: Mapping[str, Any]

    @property
    def encounter(self) -> Mapping[str, Any]:
        """The record in its JSON shape; it need not be whole yet."""
        found = self.body.get("encounter")
        return found if isinstance(found, dict) else {}

    @property
    def title(self) -> str:
        """The patient's name as far as it is written."""
        return name_of(self.encounter) or "No name yet"

    @property
    def reference(self) -> str:
        """The clinic's own reference, or nothing."""
        return str(self.encounter.get("reference") or "")

    @property
    def visit(self) -> str:
        """The ISO date of the visit, or nothing while it is none."""
        visit = self.encounter.get("visit")
        found = str(visit.get("date") or "") if isinstance(visit, dict) else ""
        return found if _DAY.fullmatch(found) else ""


def name_of(encounter: Mapping[str, Any]) -> str:
    """The patient's name in a line: family name first, as lists have it."""
    patient = encounter.get("patient")
    name = patient.get("name") if isinstance(patient, dict) else None
    if not isinstance(name, dict):
        return ""
    given = " ".join(str(each) for each in name.get("given") or ())
    family = str(name.get("family") or "")
    return ", ".join(part for part in (family, given) if part) or str(name.get("text") or "")


def new_id() -> str:
    """An id for work that is not kept yet."""
    return secrets.token_hex(16)


class Worktable:
    """The work of one database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def load(self, work_id: str) -> Work:
        """One letter in the making. Raises NotStored."""
        with reading(self._engine) as connection:
            row = connection.execute(select(work).where(work.c.id == work_id)).first()
        if row is None:
            raise NotStored("work: there is no such letter in the making")
        return Work(row.id, row.version, row.at, row.by, json.loads(unpacked(row.body)))

    def listed(self) -> Sequence[Work]:
        """All of it, what was written last first."""
        with reading(self._engine) as connection:
            rows = connection.execute(select(work).order_by(work.c.at.desc()).limit(200)).all()
        return [Work(row.id, row.version, row.at, row.by, json.loads(unpacked(row.body))) for row in rows]

    def save(self, work_id: str, expected: int, body: Mapping[str, Any], actor: str, by: str) -> int:
        """Keeps a new state over version `expected` (0: there is none yet) and gives its number.

        Raises VersionConflict where another state stands there, NotStored where the work is gone.
        """
        values = {"at": now(), "actor": actor, "by": by, "body": packed(json.dumps(body).encode())}
        with writing(self._engine) as connection:
            row = connection.execute(select(work.c.version, work.c.by).where(work.c.id == work_id)).first()
            if row is None and expected:
                raise NotStored("work: it was approved or discarded in the meantime")
            if row is None:
                connection.execute(insert(work).values(id=work_id, version=1, **values))
                append(connection, (Act(actor, "work.begun", work_id),), now())
                return 1
            if row.version != expected:
                raise VersionConflict(f"{row.by} has changed this letter since you opened it.", row.version)
            connection.execute(update(work).where(work.c.id == work_id).values(version=expected + 1, **values))
        return expected + 1

    def end(self, work_id: str, actor: str, action: str) -> None:
        """The work is over: its letter was approved, or it was discarded."""
        with writing(self._engine) as connection:
            connection.execute(delete(work).where(work.c.id == work_id))
            connection.execute(delete(present).where(present.c.work_id == work_id))
            append(connection, (Act(actor, action, work_id),), now())

    def others(self, work_id: str, window: str, by: str) -> tuple[str, ...]:
        """Says that somebody has the letter open, and gives who else has."""
        at = now()
        here = (present.c.work_id == work_id) & (present.c.window == window)
        with writing(self._engine) as connection:
            connection.execute(delete(present).where(here | (present.c.at < at - HERE_FOR)))
            connection.execute(insert(present).values(work_id=work_id, window=window, by=by, at=at))
            rows = connection.execute(
                select(present.c.by).where(present.c.work_id == work_id, present.c.window != window).distinct()
            ).all()
        return tuple(row.by for row in rows)

    def leave(self, work_id: str, window: str) -> None:
        """Somebody closed the letter."""
        with writing(self._engine) as connection:
            connection.execute(delete(present).where(present.c.work_id == work_id, present.c.window == window))
