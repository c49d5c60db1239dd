"""The examples of the OpenAPI document, made by drafting an invented case."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from letterkit.findings.read_input import read_encounter
from letterkit.records.content import letter_from_json
from letterkit.records.store import VersionInfo
from letterkit.service.documented import example_encounter
from letterkit.service.making import Maker, content_of, queries_out
from letterkit.service.runs import Progress, as_json
from letterkit.settings import Settings

_ID = "5e0c1f0c7d9b4a52a6f3b8d2c4e6f801"
_AT = datetime(2026, 11, 18, 9, 30, tzinfo=UTC)


@cache
def answers() -> Mapping[tuple[str, str], Any]:
    """By method and path: what an operation answers."""
    maker = Maker(Settings.model_construct(letterhead=None, templates=None))
    made = maker.draft(read_encounter(example_encounter()), date(2026, 11, 18))
    content = content_of(made)
    info = VersionInfo(_ID, 1, _AT, "key:0123456789abcdef", "drafted", content.letter_digest, "", 1, "draft")
    letter = maker.resource(content, letter_from_json(content.letter), info).model_dump(mode="json", by_alias=True)
    approval = {"by": "Miss R. Calder", "role": "Consultant hand surgeon", "at": _AT.isoformat()}
    final = letter | {"state": "final", "kind": "approved", "version": 2, "approval": approval}
    preview = letter | {"id": None, "version": None, "kind": None, "at": None, "links": None}
    digest = content.letter_digest
    health = {"status": "ok", "stateless": False}
    base = "/v1/letters/{letter_id}"
    run = as_json(Progress(_ID, "done", rows=250, letters=250, drafted=180, queried=70))
    return {
        ("post", "/v1/letters"): letter,
        ("get", "/v1/letters"): {
            "letters": [{"id": _ID, "version": 1, "state": "draft", "at": _AT.isoformat(), "digest": digest}],
            "next": None,
        },
        ("get", base): letter,
        ("get", f"{base}/versions"): {
            "id": _ID, "state": "draft", "versions": [
                {"version": 1, "at": _AT.isoformat(), "kind": "drafted", "by": info.actor, "digest": digest,
                 "link": f"/v1/letters/{_ID}/versions/1"}],
        },
        ("get", f"{base}/versions/{{number}}"): letter,
        ("post", f"{base}/versions"): letter | {"version": 2, "kind": "changed"},
        ("post", f"{base}/answers"): letter | {"version": 2, "kind": "answered"},
        ("post", f"{base}/approval"): final,
        ("get", f"{base}/approval"): approval,
        ("post", "/v1/checks"): {"queries": queries_out(made.queries, made.settled), "notices": []},
        ("post", "/v1/previews"): preview,
        ("post", "/v1/readings"): {
            "examination": {"findings": [{"item": "phalen_test", "side": "right", "value": "positive", "onset_s": 20}]},
            "findings": [{
                "finding": {"item": "phalen_test", "side": "right", "value": "positive", "onset_s": 20},
                "start": 12, "end": 37, "sure": "certain", "reasons": [],
            }],
            "spans": [{"start": 0, "end": 12, "kind": "plain", "why": ""},
                      {"start": 12, "end": 37, "kind": "read", "why": ""}],
            "unread": 0,
        },
        ("get", "/v1/catalogue"): {
            "items": [{"slug": "thenar_wasting", "stage": "inspection", "name": "thenar wasting", "weight": 4}],
            "sites": [{"slug": "wrist", "name": "wrist"}],
            "problems": [{"slug": "thumb_base_pain", "name": "thumb base pain"}],
        },
        ("get", "/v1/rules"): {"rules": [{
            "rule": "grip-sides-differ", "class": "unusual", "family": "strength", "asks": "Is the figure right?",
            "rationale": "Why it is asked.", "settle": "What settles it.", "source": "common practice, no source",
        }]},
        ("get", "/v1/schema"): {"$schema": "https://json-schema.org/draft/2020-12/schema", "type": "object"},
        ("get", "/v1/problems/{slug}"): {
            "type": "/v1/problems/invalid-input", "title": "The input cannot be used", "status": 422,
        },
        ("post", "/v1/bulk-runs"): run | {"state": "waiting", "rows": 0, "letters": 0, "drafted": 0, "queried": 0},
        ("get", "/v1/bulk-runs/{run_id}"): run,
        ("get", "/healthz"): health,
        ("get", "/readyz"): health,
    }  # fmt: skip
