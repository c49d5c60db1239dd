"""`letterkit worker`: a further machine that takes part in bulk runs."""

from __future__ import annotations

import signal
import threading

import click


@click.command()
@click.option("--store", envvar="LETTERKIT_STORE", metavar="URL", required=True, help="The store's postgresql:// URL.")
@click.option("--processes", type=click.IntRange(1, 64), help="Processes that draft; default: one a core.")
def worker(store: str, processes: int | None) -> None:
    """Take part in the bulk runs of a PostgreSQL store until told to stop.

    The folder of the letters must be there under the same path as where the run was begun. A worker that dies has its
    share taken over by the others.
    """
    from letterkit.bulk import ledger
    from letterkit.bulk.durable import executing, sweeping
    from letterkit.bulk.pool import Drafters
    from letterkit.bulk.run import note_stop, usable_cores

    if ledger.is_sqlite(store):
        raise click.ClickException("a worker needs a postgresql:// store; an SQLite file serves one process")
    ledger.prepare(store)
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    drafters = Drafters(store, processes or usable_cores())
    with executing(store, drafters.chunk, 2 * drafters.processes, note_stop(store)) as (executor, _):
        click.echo("ready")
        sweeping(executor, stop)
    drafters.close()
