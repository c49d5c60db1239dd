"""Processes that draft, started afresh (forked, a typesetter's threads would hang), and replaced when one dies."""

from __future__ import annotations

import multiprocessing as mp
import threading
from concurrent.futures import CancelledError, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool

from letterkit.bulk.work import begin_worker, draft_chunk, refuse_turn, warm_up
from letterkit.errors import LetterkitError


class Drafters:
    """A pool of drafting processes on one store; its methods may be called from several threads."""

    def __init__(self, url: str, processes: int) -> None:
        self._url, self.processes = url, processes
        self._lock = threading.Lock()
        self._closed = threading.Event()
        self._pool = self._start()

    def _start(self) -> ProcessPoolExecutor:
        pool = ProcessPoolExecutor(self.processes, mp_context=mp.get_context("spawn"), initializer=begin_worker)
        for _ in range(self.processes):  # the processes load what they need while a run is still being set up
            pool.submit(warm_up)
        return pool

    def _replace(self, broken: ProcessPoolExecutor) -> None:
        with self._lock:
            if self._pool is broken:  # the first thread to notice replaces it for all
                broken.shutdown(wait=False, cancel_futures=True)
                self._pool = self._start()

    def _try(self, run_id: str, first: int, last: int) -> dict[str, int] | None:
        pool = self._pool
        if self._closed.is_set():
            raise LetterkitError("the run was interrupted")
        try:
            return pool.submit(draft_chunk, self._url, run_id, first, last).result()
        except CancelledError:
            raise LetterkitError("the run was interrupted") from None
        except BrokenProcessPool:
            self._replace(pool)
            return None

    def chunk(self, run_id: str, first: int, last: int) -> dict[str, int]:
        """Draft a chunk and give its counts. A row that ends its process twice, alone, is refused; others are made."""
        for _ in range(2):  # once more in case it was another chunk's row
            counts = self._try(run_id, first, last)
            if counts is not None:
                return counts
        total: dict[str, int] = {}
        for turn in range(first, last + 1):
            counts = self._try(run_id, turn, turn) or self._try(run_id, turn, turn)
            if counts is None:
                refuse_turn(self._url, run_id, turn)
                counts = {"refused": 1}
            for name, count in counts.items():
                total[name] = total.get(name, 0) + count
        return total

    def close(self) -> None:
        """End the processes, each after the chunk it is on."""
        self._closed.set()
        with self._lock:
            self._pool.shutdown(wait=True, cancel_futures=True)
