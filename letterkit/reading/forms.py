"""The forms of a sentence in their order: of parts and what is seen there, of movements, of what a whole limb does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.catalogue import Catalogue
from letterkit.reading.arteries import pulses
from letterkit.reading.aspects import aspects, parts_apart
from letterkit.reading.became import became
from letterkit.reading.branches import branches
from letterkit.reading.clinic_notes import nerve_notes
from letterkit.reading.correlative import both_of_two, opposite_of
from letterkit.reading.degrees import degrees
from letterkit.reading.deviations import other_deviation
from letterkit.reading.felt import senses_apart
from letterkit.reading.felt_at_test import felt_at_test
from letterkit.reading.fullness import denied_fullness, freely
from letterkit.reading.gripped import gripped
from letterkit.reading.hand_signs import hand_signs
from letterkit.reading.held import held
from letterkit.reading.landmarks import landmarks
from letterkit.reading.likened import likened
from letterkit.reading.limb_parts import limb_parts, wasted
from letterkit.reading.limits import limits
from letterkit.reading.marks import Mark
from letterkit.reading.movement import (
    abducted,
    it_moves,
    limits_of_joints,
    no_further,
    rest_of_movement,
    to_neutral,
    verbs_of_movement,
    when_it_catches,
)
from letterkit.reading.normal_part import normal_part, sound_beside
from letterkit.reading.one_joint import joints_again
from letterkit.reading.other_digits import some_of_them
from letterkit.reading.other_muscles import other_muscles
from letterkit.reading.phrases import Entry
from letterkit.reading.possession import function_of_hand, gives_way, of_the_wrist, possessed, power_of_what
from letterkit.reading.prominences import prominences
from letterkit.reading.resisted import resisted
from letterkit.reading.roots import above_level, roots
from letterkit.reading.same_movement import movement_again, neck_and_more
from letterkit.reading.set_beside import the_other_one
from letterkit.reading.settle import COLOURS, skin_colours, temperatures
from letterkit.reading.shortfall import short_of
from letterkit.reading.shown_on_test import shown_on_test
from letterkit.reading.soft_touch import soft_touch
from letterkit.reading.stable import ligament_gives, quiet, stable_in, stable_too
from letterkit.reading.tender_itself import pulsating
from letterkit.reading.terse import terse
from letterkit.reading.texts import Texts
from letterkit.reading.thickened import thickened
from letterkit.reading.to_the_palm import from_the_palm
from letterkit.reading.touching import touching
from letterkit.reading.words import words
from letterkit.reading.wounds import wounds

_ROOTS = frozenset({"c", "t"})


def of_parts(
    marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks of one sentence with what it tells of parts: which ones are meant, and what is seen and felt there."""
    if (made := terse(marks, texts, topic, catalogue, phrases)) is not marks:
        marks, texts = made, texts.now(made)
    marks = other_muscles(marks, texts, catalogue, phrases)
    marks = sound_beside(normal_part(became(marks, texts), texts, catalogue, phrases), texts, catalogue)
    marks = opposite_of(both_of_two(marks, texts), texts)
    marks = movement_again(the_other_one(marks, texts), texts, phrases)
    marks = neck_and_more(marks, texts, phrases)
    marks = joints_again(marks, texts.now(marks))
    marks = limits(landmarks(thickened(marks, texts, phrases), texts), texts, catalogue)
    marks = felt_at_test(likened(marks, texts, phrases), texts, catalogue)
    marks = hand_signs(aspects(pulsating(marks, texts, phrases), texts, phrases), texts, phrases)
    marks = quiet(prominences(wounds(marks, texts), texts, phrases), texts, phrases)
    marks = soft_touch(touching(marks, texts, phrases), texts, phrases)
    marks = nerve_notes(parts_apart(marks, texts, catalogue, phrases), texts, catalogue, phrases)
    if not texts.isdisjoint(_ROOTS):
        marks = roots(marks, topic, phrases, catalogue)
    if not texts.isdisjoint(words().sets["below_level"]):
        marks = above_level(marks)
    marks = some_of_them(shown_on_test(marks, texts), texts)
    marks = senses_apart(marks, texts, catalogue, phrases)
    if "temperature" in texts:
        marks = temperatures(marks, phrases)
    if not texts.isdisjoint(COLOURS):
        marks = skin_colours(marks, phrases)
    return marks


def of_movements(
    marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks of one sentence with what it tells of movements, and of what a part is held or can be brought to."""
    marks = gives_way(possessed(marks, texts, phrases), texts, catalogue)
    marks = function_of_hand(of_the_wrist(power_of_what(marks, texts), texts, phrases), texts, phrases)
    if not topic or not any(mark.kind == "term" for mark in topic):  # 'Pinch: 3 kg L; 5 kg R'
        marks = gripped(marks, texts, phrases)
    marks = limits_of_joints(from_the_palm(marks, texts, phrases), texts, phrases)
    marks = short_of(marks, texts, catalogue, phrases)
    marks = no_further(to_neutral(pulses(marks, texts, phrases), texts), texts, phrases)
    marks = ligament_gives(marks, texts, phrases)
    marks = when_it_catches(
        rest_of_movement(stable_too(stable_in(marks, texts), texts, phrases), texts, phrases), texts
    )
    return abducted(held(marks, texts, phrases), texts, phrases)


def of_limbs(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence with what moves by itself or against somebody, and what is so of a whole limb."""
    marks = verbs_of_movement(it_moves(marks, texts, phrases), texts, phrases)
    marks = other_deviation(marks, texts, phrases)
    marks = resisted(marks, texts, phrases)
    marks = branches(degrees(marks, texts, catalogue), texts, phrases)
    marks = denied_fullness(freely(marks, texts, catalogue, phrases), texts, catalogue, phrases)
    return limb_parts(wasted(marks, texts, phrases), texts, catalogue, phrases)
