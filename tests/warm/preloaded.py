"""What the processes of `Forked` have loaded before they are forked: the service's application and the reader."""

from __future__ import annotations

from letterkit.bulk.work import warm_up
from letterkit.service import app

assert app
warm_up()
