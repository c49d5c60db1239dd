"""Short and running forms of nerve clinics: arm and leg with one grade, what the other hand does meanwhile, 'dec', 'B'.

Each function takes the marks of one sentence and gives them as they are meant; none finds anything of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, side_of
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.predication import BE, DIGIT_NUMBERS
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "certain", "side"})
_TOLD = frozenset({"state", "value", "term", "negator", "neither", "maybe", "except", "compared"})
_ENDS = frozenset({"joiner", "break"})
_DENIES = frozenset({"negator", "neither", "maybe", "no_longer"})
_OPPOSITE = {"left": {"right", "both"}, "right": {"left", "both"}}
_CLIPPED = {"dec": "decreased", "dec'": "decreased"}
_SENSES = 2
_DIGITS = frozenset({"digits", "fingers", "digit"})
_HALVES = {"upper": "lower", "lower": "upper"}
_BOTH_HALVES = 12  # marks from the one to the limbs of the other
_ANOTHER = ("a", "an", "another")


def nerve_notes(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, which has these texts, with such forms settled."""
    sets = words().sets
    if not texts.isdisjoint(_CLIPPED):
        marks = _clipped(marks, catalogue, phrases)
    if any([f"{way}\n" in texts.lines for way in words().affixes["two_ways"]]):  # noqa: C419 - quicker than a generator
        marks = _two_ways(marks, phrases)
    if not texts.isdisjoint(_DIGITS):
        marks = _digits_again(marks)
    if "value" in texts.kinds and any([mark.amount is not None and mark.amount.kind == "grade" for mark in marks]):  # noqa: C419
        marks = _graded_limb(marks, catalogue, phrases)
    if "b" in texts:
        marks = _on_both(marks)
    if not texts.isdisjoint(_HALVES):
        marks = _upper_and_lower(marks, phrases)
    if not texts.isdisjoint(words().legs):
        marks = _arm_and_leg(_arm_and_leg(marks, step=1), step=-1)
    if "one" in texts or "another" in texts:
        marks = _one_more(marks)
    if not texts.isdisjoint(sets["tone_scales"]):
        marks = _of_tone(marks, catalogue)
    if not texts.isdisjoint(sets["orbits"]):
        marks = _orbits(marks)
    if not texts.isdisjoint(sets["meanwhile"]):
        marks = _meanwhile(marks)
    return marks


def _orbits(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'On arm rolling the left arm orbits the right': the arm that stays still is the weak one, and not the other."""
    at = next(index for index, mark in enumerate(marks) if mark.text in words().sets["orbits"])
    rolled = any(items_of(mark)[:1] == ("forearm_rolling",) for mark in marks[:at])
    sides = [[index for index, mark in enumerate(half) if side_of(mark)] for half in (marks[:at], marks[at + 1 :])]
    if not rolled or [len(each) for each in sides] != [1, 1] or any(mark.kind in _DENIES for mark in marks):
        return marks
    state = replace(marks[at], kind="state", state=StateWord(("abnormal",)), text="abnormal")
    moving = [mark for mark in marks[:at] if mark.kind not in {"side", "piece"}]
    return [*moving, state, *marks[at + 1 :]]


def _clipped(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Dec LT and PP R hand', 'tone dec': decreased, beside what is felt or tested; else it may be a month."""
    made = list(marks)
    for index, mark in enumerate(marks):
        full = _CLIPPED.get(mark.text) if mark.kind == "word" else None
        if full is None:
            continue
        after = next((each for each in marks[index + 1 :] if each.kind not in _SOFT), None)
        before = marks[index - 1] if index else None
        near = (after, before) if after is None or after.kind != "value" else ()
        if any(each is not None and _is_function(each, catalogue) for each in near):
            made[index] = replace(mark, kind="state", state=phrases[full].state, text=full)
    return made


def _is_function(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a mark names what is felt or tested, and may be less than it should be."""
    known = [catalogue.items[slug] for slug in items_of(mark)]
    return any(item.scale or item.value is ValueKind.MRC or "movement" in item.slug for item in known)


def _two_ways(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Elbow flexion and extension 4+/5', '5/5 in elbow flexion and extension': two movements with one grade."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = next((each for each in marks[index + 1 :] if each.kind != "filler"), None)
        graded = after is not None and after.amount is not None and after.amount.kind == "grade"
        graded = graded or any(each.amount is not None and each.amount.kind == "grade" for each in marks[:index])
        joint = mark.text.split(" ", 1)[0]
        known = [phrases.get(f"{joint} {movement}") for movement in ("flexion", "extension")]
        terms = [entry.term for entry in known if entry is not None and entry.term is not None]
        if (
            not graded
            or not mark.text.endswith(words().affixes["two_ways"])
            or mark.kind != "term"
            or len(terms) != _SENSES
        ):
            made.append(mark)
            continue
        names = [f"{joint} flexion", f"{joint} extension"]
        one, two = (replace(mark, term=term, text=name) for term, name in zip(terms, names, strict=True))
        made += [one, Mark("joiner", mark.end, mark.end, text="and"), two]
    return made


def _graded_limb(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'No drift, RUE 5-/5 throughout': a grade behind a whole arm is of its power, and no place of what came before."""
    at = next((index for index, mark in enumerate(marks) if mark.amount is not None and mark.amount.kind == "grade"), 0)
    if at < _SENSES or not (marks[at - 2].kind == "break" or marks[at - 2].text == "comma"):
        return marks
    limb, before = marks[at - 1], marks[: at - 2]
    whole = limb.kind == "piece" and limb.piece is not None and limb.piece.slugs == ("upper_limb",) and limb.piece.side
    named = [mark for mark in before if mark.kind == "term"]
    power = any("power" in mark.hints or _of_power(mark, catalogue) for mark in before)
    if not whole or not named or power or any(mark.kind == "term" for mark in marks[at : at + 2]):
        return marks
    strength = Mark("term", limb.start, limb.start, term=phrases["strength"].term, text="strength", hints=("power",))
    parts = replace(marks[at - 2], kind="break", text="but")
    return [*before, parts, strength, limb, *marks[at:]]


def _of_power(mark: Mark, catalogue: Catalogue) -> bool:
    return any(
        catalogue.items[slug].value is ValueKind.MRC or slug.endswith("_strength") for slug in items_of(mark)
    )  # fmt: skip


def _digits_again(marks: Sequence[Mark]) -> list[Mark]:
    """'Digits 1-3 R, 1-2 L', 'digits 1-3 on the right and 1-2 on the left': of digits again, and of the other side."""
    made: list[Mark] = []
    digits: Mark | None = None
    sided = False
    for mark in marks:
        joined = digits is not None and sided and bool(made) and made[-1].kind == "joiner"
        spans = mark.amount is not None and mark.amount.kind == "arc" and not mark.amount.unit
        spans = spans and mark.amount is not None and max(mark.amount.numbers) <= DIGIT_NUMBERS
        named = mark.kind == "piece" and mark.text in _DIGITS
        if joined and (spans or named):
            made[-1] = replace(made[-1], text="comma")
        if joined and spans and digits is not None:
            made.append(replace(digits, start=mark.start, end=mark.start))
        digits = mark if named else digits
        sided = digits is not None and (mark.kind == "side" or (sided and mark.kind in {"joiner", "filler"}))
        made.append(mark)
    return made


def _on_both(marks: Sequence[Mark]) -> list[Mark]:
    """'Hoffman neg B', 'Tinel (-) B': a capital behind a result, and nothing behind it, means both sides."""
    made = list(marks)
    for index, mark in enumerate(marks):
        before = next((each for each in reversed(marks[:index]) if each.text not in {"(", ")"}), None)
        last = index + 1 == len(marks) or marks[index + 1].kind in _ENDS
        told = before is not None and before.kind in {"state", "value"}
        dash = before is not None and before.text in {"-", "–"} and index > 1 and marks[index - 2].kind == "term"
        told = told or dash  # 'Hoffmann - B'
        if mark.text == "b" and mark.kind in {"word", "term"} and told and last:
            made[index] = Mark("side", mark.start, mark.end, text="both", word="bilaterally")
    return made


def _upper_and_lower(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Brisk in the upper and normal in the lower limbs': the limbs are named once, behind the second of the two."""
    made = list(marks)
    for index, mark in enumerate(marks):
        other = _HALVES.get(mark.text) if mark.kind in {"word", "filler"} else None
        if other is None or index + 1 == len(marks) or marks[index + 1].kind not in _ENDS:
            continue
        run = marks[index + 1 : index + _BOTH_HALVES]
        limbs = next((each for each in run if each.kind == "piece" or each.text in {mark.text, other}), None)
        words_of = limbs.text.split(" ") if limbs is not None and limbs.kind == "piece" else []
        if other not in words_of:
            continue
        entry = phrases.get(" ".join(mark.text if word == other else word for word in words_of))
        if entry is not None and entry.piece is not None:
            made[index] = Mark("piece", mark.start, mark.end, piece=entry.piece, text=mark.text)
    return made


def _arm_and_leg(marks: Sequence[Mark], *, step: int) -> list[Mark]:
    """'The left arm and leg 3/5', 'RUE/RLE 3/5': one result of an arm and a leg is the arm's as well.

    With `step` 1 the leg stands behind the arm, with -1 before it.
    """
    dropped: set[int] = set()
    for index, mark in enumerate(marks):
        if mark.kind != "piece" or mark.piece is None or mark.piece.slugs != ("upper_limb",):
            continue
        run = _to_the_leg(marks, index, step)
        if not run or _leads_on(marks, max(index, *run)):
            continue
        if step < 0 and (mark.piece.side or any(marks[each].kind == "side" for each in run)):
            run += [each for each in range(max(0, run[-1] - 2), run[-1]) if marks[each].kind == "side"]
        dropped.update(run)
    return [mark for index, mark in enumerate(marks) if index not in dropped]


def _to_the_leg(marks: Sequence[Mark], index: int, step: int) -> list[int]:
    """The marks from beside the arm up to the last leg that is joined to it; none where there is no such leg."""
    run: list[int] = []
    last = 0
    at = index + step
    while 0 <= at < len(marks) and marks[at].text not in BE:
        if not (marks[at].kind in _SOFT or _joins_limbs(marks[at]) or _is_leg(marks[at])):
            break
        run.append(at)
        last = len(run) if _is_leg(marks[at]) else last
        at += step
    run = run[:last]
    return run if any(_joins_limbs(marks[each]) for each in run) else []


def _is_leg(mark: Mark) -> bool:
    return mark.piece is not None and mark.piece.kind == "elsewhere" and mark.text in words().legs


def _joins_limbs(mark: Mark) -> bool:
    return mark.kind == "joiner" and mark.text in {"and", "slash"}


def _leads_on(marks: Sequence[Mark], index: int) -> bool:
    """'... the left arm and leg power is normal', '... and the legs were normal': the leg begins something else."""
    ahead = [mark for mark in marks[index + 1 :] if mark.kind not in {"side", "certain", "severity"}][:1]
    if not ahead:
        return False
    if ahead[0].kind in {"term", "negator"}:
        return True
    return ahead[0].text in BE and any(mark.kind in {"state", "value"} for mark in marks[:index])


def _one_more(marks: Sequence[Mark]) -> list[Mark]:
    """'A tremor of the right hand and a lesser one on the left', 'and another on the left': a second place of it."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        made.append(marks[at])
        at += 1
        if made[-1].text != "and" or made[-1].kind != "joiner":
            continue
        end = at
        while end < len(marks) and end - at < len(_ANOTHER) and marks[end].kind in {"filler", "word", "severity"}:
            end += 1
            if marks[end - 1].text in {"one", "another"}:
                break
        named = at < end and marks[end - 1].text in {"one", "another"} and marks[at].text in _ANOTHER
        if named and [mark.text in words().sets["where"] for mark in marks[end : end + 1]] == [True]:
            at = end
    return made


def _of_tone(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'MAS: elbow flexors 2, wrist flexors 1+': grades of spasticity, and of no power or reflex."""
    return [
        replace(mark, kind="word", term=None)
        if any(catalogue.items[slug].value is ValueKind.MRC for slug in items_of(mark)) else mark
        for mark in marks
    ]  # fmt: skip


def _meanwhile(marks: Sequence[Mark]) -> list[Mark]:
    """'Rigid on the left when the right hand opens and closes': what another hand does is no place of the finding."""
    made = list(marks)
    sets = words().sets
    for index, mark in enumerate(marks):
        if mark.text not in sets["meanwhile"]:
            continue
        end = index + 1
        while end < len(marks) and (
            marks[end].kind not in _ENDS or marks[end].text == "with" or _joins_verbs(marks, end)
        ):
            end += 1
        inside = marks[index + 1 : end]
        named = {side_of(each) for each in marks[:index]} - {""}
        other = {side_of(each) for each in inside} - {""}
        beyond = any(each.piece is not None and each.piece.kind == "elsewhere" for each in inside)
        if beyond and not any(each.kind in _TOLD for each in inside):  # 'when he tapped his thigh'
            made[index + 1 : end] = [
                replace(each, kind="word", piece=None) if each.kind in {"piece", "side"} else each for each in inside
            ]
            continue
        if len(named) != 1 or not other or not other <= _OPPOSITE.get(next(iter(named)), set()):
            continue
        if any(each.kind in _TOLD for each in inside) or not any(each.kind in {"word", "ambiguous"} for each in inside):
            continue
        for at in range(index, end):
            if made[at].kind in {"piece", "side"}:
                made[at] = replace(made[at], kind="word", piece=None)
    return made


def _joins_verbs(marks: Sequence[Mark], at: int) -> bool:
    """'opens and closes': an 'and' between two verbs."""
    return marks[at].text == "and" and [each.kind for each in marks[at - 1 : at + 2 : 2]] == ["word", "word"]
