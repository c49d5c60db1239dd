"""The service under load: two workers, fifty connections, every letter checked, worded, read back and stored."""

from __future__ import annotations

import asyncio
import time

import service_fixtures as service

CONNECTIONS = 50
LETTERS = 3000
WARM = 200


def test_letters_a_second_over_http(tmp_path, record_property):
    bodies = [path.read_bytes() for path in sorted(service.DEMO.glob("*.json"))]
    with service.running(tmp_path, "--workers", "2", LETTERKIT_RATE_PER_MINUTE="10000000") as running:
        asyncio.run(service.load(running.port, "/v1/letters", bodies, CONNECTIONS, WARM))
        began = time.perf_counter()
        answers = asyncio.run(service.load(running.port, "/v1/letters", bodies, CONNECTIONS, LETTERS))
        seconds = time.perf_counter() - began
    times = sorted(answer.seconds for answer in answers)
    rate = LETTERS / seconds
    p50, p99 = times[len(times) // 2], times[int(len(times) * 0.99)]
    for name, value in (("letters a second", rate), ("median ms", p50 * 1000), ("p99 ms", p99 * 1000)):
        record_property(name, round(value, 1))
    print(f"\n{rate:.0f} letters/s, median {p50 * 1000:.0f} ms, p99 {p99 * 1000:.0f} ms, {CONNECTIONS} connections")
    assert {answer.status for answer in answers} == {201}
    assert rate >= 150
    assert p99 <= 0.5
