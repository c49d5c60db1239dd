"""The reading of a note: text in, findings out, and nothing of the text lost on the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from threading import Lock
from typing import Any

from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput, Problem
from letterkit.reading.aspects import faces_of_part
from letterkit.reading.assemble import Assembler
from letterkit.reading.borrowed import beside_borrowed
from letterkit.reading.both_parts import both_parts
from letterkit.reading.carry import Carried, is_of_digits
from letterkit.reading.context import CURRENT, Setting, settings
from letterkit.reading.contrary import said_of_another
from letterkit.reading.cover import Cover
from letterkit.reading.dashes import parted_by_dashes
from letterkit.reading.exceptions import narrowed, without
from letterkit.reading.figures import is_told
from letterkit.reading.implied import implied
from letterkit.reading.marks import Mark, beside, side_of
from letterkit.reading.next_side import next_side
from letterkit.reading.of_them import named, named_by_figures, of_joint_before
from letterkit.reading.other_digits import by_those_named, digits_named
from letterkit.reading.places import OPPOSITE, Place, Places, of_other_side, unsided
from letterkit.reading.pounds import all_in_pounds
from letterkit.reading.predication import OF_WHAT, Predication
from letterkit.reading.reached_next import reached_next
from letterkit.reading.repeats import told_once
from letterkit.reading.respective import on_sides_before
from letterkit.reading.result import Reading
from letterkit.reading.same_side import last_side, more_on_one, on_that_side
from letterkit.reading.scope import Scope
from letterkit.reading.segments import Segment
from letterkit.reading.set_beside import versus
from letterkit.reading.shorthand import heads_in_order, order_of, under_reflexes
from letterkit.reading.spoken_next import (
    denies_elsewhere,
    is_only_beside,
    is_screened,
    is_set_beside,
    limb_elsewhere,
    names_other,
    only_compares,
    reaches,
    said_beside,
    sides_of,
    spoken_of_next,
    tells_muscles,
)
from letterkit.reading.stages import Result, StageReader, places_of
from letterkit.reading.taken_over import taken_over
from letterkit.reading.texts import Texts
from letterkit.reading.throughout import of_that_side_throughout
from letterkit.reading.titles import without_service
from letterkit.reading.units import units
from letterkit.reading.whole_sentence import (
    is_it_elsewhere,
    is_of_all,
    is_of_both_ends,
    is_of_the_rest,
    without_last,
)
from letterkit.reading.words import words

LANGUAGES = ("en-GB", "en-US")
_WHY = {
    "history": "history", "plan": "plan or advice", "imaging": "an investigation", "family": "another person",
    "later": "another occasion", "earlier": "an earlier examination", "general": "what is so in general",
    "doing": "what the hand is used for", "asked": "a question",
}  # fmt: skip
_LIMBS = frozenset({"extremities", "extremity", "ext", "limbs", "all extremities"})
_PLACED = frozenset({"side", "piece", "filler"})
_MENTIONS = frozenset({"term", "ambiguous"})
_TELLING = frozenset({"term", "state", "value", "word", "ambiguous", "unexamined", "negator", "compared"})


class NoteReader:
    """Reads notes in one language. Holds no text between two readings."""

    def __init__(self, language: str) -> None:
        from letterkit.reading.pipeline import TERMS, pipeline  # noqa: PLC0415 - spaCy is heavy

        self._nlp = pipeline(language)
        self._turn = Lock()
        self._catalogue = catalogue()
        self._words = words()
        self._vocabulary = self._nlp.get_pipe(TERMS).vocabulary  # type: ignore[attr-defined]  # our component
        self._scope = Scope(self._catalogue, self._vocabulary)
        self._assembler = Assembler(self._catalogue, self._words)
        self._stages = StageReader(self._catalogue, self._words)

    def read(self, text: str, *, carry: bool = True) -> Reading:
        """The reading of `text`. Without `carry` each line stands for itself: no heading, no section, no context."""
        return self._read(self._marked([text])[0], carry=carry)

    def read_lines(self, lines: Iterable[str]) -> list[Reading]:
        """The reading of each line by itself, as one of a text without `carry`."""
        return [self._read(each, carry=False) for each in self._marked(lines)]

    def _marked(self, texts: Iterable[str]) -> list[Mapping[str, Any]]:
        """Texts with their segments and marks. One thread at a time: words known for the moment are shared by all."""
        with self._turn, self._nlp.memory_zone():
            return [self._nlp(text).user_data for text in texts]

    def _read(self, marked: Mapping[str, Any], *, carry: bool) -> Reading:
        """The reading of a text whose segments and marks are known."""
        text: str = marked["text"]
        segments: list[Segment] = marked["segments"]
        marks: list[list[Mark]] = marked["marks"]
        places = settings(text, segments, marks, self._words) if carry else [Setting() for _ in segments]
        result = Result()
        cover = Cover(text, self._vocabulary)
        carried = Carried()
        for segment, own, setting in zip(segments, marks, places, strict=True):
            if not carry and segment.line != carried.line:
                carried = Carried(line=segment.line)
            if setting.fresh and not (segment.breaks and carried.bare and setting.status == CURRENT):
                carried = carried.anew(segment.line)
            elif setting.staged or setting.fresh:
                carried = carried.kept(segment.line)
            if setting.label_known:
                carried.limbs = setting.label in _LIMBS
            if segment.heading or setting.title or heads_in_order(own, self._catalogue):
                self._heading(segment, own, setting, carried, cover)
            else:
                self._sentence(text, segment, own, setting, carried, result, cover)
        findings = told_once(all_in_pounds(result.findings)) if carry else result.findings
        return Reading(text, tuple(findings), tuple(result.normal), tuple(result.not_examined), cover.spans())

    def _heading(self, segment: Segment, own: list[Mark], setting: Setting, carried: Carried, cover: Cover) -> None:
        named = places_of(without_service(own), self._catalogue)
        if named is not None:
            several = setting.title and len(named.places) > 1  # 'Flexor repair L index and middle wk 6': of which?
            carried.heads(Places((Place(named.side),), named.look) if several and named.side else named)
        if setting.elsewhere:
            carried.base = Places((), (), elsewhere=True)
        carried.here = carried.base
        carried.side_named = last_side(own, Texts.of(own))
        carried.order = carried.order_above = order_of(own)
        terms = [mark for mark in units(own, Texts.of(own)) if mark.kind == "term" and not setting.title]
        goes_on = segment.column and segment.line - carried.line == 1
        above = carried.topic if goes_on else []  # 'ROM | R | L' and under it 'MCP index | 0-85 | 0-90'
        carried.topic, carried.topic_line = terms or above, -1
        carried.line = segment.line
        carried.headed = carried.bare = named is not None and not segment.column
        if setting.status != CURRENT and any(mark.kind in _MENTIONS for mark in own):
            cover.add(segment.start, segment.end, "not_current", _WHY.get(setting.status, setting.status))

    def _sentence(
        self, text: str, segment: Segment, own: list[Mark], setting: Setting, carried: Carried, result: Result,
        cover: Cover,
    ) -> None:  # fmt: skip
        self._cover_other(segment, own, setting, cover)
        current = setting.of_today(own)
        if not current:
            return
        current, texts = self._named_so_far(current, Texts.of(current), carried)
        own_sides = sides_of(texts)
        around = carried.doubted(self._around(segment, setting, current, texts, carried, own_sides), texts)
        current = faces_of_part(of_that_side_throughout(current, texts, carried, around, segment.label), carried.base)
        current = units(current, texts.now(current), (*carried.topic, *carried.spoken))
        if current and (lines := segment.line - carried.said_line) <= 1:
            phrases = self._vocabulary.phrases
            current = of_joint_before(current, texts.now(current), result.findings, phrases, goes_on=not lines)
        if carried.topic and segment.label <= segment.start:
            above = carried.topic_of(segment.line, current, texts.now(current))
            current = under_reflexes(current, above, self._vocabulary.phrases)
        used: set[int] = set()
        of_it = is_it_elsewhere(texts, carried)
        if not of_it and self._stages.read(
            text, segment, current, texts.now(current), setting, around, result, cover, used
        ):  # fmt: skip
            cover.leftovers(current, texts.now(current), used)
            return
        current = self._named_before(text, segment, current, carried)
        texts = texts.now(current)
        if (whole := said_of_another(current, texts, carried.told, self._catalogue)) is not None:
            current = whole
            texts = texts.now(current)
        left_out = carried.spoken if whole is not None else taken_over(text, segment, current, texts, carried)
        has_term = "term" in texts.kinds or not texts.isdisjoint(OF_WHAT)
        above = carried.topic_of(segment.line, current, texts)
        above = without_last(text, segment, carried, above, left_out)
        bare = [] if of_it or has_term else implied(current, setting.label, self._vocabulary, bare=carried.bare)
        topic = [] if has_term else above or bare
        left_out = [] if topic or has_term else left_out
        topic = carried.spoken if whole is not None else topic or left_out
        labelled = setting.label_known and segment.label > segment.start
        carried.order = order_of(own) or (carried.order_above if labelled else carried.order)
        found, here = self._scope.read(current, texts, topic, carried.order)
        if topic and topic is above and any(mark.kind == "word" for mark in current):
            for each in found:
                each.looks.append("the heading may not be what this is said of")
        if left_out and ";" not in text[carried.spoken_end - 1 : segment.start]:
            for each in found:
                each.looks.append("what it is of stands in the sentence before")
        again = (carried.said or carried.spoken, topic)
        before = carried.said if not own_sides and segment.line == carried.said_line else []
        carried.said, carried.said_line = self._said(current, found, before), segment.line
        carried.told = next((each for each in reversed(found) if each.used and not each.opinion), None)
        carried.spoken, carried.spoken_end = self._spoken(carried.told, found), segment.end
        self._take_all(found, segment, around, result, cover, used)
        cover.leftovers(current, texts, used, segment.label if setting.label_known else segment.start)
        if not setting.elsewhere and not segment.side:
            goes_on = not has_term and text[: segment.start].rstrip(" ").endswith(";")
            told = own_sides or (set(carried.order) if carried.order else set())  # 'R/L: flexion 60/70'
            self._carry_on(segment, current, texts, carried, here, told, again=again, goes_on=goes_on)
        carried.ends(current, texts, segment.line)

    def _named_so_far(self, current: list[Mark], texts: Texts, carried: Carried) -> tuple[list[Mark], Texts]:
        """The marks of a sentence with 'the other digits' and 'that side' as those that the note has named so far."""
        current = both_parts(versus(current, texts), texts, self._catalogue)
        current = reached_next(next_side(current, texts), texts, self._vocabulary.phrases)
        current = on_sides_before(parted_by_dashes(current, texts, self._catalogue), texts, carried.in_turn)
        current = by_those_named(current, texts, carried.digits)
        texts = texts.now(current)
        carried.digits |= digits_named(texts.placed)
        current = on_that_side(more_on_one(current, texts), texts, carried.side_named)
        texts = texts.now(current)
        carried.side_named = last_side(current, texts, carried.side_named)
        return current, texts

    def _carry_on(
        self, segment: Segment, current: list[Mark], texts: Texts, carried: Carried, here: Places | None,
        sides: set[str], *, again: tuple[Sequence[Mark], Sequence[Mark]], goes_on: bool,
    ) -> None:  # fmt: skip
        """Takes note of what the next sentence takes from this one; `again`, `goes_on`: see `spoken_next`."""
        labelled = segment.label > segment.start
        label = [mark for mark in current if mark.end <= segment.label] if labelled else []
        headed = places_of(label, self._catalogue) if label else None
        behind = carried.here or carried.base
        compared = only_compares(here, behind, current, texts, sides, again=again, goes_on=goes_on)
        here = spoken_of_next(self._to_carry(here, current, texts, sides), behind, current, texts, goes_on=goes_on)
        carried.after(segment.line, label, here, headed)
        if compared and (headed is None or not headed.side):
            carried.after_comparison(compared)
        if not any([mark.kind == "term" for mark in label]):  # noqa: C419 - 'Tenderness: over the TFCC' heads nothing
            told = [mark for mark in current if mark.start >= segment.label] if labelled else current
            self._place_alone(told, texts.now(told), carried)

    @staticmethod
    def _around(
        segment: Segment, setting: Setting, current: Sequence[Mark], texts: Texts, carried: Carried, sides: set[str]
    ) -> Places | None:  # fmt: skip
        """The place that a sentence takes for granted, without a side or part that cannot be meant."""
        carried.turns([mark for mark in current if mark.end <= segment.label])
        around = carried.around(segment, setting, texts)
        if around is None:
            return None
        if around is carried.here and is_of_the_rest(current, texts):
            return carried.base  # 'The left index is numb. Sensation elsewhere is normal.'
        if current[0].text in words().sets["the_others"] and around is carried.here:
            return carried.base if around.has_site else unsided(around)  # 'The left biceps jerk is absent. Others 2+.'
        if around is carried.here and is_of_all(current, texts):
            return Places((Place(around.side),), around.look, around.elsewhere)  # 'index 8 mm; L all 5 mm'
        if around is carried.here and around is not carried.base and is_screened(texts):
            return Places((Place(around.side),), around.look, around.elsewhere)
        if not segment.side and len(sides) == 1 and around.side in {"left", "right"} - sides:
            first = next((at for at, mark in enumerate(current) if mark.kind == "side"), 0)
            if is_set_beside(current, first):
                return around  # 'pinch 7.5 kg, right 8 kg': the first is of the side spoken of
            return of_other_side(around)  # 'Left thumb swollen. Rub at the right wrist.': not the left's
        return around

    def _to_carry(
        self, here: Places | None, current: Sequence[Mark], texts: Texts, sides: set[str]
    ) -> Places | None:  # fmt: skip
        """The place that a sentence named last, without a side that the next sentence cannot take from it."""
        if here is None:
            return None
        of_arm = is_of_digits(here) and tells_muscles(texts, self._catalogue.items)
        if here.has_site and (of_arm or reaches(current, texts)):
            return Places((Place(here.side),), here.look) if here.side else None
        if here.elsewhere and not texts.isdisjoint(self._words.legs):
            return Places((), here.look, elsewhere=True)  # '4/5 in the left leg. Grip is strong.'
        if here.elsewhere and denies_elsewhere(texts):
            return None  # 'A burn of the right forearm. No facial burns. The fingers are warm.'
        here = limb_elsewhere(here, current, texts)
        if not texts.sides and not any([side_of(mark) for mark in texts.placed]):  # noqa: C419 - quicker
            return unsided(here) if sides >= OPPOSITE.keys() and here.side in OPPOSITE else here
        if is_only_beside(current, texts):
            return None  # 'Absent on the right; on the left it was normal. Sensation ...': of the right again
        if (compared := said_beside(current, texts)) and here.side == compared:
            main = {side for mark in current if (side := side_of(mark)) in OPPOSITE} - {compared}
            return Places((Place(main.pop()),), here.look) if main else None
        if here.side not in {"left", "right"}:
            return here
        both = "both" in texts and any(
            mark.kind == "side"
            and mark.text == "both"
            and (mark.word != "both" or after is None or after.kind == "piece")
            for _, mark, after in beside(current)
        )  # and no 'both flexor tendons of the left ring finger'
        if both or sides >= {"left", "right"} or names_other(current, texts):
            return unsided(here)  # 'positive on the left and negative on the right': neither is spoken of next
        return here

    def _named_before(
        self, text: str, segment: Segment, current: list[Mark], carried: Carried
    ) -> list[Mark]:  # fmt: skip
        """'...; on the left all three are negative': the marks with what was named in the sentence before."""
        if not carried.said:
            return current
        labelled = segment.label > segment.start
        label = {mark.kind for mark in current if mark.start < segment.label} if labelled else set()
        if label and ("side" not in label or not label <= _PLACED):  # 'Left hand: both negative'
            return current
        if text[carried.spoken_end : segment.start].strip(" ;."):
            return current
        made = named(current, carried.said, self._catalogue)
        return made or named_by_figures(current, carried.said, self._catalogue) or current

    def _said(self, current: Sequence[Mark], found: Sequence[Predication], before: Sequence[Mark]) -> list[Mark]:
        """The marks of a sentence with its terms as they were read, behind those `before` that are of the same side."""
        told = [each for each in found if each.used and not (each.opinion or each.unexamined)]
        terms = [term for each in told for term in self._spoken(each, ())]
        return [*before, *[mark for mark in current if mark.kind != "term"], *terms] if terms else []

    def _spoken(self, told: Predication | None, found: Sequence[Predication]) -> list[Mark]:
        """The terms of a sentence with what they were called there: 'biceps reflexes' are no power of the biceps."""
        if told is None:
            return []
        if is_of_both_ends(found):
            term = self._vocabulary.phrases["strength"].term
            return [Mark("term", 0, 0, term=term, text="strength", hints=("power",))]
        if not told.hints:
            return list(told.terms)
        return [replace(mark, hints=tuple({*mark.hints, *told.hints})) for mark in told.terms]

    def _place_alone(self, current: Sequence[Mark], texts: Texts, carried: Carried) -> None:
        """'O/E: right hand.' heads what follows as a heading does."""
        carried.bare = False
        if "say" not in texts.kinds and not texts.kinds.isdisjoint(_TELLING):
            return
        said = [mark for mark in current if mark.kind == "say" and "examined" in mark.says]
        if any(
            mark.kind in _TELLING and not any(each.start <= mark.start < each.end for each in said) for mark in current
        ):  # 'the hand was examined' says no more than where
            return
        named = places_of(without_service(current), self._catalogue)
        if named is not None:
            carried.base = carried.here = named
            carried.headed = carried.bare = True
            if named.side in OPPOSITE:
                carried.order = carried.order_above = None  # 'Power R/L', and further down 'LEFT HAND'

    def _take_all(
        self, found: Sequence[Predication], segment: Segment, around: Places | None, result: Result, cover: Cover,
        used: set[int],
    ) -> None:  # fmt: skip
        """Makes findings of all predications of a sentence; what is told as an exception is taken out of the others."""
        for predication in found:
            if predication.twin is not None:
                places = [each for each in predication.tail if isinstance(each, Places)]
                predication.twin.twin_places = places[0] if places else predication.places
        first = len(result.findings)
        for predication in found:
            start = len(result.findings)
            self._take(predication, segment, around, result, cover, used)
            if predication.excepted:
                own, others = result.findings[start:], result.findings[first:start]
                result.findings[first:start] = [kept for each in others for kept in without(each, own)]
        if len(result.findings) - first > 1:
            result.findings[first:] = narrowed(result.findings[first:])

    def _take(
        self, predication: Predication, segment: Segment, around: Places | None, result: Result, cover: Cover,
        used: set[int],
    ) -> None:  # fmt: skip
        """Makes findings of one predication, and says what became of its words."""
        spoken = [mark for mark in predication.used if segment.start <= mark.start < segment.end]
        if predication.opinion:
            for mark in predication.terms:
                cover.add(mark.start, mark.end, "not_current", "an opinion")
            used.update(map(id, predication.used))
        elif spoken:
            predication.used = spoken
            if predication.unplaced and around is not None:
                around = Places((Place(around.side),), around.look, around.elsewhere)
            made = self._assembler.make(predication, around)
            result.findings += beside_borrowed(made.findings, result.findings)
            result.not_examined += made.not_examined
            told = [
                mark for mark in spoken
                if mark.amount is None or is_told(mark.amount, made.findings, self._catalogue)
            ]  # fmt: skip
            if made.silent:
                told = [mark for mark in told if mark not in made.silent]
            if made.elsewhere or made.findings or made.not_examined:
                used.update(map(id, told))
            if made.findings or made.not_examined:
                for mark in told:
                    cover.add(mark.start, mark.end, "read")

    def _cover_other(self, segment: Segment, own: Sequence[Mark], setting: Setting, cover: Cover) -> None:
        """Keeps what is not of today apart, stretch by stretch."""
        stretches = setting.ranges or (
            [(segment.start, segment.end, setting.status)] if setting.status != CURRENT else []
        )
        if setting.status != CURRENT and setting.ranges:
            stretches = [*stretches, (segment.start, segment.end, setting.status)]
        for start, end, status in stretches:
            if status != CURRENT and any(mark.kind in _MENTIONS and start <= mark.start < end for mark in own):
                cover.add(start, end, "not_current", _WHY.get(status, status))


@cache
def note_reader(language: str) -> NoteReader:
    """The reader of one language, made once a process. Raises `InvalidInput` for a language that is not known."""
    if language not in LANGUAGES:
        allowed = ", ".join(LANGUAGES)
        raise InvalidInput((Problem("language", f"{language!r} is not known; allowed: {allowed}"),))
    return NoteReader(language)


def read(text: str, *, language: str = "en-GB") -> Reading:
    """The findings of a pasted note, with where they stand, how sure they are, and what was left unread.

    `language` is `en-GB` or `en-US`; it settles usage such as 'LF'. Raises `InvalidInput` for another language. Nothing
    is guessed: what has no safe reading stands in `Reading.unread`.
    """
    return note_reader(language).read(text)
