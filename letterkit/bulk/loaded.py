"""What drafting needs, loaded by importing this: for the process that drafting processes are forked from."""

from __future__ import annotations

from contextlib import suppress

from letterkit.bulk.work import warm_up
from letterkit.errors import LetterkitError

with suppress(LetterkitError):  # whoever drafts meets it again, and tells it
    warm_up()
