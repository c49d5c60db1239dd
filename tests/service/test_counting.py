"""The rate limits count without starting threads, and forget what is over."""

from __future__ import annotations

import threading
import time

import pytest
from limits import RateLimitItemPerMinute, RateLimitItemPerSecond
from limits.storage import MemoryStorage
from limits.strategies import SlidingWindowCounterRateLimiter

from letterkit.service.counting import Counts


def threads_started(storage, hits, monkeypatch):
    limiter = SlidingWindowCounterRateLimiter(storage)
    started = []
    begin = threading.Thread.start
    monkeypatch.setattr(threading.Thread, "start", lambda thread: (started.append(thread), begin(thread)))
    for _ in range(hits):
        assert limiter.hit(RateLimitItemPerMinute(1000), "someone")
        time.sleep(0.05)  # the library's threads end ten milliseconds after they began, later on a busy machine
    return len(started)


def test_counting_starts_no_thread(monkeypatch):
    assert threads_started(Counts(), 5, monkeypatch) == 0


def test_the_library_starts_one_at_nearly_every_hit(monkeypatch):
    """Where this fails, the library has mended it, and `Counts` can go."""
    assert threads_started(MemoryStorage(), 5, monkeypatch) >= 3


@pytest.mark.parametrize("most", [1, 3, 10])
def test_no_more_than_the_limit_is_let_through(most):
    limiter = SlidingWindowCounterRateLimiter(Counts())

    allowed = [limiter.hit(RateLimitItemPerMinute(most), "someone") for _ in range(most + 3)]

    assert sum(allowed) == most
    assert limiter.hit(RateLimitItemPerMinute(most), "someone else")


def test_who_is_over_is_forgotten(monkeypatch):
    counts = Counts()
    limiter = SlidingWindowCounterRateLimiter(counts)
    for number in range(50):
        limiter.hit(RateLimitItemPerSecond(5), f"caller {number}")
    assert len(counts.storage) == 50

    later = time.time() + 10
    monkeypatch.setattr(time, "time", lambda: later)
    monkeypatch.setattr(time, "monotonic", lambda: later)
    limiter.hit(RateLimitItemPerSecond(5), "another")

    assert len(counts.storage) == 1
    assert len(counts.expirations) == 1
    assert len(counts.locks) <= 1
