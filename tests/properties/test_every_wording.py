"""Every item of the examination, in every shape a sentence of it may take, reads back as what it was made from.

Random encounters meet a rare item beside a rare shape once in many thousands; here each is met.
"""

from __future__ import annotations

import os
from itertools import pairwise, permutations

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
    """No place where the item has none; else its first and its last, and two together."""
    if not item.sites:
        return [{}]
    ends = {item.sites[0], item.sites[-1], *(item.sites if SOAK else ())}
    return [{"site": site} for site in sorted(ends)] + ([{"site": list(item.sites[:2])}] if len(item.sites) > 1 else [])


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


def sentences(item):
    """Each sentence that could tell such a record, with the facts it must give back."""
    known = catalogue()
    for findings in records(item):
        try:
            facts = expand(
                read_encounter({"patient": {"name": {"family": "Vale"}}, "examination": {"findings": findings}}), known
            )
        except InvalidInput:  # a value that this place cannot have
            continue
        keys = keys_of(facts)
        for statement in summarise(facts, None, known).statements:
            expected = tuple(key for fact in statement.facts for key in keys[fact])
            yield from ((f"{variant.text}.", expected) for variant in variants(statement, known))


@pytest.mark.parametrize("stage", Stage)
def test_every_item_reads_back_in_every_shape(stage):
    told = dict.fromkeys(each for item in catalogue().items.values() if item.stage is stage for each in sentences(item))

    assert len(told) > 100
    assert [str(mismatch) for mismatch in read_back(tuple(told))] == []


@pytest.mark.parametrize("stage", Stage)
def test_no_sentence_has_but_one_shape_that_opens_with_there_was(stage):
    """Three such sentences in a row would read alike, and the writer could not help it."""
    known = catalogue()
    alone = []
    for item in (each for each in known.items.values() if each.stage is stage):
        for findings in records(item):
            try:
                facts = expand(
                    read_encounter({"patient": {"name": {"family": "Vale"}}, "examination": {"findings": findings}}),
                    known,
                )
            except InvalidInput:
                continue
            for statement in summarise(facts, None, known).statements:
                shapes = {variant.shape for variant in variants(statement, known)}
                alone += [(item.slug, findings)] if shapes == {"there"} else []

    assert alone == []
