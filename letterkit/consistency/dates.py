"""Rules about time: dates that cannot run that way, and values that did not change at all."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from letterkit.consistency.lookups import opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY, Passage
from letterkit.findings.facts import EarlierFact, Fact

_RELATIVES = frozenset({"mother", "father", "brother", "sister", "parent", "parents", "grandmother", "grandfather",
                        "family", "son", "daughter"})  # fmt: skip
_YEARS = frozenset({"year", "years", "yrs", "yr"})
_BEFORE_YEAR = frozenset({"in", "since", "from", "during", "until"})
_BEFORE_SPAN = frozenset({"for", "over", "about", "some", "last", "past", "nearly", "almost"})
_AFTER_SPAN = frozenset({"ago", "history", "duration", "previously", "earlier", "before"})
_EARLIEST_YEAR, _LATEST_YEAR = 1880, 2199
_MANY_VALUES = 10


def _written(day: date) -> str:
    return f"{day.day} {day:%B} {day.year}"


def _ordered(case: Case) -> Iterator[tuple[tuple[str, str, date], tuple[str, str, date]]]:
    """Pairs of named dates of which the first cannot lie after the second."""
    encounter = case.encounter
    birth = encounter.patient.birth_date
    visit = encounter.visit.date if encounter.visit else None
    born = ("the date of birth", "patient.birthDate", birth) if birth else None
    seen = ("the date of the visit", "visit.date", visit) if visit else None
    drafted = ("the date of the draft", "drafted", encounter.drafted) if encounter.drafted else None
    if born and (seen or drafted):
        yield born, seen or drafted  # type: ignore[misc]  # one of the two is there
    if seen and drafted:
        yield seen, drafted
    for index, earlier in enumerate(encounter.earlier):
        before = ("the date of an earlier value", f"earlier[{index}].date", earlier.date)
        if born:
            yield born, before
        if seen:
            yield before, seen


@rule(
    "dates-out-of-order",
    QueryClass.IMPOSSIBLE,
    asks="{late} lies after {early}. Which of the two dates is right?",
    settle="Correct one of the two dates.",
    source="common practice, no source",
)
def dates_out_of_order(case: Case) -> Iterator[Hit]:
    """Nobody is seen before birth, and no letter is drafted before the visit or compares with a later value."""
    for (first, first_path, start), (second, second_path, end) in _ordered(case):
        if start > end:
            words = {"late": f"{opening(first)}, {_written(start)},", "early": f"{second}, {_written(end)}"}
            yield Hit((), (first_path, second_path), words)


def _own(passage: Passage, at: int) -> bool:
    """Whether the sentence speaks of the patient and not of a relative."""
    first, last = passage.bounds(at, frozenset({".", ";"}))
    return _RELATIVES.isdisjoint(passage.tokens[first:last])


@rule(
    "year-outside-the-history",
    QueryClass.IMPOSSIBLE,
    asks="The history names the year {year}, which lies {where}. Is the year right?",
    settle="Correct the year.",
    source="common practice, no source",
)
def year_outside_the_history(case: Case) -> Iterator[Hit]:
    """What has happened to a patient lies between birth and the visit."""
    day, birth = case.day, case.encounter.patient.birth_date
    for passage in case.wording.passages:
        if passage.part not in HISTORY:
            continue
        for at, token in enumerate(passage.tokens[1:], 1):
            if len(token) != 4 or not token.isdigit() or passage.tokens[at - 1] not in _BEFORE_YEAR:  # noqa: PLR2004
                continue
            year = int(token)
            if not _EARLIEST_YEAR <= year <= _LATEST_YEAR:
                continue
            where = "before birth" if birth and year < birth.year and _own(passage, at) else ""
            if day and year > day.year and passage.part == "past":
                where = "after the visit"
            if where:
                yield Hit((), (passage.path,), {"year": token, "where": where})


@rule(
    "duration-longer-than-life",
    QueryClass.IMPOSSIBLE,
    asks="The history speaks of {years} years, and the patient is {age} years old. Is the figure or the date of birth "
    "right?",
    settle="Correct the duration or the date of birth.",
    source="common practice, no source",
)
def duration_longer_than_life(case: Case) -> Iterator[Hit]:
    """Nothing has lasted longer than the patient has lived."""
    age = case.age_years
    if age is None:
        return
    for passage in case.wording.passages:
        tokens = passage.tokens
        if passage.part not in HISTORY or _YEARS.isdisjoint(tokens):
            continue
        for at, token in enumerate(tokens[1:], 1):
            if token not in _YEARS or not tokens[at - 1].isdigit() or int(tokens[at - 1]) <= age:
                continue
            after = tokens[at + 1 : at + 3]
            span = (at > 1 and tokens[at - 2] in _BEFORE_SPAN) or bool(_AFTER_SPAN & set(after[:1]))
            if span and not {"old", "age"} & set(after) and _own(passage, at):
                yield Hit((), (passage.path,), {"years": tokens[at - 1], "age": str(age)})


def _same(fact: Fact, before: EarlierFact) -> bool:
    return fact.value is not None and (fact.value, fact.state) == (before.value, before.state)


@rule(
    "values-repeated-from-earlier",
    QueryClass.UNUSUAL,
    asks="{count} measured values are exactly those of {day}. This can be right; were they measured again?",
    settle="Confirm that they were measured at this visit, or replace the values carried forward.",
    source="common practice, no source",
)
def values_repeated_from_earlier(case: Case) -> Iterator[Hit]:
    """More than ten figures that did not move by a degree are more often copied than measured."""
    earlier = case.facts.earlier
    if len(earlier) <= _MANY_VALUES:
        return
    day = max(each.date for each in earlier)
    before = {(each.item, each.side, each.site, each.mode): each for each in earlier if each.date == day}
    same = tuple(fact for fact in case.facts.facts if (old := before.get(fact.place)) and _same(fact, old))
    if len(same) > _MANY_VALUES:
        yield Hit(same, (), {"count": str(len(same)), "day": _written(date.fromisoformat(day))})
