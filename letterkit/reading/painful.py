"""Movements and tests that hurt, told after their name: 'wrist extension is painful', 'full movement without pain'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.parting import PARTS, said_at
from letterkit.reading.phrases import NOT_THERE, POSITIVE, Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACED = frozenset({"filler", "side", "piece"})
_BETWEEN = frozenset({"filler", "side", "piece", "certain", "severity", "value", "state"})
_TOLD = frozenset({"state", "value"})
_MAY_HURT = frozenset({"term", "state"})
_PAIN = frozenset({"pain", "discomfort", "soreness", "hurts", "painful"})
_UNEASE = frozenset({"discomfort", "soreness"})
_LITTLE = frozenset({"severity", "filler", "certain"})
_PAINED = frozenset({"pain on", "painful", "hurts"})
_WAS = frozenset({"is", "was"})
_AT = frozenset({"at", "in"})
_FAR = 8  # marks between a movement and the word that it hurts
_SEVERAL = "pain on movement"


def _is_free(mark: Mark) -> bool:
    """'Pain free': a finding of its own of a joint, and of a movement or a test how it went."""
    return (
        mark.kind == "term" and mark.term is not None and mark.term.items == ("pain",) and mark.term.state == "absent"
    )


def _hurts(mark: Mark) -> bool:
    if mark.kind == "term":
        return mark.text in {"painful", "hurts"} or _is_free(mark)
    return _is_painless(mark) or (mark.kind == "state" and mark.state is not None and "painful" in mark.state.classes)


def _is_painless(mark: Mark) -> bool:
    """'Painless' as the word of the note, or as the result of what was done."""
    return mark.kind == "state" and mark.state is not None and "painless" in (mark.text, *mark.state.classes)


def _spares(mark: Mark) -> bool:
    """Whether the word says that it did not hurt."""
    return _is_free(mark) or _is_painless(mark)


def _turned(marks: Sequence[Mark]) -> list[Mark]:
    """'Movements were painful and restricted' as 'restricted and painful': the result of the movement stands first."""
    made = [mark for index, mark in enumerate(marks) if not (mark.kind == "word" and _parts(marks, index))]
    for index in range(len(made) - 2):
        first, joiner, second = made[index : index + 3]
        result = second.kind == "state" and second.state is not None and "reduced" in second.state.classes
        if _hurts(first) and joiner.kind == "joiner" and joiner.text == "and" and result:
            made[index : index + 3] = [second, joiner, first]
    return made


def _of_which(marks: Sequence[Mark]) -> list[Mark]:
    """'She resists supination, which is painful' as 'supination is painful'."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = marks[index + 1 : index + 4]
        told = next((each for each in after if each.kind not in _BETWEEN - _TOLD), None)
        if mark.text == "which" and told is not None and after[0].text in _WAS and _hurts(told):
            if made and made[-1].kind in PARTS:
                made.pop()
        else:
            made.append(mark)
    return made


def _held(marks: Sequence[Mark]) -> list[Mark]:
    """'Valgus stress at 30 degrees of flexion was painful': how the joint was held, and no movement that hurts."""
    made = list(marks)
    for index in range(3, len(marks)):
        lead, value, of, term = marks[index - 3 : index + 1]
        ahead = marks[index + 1] if index + 1 < len(marks) else None
        told = lead.text in _AT and value.kind == "value" and of.text == "of" and term.kind == "term"
        before = any(mark.kind in {"term", "word"} for mark in marks[: index - 3])
        if told and before and ahead is not None and ahead.text in _WAS:
            made[index - 2] = replace(value, kind="certain", amount=None)
            made[index] = replace(term, kind="certain", term=None)
    return made


def _on_the_other_side(marks: list[Mark]) -> list[Mark]:
    """'Supination was painful on the left and painless on the right': behind a side, that this pain is not there."""
    pained = next((at for at, mark in enumerate(marks) if mark.text in _PAINED and mark.kind == "term"), len(marks))
    for at in range(pained + 1, len(marks)):
        mark = marks[at]
        spares = _is_free(mark) or (mark.kind == "state" and mark.text == "painless")
        if spares and any(each.kind == "side" for each in marks[pained:at]) and marks[pained - 1].kind != "negator":
            again = any(each.kind == "term" for each in marks[pained + 2 : at])
            marks[at] = mark if again else replace(mark, kind="state", term=None, state=NOT_THERE, text="painless")
    return marks


def _parts(marks: Sequence[Mark], index: int) -> bool:
    """'painful and terminally restricted': a word between the 'and' and the result."""
    before = marks[max(0, index - 2) : index]
    after = marks[index + 1 : index + 2]
    joined = len(before) == 2 and _hurts(before[0]) and before[1].text == "and"  # noqa: PLR2004 - the pain and the 'and'
    return joined and bool(after) and after[0].kind == "state"


class PainReading:
    """Gives a pain told after its movement the place before it, where 'pain on' stands."""

    def __init__(self, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> None:
        self._catalogue = catalogue
        self._phrases = phrases

    def read(self, marks: list[Mark], texts: Texts) -> list[Mark]:
        """The marks with every such pain as a finding of its own, or as the result of its test."""
        marks = self._sore(marks, texts.now(marks))
        texts = texts.now(marks)
        if not texts.isdisjoint(_UNEASE) and "with" in texts:
            marks = self._with_discomfort(marks)
        pain = not texts.isdisjoint(_PAIN) or any([_is_free(mark) for mark in texts.terms])  # noqa: C419 - quicker
        pain = pain or ("state" in texts.kinds and any([mark.kind == "state" and _hurts(mark) for mark in marks]))  # noqa: C419
        if pain:
            marks = self._elided(_of_which(marks) if "which" in texts else marks)
        if not texts.isdisjoint(words().sets["because_of_pain"]):
            marks, pain = self._limited(marks), True
        if not texts.isdisjoint(words().sets["full_and_free"]):
            marks = self._parted(marks)
        elif not pain:
            return marks
        if not any([mark.kind in _MAY_HURT and _hurts(mark) for mark in marks]):  # noqa: C419 - quicker
            return marks
        made: list[Mark] = []
        marks = _held(_turned(marks))
        for index, mark in enumerate(marks):
            if _spares(mark) and len(made) > 1 and made[-1].text == "and" and made[-2].kind == "state":
                if mark.text == "painless":
                    made.append(mark)  # 'full and painless': nothing that limits it
                    continue
                made.pop()  # 'full and pain free'
            at = self._subject(made, marks[index + 1 : index + 2]) if _hurts(mark) else None
            if at is None:
                made += self._before_noun(mark, marks[index + 1 : index + 2])
            elif self._value(made[at]) is ValueKind.TEST:
                made.append(self._tested(made, mark))
            else:
                self._told(made, at, mark)
        return _on_the_other_side(made)

    def _sore(self, marks: list[Mark], texts: Texts) -> list[Mark]:
        """'Resisted wrist flexion sore', 'grip is sore': what hurts as it is done, and no joint that is tender."""
        if "sore" not in texts:
            return marks
        made = list(marks)
        for at, mark in enumerate(marks):
            if mark.text != "sore" or mark.kind != "term" or not at:
                continue
            done = at - 1 - (marks[at - 1].text in _WAS)
            ends = at + 1 == len(marks) or marks[at + 1].kind not in {"piece", "side", "term", "filler"}
            tested = self._value(marks[done]) is ValueKind.TEST and marks[done].text.startswith("resisted")
            resisted = done > 0 and marks[done - 1].text == "resisted"
            if ends and (tested or resisted):
                made[at] = replace(mark, term=self._phrases["painful"].term, text="painful")
        return made

    def _elided(self, marks: Sequence[Mark]) -> list[Mark]:
        """'Flexion is painful, extension is not', '... is not painful, supination is': what is left out is the pain."""
        made: list[Mark] = []
        for index, mark in enumerate(marks):
            made.append(mark)
            ends = index + 1 == len(marks) or marks[index + 1].kind in PARTS
            if not ends or not (mark.kind == "negator" or mark.text in words().sets["stands_for_hurts"]):
                continue
            at = next((each for each in range(index - 1, 0, -1) if marks[each].kind in PARTS), 0)
            moved = [each for each in marks[at:index] if each.kind == "term"]
            pained = any(_hurts(each) or each.text in _PAIN for each in marks[:at])
            denied = any(_spares(each) or each.kind == "negator" for each in marks[:at])
            if pained and denied != (mark.kind == "negator") and len(moved) == 1 and self._is_movement(moved[0]):
                made.append(Mark("state", mark.end, mark.end, state=self._phrases["hurts"].state, text="hurts"))
        return made

    def _limited(self, marks: Sequence[Mark]) -> list[Mark]:
        """'Extension is limited by pain on the left' as 'limited on the left with pain on it'."""
        made: list[Mark] = []
        moved: int | None = None
        for index, mark in enumerate(marks):
            if mark.kind in PARTS and moved is not None:
                if not any(each.kind in {"value", "side"} for each in marks[index + 1 : index + 2]):
                    made += self._with_pain(marks[max(0, moved - 2) : index], _SEVERAL)  # of no movement that follows
                moved = None  # and '40 on the left, limited by pain, 70 on the right' is read as a pair
            made.append(mark)
            if mark.text in words().sets["because_of_pain"]:
                moved = self._limits(marks, index)
        return made if moved is None else made + self._with_pain(marks[max(0, moved - 2) :], "pain on", marks[moved])

    def _with_pain(self, marks: Sequence[Mark], name: str, moved: Mark | None = None) -> list[Mark]:
        """'With pain on it', of the side that the movement is of."""
        start, end = next((mark.start, mark.end) for mark in marks if mark.text in words().sets["because_of_pain"])
        made = [
            Mark("joiner", start, start, text="with"),
            Mark("term", start, end, term=self._phrases[name].term, text=name),
        ]
        sides = [mark for mark in marks if mark.kind == "side"]
        return [*made, *(replace(each, start=end, end=end) for each in ([moved] if moved else []) + sides[-1:])]

    def _limits(self, marks: Sequence[Mark], index: int) -> int | None:
        """Where the movement stands that pain keeps short; None where there is none or it is denied."""
        result = marks[index].kind == "state"
        passed = _BETWEEN | {"joiner", "word"} if result else _BETWEEN | {"word"}
        for at in range(index - 1, max(-1, index - 2 * _FAR), -1):
            mark = marks[at]
            if any(self._moves(slug) for slug in items_of(mark)) and mark.term is not None and not mark.term.pain:
                return at if result or self._is_less(marks[max(0, at - 2) : at]) else None
            result = result or mark.kind == "value" or (mark.state is not None and "reduced" in mark.state.classes)
            if mark.kind not in passed:
                return None
        return None

    @staticmethod
    def _is_less(before: Sequence[Mark]) -> bool:
        """'Reduced range of motion because of pain': what is told before the movement, and not denied."""
        result = before[-1].state if before and before[-1].kind == "state" else None
        return result is not None and "reduced" in result.classes and before[0].kind != "negator"

    def _with_discomfort(self, marks: Sequence[Mark]) -> list[Mark]:
        """'Full range of motion of the thumb with some discomfort': felt as it moves."""
        made = list(marks)
        for index, mark in enumerate(marks):
            lead = next((at for at in range(index - 1, -1, -1) if marks[at].kind not in _LITTLE), 0)
            led = mark.kind == "word" and mark.text in _UNEASE and marks[lead].text == "with"
            moved = next((each for each in reversed(marks[:lead]) if each.kind == "term"), None)
            plain = not any(each.kind in {"break", "negator", *PARTS} for each in marks[:lead])
            if led and plain and moved is not None and self._is_movement(moved) and index + 1 == len(marks):
                made[index] = Mark("term", mark.start, mark.end, term=self._phrases[_SEVERAL].term, text=_SEVERAL)
        return made

    def _is_movement(self, mark: Mark) -> bool:
        return any(self._moves(slug) for slug in (mark.term.items[:1] if mark.term is not None else ()))

    def _parted(self, marks: Sequence[Mark]) -> list[Mark]:
        """'Supination full and pain free': two results of the movement before, and else a range and its pain.

        'Elbow ROM full and pain free on the left': the place behind the two is that of both.
        """
        made: list[Mark] = []
        for index, mark in enumerate(marks):
            before = next((each for each in reversed(made) if each.kind not in _BETWEEN), None)
            items = before.term.items if before is not None and before.term is not None else ()
            if mark.text in words().sets["full_and_free"] and items and self._moves(items[0]):
                behind = takewhile(lambda each: each.kind in _PLACED, marks[index + 1 :])
                if where := [each for each in behind if each.kind != "filler"]:
                    named = max(at for at, each in enumerate(made) if each.kind in {"term", "piece"})
                    made[named + 1 : named + 1] = said_at(where, made[named].end)
                made.append(Mark("state", mark.start, mark.start, state=self._phrases["full"].state, text="full"))
                if self._catalogue.items[items[0]].stage is not Stage.MOVEMENT:
                    continue  # a neck that moves freely: its pain is not recorded
                term = self._phrases["pain free"].term
                mark = Mark("term", mark.start, mark.end, term=term, text="pain free")  # noqa: PLW2901
            made.append(mark)
        return made

    def _moves(self, slug: str) -> bool:
        item = self._catalogue.items[slug]
        return item.stage is Stage.MOVEMENT or item.scale == "full_reduced"  # of the neck too

    def _tested(self, made: list[Mark], mark: Mark) -> Mark:
        """'Finkelstein's was painful', '... did not hurt', '... was pain free': the last two only of tests of pain."""
        denied = made[-1].kind == "negator" and mark.text in {"hurts", "hurt"}
        if denied:
            made.pop()  # 'does not hurt'
        if not (denied or _spares(mark)):
            return Mark("state", mark.start, mark.end, state=POSITIVE, text="positive")
        state = self._phrases["does not bother her"].state
        return Mark("state", mark.start, mark.end, state=state, text="painless")

    def _before_noun(self, mark: Mark, ahead: Sequence[Mark]) -> list[Mark]:
        """'A pain-free arc of motion': no pain on it; 'a pain-free grip of 20 kg': not of the pain at rest."""
        if _spares(mark) and mark.kind == "state" and not mark.text.startswith("without"):
            if ahead and self._is_movement(ahead[0]) and mark.state is not None and not mark.state.classes:
                pain = Mark("term", mark.start, mark.end, term=self._phrases["pain on"].term, text="pain on")
                return [Mark("negator", mark.start, mark.start, text="without"), pain]  # 'painless flexion'
            if mark.text == "painless":
                return [mark]  # of what comes before it, or of a lump
            return [replace(mark, kind="certain", state=None)]  # 'a non-painful nodule'
        if not (_is_free(mark) and ahead and ahead[0].kind == "term" and ahead[0].term is not None):
            return [mark]
        slug = ahead[0].term.items[0] if ahead[0].term.items else None
        if slug is None or not self._moves(slug) or ahead[0].term.pain or self._value(ahead[0]) is ValueKind.MRC:
            return [Mark("word", mark.start, mark.end, text=mark.text)]
        pain = Mark("term", mark.start, mark.end, term=self._phrases["pain on"].term, text="pain on")
        return [Mark("negator", mark.start, mark.start, text="without"), pain]

    def _value(self, mark: Mark) -> ValueKind | None:
        items = mark.term.items if mark.term else ()
        return self._catalogue.items[items[0]].value if items else None

    def _subject(self, made: Sequence[Mark], ahead: Sequence[Mark]) -> int | None:
        """Where the movement or test stands that the pain is told of; None for a pain of its own."""
        if ahead and ahead[0].kind == "term":
            return None
        other_side = False  # 'was painless on the right and painful on the left'
        for at in range(len(made) - 1, max(-1, len(made) - _FAR), -1):
            mark = made[at]
            if other_side and mark.kind in {"state", "maybe"}:
                continue
            if mark.kind == "joiner" and at and made[at - 1].kind == "side":
                if any(each.kind == "piece" for each in made[at + 1 :]):
                    return None  # 'Phalen's negative left, right wrist painful'
                other_side = True
                continue
            if at + 1 == len(made) and mark.kind in PARTS and made[at - 1].kind in _TOLD:
                continue  # 'full but painful', 'reduced, painful'
            if mark.kind == "term" and mark.term is not None and mark.term.items:
                items = [self._catalogue.items[slug] for slug in mark.term.items]
                if other_side:
                    return at if items[0].value is ValueKind.TEST else None
                moves = any(item.stage.value == "movement" for item in items) and not mark.term.pain
                moves = moves and mark.term.items[0] != "pain_on_resisted_movement"  # it has a word for painless
                resisted = bool(at) and made[at - 1].text == "resisted" and not mark.term.pain
                if resisted and ((moves and items[0].name != _SEVERAL) or items[0].value is ValueKind.MRC):
                    return at - 1
                return at if (moves and items[0].name != _SEVERAL) or items[0].value is ValueKind.TEST else None
            if mark.kind not in _BETWEEN and not (mark.kind == "negator" and at == len(made) - 1):
                return None
        return None

    def _told(self, made: list[Mark], at: int, mark: Mark) -> None:
        """Puts the pain before its movement, or after it where the movement has a result of its own."""
        negator = made.pop() if made[-1].kind == "negator" else None
        if _spares(mark):
            negator = Mark("negator", mark.start, mark.start, text="without")
        before = made[at - 1] if at else None
        own = [negator] if negator is not None else []
        term = made[at].term
        if (before is not None and before.kind in {"state", "value"}) or (term is not None and term.state):
            term = self._phrases[_SEVERAL].term
            joiner = Mark("joiner", mark.start, mark.start, text="with")
            made += [joiner, *own, Mark("term", mark.start, mark.end, term=term, text=_SEVERAL)]
            return
        if made[at].text == "resisted" and self._value(made[at + 1]) is ValueKind.MRC:
            name = "pain on resisted"  # and what was resisted is a movement whose power is not told of
            pain = Mark("term", mark.start, mark.end, term=self._phrases[name].term, text=name)
            moved = made[at + 1]
            made[at : at + 2] = [*own, pain, Mark("word", moved.start, moved.end, text=moved.text)]
            return
        at = self._first_of(made, at)
        pain = Mark("term", mark.start, mark.end, term=self._phrases["pain on"].term, text="pain on")
        if any(
            each.kind in {"state", "value"} for each in made[at + 1 :]
        ):  # 'supination limited to 30 degrees with pain'
            joiner = Mark("joiner", mark.start, mark.start, text="with")
            again = replace(made[at], start=mark.end, end=mark.end)
            made += [joiner, *own, pain, again]
            return
        made[at:at] = [*own, pain]

    def _first_of(self, made: Sequence[Mark], at: int) -> int:
        """'Pronation and supination are painful': where the first movement of the list stands."""
        while at > 1 and made[at - 1].text in {"and", "comma", "slash"} and self._is_movement(made[at - 2]):
            led = made[at - 3] if at > 2 else None  # noqa: PLR2004 - a movement before the joiner, and what led it
            pained = led is not None and led.term is not None and led.term.pain
            if pained or (led is not None and led.kind in _TOLD):
                break
            at -= 2
        return at
