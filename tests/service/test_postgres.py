"""The service on PostgreSQL: two workers, many clients, one chain."""

from __future__ import annotations

import asyncio
import itertools

import pytest
import service_fixtures
from records_fixtures import cluster, fresh_database  # noqa: F401 - a fixture
from service_fixtures import DEMO, running

from letterkit.records import retention
from letterkit.records.store import Store

pytestmark = pytest.mark.postgres


def test_letters_of_two_workers_stand_in_one_chain(cluster, tmp_path):  # noqa: F811 - the fixture
    url = fresh_database(cluster)
    bodies = [(DEMO / "ganglion.json").read_bytes()]
    numbers = itertools.count()

    def headers() -> dict[str, str]:
        return {"Idempotency-Key": f'"{next(numbers) // 2}"'}  # each key twice, at nearly the same moment

    with running(tmp_path, "--workers", "2", LETTERKIT_RECORDS=url, LETTERKIT_BULK_FOLDER=str(tmp_path)) as service:
        answers = asyncio.run(service_fixtures.load(service.port, "/v1/letters", bodies, 10, 120, headers))
    assert {answer.status for answer in answers} == {201}
    assert len({answer.body for answer in answers}) == 60
    store = Store.open(url)
    found = retention.verify(store)
    store.close()
    assert (found.entries, found.versions) == (60, 60)
