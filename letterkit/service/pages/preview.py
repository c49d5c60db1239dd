"""The letter as it will read while its record is still being written.

What cannot be read yet is left out of the preview and told beside its field, so that the rest can be seen. Nothing
made here leaves: finishing drafts from the whole record, strictly.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from letterkit.consistency.answers import blocks_approval
from letterkit.consistency.rule import Query
from letterkit.errors import InvalidInput, LetterWithheld, Problem
from letterkit.letter.model import Letter
from letterkit.pipeline import Draft, draft
from letterkit.render.base import renderer

_STEP = re.compile(r"\.?([^.\[\]]+)|\[(\d+)\]")
_FINDING = re.compile(r"^examination\.findings\[(\d+)\]")
_TRIES = 8
_UNNAMED = {"family": "(name not given yet)"}


@dataclass(frozen=True, slots=True)
class Seen:
    """A preview: the draft, what had to be left out with its place, and where each finding stands in the record."""

    made: Draft | None
    problems: tuple[Problem, ...] = ()
    positions: tuple[int, ...] = field(default=())


def _steps(path: str) -> list[str | int]:
    return [int(index) if index else name for name, index in _STEP.findall(path)]


def _without(data: dict[str, Any], steps: Sequence[str | int]) -> bool:
    """Takes out the value that a path leads to, or the innermost that is there. False where nothing is."""
    trail: list[Any] = [data]
    for step in steps:
        here = trail[-1]
        inside = isinstance(here, dict) and step in here
        within = isinstance(here, list) and isinstance(step, int) and step < len(here)
        if not inside and not within:
            break
        trail.append(here[step])
    depth = len(trail) - 1
    if depth == 0:
        return False
    del trail[depth - 1][steps[depth - 1]]
    return True


def _prune(data: dict[str, Any], problem: Problem, positions: list[int]) -> Problem | None:
    """Leaves out what a problem is about; gives the problem with its place in the record as it was sent."""
    if found := _FINDING.match(problem.path):
        at = int(found[1])
        findings = data.get("examination", {}).get("findings", [])
        if at >= len(findings) or findings[at] is None:
            return None
        findings[at] = None
        return Problem(f"examination.findings[{positions[at]}]{problem.path[found.end() :]}", problem.message)
    steps = _steps(problem.path)
    if steps[:2] == ["patient", "name"] or steps == ["patient"]:
        data["patient"] = {**(data.get("patient") or {}), "name": _UNNAMED}
        return Problem("patient.name.family", "the patient's name is needed before the letter can be finished")
    return problem if _without(data, steps) else None


def see(given: Mapping[str, Any], previous: Mapping[str, Any] | None, templates: Path | None) -> Seen:
    """The draft of a record as far as it can be read."""
    data = copy.deepcopy(dict(given))
    data.setdefault("examination", {}).setdefault("findings", [])
    positions = list(range(len(data["examination"]["findings"])))
    told: list[Problem] = []
    for _ in range(_TRIES):
        try:
            return Seen(draft(data, previous=previous, templates=templates), tuple(told), tuple(positions))
        except LetterWithheld as error:
            return Seen(None, (*told, Problem("", str(error))))
        except InvalidInput as error:
            if previous is not None and any(each.path.startswith("previous") for each in error.problems):
                previous = None
                told += error.problems
                continue
            # From the end of the record: taking one entry of a list out moves those behind it.
            removed = [_prune(data, each, positions) for each in reversed(error.problems)]
            told += [each for each in reversed(removed) if each is not None]
            if not any(removed):
                return Seen(None, (*told, *error.problems))
            findings = data["examination"]["findings"]
            positions = [at for at, each in zip(positions, findings, strict=True) if each is not None]
            data["examination"]["findings"] = [each for each in findings if each is not None]
    return Seen(None, tuple(told))


def page_of(letter: Letter) -> str:
    """The letter as a piece of a page: its own landmarks, title and style are left to the page around it."""
    text = renderer("html").render(letter).decode()
    body = text[text.index("<body>") + 6 : text.index("</body>")]
    body = re.sub(r"<aside\b.*?</aside>", "", body, flags=re.DOTALL)
    for landmark in ("header", "main", "footer"):
        body = body.replace(f"<{landmark}>", f'<div class="letter-{landmark}">').replace(f"</{landmark}>", "</div>")
    return body


def _moved(path: str, positions: Sequence[int]) -> str:
    found = _FINDING.match(path)
    return f"examination.findings[{positions[int(found[1])]}]{path[found.end() :]}" if found else path


def queries_of(made: Draft, positions: Sequence[int]) -> list[dict[str, Any]]:
    """The open queries with their places in the record as it was sent."""
    return [_query(query, positions) for query in made.queries]


def _query(query: Query, positions: Sequence[int]) -> dict[str, Any]:
    places = [_moved(path, positions) for path in query.paths]
    return {
        "rule": query.rule, "class": query.query_class.value, "message": query.message, "settle": query.settle,
        "source": query.source, "places": places, "blocks": blocks_approval(query),
        "findings": [int(found[1]) for place in places if (found := _FINDING.match(place))],
    }  # fmt: skip


def told(seen: Seen) -> dict[str, Any]:
    """A preview as the page takes it: the letter, where its sentences come from, the queries, and what is left out."""
    problems = [{"path": each.path, "message": each.message} for each in seen.problems]
    made = seen.made
    if made is None:
        return {"html": None, "facts": {}, "queries": [], "problems": problems}
    facts = {each.id: [seen.positions[at] for at in each.findings] for each in made.facts.facts}
    stages = {each.id: f"normal-{each.stage.value}" for each in made.facts.normal}
    return {
        "html": page_of(made.letter), "facts": facts, "stages": stages,
        "queries": queries_of(made, seen.positions), "problems": problems,
    }  # fmt: skip
