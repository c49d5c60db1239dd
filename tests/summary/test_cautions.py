"""Every caution of the catalogue fires on the least that calls for it, and stays silent on a near miss."""

from __future__ import annotations

import pytest
from made_records import drafted, found

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Polarity, ValueKind

KNOWN = catalogue()
CAUTIONS = list(KNOWN.cautions.values())
GRADES = ["0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5"]


def rank(grade):
    return int(grade[0]) + {"+": 1 / 3, "-": -1 / 3}.get(grade[1:], 0)


def within(condition, number):
    return (condition.above is None or number > condition.above) and (
        condition.below is None or number < condition.below
    )


def numbers(item):
    """Numbers over the whole range of an item, bounds included, in small steps."""
    return [item.minimum + step / 10 for step in range(int((item.maximum - item.minimum) * 10) + 1)]


def values(condition):
    """A value that meets a condition, and one that misses it as narrowly as can be."""
    item = KNOWN.items[condition.item]
    match item.value:
        case ValueKind.PRESENCE:
            return "present", "equivocal"
        case ValueKind.TEST:
            return "positive", "equivocal"
        case ValueKind.STATE:
            states = KNOWN.scales[item.scale].states
            met = condition.states or tuple(state.slug for state in states if state.polarity is Polarity.ABNORMAL)
            missed = [state for state in states if state.slug not in met]
            return met[0], max(missed, key=lambda state: state.polarity is Polarity.ABNORMAL).slug
        case ValueKind.MRC:
            if condition.above is None and condition.below is None:
                return "5-", "5"  # any weakness
            grades = {within(condition, rank(grade)): grade for grade in GRADES}
            return grades[True], grades[False]
        case _:
            found_numbers = {within(condition, number): number for number in reversed(numbers(item))}
            bound = condition.above if condition.above is not None else condition.below
            return found_numbers[True], bound


def site_of(item, digit):
    """A site of the item, on that digit where it has one."""
    if not item.sites:
        return None
    return next((site for site in item.sites if KNOWN.sites[site].digit == digit), item.sites[0])


def shared_digit(conditions):
    """The digit that all items of a pattern can be recorded on."""
    held = [{KNOWN.sites[site].digit for site in KNOWN.items[each.item].sites} for each in conditions]
    return next(
        digit for digit in ("ring", "index", "thumb", "little", "middle") if all(digit in each for each in held)
    )


def finding(condition, digit, *, met=True, side="right"):
    item = KNOWN.items[condition.item]
    return found(item.slug, values(condition)[0 if met else 1], side if item.paired else None, site_of(item, digit))


def least(caution):
    """The conditions that just fulfil a pattern."""
    return [*caution.all, *(caution.any[: caution.at_least] if caution.any else ())]


def digit_for(caution):
    return shared_digit(least(caution)) if caution.same == "digit" else "ring"


def fired(*findings):
    return [chosen.caution.slug for chosen in drafted(*findings).summary.cautions]


@pytest.mark.parametrize("caution", CAUTIONS, ids=lambda caution: caution.slug)
def test_it_fires_on_the_least_that_calls_for_it(caution):
    digit = digit_for(caution)
    findings = [finding(condition, digit) for condition in least(caution)]
    draft = drafted(*findings)
    chosen = {each.caution.slug: each for each in draft.summary.cautions}

    assert caution.slug in chosen
    assert {fact.split(".")[0] for fact in chosen[caution.slug].facts} == {
        f"f{index}" for index in range(len(findings))
    }


@pytest.mark.parametrize(
    ("caution", "at"),
    [(caution, at) for caution in CAUTIONS for at in range(len(least(caution)))],
    ids=lambda each: getattr(each, "slug", each),
)
def test_it_is_silent_where_one_finding_just_misses(caution, at):
    digit = digit_for(caution)
    findings = [finding(condition, digit, met=index != at) for index, condition in enumerate(least(caution))]

    assert caution.slug not in fired(*findings)


@pytest.mark.parametrize("caution", CAUTIONS, ids=lambda caution: caution.slug)
def test_every_alternative_counts(caution):
    for condition in caution.any:
        others = [each for each in caution.any if each.item != condition.item][: caution.at_least - 1]
        wanted = [*caution.all, condition, *others]
        try:
            digit = shared_digit(wanted) if caution.same == "digit" else "ring"
        except StopIteration:
            continue  # these two can never lie on one digit
        assert caution.slug in fired(*[finding(each, digit) for each in wanted]), condition.item


TOGETHER = [caution for caution in CAUTIONS if len(least(caution)) > 1]


@pytest.mark.parametrize(
    "caution", [each for each in TOGETHER if each.same != "nothing"], ids=lambda caution: caution.slug
)
def test_findings_of_two_hands_are_never_taken_together(caution):
    digit = digit_for(caution)
    first, *rest = least(caution)
    findings = [finding(first, digit, side="left"), *(finding(condition, digit) for condition in rest)]

    assert caution.slug not in fired(*findings)


@pytest.mark.parametrize(
    "caution", [each for each in TOGETHER if each.same == "digit"], ids=lambda caution: caution.slug
)
def test_findings_of_two_digits_are_not_taken_together(caution):
    first, *rest = least(caution)
    digits = [digit for digit in ("index", "ring", "little", "thumb") if
              any(KNOWN.sites[site].digit == digit for site in KNOWN.items[first.item].sites)]  # fmt: skip
    here = digit_for(caution)
    other = next(digit for digit in digits if digit != here)
    findings = [finding(first, other), *(finding(condition, here) for condition in rest)]

    assert caution.slug not in fired(*findings)


@pytest.mark.parametrize(
    "caution", [each for each in TOGETHER if each.same == "nothing"], ids=lambda caution: caution.slug
)
def test_findings_of_the_whole_patient_are_taken_together(caution):
    first, *rest = least(caution)
    findings = [finding(first, "ring", side="left"), *(finding(condition, "ring") for condition in rest)]

    assert caution.slug in fired(*findings)


def test_urgent_cautions_come_first():
    chosen = drafted(found("synovitis", site="wrist"), found("exposed_bone", site="palm")).summary.cautions
    assert [each.caution.urgent for each in chosen] == [True, False]


def test_a_normal_examination_calls_for_none():
    findings = []
    for item in KNOWN.items.values():
        match item.value:
            case ValueKind.PRESENCE:
                value = "absent"
            case ValueKind.TEST:
                value = "negative"
            case ValueKind.STATE:
                value = next(s.slug for s in KNOWN.scales[item.scale].states if s.polarity is Polarity.NORMAL)
            case ValueKind.MRC:
                value = 5
            case _:
                continue
        findings.append(found(item.slug, value, "right" if item.paired else None, site_of(item, "ring")))
    assert [slug for start in range(0, len(findings), 400) for slug in fired(*findings[start : start + 400])] == []


def test_a_caution_names_the_digit_or_the_hand_it_looks_at():
    chosen = drafted(
        found("locking", site="ring", side="left"),
        found("fixed_flexion_deformity", site="ring PIP", side="left"),
        found("synovitis", site="wrist"),
    ).summary.cautions
    assert {each.caution.slug: [(p.site, p.side) for p in each.places] for each in chosen} == {
        "locked_digit": [("ring", "left")], "synovitis_of_joints": [("hand", "right")],
    }  # fmt: skip
