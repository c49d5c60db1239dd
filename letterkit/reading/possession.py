"""'The patient has decreased sensation': what somebody has, and not what has become less; 'PF' of a wrist.

'The grip gave way': weak.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of
from letterkit.reading.parting import PARTS, as_break
from letterkit.reading.phrases import INCOMPLETE, Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_NO_MARK = Mark("filler", 0, 0)
_HAVING = frozenset({"is", "was", "are", "were", "has", "had", "have"})
_BETWEEN = frozenset({"side", "piece", "severity", "certain", "active_mode", "passive_mode", "hint"})

_HAS = frozenset({"has", "had", "have"})
_TESTED = frozenset({"for", "in", "on", "with", "during"})  # before what was tested
_TELLING = frozenset({"state", "value", "negator", "maybe", "severity", "compared", "except", "neither", "word"})


def possessed(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with 'has decreased' before a noun as a result of it."""
    sets = words().sets
    if texts & sets["feelings"] and texts & _HAS and "only" not in texts:
        marks = _felt(marks, phrases)
    if not texts & sets["has_less"]:
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        state = phrases[mark.text.rpartition(" ")[2]].state if mark.text in sets["has_less"] else None
        if mark.kind == "pseudo" and state is not None and _leads_to_noun(marks, index):
            verb = mark.start + len(mark.text.partition(" ")[0])
            made.append(Mark("filler", mark.start, verb, text="has"))
            made.append(replace(mark, kind="state", start=verb + 1, state=state, text=mark.text.rpartition(" ")[2]))
        else:
            made.append(mark)
    return made


def _felt(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'He has sensation to light touch in all fingers': it is there, where no more is said of it."""
    at = next((at for at, mark in enumerate(marks[1:]) if mark.text in words().sets["feelings"]), None)
    if at is None or marks[at].text not in _HAS or any(mark.kind in _TELLING for mark in marks):
        return marks
    felt = marks[at + 1]
    if felt.kind != "term":
        return marks
    intact = Mark("state", felt.end, felt.end, state=phrases["intact"].state, text="intact")
    return [*marks[: at + 2], intact, *marks[at + 2 :]]


def _leads_to_noun(marks: Sequence[Mark], index: int) -> bool:
    ahead = next((mark for mark in marks[index + 1 : index + 6] if mark.kind not in _BETWEEN), None)
    return ahead is not None and ahead.kind == "term"


def power_of_what(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'Internal rotation was of normal power': of what is not known here, and not of the whole arm."""
    if "and" in texts and not texts.isdisjoint(_TESTED):
        marks = _tested_last(marks)
    if not texts & words().sets["powers"]:
        return marks
    made = _with_movement(marks) if "with" in texts else list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["powers"] or not mark.hints:
            continue
        at = index - 1
        while at > 0 and (marks[at].kind in {"state", "severity", "certain"} or marks[at].text == "of"):
            at -= 1
        subject = marks[at - 1] if at > 0 and at < index - 1 and marks[at].text in _HAVING else None
        if subject is not None and _is_unknown(subject):
            made[index] = Mark("word", mark.start, mark.end, text=mark.text, word=mark.word)
    return made


def _tested_last(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Strength is 5/5 on the right and 4/5 on the left for wrist extension': of that movement on both sides.

    'Full strength on the right and 4/5 on the left for wrist extension' tells of the whole right arm first.
    """
    head = next((at for at, mark in enumerate(marks) if "power" in mark.hints), None)
    if head is None or marks[head].kind not in {"term", "hint"} or not _is_strength(marks[head]):
        return marks
    parts = [at for at in range(head + 1, len(marks)) if marks[at].kind in PARTS]
    if not parts or marks[parts[0]].text != "and":
        return marks
    first, behind = marks[head + 1 : parts[0]], marks[parts[0] + 1 :]
    last = next(
        (at for at, mark in enumerate(behind) if mark.kind == "term" or (mark.kind in PARTS and mark.text != "with")), 0
    )
    if not last or behind[last].text.rpartition(" ")[2] not in words().sets["ways_to_move"]:
        return marks
    if any(mark.kind == "term" for mark in first):
        return marks
    sides = [{mark.text for mark in each if mark.kind == "side"} & OPPOSITE.keys() for each in (first, behind[:last])]
    graded = any(mark.kind in {"value", "state"} for mark in behind[:last])
    if len(sides[0]) != 1 or len(sides[1]) != 1 or sides[0] == sides[1] or not graded:
        return marks
    led = parts[0] + last  # of 'for wrist extension' the word before it
    if marks[led].text not in _TESTED or marks[led - 1].kind not in NAMES_SIDE:
        return marks
    made = list(marks)
    if marks[head].kind == "term" and any(mark.kind == "value" for mark in first):
        made[led] = Mark("filler", marks[led].start, marks[led].end, text="in")
    else:
        made[led] = Mark("hint", marks[led].start, marks[led].end, text="strength in", hints=("power",))
        made[parts[0]] = as_break(marks[parts[0]])
    return made


def _is_strength(mark: Mark) -> bool:
    """'Strength', 'power in'; not 'weakness', nor a muscle."""
    return mark.text in words().sets["powers"] or mark.text.rpartition(" ")[0] in words().sets["powers"]


def _with_movement(marks: Sequence[Mark]) -> list[Mark]:
    """'4/5 strength with left wrist extension', 'strength is 4/5 with left wrist extension': '... in ...'."""
    made = list(marks)
    for at in range(len(made) - 2, 0, -1):
        named = next((mark for mark in made[max(0, at - 3) : at] if mark.text in words().sets["powers"]), None)
        ahead = next((mark for mark in made[at + 1 : at + 4] if mark.kind not in {"side", "filler"}), _NO_MARK)
        moves = ahead.text.rpartition(" ")[2] in words().sets["ways_to_move"] and ahead.kind == "term"
        graded = any(mark.kind == "value" for mark in made[max(0, at - 3) : at])
        if made[at].text == "with" and named is not None and graded and moves:
            if named is made[at - 1]:
                made[at - 1 : at + 1] = [Mark("hint", named.start, made[at].end, text="strength in", hints=("power",))]
            else:
                made[at] = Mark("filler", made[at].start, made[at].end, text="in")
    return made


def gives_way(marks: Sequence[Mark], texts: frozenset[str], catalogue: Catalogue) -> Sequence[Mark]:
    """'The right grip gives way', 'the triceps gave way on testing': weak, and no joint that gives way."""
    verbs = words().sets["gives_way"]
    if "way" not in texts or texts.isdisjoint(verbs):
        return marks
    made: list[Mark] = []
    for before, mark in pairwise([_NO_MARK, *marks]):
        if mark.text == "way" and before.text in verbs and _has_power(made[:-1], catalogue):
            made[-1] = Mark("state", before.start, mark.end, state=INCOMPLETE, text="weak")
        else:
            made.append(mark)
    return made


def _has_power(made: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether what was just named is a muscle, a power or the grip."""
    named = next((mark for mark in reversed(made) if mark.kind not in {"side", "piece", "filler", "certain"}), _NO_MARK)
    items = [catalogue.items[slug] for slug in items_of(named)]
    return bool(named.hints) or any(
        item.value is ValueKind.MRC or item.scale == "strength" or item.slug == "grip_strength" for item in items
    )


def _is_unknown(mark: Mark) -> bool:
    """Whether a mark names something that is not read here: a word, a short form, a part of the legs."""
    if mark.kind == "term":
        return mark.term is not None and not mark.term.items
    return mark.kind == "ambiguous" or (mark.kind == "word" and mark.text.isalpha() and mark.text not in words().plain)


def of_the_wrist(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Wrist DF 55, PF 60': beside a wrist it is palmar flexion, and no movement of an ankle."""
    if "pf" not in texts or not any(mark.piece is not None and "wrist" in mark.piece.slugs for mark in marks):
        return marks
    name = "palmar flexion"
    return [
        Mark("term", mark.start, mark.end, term=phrases[name].term, text=name) if mark.text == "pf" else mark
        for mark in marks
    ]


def function_of_hand(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Function of the left hand is limited': 'motor function' and the like have other names."""
    if "function" not in texts or not {"of", "in"} & texts or not texts.placed:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks[:-2]):
        ahead = next((each for each in marks[index + 2 :] if each.kind not in {"filler", "side"}), mark)
        hand = ahead.kind == "piece" and ahead.piece is not None and ahead.piece.slugs == ("hand",)
        before = marks[index - 1] if index else None
        alone = before is None or before.kind != "word"  # 'renal function'
        if hand and alone and mark.kind == "word" and mark.text == "function" and marks[index + 1].text in {"of", "in"}:
            made[index] = Mark("term", mark.start, mark.end, term=phrases["hand function"].term, text="hand function")
    return made
