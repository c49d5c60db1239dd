"""Plain English: every item in every state, short and without trade words; no fact lost, no side or digit changed."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path
from statistics import mean

import pytest
from hypothesis import HealthCheck, given, settings
from reading_ease import split
from strategies import encounters

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, Polarity, ValueKind
from letterkit.findings.facts import Fact, expand
from letterkit.findings.models import Encounter
from letterkit.prose.plain import PlainWriter, otherwise_normal, unexamined
from letterkit.prose.plain_places import edge, spots_phrase
from letterkit.summary.select import summarise
from letterkit.summary.statement import PlaceRef

CATALOGUE = catalogue()
LONGEST = 20
MEAN = 14
BANNED = [
    line.strip()
    for line in (Path(__file__).parent / "banned_in_plain.txt").read_text(encoding="utf-8").splitlines()
    if line.strip() and not line.startswith("#")
]
FORBIDDEN = re.compile(rf"\b(?:{'|'.join(map(re.escape, BANNED))})\b", re.IGNORECASE)
SHORT_FORM = re.compile(r"\b[A-Z]{2,}\b")
EXPLAINED_FORMS = {"OK", "DASH", "PRWHE", "PEM", "HAQ"}  # each stands in brackets after its name in words, but for OK
DIGIT_WORDS = {"thumb": "thumb", "index": "index", "middle": "middle", "ring": "ring", "little": "little"}


def values(item: Item) -> list[object]:
    match item.value:
        case ValueKind.PRESENCE:
            return ["present", "absent", "equivocal"]
        case ValueKind.TEST:
            return ["positive", "negative", "equivocal"]
        case ValueKind.STATE:
            return [state.slug for state in CATALOGUE.scales[item.scale].states]
        case ValueKind.MRC:
            return ["0", "1", "2", "3", "4-", "4+", "5"]
        case ValueKind.QUANTITY:
            return [round((item.minimum + item.maximum) / 2, item.decimals)]
        case ValueKind.ARC:
            return [{"from": 0, "to": item.maximum}, {"from": max(item.minimum, -10), "to": item.maximum}]
        case _:
            return ["normal"]


def record(*findings: dict[str, object], **more: object) -> Encounter:
    return Encounter.model_validate(
        {"patient": {"name": {"family": "Testwell"}}, "examination": {"findings": findings, **more}}
    )


def said(encounter: Encounter) -> list[str]:
    facts = expand(encounter, CATALOGUE)
    return [each.text for each in PlainWriter(facts, CATALOGUE).facts(facts.facts)]


def sentences(item: Item) -> list[str]:
    sides = ["right", "both"] if item.paired else [None]
    found = []
    for site, side, value in product(item.sites or [None], sides, values(item)):
        found += said(record({"item": item.slug, "site": site, "side": side, "value": value}))
    return found


@pytest.mark.parametrize("item", CATALOGUE.items.values(), ids=lambda item: item.slug)
def test_every_state_of_every_item_is_short_and_plain(item):
    for sentence in sentences(item):
        assert len(sentence.split()) <= LONGEST, sentence
        assert not FORBIDDEN.search(sentence), sentence
        assert set(SHORT_FORM.findall(sentence)) <= EXPLAINED_FORMS, sentence
        assert sentence[0].isupper(), sentence
        assert sentence.endswith("."), sentence
        assert "  " not in sentence, sentence
        assert "your your" not in sentence, sentence
        assert not re.search(r"\b(\w+) \1\b", sentence), sentence


def test_sentences_are_short_on_the_whole():
    first = [len(sentences(item)[0].split()) for item in CATALOGUE.items.values()]
    assert mean(first) <= MEAN


@pytest.mark.parametrize("item", CATALOGUE.items.values(), ids=lambda item: item.slug)
def test_words_of_an_item_never_say_a_side_themselves(item):
    wording = item.patient
    words = [wording.noun, wording.plural, wording.subject, wording.positive, wording.negative, wording.equivocal]
    assert not any(re.search(r"\b(?:left|right)\b", text) for text in [*words, *wording.states.values()] if text)


@pytest.mark.parametrize(
    ("findings", "expected"),
    [
        (
            [{"item": "snuffbox_tenderness", "side": "right", "value": "present"}],
            ["We found soreness to touch in the hollow at the base of your right thumb."],
        ),
        (
            [{"item": "swelling", "site": "wrist", "side": "both", "value": "absent"}],
            ["We saw no swelling of either wrist."],
        ),
        (
            [{"item": "swelling", "site": ["pip_index", "pip_ring"], "side": "left", "value": "mild"}],
            ["We saw swelling of the middle joints of your left index and ring fingers.", "It was mild."],
        ),
        (
            [{"item": "swelling", "site": "wrist", "side": "left", "value": "equivocal"}],
            ["There may be swelling of your left wrist.", "We were not sure."],
        ),
        (
            [
                {"item": "tinel_carpal_tunnel", "side": "right", "value": "positive"},
                {"item": "tinel_carpal_tunnel", "side": "left", "value": "negative"},
            ],
            [
                "Tapping over the nerve at the front of your right wrist brought on tingling.",
                "On the left, it did not bring on tingling.",
            ],
        ),
        (
            [
                {"item": "thenar_wasting", "side": "right", "value": "absent"},
                {"item": "thenar_wasting", "side": "left", "value": "present"},
            ],
            ["We saw thinning of the muscle at the base of your left thumb.", "We saw none on the right."],
        ),
        (
            [
                {"item": "grip_strength", "side": "right", "value": 27},
                {"item": "grip_strength", "side": "left", "value": 31.5},
            ],
            [
                ("The grip strength of your hand was 27\u00a0kilograms on the right and "
                "31.5\u00a0kilograms on the left.")
            ],
        ),
        (
            [{"item": "apb_power", "side": "right", "value": "4+"}],
            [
                "You had less than full strength when lifting your right thumb up from the palm.",
                "We score this 4 plus out of 5, where 5 is full strength.",
            ],
        ),
        (
            [{"item": "apb_power", "side": "both", "value": 5}],
            ["You had full strength when lifting your thumb up from the palm on both sides."],
        ),
        (
            [{"item": "digital_nerve_sensation", "site": "radial_side_thumb", "side": "left", "value": "reduced"}],
            ["Feeling on the outer side of your left thumb was weaker than usual."],
        ),
        (
            [{"item": "digital_nerve_sensation", "site": "ulnar_side_little", "side": "left", "value": "normal"}],
            ["Feeling on the outer side of your left little finger was normal."],
        ),
        (
            [{"item": "scar", "site": "palm", "side": "right", "value": "present", "lengthCm": 3, "note": "well healed"}],
            ["We saw a scar on your right palm.", "It was 3\u00a0centimetres long.", "Our notes say: well healed."],
        ),
        (
            [{"item": "dip_movement", "site": "dip_ring", "side": "left", "value": {"from": -42, "to": -14}}],
            [
                ("Movement at the end joint of your left ring finger was from 42\u00a0degrees bent back to "
                "14\u00a0degrees bent back."),
                "Here 0 degrees means straight.",
            ],
        ),
        (
            [{"item": "first_web_cord", "side": "both", "value": "present"}],
            ["We saw a tight cord between your thumb and index finger on both sides."],
        ),
    ],
    ids=lambda value: value[0] if isinstance(value[0], str) else None,
)  # fmt: skip
def test_what_is_said(findings, expected):
    assert said(record(*findings)) == expected


def test_all_fingers_are_any_finger_after_a_no():
    sites = [f"pip_{digit}" for digit in ("index", "middle", "ring", "little")]
    places = [PlaceRef(site, side) for site in sites for side in ("right", "left")]
    assert spots_phrase(places, "of", CATALOGUE) == "of the middle joints of all four fingers of both your hands"
    assert spots_phrase(places, "of", CATALOGUE, negated=True) == "of the middle joint of any finger of either hand"


def test_a_place_of_which_there_is_one_still_says_its_side():
    assert said(record({"item": "scar", "site": "neck", "side": "left", "value": "absent"})) == [
        "We saw no scar on the left side of your neck."
    ]


@pytest.mark.parametrize("slug", CATALOGUE.plain_sites)
def test_every_site_takes_its_side(slug):
    for side in ("right", "left"):
        words = spots_phrase([PlaceRef(slug, side)], "on", CATALOGUE)
        assert side in words.split()
        assert words.count("your") == 1
    both = [PlaceRef(slug, "right"), PlaceRef(slug, "left")]
    assert "both" in spots_phrase(both, "on", CATALOGUE).split()
    assert "either" in spots_phrase(both, "on", CATALOGUE, negated=True).split()


def test_an_earlier_value_is_told_with_its_date():
    encounter = Encounter.model_validate(
        {
            "patient": {"name": {"family": "Testwell"}},
            "examination": {"findings": [{"item": "wrist_flexion", "side": "left", "value": 62}]},
            "earlier": [{"date": "2018-08-06", "item": "wrist_flexion", "side": "left", "value": 30}],
        }
    )
    assert said(encounter)[-1] == "On 6\u00a0August\u00a02018, it was 30\u00a0degrees."


def test_a_stage_recorded_as_normal_names_no_item():
    facts = expand(record(normal=[{"stage": "movement", "side": "left"}]), CATALOGUE)
    told = otherwise_normal(facts.normal, frozenset())
    assert [each.text for each in told] == ["Our check of movement was normal on your left side."]
    told = otherwise_normal(facts.normal, frozenset([facts.normal[0].stage]))
    assert told[0].text == "Otherwise, our check of movement was normal on your left side."


def test_what_was_not_checked_is_told_with_its_reason():
    given = [{"item": "grip_strength", "side": "right", "reason": "pain"}, {"item": "phalen_test", "declined": True}]
    facts = expand(record(notExamined=given), CATALOGUE)
    assert [each.text for each in unexamined(facts.unexamined, CATALOGUE)] == [
        "We did not check the grip strength of your right hand.",
        "The reason in our notes is: pain.",
        "We did not try holding your wrists bent.",
        "You chose not to have this done.",
    ]


# Nothing lost, nothing turned round


def told_of(fact: Fact, texts: list[str]) -> bool:
    """Whether one of the texts says the fact's side and digit, and its answer."""
    return any(_says_side(fact, text) and _says_digit(fact, text) for text in texts) and _says_answer(fact, texts)


def _says_side(fact: Fact, text: str) -> bool:
    return fact.side is None or re.search(rf"\b(?:{fact.side}|both|either)\b", text) is not None


def _says_digit(fact: Fact, text: str) -> bool:
    site = CATALOGUE.sites[fact.site] if fact.site else None
    if site is None or site.row is None or text.startswith(("On the ", "We saw none", "We found none")):
        return True
    if site.digit != "thumb" and re.search(r"\b(?:all four fingers|any finger)\b", text):
        return True
    return re.search(rf"\b{DIGIT_WORDS[site.digit]}", text) is not None


def _says_answer(fact: Fact, texts: list[str]) -> bool:
    item = CATALOGUE.items[fact.item]
    whole = " ".join(texts)
    if item.value is ValueKind.PRESENCE:
        denied = re.search(r"\bWe (?:saw|found) no(?:ne)?\b", whole) is not None
        doubted = "There may be" in whole
        return {"present": not denied and not doubted, "absent": denied, "equivocal": doubted}[fact.state]
    if item.value is ValueKind.TEST:
        words = {"positive": item.patient.positive, "negative": item.patient.negative}.get(fact.state)
        words = words or item.patient.equivocal or "gave no clear answer"
        bare = re.sub(r"\byour (?=hand|wrist|thumb|palm|arm|index|little|middle|ring)", "your (?:right |left )?", words)
        return re.search(bare, whole) is not None
    if item.value is ValueKind.STATE:
        scale = CATALOGUE.scales[item.scale]
        words = next(state.patient for state in scale.states if state.slug == fact.state)
        return item.patient.states.get(fact.state, words) in whole
    if item.value is ValueKind.MRC:
        return ("full strength" in whole) if fact.value.text == "5" else f"score this {fact.value.text[0]}" in whole
    return True


def faults(encounter: Encounter, told: list[tuple[str, tuple[str, ...]]]) -> list[str]:
    """Every fact that is not told as it was recorded, and every side that is told of facts on the other."""
    facts = expand(encounter, CATALOGUE)
    by_id = {fact.id: fact for fact in facts.facts}
    found = []
    for fact in facts.facts:
        texts = [text for text, ids in told if fact.id in ids]
        if not told_of(fact, texts):
            found.append(f"{fact.id} {fact.item} {fact.side} {fact.site} {fact.state}: {texts}")
    for text, ids in told:
        named = {side for side in ("right", "left") if re.search(rf"\b{side}\b", text)}
        if not named <= {by_id[each].side for each in ids}:
            found.append(f"{text}: {ids}")
    return found


def written(encounter: Encounter) -> list[tuple[str, tuple[str, ...]]]:
    facts = expand(encounter, CATALOGUE)
    writer = PlainWriter(facts, CATALOGUE)
    summary = summarise(facts, None, CATALOGUE)
    told = [said for statement in summary.statements for said in writer.statement(statement)]
    stated = {fact for each in told for fact in each.facts}
    told += writer.facts([fact for fact in facts.facts if fact.id not in stated])
    return [(each.text, each.facts) for each in told]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(encounters(most=25))
def test_every_fact_is_told_with_its_side_digit_and_answer(given_encounter):
    encounter = Encounter.model_validate(given_encounter)
    assert faults(encounter, written(encounter)) == []


PLANTED = record(
    {"item": "swelling", "site": "pip_ring", "side": "right", "value": "present"},
    {"item": "swelling", "site": "wrist", "side": "left", "value": "absent"},
    {"item": "phalen_test", "side": "right", "value": "negative"},
)


@pytest.mark.parametrize(
    ("true", "false"),
    [("right ring", "left ring"), ("saw no", "saw"), ("did not bring", "brought"), ("ring finger", "index finger")],
)
def test_a_planted_fault_is_noticed(true, false):
    told = written(PLANTED)
    assert faults(PLANTED, told) == []
    assert any(true in text for text, _ in told)
    assert faults(PLANTED, [(text.replace(true, false), ids) for text, ids in told])


def test_the_same_facts_give_the_same_words():
    assert written(PLANTED) == written(PLANTED)


def test_a_negative_puts_its_no_before_the_finding():
    for item in CATALOGUE.items.values():
        if item.value is ValueKind.PRESENCE:
            side = "right" if item.paired else None
            text = said(record({"item": item.slug, "side": side, "value": "absent", "site": (item.sites or [None])[0]}))
            assert text[0].startswith(("We saw no ", "We found no ")), text


def test_polarity_of_planted_words_is_what_the_catalogue_says():
    facts = expand(PLANTED, CATALOGUE)
    assert [fact.polarity for fact in facts.facts].count(Polarity.NORMAL) == 2


def test_only_thumb_and_little_finger_need_care_at_their_edges():
    assert edge("radial_side_index", CATALOGUE) == ""
    assert edge("radial_side_thumb", CATALOGUE) == "thumb"
    assert edge("wrist", CATALOGUE) == ""
    assert all(len(split(text)) == 1 for text, _ in written(PLANTED))
