"""The clinician's answers to queries: which queries they settle, and which stand between a draft and its approval."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.consistency.registry import rules
from letterkit.consistency.rule import Query, QueryClass
from letterkit.findings.models import Answer, Encounter

ANSWER_WITHOUT_QUERY = "answer-without-query"
ANSWER_RATIONALE = "An answer to a question that nobody asks is left over from another record, or misspelt."
ANSWER_SETTLE = "Remove the answer, or correct the rule or the findings it names."
ANSWER_SOURCE = "common practice, no source"
BLOCKING = frozenset({QueryClass.IMPOSSIBLE, QueryClass.CONTRADICTORY})


def blocks_approval(query: Query) -> bool:
    """Whether a draft cannot be approved while the query is open: the record cannot be true, or contradicts itself."""
    return query.query_class in BLOCKING


def _findings(query: Query) -> frozenset[int]:
    """Positions of the findings a query points at."""
    head = "examination.findings["
    return frozenset(int(path[len(head) : path.index("]")]) for path in query.paths if path.startswith(head))


def _meets(answer: Answer, query: Query) -> bool:
    """Whether an answer speaks of a query: the same rule and, where the answer names findings, the same findings."""
    return answer.rule == query.rule and (not answer.findings or frozenset(answer.findings) == _findings(query))


def _stray(index: int, answer: Answer) -> Query:
    if answer.rule in {rule.slug for rule in rules()}:
        message = f"An answer keeps the record against the query {answer.rule}, which this record does not raise. "
    else:
        message = "An answer names a query that does not exist. "
    return Query(
        ANSWER_WITHOUT_QUERY, QueryClass.UNUSUAL, f"{message}Is it left over from an earlier version?", (),
        (f"answers[{index}].rule",), ANSWER_SETTLE, ANSWER_SOURCE,
    )  # fmt: skip


def open_queries(queries: Sequence[Query], encounter: Encounter) -> tuple[Query, ...]:
    """The queries that no answer settles, in their order, then one for each answer that has no query.

    Kept with a reason settles a query. Corrected settles none: a record that was corrected does not raise it again, so
    a query that is still raised stays open.
    """
    kept = [answer for answer in encounter.answers if answer.answer == "kept"]
    still = [query for query in queries if not any(_meets(answer, query) for answer in kept)]
    known = {rule.slug for rule in rules()}
    strays = [
        _stray(index, answer)
        for index, answer in enumerate(encounter.answers)
        if answer.rule not in known or (answer.answer == "kept" and not any(_meets(answer, query) for query in queries))
    ]
    return (*still, *strays)
