"""Selection and order: what is said first, which negatives tell most, and what belongs in the table."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier
from letterkit.findings.facts import EarlierFact, Fact, Facts
from letterkit.findings.values import Quantity
from letterkit.summary.cautions import choose_cautions
from letterkit.summary.change import changes
from letterkit.summary.group import group
from letterkit.summary.statement import Measurement, Summary, Tier

_URGENT_WEIGHT = 5
_TELLING_WEIGHT = 4
_SIDES_DIFFER = 0.2
_ROWS_FOR_A_TABLE = 3  # fewer measurements read better as a sentence


def _earlier(facts: Facts) -> dict[tuple[str, str | None, str | None, str], tuple[EarlierFact, ...]]:
    """Earlier values by item, side, site and mode, oldest first."""
    found: dict[tuple[str, str | None, str | None, str], tuple[EarlierFact, ...]] = {}
    for before in sorted(facts.earlier, key=lambda each: each.date):
        key = (before.item, before.side, before.site, before.mode)
        found[key] = (*found.get(key, ()), before)
    return found


def _measurements(facts: Facts, catalogue: Catalogue) -> list[Measurement]:
    earlier = _earlier(facts)
    rows: dict[tuple[str, str | None, str], dict[str, Fact]] = {}
    for fact in facts.facts:
        item = catalogue.items[fact.item]
        if item.is_measured and item.paired and fact.side:
            mode = str(fact.qualifier(Qualifier.MODE) or "")
            rows.setdefault((fact.item, fact.site, mode), {}).setdefault(fact.side, fact)
    return [
        Measurement(
            item, site, mode, sides.get("right"), sides.get("left"),
            earlier.get((item, "right", site, mode), ()), earlier.get((item, "left", site, mode), ()),
        )
        for (item, site, mode), sides in rows.items()
    ]  # fmt: skip


def _changed(measurement: Measurement) -> bool:
    pairs = ((measurement.right, measurement.earlier_right), (measurement.left, measurement.earlier_left))
    return any(now is not None and before and now.value != before[-1].value for now, before in pairs)


def _tells_without_norm(row: Measurement, item: Item) -> bool:
    """Whether a number without an expected range is worth a sentence: it weighs, or the sides clearly differ.

    A difference between the hands is worth a remark above about 20 % (common practice, no source).
    """
    if item.expected is not None:
        return False
    values = [fact.value.number for fact in (row.right, row.left) if fact and isinstance(fact.value, Quantity)]
    differ = len(values) > 1 and max(values) > 0 and (max(values) - min(values)) / max(values) >= _SIDES_DIFFER
    return item.weight >= _TELLING_WEIGHT or differ


@lru_cache(maxsize=4)
def _negative_ranks(catalogue: Catalogue) -> Mapping[str, Mapping[str, int]]:
    """By presenting problem, the position of each item among the negatives a reader looks for."""
    ranks: dict[str, dict[str, int]] = {slug: {} for slug in catalogue.problems}
    for slug, problem in catalogue.problems.items():
        for rank, negative in enumerate(problem.negatives):
            for item in negative.items:
                ranks[slug].setdefault(item, rank)
    return ranks


def _place_in_letter(
    fact: Fact, item: Item, problem: str | None, ranks: Mapping[str, int], urgent: frozenset[str], position: int
) -> tuple[Tier, tuple[int, ...]]:
    rank = ranks.get(item.slug)
    if fact.polarity is Polarity.NORMAL:
        if rank is not None:
            return Tier.PERTINENT_NEGATIVE, (rank, position)
        return Tier.OTHER_NEGATIVE, (position,)
    if fact.polarity is Polarity.ABNORMAL and (fact.id in urgent or item.weight >= _URGENT_WEIGHT):
        return Tier.URGENT, (-item.weight, position)
    # A number nobody can judge without a norm follows the signs.
    after = 0 if fact.polarity is Polarity.ABNORMAL else 1
    if rank is not None or problem in item.bears_on:
        return Tier.BEARING, (after, -item.weight, position)
    return Tier.REST, (after, position)


def summarise(facts: Facts, problem_slug: str | None, catalogue: Catalogue) -> Summary:
    """What the letter says: positives by weight, pertinent negatives by how much they tell, then the rest.

    Measurements with a table of their own are stated in prose as well only where they are abnormal or have changed.
    """
    ranks = _negative_ranks(catalogue)[problem_slug] if problem_slug else {}
    cautions = choose_cautions(facts, catalogue)
    urgent = frozenset(fact for chosen in cautions if chosen.caution.urgent for fact in chosen.facts)
    rows = _measurements(facts, catalogue)
    has_table = len(rows) >= _ROWS_FOR_A_TABLE or any(row.earlier_right or row.earlier_left for row in rows)
    in_table: set[str] = set()
    if has_table:
        for row in rows:
            shown = [fact for fact in (row.right, row.left) if fact is not None]
            if _changed(row) or any(fact.polarity is Polarity.ABNORMAL or fact.note for fact in shown):
                continue
            if _tells_without_norm(row, catalogue.items[row.item]):
                continue
            in_table |= {fact.id for fact in shown if _complete_in_table(fact)}
    told = [fact for fact in facts.facts if fact.id not in in_table]
    places = {
        fact.id: _place_in_letter(fact, catalogue.items[fact.item], problem_slug, ranks, urgent, position)
        for position, fact in enumerate(told)
    }
    return Summary(
        statements=tuple(group(told, places, catalogue)),
        otherwise_normal=facts.normal,
        unexamined=facts.unexamined,
        measurements=tuple(rows) if has_table else (),
        cautions=cautions,
        stages_with_findings=frozenset(fact.stage for fact in facts.facts),
        changes=changes(facts, catalogue),
    )


def _complete_in_table(fact: Fact) -> bool:
    """Whether the table says all of a fact: a mean of trials or a qualifier beside the mode needs its sentence."""
    return all(name is Qualifier.MODE for name, _ in fact.qualifiers) and not (
        isinstance(fact.value, Quantity) and fact.value.trials
    )
