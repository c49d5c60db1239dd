"""The tables of named conditions and expected steps hold only what exists, and ordinary records stay quiet."""

from __future__ import annotations

import pytest

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.consistency.completeness import steps, substitutes
from letterkit.consistency.durations import duration_days
from letterkit.consistency.named import rows
from letterkit.consistency.registry import check_record
from letterkit.consistency.rule import Case
from letterkit.consistency.terms import terms
from letterkit.findings.facts import expand
from letterkit.findings.models import Encounter


def _case(**given):
    encounter = Encounter.model_validate({"patient": {"name": {"family": "Marlow"}}, "examination": {}} | given)
    known = catalogue()
    return Case(encounter, expand(encounter, known), known)


def _queries(**given):
    case = _case(**given)
    return check_record(case.encounter, case.facts, case.catalogue)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.terms[0]}: {row.why}")
def test_a_row_asks_about_what_can_be_recorded(row):
    known = catalogue()

    assert set(row.terms) | set(row.unless) <= set(terms())
    assert row.query_class in {"contradictory", "unusual"}
    assert row.why[0].islower()
    assert not row.why.endswith(".")
    assert row.source.endswith(("(confirmed)", "(from memory)", "(common practice, no source)"))
    for wanted in (*row.findings, *row.without):
        items = [known.items[slug] for slug in wanted.items]
        graded = wanted.low is not None or wanted.high is not None
        assert all((item.value is ValueKind.MRC) == graded for item in items), wanted
        assert wanted.sites <= {site for item in items for site in item.sites}, wanted
        for state in wanted.states:
            assert any(state == each.slug for item in items for each in known.scales[item.scale or ""].states), state


@pytest.mark.parametrize("step", steps(), ids=lambda step: step.name)
def test_an_expected_step_is_made_of_known_items_and_problems(step):
    known = catalogue()

    assert set(step.items) <= set(known.items)
    assert step.exempt <= set(known.problems)


def test_a_pair_carries_its_own_source_into_the_query():
    queries = _queries(
        impression=[{"text": "Right carpal tunnel syndrome."}],
        examination={"findings": [{"item": "spurling_test", "side": "right", "value": "positive"}]},
    )

    assert [q.source for q in queries if q.rule == "finding-unusual-for-named-condition"] == ["Tong 2002 (confirmed)"]


def test_a_condition_named_without_a_side_is_not_laid_to_either_of_two_examined_hands():
    weak = {"item": "fpl_power", "side": "right", "value": 2}
    other = {"item": "apb_power", "side": "left", "value": 5}
    text = [{"text": "Carpal tunnel syndrome."}]

    both = _queries(impression=text, examination={"findings": [weak, other]})
    one = _queries(impression=text, examination={"findings": [weak]})

    assert "finding-against-named-condition" not in {query.rule for query in both}
    assert "finding-against-named-condition" in {query.rule for query in one}


def test_completeness_is_one_query_of_at_most_six_steps_most_telling_first():
    queries = [q for q in _queries(reason={"problem": "numb_hand"}) if q.rule == "expected-and-not-recorded"]

    assert len(queries) == 1
    listed = queries[0].message.split(": ", 1)[1].rstrip(".").split("; ")
    assert len(listed) == 6
    assert listed[0] == "abductor pollicis brevis power"
    assert queries[0].paths == ("reason.problem",)


def test_completeness_drops_what_is_recorded_and_what_was_declared():
    given = {
        "findings": [{"item": "apb_power", "side": "right", "value": 5}],
        "notExamined": [{"item": "carpal_compression_test"}],
    }
    messages = [q.message for q in _queries(reason={"problem": "numb_hand"}, examination=given)]

    assert not any("abductor pollicis brevis" in message for message in messages)
    assert not any("carpal compression" in message for message in messages)


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Numb for three weeks", 21),
        ("A 2-day history of swelling", 2),
        ("Weak for 3/12", 90),
        ("Painful since 4/7", 4),
        ("Numb for a year", 365),
        ("Numb for six months, worse for two weeks", None),
        ("Numb at night", None),
    ],
)
def test_a_duration_is_taken_only_where_one_is_told(text, days):
    assert duration_days(_case(history={"presenting": text})) == days


def _both(item, value, **rest):
    return {"item": item, "side": "both", "value": value, **rest}


def _right(item, value, **rest):
    return {"item": item, "side": "right", "value": value, **rest}


def _left(item, value, **rest):
    return {"item": item, "side": "left", "value": value, **rest}


ORDINARY = {
    "carpal tunnel": {
        "reason": {"problem": "numb_hand", "side": "right", "text": "Numb right hand at night for six months"},
        "history": {"presenting": "Tingling of the right thumb, index and middle fingers for six months. No neck pain."},
        "impression": [{"text": "Right carpal tunnel syndrome. No evidence of ulnar neuropathy."}],
        "plan": [{"text": "Night splint for the right wrist."}],
        "findings": [
            _right("thenar_wasting", "mild"), _left("thenar_wasting", "absent"),
            _both("first_dorsal_interosseous_wasting", "absent"),
            _right("median_sensation", "reduced"), _left("median_sensation", "normal"),
            _both("ulnar_sensation", "normal"), _both("radial_sensation", "normal"),
            _right("apb_power", "4"), _left("apb_power", 5), _both("first_dorsal_interosseous_power", 5),
            _both("fpl_power", 5), _right("phalen_test", "positive"), _left("phalen_test", "negative"),
            _right("tinel_carpal_tunnel", "positive"), _left("tinel_carpal_tunnel", "negative"),
            _both("tinel_elbow", "negative"), _both("spurling_test", "negative"),
            _both("froment_sign", "negative"), _both("composite_fist", "full"),
        ],
    },
    "Dupuytren's": {
        "reason": {"problem": "contracture", "side": "left"},
        "impression": [{"text": "Dupuytren's disease of the left ring finger, Tubiana stage 1."}],
        "plan": [{"text": "Review in six months."}],
        "findings": [
            _left("dupuytren_cord", "present", site="ray_ring"), _left("table_top_test", "positive"),
            _left("palmar_skin_pits", "present", site="ray_ring"),
            _left("finger_mcp_movement", [30, 90], site="mcp_ring", mode="passive"),
            _left("pip_movement", [0, 100], site="pip_ring", mode="passive"),
            _left("dip_movement", [0, 70], site="dip_ring", mode="passive"),
            _left("triggering", "absent", site="ring"), _right("table_top_test", "negative"),
        ],
    },
    "trigger digit": {
        "reason": {"problem": "locking_digit", "side": "right"},
        "impression": [{"text": "Right trigger ring finger."}],
        "plan": [{"text": "Injection at the A1 pulley of the right ring finger."}],
        "findings": [
            _right("triggering", "present", site="ring", grade="II", grading="Green"),
            _right("a1_pulley_nodule", "present", site="a1_ring"),
            _right("a1_pulley_tenderness", "present", site="a1_ring"),
            _right("dupuytren_cord", "absent", site="ray_ring"),
            _right("pip_movement", [0, 100], site="pip_ring", mode="active"),
        ],
    },
    "thumb base": {
        "reason": {"problem": "thumb_base_pain", "side": "left"},
        "impression": [{"text": "Osteoarthritis of the left thumb base."}],
        "plan": [{"text": "Splint and hand therapy for the left thumb."}],
        "findings": [
            _left("thumb_base_tenderness", "present"), _left("thumb_base_grind_test", "positive"),
            _left("thumb_base_squaring", "present"), _left("finkelstein_test", "negative"),
            _left("first_compartment_tenderness", "absent"), _left("snuffbox_tenderness", "absent"),
            _left("kapandji_score", 8), _left("heberdens_nodes", "present", site="dip_index"),
            _both("synovitis", "absent", site=["mcp_index", "mcp_middle"]),
        ],
    },
    "rheumatoid": {
        "reason": {"problem": "inflammatory_joints"},
        "impression": [{"text": "Active synovitis of both hands."}],
        "plan": [{"text": "Letter to rheumatology."}],
        "findings": [
            _both("synovitis", "present", site=["mcp_index", "mcp_middle"]),
            _both("joint_tenderness", "present", site=["mcp_index", "mcp_middle"]),
            _both("mcp_squeeze_test", "positive"), _both("nail_pitting", "absent", site="hand"),
        ],
    },
    "flexor cut": {
        "reason": {"problem": "tendon_cut", "side": "right"},
        "impression": [{"text": "Division of the profundus tendon of the right ring finger."}],
        "plan": [{"text": "Exploration and repair of the right ring finger."}],
        "findings": [
            _right("laceration", "present", site="ring"), _right("resting_cascade", "abnormal"),
            _right("flexor_digitorum_profundus", "absent", site="ring"),
            _right("flexor_digitorum_profundus", "intact", site=["index", "middle", "little"]),
            _right("flexor_digitorum_superficialis", "intact", site=["index", "middle", "ring", "little"]),
            _right("digital_nerve_sensation", "normal", site=["radial_side_ring", "ulnar_side_ring"]),
            _right("dip_movement", [0, 0], site="dip_ring", mode="active"), _right("perfusion", "normal", site="ring"),
        ],
    },
}  # fmt: skip
# What an ordinary record may be asked about: steps that are missing, and the other side of a comparison.
ALLOWED = {"incomplete"}


@pytest.mark.parametrize("name", ORDINARY)
def test_an_ordinary_record_is_asked_nothing_but_what_is_missing(name):
    given = dict(ORDINARY[name])
    findings = given.pop("findings")

    queries = _queries(**given, examination={"findings": findings})

    assert {query.query_class.value for query in queries} <= ALLOWED, [query.message for query in queries]


def test_what_stands_for_an_item_can_be_recorded():
    known = catalogue().items
    unknown = [slug for item, by in substitutes().items() for slug in (item, *by) if slug not in known]

    assert unknown == []


def test_signs_recorded_one_by_one_count_as_their_sum():
    finding = {"item": "kanavel_flexed_posture", "side": "right", "site": "index", "value": "absent"}
    record = {
        "patient": {"name": {"text": "Avery Testwell"}},
        "reason": {"problem": "hot_swollen_digit"},
        "examination": {"findings": [finding]},
    }
    encounter = Encounter.model_validate(record)
    queries = check_record(encounter, expand(encounter, catalogue()), catalogue())
    asked = next(query.message for query in queries if query.rule == "expected-and-not-recorded")

    assert "Kanavel's signs" not in asked
