"""Published accuracy of tests, likelihood ratios worked out from it, and post-test arithmetic.

Figures stand in `data/accuracy.toml`, each with its publication and mark. They are information beside a finding and are
never turned into a diagnosis. Post-test odds are pre-test odds times the likelihood ratio; probabilities are fractions.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import (
    Mark,
    NotComputable,
    Range,
    Result,
    Source,
    checked,
    exact,
    figure,
    given,
    rounded,
)
from letterkit.measures.tables import table

Sign = Literal["positive", "negative"]
ARITHMETIC = Source("odds form of Bayes' theorem", Mark.CONFIRMED)
LIMITS = ("Information with its source, not a diagnosis; accuracy differs with the people and the reference tested",)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Accuracy of one finding in one publication; a range has unequal ends, and a figure not published is None.

    `healthy_positive` is the share of people without the condition who show the sign.
    """

    slug: str
    finding: str
    target: str
    source: Source
    sensitivity: Range | None = None
    specificity: Range | None = None
    lr_positive: Range | None = None
    lr_positive_ci: Range | None = None
    lr_negative: Range | None = None
    lr_negative_ci: Range | None = None
    ppv: float | None = None
    npv: float | None = None
    odds_ratio: float | None = None
    healthy_positive: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Combination:
    """Probability published for several findings together, as a fraction."""

    slug: str
    finding: str
    target: str
    probability: float
    source: Source


@dataclass(frozen=True, slots=True)
class PostTest:
    """Probability after the finding, as a fraction, with the odds before and after."""

    probability: float
    pre_test_odds: float
    post_test_odds: float


def _range(row: dict[str, Any], key: str) -> Range | None:
    return Range(row[key][0], row[key][-1]) if key in row else None


@cache
def accuracies() -> tuple[Accuracy, ...]:
    """Every finding and publication held, by condition."""
    return tuple(
        Accuracy(
            slug=row["slug"],
            finding=row["finding"],
            target=row["target"],
            source=Source(row["citation"], Mark(row["mark"])),
            sensitivity=_range(row, "sensitivity"),
            specificity=_range(row, "specificity"),
            lr_positive=_range(row, "lr_positive"),
            lr_positive_ci=_range(row, "lr_positive_ci"),
            lr_negative=_range(row, "lr_negative"),
            lr_negative_ci=_range(row, "lr_negative_ci"),
            ppv=row.get("ppv"),
            npv=row.get("npv"),
            odds_ratio=row.get("odds_ratio"),
            healthy_positive=row.get("healthy_positive"),
            note=row.get("note", ""),
        )
        for row in table("accuracy")["test"]
    )


@cache
def combinations() -> tuple[Combination, ...]:
    """Probabilities published for several findings together."""
    return tuple(
        Combination(
            row["slug"], row["finding"], row["target"], row["probability"], Source(row["citation"], Mark(row["mark"]))
        )
        for row in table("accuracy")["combination"]
    )


def accuracy_of(slug: str) -> tuple[Accuracy, ...]:
    """Every publication on one finding. Raises InvalidValue for a finding on which nothing is held."""
    found = tuple(row for row in accuracies() if row.slug == slug)
    if not found:
        known = ", ".join(dict.fromkeys(row.slug for row in accuracies()))
        raise InvalidValue(f"accuracy: {slug!r} was given. Allowed: {known}")
    return found


def likelihood_ratio(row: Accuracy, sign: Sign) -> Result[float] | NotComputable:
    """The likelihood ratio of a positive or negative finding: as published, or else from sensitivity and specificity.

    Not computable where only ranges were published, a figure is lacking, or the divisor is nought.
    """
    instrument = f"{sign} likelihood ratio"
    inputs = given(finding=row.finding, target=row.target)
    published = row.lr_positive if sign == "positive" else row.lr_negative
    if published is not None and published.low == published.high:
        text = f"{figure(published.low)} as published"
        return Result(instrument, published.low, inputs, text, row.source, LIMITS)
    if published is not None:
        reason = "only a range was published"
        return NotComputable(instrument, (), row.source, reason, published, inputs, LIMITS)
    missing = tuple(
        name
        for name, value in (("sensitivity", row.sensitivity), ("specificity", row.specificity))
        if value is None or value.low != value.high
    )
    if missing or row.sensitivity is None or row.specificity is None:
        reason = "no single figure was published"
        return NotComputable(instrument, missing, row.source, reason, inputs=inputs, limits=LIMITS)
    sensitivity, specificity = exact(row.sensitivity.low), exact(row.specificity.low)
    above, below = (sensitivity, 1 - specificity) if sign == "positive" else (1 - sensitivity, specificity)
    if below == 0:
        reason = "it would be without bound"
        return NotComputable(instrument, (), row.source, reason, inputs=inputs, limits=LIMITS)
    text = f"{figure(above)} / {figure(below)} = {rounded(above / below, 2)}"
    return Result(instrument, float(above / below), inputs, text, row.source, LIMITS)


def post_test(pre_test_probability: float, likelihood_ratio: float) -> Result[PostTest]:
    """Probability after a finding, from the probability before it (a fraction under 1) and its likelihood ratio."""
    checked("post_test.pre_test_probability", pre_test_probability, 0, 1)
    checked("post_test.likelihood_ratio", likelihood_ratio, 0, 10_000)
    if pre_test_probability == 1:
        raise InvalidValue(
            "post_test.pre_test_probability: 1 was given. Allowed: 0 up to but not 1, as odds need a rest"
        )
    before = exact(pre_test_probability) / (1 - exact(pre_test_probability))
    after = before * exact(likelihood_ratio)
    probability = after / (1 + after)
    arithmetic = (
        f"odds {figure(pre_test_probability)} / {figure(1 - exact(pre_test_probability))} = {figure(before)}; "
        f"x {figure(likelihood_ratio)} = {figure(after)}; {figure(after)} / (1 + {figure(after)}) "
        f"= {rounded(100 * probability)} %"
    )
    inputs = given(pre_test_probability=pre_test_probability, likelihood_ratio=likelihood_ratio)
    value = PostTest(float(probability), float(before), float(after))
    return Result("post-test probability", value, inputs, arithmetic, ARITHMETIC, LIMITS)
