"""What is said, in which order and grouped how: before it is English."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from made_records import drafted, found, minimal
from strategies import encounters

from letterkit import draft
from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Polarity, ValueKind
from letterkit.letter.model import Table
from letterkit.summary.statement import Form, Tier

KNOWN = catalogue()
TIERS = list(Tier)


def statements(*findings, problem=None, **more):
    reason = {"reason": {"problem": problem}} if problem else {}
    return drafted(*findings, **reason, **more).summary.statements


def told(*findings, **more):
    """Tier and items of each statement."""
    return [
        (statement.tier, *(item for part in statement.parts for item in part.items))
        for statement in statements(*findings, **more)
    ]


def test_urgent_then_bearing_then_the_rest_then_negatives():
    findings = [
        found("spurling_test", "negative"), found("koilonychia", site="hand"), found("phalen_test", "positive"),
        found("tinel_carpal_tunnel", "negative"), found("pus", site="palm"), found("nail_pitting", "absent", site="hand"),
    ]  # fmt: skip
    assert told(*findings, problem="numb_hand") == [
        (Tier.URGENT, "pus"), (Tier.BEARING, "phalen_test"), (Tier.REST, "koilonychia"),
        (Tier.PERTINENT_NEGATIVE, "tinel_carpal_tunnel", "spurling_test"), (Tier.OTHER_NEGATIVE, "nail_pitting"),
    ]  # fmt: skip


def test_without_a_problem_nothing_bears_on_it():
    assert told(found("phalen_test", "positive"), found("spurling_test", "negative")) == [
        (Tier.REST, "phalen_test"), (Tier.OTHER_NEGATIVE, "spurling_test"),
    ]  # fmt: skip


def test_a_finding_that_calls_for_an_urgent_caution_is_urgent_whatever_its_weight():
    joint = [found("swelling", site="wrist"), found("redness", site="wrist"), found("joint_tenderness", site="wrist")]
    assert {tier for tier, *_ in told(*joint)} == {Tier.URGENT}
    assert {tier for tier, *_ in told(*joint[:2])} == {Tier.REST}


def test_what_is_urgent_is_told_by_weight_before_order_of_examination():
    joint = [found("swelling", site="wrist"), found("redness", site="wrist"), found("joint_tenderness", site="wrist")]
    order = told(*joint, found("pain_out_of_proportion", site="hand"))
    assert order[0] == (Tier.URGENT, "pain_out_of_proportion")
    assert order[-1] != order[0]
    assert {tier for tier, *_ in order} == {Tier.URGENT}


def test_what_bears_on_the_problem_is_told_by_weight_and_then_in_order_of_examination():
    order = told(found("flick_sign", "positive"), found("thenar_wasting"), found("reverse_phalen_test", "positive"),
                 found("phalen_test", "positive"), problem="numb_hand")  # fmt: skip
    weights = [KNOWN.items[items[0]].weight for _, *items in order]
    assert weights == sorted(weights, reverse=True)
    assert order[0] == (Tier.BEARING, "thenar_wasting")
    assert len(set(weights)) > 1


def test_the_rest_is_told_in_the_order_of_the_examination_whatever_its_weight():
    order = told(found("median_sensation", "reduced"), found("dry_skin", site="hand"), found("crepitus", site="wrist"))
    assert [items for _, *items in order] == [["dry_skin"], ["crepitus"], ["median_sensation"]]


def test_a_number_without_a_norm_follows_the_signs():
    order = told(found("grip_strength", 20), found("coin_pick_up", "unable"))
    assert [items for _, *items in order] == [["coin_pick_up"], ["grip_strength"]]


def normal(item):
    match item.value:
        case ValueKind.PRESENCE:
            return "absent"
        case ValueKind.TEST:
            return "negative"
        case ValueKind.STATE:
            return next(s.slug for s in KNOWN.scales[item.scale].states if s.polarity is Polarity.NORMAL)
        case ValueKind.MRC:
            return 5
        case _:
            return None


@pytest.mark.parametrize("problem", KNOWN.problems.values(), ids=lambda problem: problem.slug)
def test_negatives_are_told_by_how_much_they_tell(problem):
    ranks = {}
    for rank, negative in enumerate(problem.negatives):
        for slug in negative.items:
            if normal(KNOWN.items[slug]) is not None:
                ranks.setdefault(slug, rank)
    findings = [minimal(KNOWN.items[slug], normal(KNOWN.items[slug])) for slug in sorted(ranks)]
    order = [items for tier, *items in told(*findings, problem=problem.slug) if tier is Tier.PERTINENT_NEGATIVE]
    first = [min(ranks[slug] for slug in items) for items in order]

    assert first == sorted(first)
    assert {slug for items in order for slug in items} == set(ranks)


def test_a_positive_of_the_problems_list_is_not_told_as_a_negative():
    assert told(found("phalen_test", "positive"), problem="numb_hand") == [(Tier.BEARING, "phalen_test")]


# Forms


def forms(*findings):
    return [(statement.form, [len(part.places) for part in statement.parts]) for statement in statements(*findings)]


def lump(*pairs, **more):
    return [found(f"lump_{name}", value, site="dorsal_wrist", **more) for name, value in pairs]


FORMS = {
    "one hand": ([found("thenar_wasting")], [(Form.SINGLE, [1])]),
    "both hands alike": ([found("thenar_wasting", side="both")], [(Form.SINGLE, [2])]),
    "both hands alike in two findings": ([found("thenar_wasting"), found("thenar_wasting", side="left")], [(Form.SINGLE, [2])]),
    "joints of one state": ([found("swelling", site="index PIP"), found("swelling", site="ring PIP")], [(Form.SINGLE, [2])]),
    "two hands that differ": ([found("thenar_wasting"), found("thenar_wasting", "absent", "left")], [(Form.CONTRAST, [1, 1])]),
    "two hands that differ in severity": (
        [found("thenar_wasting", "mild"), found("thenar_wasting", "severe", "left")], [(Form.CONTRAST, [1, 1])],
    ),
    "two powers": ([found("apb_power", 3), found("apb_power", 5, "left")], [(Form.CONTRAST, [1, 1])]),
    "two numbers": ([found("grip_strength", 20), found("grip_strength", 30, "left")], [(Form.CONTRAST, [1, 1])]),
    "different joints are no contrast": (
        [found("swelling", site="index PIP"), found("swelling", "absent", "left", "ring PIP")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "active against passive is no contrast": (
        [found("pip_movement", "20-60", site="ring", mode="active"), found("pip_movement", "5-90", "left", "ring", mode="passive")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "two normal states are no contrast": (
        [found("wound_state", "healed", site="palm"), found("wound_state", "clean", "left", "palm")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "several states of one lump": (
        lump(("consistency", "firm"), ("plane", "superficial"), ("mobility", "mobile")), [(Form.CHAIN, [1, 1, 1])],
    ),
    "states of two lumps are no chain": (
        [*lump(("consistency", "firm")), *lump(("mobility", "mobile"), side="left")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "areas of two hands share no statement": (
        [found("median_sensation", "reduced"), found("ulnar_sensation", "reduced", "left")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "a note keeps a finding by itself": (
        [found("swelling", site="index PIP"), found("swelling", site="ring PIP", note="old")],
        [(Form.SINGLE, [1]), (Form.SINGLE, [1])],
    ),
    "a count keeps a finding by itself": (
        [found("scar", site="palm", count=2), found("scar", side="left", site="palm", count=3)], [(Form.CONTRAST, [1, 1])],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("findings", "expected"), FORMS.values(), ids=FORMS)
def test_findings_take_the_form_of(findings, expected):
    assert forms(*findings) == expected


def test_items_with_one_answer_share_a_statement_up_to_a_limit():
    tests = [item.slug for item in KNOWN.items.values() if item.value is ValueKind.TEST and item.paired and not item.sites
             and not (item.doctor.negative or item.doctor.positive)][:20]  # fmt: skip
    sizes = [len(statement.parts[0].items) for statement in statements(*[found(slug, "negative") for slug in tests])]
    assert sum(sizes) == 20
    assert max(sizes) == 8


def test_positive_items_share_a_statement_up_to_a_smaller_limit():
    tests = [item.slug for item in KNOWN.items.values() if item.value is ValueKind.TEST and item.paired and not item.sites
             and item.weight < 5 and not (item.doctor.negative or item.doctor.positive)][:12]  # fmt: skip
    found_all = statements(*[found(slug, "positive") for slug in tests])
    assert max(len(statement.parts[0].items) for statement in found_all) == 5


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(encounters(most=25))
def test_a_group_never_claims_a_place_or_an_answer_that_was_not_recorded(encounter):
    drafted_letter = draft(encounter)
    facts = {fact.id: fact for fact in drafted_letter.facts.facts}
    for statement in drafted_letter.summary.statements:
        for part in statement.parts:
            members = [facts[fact] for fact in part.facts]
            recorded = {(fact.item, fact.site, fact.side) for fact in members}
            if part.crossed:
                claimed = {(item, place.site, place.side) for item in part.items for place in part.places}
                assert claimed == recorded
            else:
                assert {(place.site, place.side) for place in part.places} == {
                    (site, side) for _, site, side in recorded
                }
                assert {item for item, _, _ in recorded} == set(part.items)
            for fact in members:
                assert (fact.state, fact.value, fact.qualifiers, fact.note) == (
                    part.state,
                    part.value,
                    part.qualifiers,
                    part.note,
                )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(encounters(most=40))
def test_every_fact_is_told_once_and_tiers_are_in_order(encounter):
    drafted_letter = draft(encounter)
    summary = drafted_letter.summary
    stated = [fact for statement in summary.statements for fact in statement.facts]
    in_table = {fact.id for row in summary.measurements for fact in (row.right, row.left) if fact}

    assert len(stated) == len(set(stated))
    assert {fact.id for fact in drafted_letter.facts.facts} == set(stated) | in_table
    tiers = [TIERS.index(statement.tier) for statement in summary.statements]
    assert tiers == sorted(tiers)


# The table of measurements


def table_and_prose(*findings, **more):
    """Labels of the table's rows, and the items that prose tells."""
    letter = drafted(*findings, **more)
    rows = [row[0].text for block in letter.letter.blocks if isinstance(block, Table) for row in block.rows]
    return rows, [item for statement in letter.summary.statements for part in statement.parts for item in part.items]


NORMAL = [found("wrist_flexion", 75), found("wrist_extension", 72), found("supination", 85)]
EARLIER = {"date": "2026-05-01", "side": "right"}


def test_two_measurements_stay_in_prose():
    assert table_and_prose(*NORMAL[:2]) == ([], ["wrist_flexion", "wrist_extension"])


def test_three_measurements_make_a_table_and_leave_prose_where_they_are_as_expected():
    rows, prose = table_and_prose(*NORMAL)
    assert len(rows) == 3
    assert prose == []


def test_an_abnormal_measurement_is_told_in_prose_too():
    rows, prose = table_and_prose(*NORMAL, found("pronation", 20))
    assert len(rows) == 4
    assert prose == ["pronation"]


def test_an_earlier_value_makes_a_table_and_a_change_is_told_in_prose():
    earlier = [EARLIER | {"item": "wrist_flexion", "value": 60}]
    assert table_and_prose(NORMAL[0], earlier=earlier) == (["Wrist flexion (degrees)"], ["wrist_flexion"])


def test_a_measurement_that_has_not_changed_stays_in_the_table():
    earlier = [EARLIER | {"item": "wrist_flexion", "value": 75}]
    assert table_and_prose(NORMAL[0], earlier=earlier) == (["Wrist flexion (degrees)"], [])


@pytest.mark.parametrize(("left", "prose"), [(25, []), (20, ["forearm_girth"] * 2)])
def test_a_measurement_without_a_norm_is_told_where_the_hands_clearly_differ(left, prose):
    girths = [found("forearm_girth", 26), found("forearm_girth", left, "left")]
    assert table_and_prose(*NORMAL, *girths)[1] == prose


CARRIED = {
    "a note": found("forearm_girth", 26, note="over the scar"),
    "a mean of trials": found("key_pinch", [4, 5, 6]),
    "a weighty number without a norm": found("grip_strength", 26),
}


@pytest.mark.parametrize("finding", CARRIED.values(), ids=CARRIED)
def test_prose_tells_what_the_table_cannot(finding):
    assert table_and_prose(*NORMAL, finding)[1] == [finding["item"]]


def test_right_and_left_of_one_measurement_share_a_row():
    summary = drafted(*NORMAL, found("wrist_flexion", 70, "left")).summary
    rows = {
        row.item: (row.right and row.right.value.number, row.left and row.left.value.number)
        for row in summary.measurements
    }
    assert rows == {"wrist_flexion": (75, 70), "wrist_extension": (72, None), "supination": (85, None)}


def test_active_and_passive_movement_have_a_row_each():
    modes = [found("pip_movement", "0-95", site="ring", mode=mode) for mode in ("active", "passive")]
    assert len(table_and_prose(*modes, NORMAL[0])[0]) == 3
