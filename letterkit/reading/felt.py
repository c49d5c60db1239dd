"""What sensation is tested with: 'absent to temperature', 'decreased to pinprick and normal to light touch'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import takewhile

from letterkit.catalogue import Catalogue
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.predication import Predication
from letterkit.reading.reach import ReachReading
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_TO_TOUCH = frozenset({"to light touch", "to touch"})
_TO_BOTH = frozenset({"to light touch and pinprick", "to light touch and pin-prick", "to touch and pinprick"})
_TO_WHAT = _TO_TOUCH | _TO_BOTH
_WARM = frozenset({"temperature", "temp"})
_SENSED = frozenset({"sens", "sensation", "sensory"})
_SENSES = 2
_SECOND = frozenset({"normal", "reduced"})  # what paraesthesia may be is "absent"
_WHERE = frozenset({"piece", "side", "filler", "joiner"})
_NOTHING = Mark("filler", 0, 0)


def senses_apart(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, which has these texts, in which each sense has its own result."""
    if not texts.isdisjoint(words().lists["except"]):
        marks = _all_but_one(marks, catalogue, phrases)
    if "state" in texts.kinds:
        marks = _result_apart(marks, catalogue)
    if not texts.isdisjoint(_SENSED):
        marks = _sense_named(marks, catalogue)
    if "to" in texts or not texts.isdisjoint(_TO_WHAT):
        spelt = _to_each(marks, catalogue, phrases)
        made = _each_sense(spelt, catalogue, phrases)
        return marks if made is spelt else made
    return marks


def _result_apart(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Numb thumb and index, normal little', 'no numbness of the thumb, reduced in the little finger'.

    A word that says both the sense and a result would be told the second result only, and what is numb would be lost.
    """
    for at, mark in enumerate(marks):
        if mark.kind != "term" or mark.term is None or not mark.term.state or not _is_sense(mark, catalogue):
            continue
        denials = [index for index, each in enumerate(marks[:at]) if each.kind == "negator"]
        behind = list(takewhile(lambda each: each.kind in _WHERE, marks[at + 1 :]))
        second = marks[at + 1 + len(behind)] if at + 1 + len(behind) < len(marks) else _NOTHING
        placed = bool(behind) and behind[-1].kind == "joiner" and any(each.kind == "piece" for each in behind)
        own = takewhile(lambda each: each.kind in _WHERE, marks[at + 2 + len(behind) :])
        told = second.state is not None and second.kind == "state" and _SECOND.intersection(second.state.classes)
        if denials not in ([], [at - 1]) or not placed or not told or not any(each.kind == "piece" for each in own):
            continue
        name = "normal" if denials else mark.term.state
        state = Mark("state", mark.end, mark.end, state=StateWord((name,), {"sensation": name}), text=name)
        sense = replace(mark, term=replace(mark.term, state="", adjective=False), state=None)
        return [*marks[: at - len(denials)], sense, state, *marks[at + 1 :]]
    return marks


def _all_but_one(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Sensation is intact except to vibration in the left hand': that sense is not, and its result is no 'intact'."""
    at = next((index for index, mark in enumerate(marks) if mark.kind == "except"), 0)
    normal = any(mark.state is not None and "normal" in mark.state.classes for mark in marks[:at])
    sense = at + 1
    while sense < len(marks) and marks[sense].kind == "filler":
        sense += 1
    if not at or not normal or sense >= len(marks) or not _is_pin(marks[sense], catalogue):
        return marks
    own = any(mark.kind in {"state", "value"} for mark in marks[sense + 1 : sense + 4])
    if own or any(mark.kind in {"joiner", "break"} for mark in marks[sense + 1 :]):
        return marks
    term, end = marks[sense], marks[sense].end
    told = Mark("state", end, end, state=phrases["reduced"].state, text="reduced")
    but = Mark("break", marks[at].start, marks[at].end, text="but")
    return [*marks[:at], but, replace(term, look="an exception is read as reduced"), told, *marks[sense + 1 :]]


def _to_each(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Intact to LT and temp, reduced to pin': each sense as a term of its own, where short forms name several."""
    made: list[Mark] = []
    listed = False
    for mark in marks:
        if mark.text in _TO_BOTH and mark.kind == "filler":
            made += [replace(mark, end=mark.start, text="to"), _named("light touch", mark, phrases)]
            made += [Mark("joiner", mark.end, mark.end, text="and"), _named("pinprick", mark, phrases)]
        elif mark.term is not None and mark.term.state and mark.text.endswith((" to lt", " to light touch")):
            state = phrases[mark.text.split()[0]].state if mark.text.split()[0] in phrases else None
            if state is None or not state.classes:
                return marks
            told = Mark("state", mark.start, mark.start, state=state, text=mark.text.split()[0])
            made += [told, Mark("filler", mark.start, mark.start, text="to"), _named("light touch", mark, phrases)]
        elif listed and mark.text == "pain" and made[-1].kind in {"filler", "joiner"}:
            made.append(_named("pinprick", mark, phrases))
        elif listed and mark.text in _WARM:
            made.append(_named("temperature sensation", mark, phrases))
        else:
            made.append(mark)
        last = made[-1]
        listed = last.text == "to" or last.text in _TO_TOUCH or (listed and last.kind == "joiner")
        listed = listed or _is_sense(last, catalogue)
    return made if len([mark for mark in made if _is_sense(mark, catalogue)]) > 1 else marks


def _named(name: str, mark: Mark, phrases: Mapping[str, Entry]) -> Mark:
    return Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)


def _sense_named(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Sens dec PP R hand', 'sensation to vibration': what was felt is named behind, and the first word heads it."""
    made = list(marks)
    for index, mark in enumerate(marks[:-2]):
        result, sense = marks[index + 1 : index + 3]
        if mark.text in _SENSED and mark.kind == "term" and sense.kind == "state" and _is_pin(result, catalogue):
            made[index] = replace(mark, kind="hint", term=None, hints=(), text="")  # 'sens PP dec R D1-3'
        if mark.kind != "term" or mark.term is None or mark.term.state or not _is_sense(sense, catalogue):
            continue
        listed = index + 3 < len(marks) and marks[index + 3].kind == "joiner"
        another = "light_touch" in mark.term.items and "light_touch" not in items_of(sense)
        to_what = result.text == "to" and another and not listed
        told = mark.text in _SENSED and result.kind == "state" and sense.term is not None and not sense.term.state
        if to_what or told:
            made[index] = replace(mark, kind="hint", term=None, hints=(), text="")
    return made


def _is_pin(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a term names what is felt, and no touch."""
    return _is_sense(mark, catalogue) and "light_touch" not in items_of(mark)


def _each_sense(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Reduced to pinprick over the thumb, intact to light touch': each sense has a result of its own.

    So have the ones of a list, 'intact to touch and pin, reduced to vibration', and one behind 'Sensation:'.
    """
    found = [(index, sense) for index in range(1, len(marks)) if (sense := _sense(marks, index, catalogue)) is not None]
    head = next((index for index, mark in enumerate(marks) if "light_touch" in items_of(mark)), None)
    if head is None or not found or head >= found[0][0] or any(marks[at - 1].kind != "state" for at, _ in found):
        return marks
    named = marks[head].term
    whole = named is not None and bool(named.state)  # 'sensation intact to light touch, reduced to pinprick'
    headed = not whole and found[0][0] == head + 3 and marks[head + 1].text == ":"
    headed = headed and any(mark.kind == "state" for mark in marks[found[0][0] :])  # ', intact on the right'
    if (len(found) + whole < _SENSES and not headed) or (whole and found[0][1] == "light touch"):
        return marks
    made = list(marks)
    for at, name in found:
        end = at + 1 if marks[at].text in _TO_TOUCH else at + 2
        told = Mark("term", marks[at].start, marks[end - 1].end, term=phrases[name].term, text=name)
        last = _last_sense(marks, end, catalogue)
        made[at - 1 : last] = [told, *marks[end:last], marks[at - 1], *[_NOTHING] * (end - at - 1)]
        if at > 1 and marks[at - 2].text == "and":
            made[at - 2] = replace(marks[at - 2], kind="break", text="but")
    if not whole:
        made[head] = replace(marks[head], kind="hint", term=None, hints=(), text="")
    return [mark for mark in made if mark is not _NOTHING]


def _last_sense(marks: Sequence[Mark], end: int, catalogue: Catalogue) -> int:
    """Where a list of senses ends that goes on at `end`: 'touch, pin and vibration'."""
    at = end
    while at < len(marks):
        at += 1 if marks[at].kind == "joiner" else len(marks)
        if at + 1 < len(marks) and marks[at].kind == "joiner":
            at += 1
        if at >= len(marks) or not _is_sense(marks[at], catalogue):
            break
        at = end = at + 1
    return end


def _sense(marks: Sequence[Mark], index: int, catalogue: Catalogue) -> str | None:
    """The name of what is felt where 'to light touch' or 'to pin' begins at `index`."""
    if marks[index].kind == "filler" and marks[index].text in _TO_TOUCH:
        return "light touch"
    after = marks[index + 1] if index + 1 < len(marks) else None
    if marks[index].text != "to" or after is None or after.term is None or after.term.state:
        return None
    return after.text if _is_sense(after, catalogue) else None


def _is_sense(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a term names something that is felt: touch, a pin, a tuning fork."""
    return any(catalogue.items[slug].scale == "sensation" for slug in items_of(mark)[:1])


class FeelingReading(ReachReading):
    """Tells what was felt from the touch that 'sensation' means where nothing else is named."""

    def _is_how_alone(self, mark: Mark, now: Predication, index: int) -> bool:
        """'Sensation is absent to temperature': of what is felt, only that was tested, and not touch."""
        last = now.terms[-1]
        if last.term is None or last.term.state or mark.term is None or self.joiner or self.how:
            return False
        general = "light_touch" in last.term.items and "touch" not in last.text
        another = _is_sense(mark, self.catalogue) and "light_touch" not in mark.term.items
        return general and another and self.marks[index - 1].text == "to"

    def _is_felt_too(self, mark: Mark, index: int) -> bool:
        """'Sensation is intact to vibration and joint position': one more that was tested, with the same result."""
        listed = self.joiner in {"comma", "and", "slash"} and not (self.pending.said or self._has_own_result(index))
        own, _ = self._verb_and_result(index, {"filler"})
        return listed and not own and _is_sense(mark, self.catalogue)

    def _says_how(self, mark: Mark, now: Predication, index: int) -> bool:
        """'sensation intact to light touch': the second term only says how the first was tested."""
        last = now.terms[-1].term
        assert mark.term is not None
        if self.pending.said and last is not None and last.state == "normal":
            return False  # 'intact to LT, decreased to PP'
        before = self.marks[index - 1].text if index else ""
        sensory = _is_sense(mark, self.catalogue)
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        led = any(each.text in words().sets["how_felt"] for each in self.marks[max(0, index - 6) : index])
        led = led and (after is None or after.kind not in {"state", "value", "severity"})
        if sensory and (self.how or (led and not now.before)) and self.joiner in {"slash", "comma", "and"}:
            self.how = True
            return True
        self.how = (
            sensory
            and before in {"to", "on", "with", "by", "for"}
            and not self.joiner
            and bool(last is not None and last.items and self.catalogue.items[last.items[0]].scale == "sensation")
        )
        touched = last is not None and ("light_touch" in last.items or "light_touch" in mark.term.items)
        return self.how or (before == "to" and touched and not self.joiner)
