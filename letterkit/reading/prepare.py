"""Marks made ready for their sentence: meanings that neighbours settle, shared heads of lists, remarks left out."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.angles import angles_or_grades, thumb_abducted, thumb_restricted
from letterkit.reading.brought_on import brought_on
from letterkit.reading.counted import counted
from letterkit.reading.denials import denied_apart
from letterkit.reading.deviations import crossings
from letterkit.reading.digit_numbers import COUNTED, counted_digits
from letterkit.reading.each_place import at_each_place
from letterkit.reading.forms import of_limbs, of_movements, of_parts
from letterkit.reading.heads import SharedHeads
from letterkit.reading.manoeuvres import manoeuvres
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of
from letterkit.reading.movement import (
    arcs_of_joints,
)
from letterkit.reading.named_signs import named_signs
from letterkit.reading.notation import noted
from letterkit.reading.of_them import of_them
from letterkit.reading.one_joint import of_one_joint, parts_of_both_sides
from letterkit.reading.painful import PainReading
from letterkit.reading.phrases import NOT_THERE
from letterkit.reading.placenames import Piece
from letterkit.reading.predication import COUNTS, OF_WHAT
from letterkit.reading.provoked import provoked
from letterkit.reading.remarks import without_remarks
from letterkit.reading.respective import in_turn
from letterkit.reading.settle import (
    GONE,
    movements,
    nerves,
    pains,
    pairs,
    parts_gone,
    pressed,
    skins,
    traces,
)
from letterkit.reading.shorthand import written_out
from letterkit.reading.silent import SILENT, SilentWords
from letterkit.reading.tapped import tapped
from letterkit.reading.tender_itself import tender_itself
from letterkit.reading.texts import Texts
from letterkit.reading.units import PULLED
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.winces import Wincing
from letterkit.reading.words import words

_STAYS = frozenset({"joiner", "value", "break", "negator"})  # whatever stands beside them
_MOSTLY = frozenset({"filler", "word", "certain"})
_DEGREES = frozenset({"severity", "maybe"})
_WEAKNESS = frozenset({"weakness of", "weakness in", "weakness"})
_OPEN = frozenset({"neurological_status", "regional_examination", "skin_colour"})  # said of the whole, or of a part
_LEADING = frozenset({"over", "in", "on", "at", "of"})
_THERE = frozenset(f"there {verb}{no}" for verb in ("was", "were", "is", "are") for no in ("", " no"))
_SEVERAL = re.compile(r"\b(?:hands|wrists|elbows|limbs|extremities)\b")
_THAN_ELSEWHERE = frozenset({"most", "more", "less", "least"})


@cache
def _settled() -> frozenset[str]:
    """The words, unknown ones and those that say little, whose meaning another word may settle."""
    return words().sets["motor_exams"] | {"range", "strength", "power", "shoulder", "shoulders", "clear", "bony hard"}


@cache
def _told_by_others() -> frozenset[str]:
    """The words of findings, results, sides and parts whose meaning another word may settle."""
    sets = words().sets
    return (
        _settled() | OF_WHAT | _WEAKNESS | SILENT | words().rash_colours | sets["paralysed"] | sets["throughout"]
        | sets["of_nodes"] | sets["ways_of_walking"] | sets["remarked_as"]
        | sets["not_remarked_as"]
    )  # fmt: skip


def _may_be_settled(mark: Mark) -> bool:
    """Whether the words beside a mark may say what it means, or that it says nothing: asked of each mark first.

    What `_meant` and `_is_passed_over` tell a mark by has to be among what is asked here.
    """
    if mark.kind in _MOSTLY:
        return mark.text in _settled()
    if mark.text in _told_by_others() or mark.word in _told_by_others():
        return True
    term, piece = mark.term, mark.piece
    if term is not None and mark.kind not in _DEGREES:
        return piece is not None or term.pain or not _OPEN.isdisjoint(term.items)
    return mark.kind in _DEGREES or (piece is not None and piece.kind == "ordinal")


class Preparer(SilentWords):
    """Settles marks by the words beside them."""

    def __init__(self, catalogue: Catalogue, vocabulary: Vocabulary) -> None:
        self._catalogue = catalogue
        self._vocabulary = vocabulary
        self._pains = PainReading(catalogue, vocabulary.phrases)
        self._heads = SharedHeads(catalogue, vocabulary)
        self._wincing = Wincing(catalogue, vocabulary.phrases)

    def prepare(
        self, marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark] = (), order: tuple[str, str] | None = None
    ) -> list[Mark]:  # fmt: skip
        """The marks of one sentence, which has these texts, ready to be read; `topic` are the heading's terms."""
        phrases = self._vocabulary.phrases
        if "value" in texts.kinds and not texts.isdisjoint(COUNTED):
            marks = counted_digits(marks, phrases)
            texts = texts.now(marks)
        marks = brought_on(marks, texts)
        texts = texts.now(marks)
        marks = of_parts(marks, texts, topic, self._catalogue, phrases)
        marks = of_movements(marks, texts, topic, self._catalogue, phrases)
        marks = self._wincing.read(marks, texts)
        marks = of_limbs(marks, texts, self._catalogue, phrases)
        now = texts.now(marks)
        marks = written_out(crossings(marks, now), now, topic, order, self._catalogue, phrases)
        now = now.now(marks)
        marks = manoeuvres(marks, now, self._catalogue, phrases)
        now = now.now(marks)
        marks = counted(tapped(marks, now, phrases), now)
        marks = denied_apart(marks, now, self._catalogue)
        if "\ntinel" in texts.lines:
            marks = at_each_place(marks, phrases)
        if not texts.isdisjoint(GONE):
            marks = parts_gone(marks, topic, phrases)
        marks = noted(marks, now, self._catalogue, phrases)
        made = self._prepared(without_remarks(marks, now.now(marks)))
        return self._ended(made, now.now(made), topic, order)

    def _ended(
        self, made: list[Mark], now: Texts, topic: Sequence[Mark], order: tuple[str, str] | None
    ) -> list[Mark]:  # fmt: skip
        """The marks of one sentence, whose words are settled, with what a result or a list says of its neighbours."""
        phrases = self._vocabulary.phrases
        made = tender_itself(skins(pressed(made, now, phrases), now, phrases), now)
        if "severity" in now.kinds:
            made = self._elided(made)
        made = provoked(named_signs(made, now), now, self._catalogue)
        made = self._heads.read(made, now.now(made))
        now = now.now(made)
        made = of_them(made, now, self._catalogue)
        now = now.now(made)
        if "value" in now.kinds:
            made = in_turn(arcs_of_joints(made, self._catalogue, phrases), phrases)
            made = angles_or_grades(thumb_abducted(made, phrases), topic, self._catalogue)
        made = thumb_restricted(made, now, topic, phrases)
        made = nerves(pains(traces(made, now, topic), now, topic, phrases), now, topic, phrases)
        made = movements(made, now, phrases)
        if "value" in now.kinds:
            made = pairs(made, order)
        if {"side", "piece"} <= now.kinds and len([mark for mark in now.now(made).placed if mark.kind == "piece"]) > 1:
            made = parts_of_both_sides(made)
        return self._pains.read(of_one_joint(made, now, phrases), now)

    def _prepared(self, marks: Sequence[Mark]) -> list[Mark]:
        """Marks whose meaning the words beside them settle."""
        made: list[Mark] = []
        for index, mark in enumerate(marks):
            if mark.kind in _STAYS or not _may_be_settled(mark):
                made.append(mark)
                continue
            ahead = next(
                (each for each in marks[index + 1 : index + 6] if each.kind not in {"filler", "certain"}
                 and each.text not in COUNTS),
                None,
            )  # fmt: skip  # 'strength of all four fingers'
            if (meant := self._meant(marks, index, ahead)) is not None:
                made.append(meant)
            elif self._is_passed_over(made, marks, index, ahead):
                continue
            elif (
                mark.kind == "term"
                and mark.piece is not None
                and (
                    self._is_place_here(made, mark)
                    or self._leads_as_place(made, mark, marks[index + 1 :])
                    or self._is_place_of_next(mark, marks[index + 1 :])
                    or self._is_said_of_it(marks[index + 1 :])
                )
            ):
                made.append(Mark("piece", mark.start, mark.end, piece=mark.piece, text=mark.text))
            else:
                made.append(mark)
        return made

    def _meant(self, marks: Sequence[Mark], index: int, ahead: Mark | None) -> Mark | None:
        """What a mark is taken for because of what follows it; None where it stays what it is."""
        mark = marks[index]
        if mark.term is None and mark.kind in NAMES_SIDE:
            return None
        if mark.kind == "severity" and index and marks[index - 1].text in _THAN_ELSEWHERE:
            return replace(mark, text="")  # 'most pronounced on the right': no grade
        if items_of(mark)[:1] == ("neurological_status",) and _is_of_the_head(marks, index):
            return Mark("word", mark.start, mark.end, text=mark.text)
        if mark.text in {"strength", "power"} and index and marks[index - 1].text in words().sets["deep_flexors"]:
            return Mark("hint", mark.start, mark.end, text="strength", hints=("power",))  # 'FDS/FDP strength 5/5'
        if mark.kind == "state" and (said := self._remarked_as(marks, index)):
            return Mark(said, mark.start, mark.end, text=mark.text)
        if mark.text in words().sets["motor_exams"] and (
            self._shows_weakness(marks, index) or _introduces(marks, index)
        ):  # fmt: skip
            return Mark("filler", mark.start, mark.end, text="exam")
        places = ahead is not None and ahead.kind in {"piece", "side"} and not self._leads_to_muscle(marks, index)
        if mark.kind == "state" and mark.text in _WEAKNESS and (ahead is None or places):
            term = self._vocabulary.phrases["weakness"].term
            return Mark("term", mark.start, mark.end, term=term, state=mark.state, text="weakness")
        if mark.term is not None and mark.text in words().sets["paralysed"]:  # 'the FPL was paralysed': not the limb
            soft = {"filler", "side", "piece", "certain", "negator"}
            before = next((each for each in reversed(marks[:index]) if each.kind not in soft), None)
            if before is not None and before.kind == "term" and self._is_muscle(before):
                return Mark("state", mark.start, mark.end, state=NOT_THERE, text="absent")
        graded = mark.text in {"power of", "strength of"} and ahead is not None and ahead.kind == "value"
        graded = graded and ahead is not None and not self._leads_to_muscle(marks, marks.index(ahead))
        graded = graded and not self._follows_muscle(marks[:index])
        if mark.kind == "hint" and mark.text in OF_WHAT and (places or graded):  # 'power of 3/5 in the right arm'
            shoulder = any(each.text in {"shoulder", "shoulders"} for each in marks[index + 1 : index + 5])
            name = "shoulder strength" if shoulder else "strength"
            term = self._vocabulary.phrases[name].term
            return Mark("term", mark.start, mark.end, term=term, text=name, hints=mark.hints)
        pained = mark.term is not None and mark.term.pain and mark.text.endswith(" on")
        if pained and ahead is not None and ahead.kind == "side" and not self._leads_to_movement(marks, index):
            term = self._vocabulary.phrases["pain"].term  # 'pain on the right', 'hurts on the left'
            return Mark("term", mark.start, mark.end, term=term, text="hurts" if mark.text == "hurts on" else "pain")
        return self._region(marks, index)

    def _leads_to_movement(self, marks: Sequence[Mark], index: int) -> bool:
        """'Pain on left wrist flexion', no 'pain on the right, flexion is full'."""
        passed = {"filler", "side", "certain"}
        items = items_of(next((each for each in marks[index + 1 : index + 6] if each.kind not in passed), marks[index]))
        item = self._catalogue.items[items[0]] if items else None
        return item is not None and item.stage is Stage.MOVEMENT and item.slug != "pain_on_movement"

    def _shows_weakness(self, marks: Sequence[Mark], index: int) -> bool:
        """'Motor exam shows weakness of the right triceps': of that muscle, and of no whole limb."""
        near = marks[index + 1 : index + 6]
        weak = next((at for at, mark in enumerate(near) if mark.text.startswith("weakness")), None)
        return weak is not None and self._leads_to_muscle(marks, index + 1 + weak)

    @staticmethod
    def _tells(marks: Sequence[Mark], index: int) -> bool:
        """Whether a finding follows: a term, a negation, or a result right before a term."""
        soft = {"filler", "severity", "certain"}
        ahead = [each for each in marks[index + 1 :] if each.kind not in soft][:2]
        if not ahead or not any(each.kind == "term" for each in marks[index + 1 :]):
            return False
        return ahead[0].kind in {"term", "negator"} or [each.kind for each in ahead] == ["state", "term"]

    def _region(self, marks: Sequence[Mark], index: int) -> Mark | None:
        """'Examination of the hands revealed swelling': where it was found, and no finding of its own."""
        term = marks[index].term
        if term is None or term.items != ("regional_examination",) or not term.site:
            return None
        if not self._tells(marks, index):
            return None
        plural = bool(_SEVERAL.search(marks[index].text))
        piece = Piece("site", (term.site,), plural=plural)
        return Mark("piece", marks[index].start, marks[index].end, piece=piece, text=marks[index].text)

    def _leads_to_muscle(self, marks: Sequence[Mark], index: int) -> bool:
        """'weakness of the right hand intrinsics', '... of wrist and finger extension': a place before the muscle."""
        joined = False
        for mark in marks[index + 1 : index + 8]:
            if mark.kind == "term" and mark.term is not None:
                return self._is_muscle(mark) or (not joined and not PULLED.isdisjoint(mark.term.items))
            joined = joined or mark.kind == "joiner"
            if mark.kind not in {"filler", "side", "piece"} and mark.text not in {"and", "or", "comma", "slash"}:
                return False
        return False

    def _follows_muscle(self, before: Sequence[Mark]) -> bool:
        """'The thenar muscles had a power of 3/5': theirs, and not that of the limb."""
        near = itertools.takewhile(lambda mark: mark.kind not in {"joiner", "break"}, reversed(before))
        return any(mark.kind == "term" and self._is_muscle(mark) for mark in near)

    def _is_muscle(self, mark: Mark) -> bool:
        known = self._vocabulary.phrases.get(f"{mark.text} power")
        terms = [each for each in (mark.term, known.term if known is not None else None) if each is not None]
        return any(self._catalogue.items[slug].value is ValueKind.MRC for each in terms for slug in each.items)

    def _is_place_here(self, before: Sequence[Mark], mark: Mark) -> bool:
        """'wasting of the ... first dorsal interosseous', 'tenderness over the ulnar fovea'."""
        assert mark.piece is not None
        for each in reversed(before[-40:]):
            if each.kind == "state" and each.state is not None and "present" in each.state.classes:
                continue  # 'was noted over'
            if each.kind in {"state", "negator", "break"}:
                return False
            if each.kind == "term" and each.term is not None:
                slug = mark.piece.slugs[0] if mark.piece.slugs else ""  # another part of the body has none
                return any(slug in self._catalogue.items[item].sites for item in each.term.items) or (
                    "muscle_wasting" in each.term.items or each.text.endswith(("wasting", "atrophy"))
                )
        return False

    def _leads_as_place(self, before: Sequence[Mark], mark: Mark, after: Sequence[Mark]) -> bool:
        """'over the right flexor carpi radialis tendon there was tenderness': a place that opens its sentence."""
        assert mark.piece is not None
        led = {each.kind for each in before} <= {"filler", "side", "piece", "joiner"} and any(
            each.text in _LEADING for each in before
        )
        if not led:
            return False
        told = next((at for at, each in enumerate(after) if each.text in _THERE), None)
        if told is None or not {each.kind for each in after[:told]} <= {"filler", "side", "piece", "joiner", "term"}:
            return False
        found = next((each for each in after[told:] if each.kind == "term" and each.term is not None), None)
        return found is not None and self._may_stand_at(found, mark)

    def _is_place_of_next(self, mark: Mark, after: Sequence[Mark]) -> bool:
        """'Distal radioulnar joint instability': a joint that is also tested, and here says where the finding is."""
        found = after[0] if after else None
        return found is not None and found.kind == "term" and found.term is not None and self._may_stand_at(found, mark)

    @staticmethod
    def _is_said_of_it(after: Sequence[Mark]) -> bool:
        """'The thenar muscles and first dorsal interosseous were wasted', 'the joint is nontender': where that is."""
        for mark in after:
            if mark.term is not None and {"muscle_wasting", "joint_tenderness"} & {*mark.term.items[:1]}:
                return mark.term.adjective
            if mark.kind not in {"filler", "severity", "certain", "side", "piece"} and not (
                mark.text in {"and", "or", "comma"} or (mark.kind == "term" and mark.piece is not None)
            ):
                return False
        return False

    def _may_stand_at(self, found: Mark, place: Mark) -> bool:
        assert found.term is not None
        assert place.piece is not None
        items = self._catalogue.items
        site = place.piece.slugs[0] if place.piece.slugs else ""
        return any(site in items[slug].sites and items[slug].value is ValueKind.PRESENCE for slug in found.term.items)

    def _elided(self, marks: list[Mark]) -> list[Mark]:
        """'The right wrist has mild, and the left wrist moderate swelling': what is told once is of both."""
        made: list[Mark] = []
        for index, mark in enumerate(marks):
            made.append(mark)
            if mark.kind != "severity":
                continue
            at = index + 1
            while at < len(marks) and marks[at].kind == "joiner" and marks[at].text != "with":
                at += 1
            placed = at
            while at < len(marks) and (
                marks[at].kind in {"piece", "side"} or (at > index + 1 and marks[at].kind == "filler")
            ):
                at += 1
            last = marks[at : at + 2]
            if (
                placed in {index + 1, at}
                or [each.kind for each in last] != ["severity", "term"]
                or not self._is_there(last[1])
            ):
                continue
            made.append(replace(last[1], start=mark.end, end=mark.end))
        return made


def _introduces(marks: Sequence[Mark], index: int) -> bool:
    """'On motor exam, the tone is normal': what was done, before what was looked at."""
    ahead = [mark for mark in marks[index + 1 : index + 6] if mark.kind != "filler"][:2]
    led = index > 0 and marks[index - 1].text in _LEADING
    return led and [mark.text for mark in ahead[:1]] == ["comma"] and ahead[-1].kind == "term"


def _is_of_the_head(marks: Sequence[Mark], index: int) -> bool:
    """'Neurological examination: mental status normal': of the mind, and not of the nerves of an arm."""
    return any(mark.text in words().sets["of_the_head"] for mark in marks[index + 1 : index + 4])
