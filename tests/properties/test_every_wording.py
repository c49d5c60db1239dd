"""Every item of the examination, in every shape a sentence of it may take, reads back as what it was made from.

Random encounters meet a rare item beside a rare shape once in many thousands; here each is met.
"""

from __future__ import annotations

import os
from itertools import combinations, pairwise, permutations, product
from random import Random

import pytest

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Qualifier, Stage, ValueKind
from letterkit.errors import InvalidInput
from letterkit.findings.facts import expand
from letterkit.findings.read_input import read_encounter
from letterkit.prose.clinical import variants
from letterkit.reading.readback import keys_of, read_back
from letterkit.summary.select import summarise

SOAK = bool(os.environ.get("LETTERKIT_SOAK"))


def values(item):
    """Values that a sentence words differently."""
    match item.value:
        case ValueKind.PRESENCE:
            graded = ["severe", "mild"] if Qualifier.SEVERITY in item.qualifiers else []
            return ["present", "absent", "?", *graded]
        case ValueKind.TEST:
            return ["positive", "negative", "?"]
        case ValueKind.STATE:
            return [state.slug for state in catalogue().scales[item.scale].states]
        case ValueKind.MRC:
            return ["5", "4+", "0"]
        case ValueKind.QUANTITY:
            low, high = item.minimum, item.maximum
            return [round(low + (high - low) * share, item.decimals) for share in (0.25, 0.5)]
        case ValueKind.ARC:
            return [[max(0, item.minimum), item.maximum], [max(10, item.minimum), max(40, item.minimum)]]
        case ValueKind.TEXT:
            return ["normal"]


def places(item):
    """No place where the item has none; else its last, and its first two together."""
    if not item.sites:
        return [{}]
    ends = item.sites if SOAK else item.sites[-1:]
    return [{"site": site} for site in ends] + ([{"site": list(item.sites[:2])}] if len(item.sites) > 1 else [])


def records(item):
    """The findings of one side, of both, and of two sides that differ."""
    told = values(item)
    pairs = list(permutations(told, 2))
    if item.value is ValueKind.STATE and not SOAK:
        pairs = [*pairwise(told), *zip(told[1:], told, strict=False)]
    for place in places(item):
        base = {"item": item.slug, **place}
        if not item.paired:
            yield from ([{**base, "value": value}] for value in told)
            continue
        for value in told:
            yield from ([{**base, "side": side, "value": value}] for side in ("right", "left", "both"))
        for right, left in pairs:
            yield [{**base, "side": "right", "value": right}, {**base, "side": "left", "value": left}]


def expanded(findings):
    """The facts of a record of these findings; None where a place cannot have such a value."""
    try:
        record = read_encounter({"patient": {"name": {"family": "Vale"}}, "examination": {"findings": findings}})
        return expand(record, catalogue())
    except InvalidInput:
        return None


def told_of(facts):
    """Each sentence that could tell these facts, with what it must give back."""
    keys = keys_of(facts)
    for statement in summarise(facts, None, catalogue()).statements:
        expected = tuple(key for fact in statement.facts for key in keys[fact])
        yield from ((f"{variant.text}.", expected) for variant in variants(statement, catalogue()))


def sentences(item):
    """Each sentence that could tell a record of the item, with what it must give back."""
    for findings in records(item):
        if facts := expanded(findings):
            yield from told_of(facts)


@pytest.mark.parametrize("stage", Stage)
def test_every_item_reads_back_in_every_shape(stage):
    told = dict.fromkeys(each for item in catalogue().items.values() if item.stage is stage for each in sentences(item))

    assert len(told) > 100
    assert [str(mismatch) for mismatch in read_back(tuple(told))] == []


@pytest.mark.parametrize("stage", Stage)
def test_no_sentence_has_but_one_shape_that_opens_with_there_was(stage):
    """Three such sentences in a row would read alike, and the writer could not help it."""
    alone = []
    for item in (each for each in catalogue().items.values() if each.stage is stage):
        for findings in records(item):
            facts = expanded(findings)
            for statement in summarise(facts, None, catalogue()).statements if facts else ():
                shapes = {variant.shape for variant in variants(statement, catalogue())}
                alone += [findings] if shapes == {"there"} else []

    assert alone == []


def kinds_of_place():
    """One item for each set of places that items are told at, and each way of telling them."""
    found = {}
    for item in catalogue().items.values():
        if len(item.sites) > 1:
            found.setdefault((item.sites, item.doctor.place, item.value), item)
    return found.values()


def pairs_of_places(item):
    """Two of its places, by chance but always the same, and every two areas of nerves."""
    pairs = list(combinations(item.sites, 2))
    most = 300 if SOAK else 20
    if len(pairs) > most:
        areas = [pair for pair in pairs if all(site.endswith(("_area", "_triangle", "forearm_area")) for site in pair)]
        pairs = [*areas, *Random(item.slug).sample(pairs, most)]
    return pairs


def test_every_two_places_read_back():
    told = {}
    for item in kinds_of_place():
        for pair, value in product(pairs_of_places(item), values(item)[:2]):
            finding = {"item": item.slug, "value": value, "site": list(pair)} | (
                {"side": "both"} if item.paired else {}
            )
            if facts := expanded([finding]):
                told |= dict.fromkeys(told_of(facts))

    assert len(told) > 5000
    assert [str(mismatch) for mismatch in read_back(tuple(told))] == []


def test_lists_of_places_read_back():
    """Three to six places of every item that has so many, by chance but always the same."""
    told = {}
    for item in (each for each in catalogue().items.values() if len(each.sites) > 2):
        chance = Random(item.slug)
        for number in range(40 if SOAK else 3):
            sites = sorted(chance.sample(item.sites, min(len(item.sites), chance.randint(3, 6))), key=item.sites.index)
            value = chance.choice(values(item))
            side = {"side": ("right", "left", "both")[number % 3]} if item.paired else {}
            if facts := expanded([{"item": item.slug, "value": value, "site": sites} | side]):
                told |= dict.fromkeys(told_of(facts))

    assert len(told) > 500
    assert [str(mismatch) for mismatch in read_back(tuple(told))] == []


def test_two_states_of_one_item_read_back():
    """Recorded twice and differently at one place: often a slip, and the letter still says what was recorded."""
    told = {}
    for item in (each for each in catalogue().items.values() if each.value is ValueKind.STATE):
        for first, second in combinations(values(item), 2):
            base = {"item": item.slug} | ({"side": "right"} if item.paired else {})
            base |= {"site": item.sites[0]} if item.sites else {}
            if facts := expanded([base | {"value": first}, base | {"value": second}]):
                told |= dict.fromkeys(told_of(facts))

    assert len(told) > 500
    assert [str(mismatch) for mismatch in read_back(tuple(told))] == []
