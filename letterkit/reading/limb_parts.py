"""Grades of parts of an arm that name no muscle: '4/5 distally', 'normal proximally', 'otherwise 5/5'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.angles import may_be_graded
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.values import may_grade
from letterkit.reading.words import words

_LED = frozenset({"at", "in"})
_RESULTS = frozenset({"value", "state"})
_SOFT = frozenset({"filler", "severity"})
_REST = "of which side the rest is, is not said"
_LISTED = frozenset({"filler", "side", "joiner", "certain", "severity", "piece"})
# The set of words.toml and the phrase that names the same muscles.
_NAMES = {"proximally": "power proximally", "distally": "power distally", "remainder": "all other muscles"}


@cache
def _named() -> Mapping[str, str]:
    """The words for parts of the limb, and the phrase that names the same muscles."""
    return {text: name for kind, name in _NAMES.items() for text in words().sets[kind]}


def limb_parts(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, where a part of the limb or the remaining muscles stand as terms of their own."""
    sets, named = words().sets, _named()
    if not texts.isdisjoint(sets["weaknesses"]):
        marks = _confined(marks, catalogue, phrases)
    marks = _headed(marks, phrases)
    if "value" in texts.kinds and not texts.isdisjoint(words().legs):
        marks = _jerks_of_legs(marks, phrases)
    if not texts.isdisjoint(sets["graded_powers"]):
        marks = _graded_before(marks, catalogue, phrases)
    if not texts.isdisjoint(words().lists["hint_reflex"]):
        marks = _rest_of_reflexes(_reflexes_apart(marks), phrases)
    if "in" in texts or "at" in texts:
        marks = _reflexes_at(marks)
    if "value" in texts.kinds and not texts.isdisjoint(sets["arm_parts"]):
        marks = _muscles_of_part(marks)
    if texts.isdisjoint(named) and not ("hand" in texts and "value" in texts.kinds):
        return marks
    made: list[Mark] = []
    told = reflex = False
    for index, mark in enumerate(marks):
        reflex = reflex or "reflex" in mark.hints
        graded = mark.kind != "term" or may_be_graded(mark, catalogue) or _has_grade_before(marks, index)
        told = _is_of_power(mark, catalogue) or (told and graded)
        name = named.get(mark.text, "") if mark.kind not in {"term", "piece"} else ""
        if mark.kind == "piece" and mark.text == "hand" and any(each.text in _NAMES.values() for each in made):
            name = "hand strength"  # '2/5 proximally and 1/5 in the hand'
        if told and not reflex and _is_hand_graded(marks, index):
            _part(made)
            made.append(Mark("term", mark.start, mark.end, term=phrases["hand strength"].term, text="hand strength"))
            continue
        if not name or not told or reflex or not _is_graded(marks, index, named):
            made.append(mark)
            continue
        if mark.text in sets["remainder"]:
            _part(made)
        made.append(Mark("filler", mark.start, mark.start, text="in"))
        made.append(Mark("term", mark.start, mark.end, term=phrases[name].term, text=name))
    return _legs_apart(made)


@cache
def _wasting() -> Mapping[str, str]:
    """Where a muscle is that is wasted or twitches, by its name; 'small' for those of the hand together."""
    names = {
        "fdi": "first dorsal interosseous",
        "apb": "thenar eminence",
        "adm": "hypothenar eminence",
        "arm": "upper arm",
        "forearm": "forearm",
        "small": "small",
    }
    return {text: place for kind, place in names.items() for text in words().sets[f"wasted_{kind}"]}


def wasted(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Wasting of the right FDI and APB', 'fasciculations in the left biceps': the muscles are where it is.

    'Of the left intrinsics' is what it is of, and 'of the left forearm and of the intrinsics' both.
    """
    wasting = _wasting()
    if texts.isdisjoint(wasting):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        items = items_of(mark)
        if not items or not (items[0].endswith("_wasting") or items[0] == "fasciculation"):
            continue
        twitches = items[0] == "fasciculation"
        at = index + 1
        while at < len(made) and (made[at].kind in _LISTED or made[at].text in wasting):
            if _has_result(made, at):
                break
            place, whole = wasting.get(made[at].text, ""), phrases["small muscle wasting"].term
            if place and items[0] != "muscle_wasting" and not twitches:
                name = f"{place.removesuffix(' eminence')} muscle wasting"
                made[at] = Mark("term", made[at].start, made[at].end, term=phrases[name].term, text=name)
            elif place == "small" and twitches:
                made[at] = Mark("piece", made[at].start, made[at].end, piece=phrases["hand"].piece, text="hand")
            elif place == "small" and any(each.kind == "piece" for each in made[index:at]):
                made[at] = Mark("term", made[at].start, made[at].end, term=whole, text="small muscle wasting")
            elif place == "small":
                made[index] = replace(mark, term=whole, text="small muscle wasting")
                made[at] = Mark("filler", made[at].start, made[at].end, text="muscles")
            elif place:
                made[at] = Mark("piece", made[at].start, made[at].end, piece=phrases[place].piece, text=place)
            at += 1
    return made


def _has_result(marks: Sequence[Mark], at: int) -> bool:
    """'No wasting of the FDI, APB 5/5', '..., APB is strong': a result of its own, and not that the other is there."""
    behind = marks[at + 1 : at + 3]
    behind = behind[1:] if behind and behind[0].text in BE else behind[:1]
    return any(
        mark.kind == "value"
        or (mark.kind == "state" and mark.state is not None and not {"present", "absent"} & {*mark.state.classes})
        for mark in behind
    )


def _legs_apart(made: list[Mark]) -> list[Mark]:
    """'2/5 distally, left leg 4/5': what is said of the leg is no result of the arm before it."""
    for index, mark in enumerate(made):
        if mark.kind != "joiner":
            continue
        ahead = next((each for each in made[index + 1 : index + 4] if each.kind not in {"side", "filler"}), None)
        if ahead is not None and ahead.piece is not None and ahead.text in words().legs:
            made[index] = replace(mark, kind="break", text="but")
    return made


def _muscles_of_part(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Right triceps 4/5, forearm and hand 5/5': a grade of others, and no second one of the triceps."""
    named = graded = False
    arm_parts = words().sets["arm_parts"]
    made = list(marks)
    for index, mark in enumerate(marks):
        named = named or mark.kind == "term"
        graded = graded or (named and mark.amount is not None and mark.amount.kind == "grade")
        if not graded or mark.kind != "joiner" or marks[index - 1].kind not in {"value", "side", "joiner"}:
            continue
        end = index + 1
        while end < len(marks) and (marks[end].text in arm_parts or marks[end].kind in {"filler", "joiner"}):
            end += 1
        of_it = end < len(marks) and marks[end].amount is not None and marks[end].kind == "value"
        if not of_it:
            continue
        parts = [marks[at].text for at in range(index + 1, end) if marks[at].text in arm_parts]
        if parts and parts != ["hand"]:
            for at in range(index + 1, end + 1):
                made[at] = Mark("filler", marks[at].start, marks[at].end, text="part")
    return made


def _is_hand_graded(marks: Sequence[Mark], index: int) -> bool:
    """'Biceps 3/5, triceps 5/5 and the hand is normal': the hand, behind muscles that are graded."""
    if marks[index].text != "hand":
        return False
    before = [mark for mark in marks[:index] if mark.kind != "filler"][-2:]
    after = [mark for mark in marks[index + 1 :] if mark.kind != "filler"]
    if [mark.kind for mark in before] != ["value", "joiner"] or len(after) != 1 or before[0].amount is None:
        return False
    if after[0].amount is not None:
        return after[0].amount.kind == before[0].amount.kind and not after[0].amount.unit  # 'wrist extensors 1, hand 0'
    normal = after[0].state is not None and "normal" in after[0].state.classes
    return before[0].amount.kind == "grade" and normal


def _confined(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Weakness was confined to the left interossei', 'give-way weakness was seen in the deltoid': of these muscles."""
    sets = words().sets
    at = next((index for index, mark in enumerate(marks) if mark.text in sets["weaknesses"]), None)
    if at is None:
        return marks
    end = at + 1
    while end < len(marks) and (marks[end].kind == "filler" or marks[end].text in sets["confines"]):
        end += 1
    rest = end
    while rest < len(marks) and marks[rest].kind in {"side", "piece", "filler", "certain"}:
        rest += 1
    confined = any(mark.text in sets["confines"] for mark in marks[at + 1 : end])
    confined = confined or (marks[at].kind == "term" and [mark.text for mark in marks[at + 1 : end]][:1] == ["of"])
    if not confined or rest == len(marks) or not _is_a_muscle(marks[rest], catalogue, phrases):
        return marks
    weakness = phrases["weakness of"]
    said = Mark(
        "state", marks[at].start, marks[end - 1].end, state=weakness.state, text="weakness of", hints=("power",)
    )
    return [*marks[:at], said, *marks[end:]]


def _is_a_muscle(mark: Mark, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> bool:
    if mark.kind != "term" or mark.term is None:
        return False
    known = phrases.get(f"{mark.text} power")
    items = (*mark.term.items, *(known.term.items if known is not None and known.term is not None else ()))
    return any(catalogue.items[slug].value is ValueKind.MRC for slug in items)


def _headed(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Power: RUE 4/5, LUE 5/5': the heading is what is graded, where no muscle is named."""
    first = marks[0] if marks else None
    if first is None or first.kind != "hint" or not first.text.endswith(":") or "power" not in first.hints:
        return marks
    graded = any(mark.amount is not None and mark.amount.kind == "grade" for mark in marks)
    if not graded or any(mark.kind in {"term", "ambiguous", "word"} for mark in marks):
        return marks
    term = phrases["power"].term
    return [Mark("term", first.start, first.end, term=term, text="power", hints=first.hints), *marks[1:]]


def _graded_before(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Strength 4/5 right triceps': the grade is of the muscle right behind it, and of no whole limb."""
    at = next((index for index, mark in enumerate(marks) if mark.text in words().sets["graded_powers"]), len(marks))
    end = at + 1
    while end < len(marks) and marks[end].kind == "filler":
        end += 1
    amount = marks[end].amount if end < len(marks) else None
    if at == len(marks) or marks[at].kind != "term" or amount is None or not may_grade(amount):
        return marks
    end += 1
    while end < len(marks) and marks[end].kind in {"side", "filler"}:
        end += 1
    if end == len(marks) or not _is_a_muscle(marks[end], catalogue, phrases):
        return marks
    behind = next((mark for mark in marks[end + 1 :] if mark.kind not in {"side", "filler"}), None)
    if behind is not None and behind.kind == "value":
        return marks  # 'strength 5/5, right triceps 4/5'
    head = replace(marks[at], kind="hint", term=None, hints=("power",))
    return [*marks[:at], head, *marks[at + 1 :]]


def _jerks_of_legs(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Triceps, knees and ankles are 2+': jerks of the legs in one list with those of the arms."""
    at = next((at for at, mark in enumerate(marks) if mark.kind == "value"), 0)
    amount = marks[at].amount if at else None
    if amount is None or amount.kind != "signed":
        return marks
    first = at
    while first and (marks[first - 1].kind in {"filler", "joiner"} or marks[first - 1].text in words().legs):
        first -= 1
    if not first or words().reflexes.keys().isdisjoint(items_of(marks[first - 1])):
        return marks
    jerk = phrases["ankle jerks"].term
    legs = [
        Mark("term", mark.start, mark.end, term=jerk, text="ankle jerks") if mark.kind == "piece" else mark
        for mark in marks[first:at]
    ]
    return [*marks[:first], *legs, *marks[at:]]


def _reflexes_at(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Reflexes are 1+ at the left biceps, 2+ at the right biceps and 2+ at both triceps': each of what follows."""
    values = [at for at, mark in enumerate(marks) if mark.kind in _RESULTS]
    if not values or not all([each.text in _LED for at in values for each in marks[at + 1 : at + 2]]):  # noqa: C419
        return marks
    head = next(
        (at for at, mark in enumerate(marks) if "reflex" in mark.hints or "upper_limb_reflexes" in items_of(mark)),
        len(marks),
    )
    led = [at for at in values if at > head and [each.text for each in marks[at + 1 : at + 2]] in (["at"], ["in"])]
    named = [mark.text for mark in marks[head + 1 :] if mark.kind == "term"]
    if len(set(named)) == len(named):
        return marks  # each is told of once, and takes the nearest grade
    if led != values or any(mark.kind == "term" for mark in marks[head + 1 : values[0]]):
        return marks
    made = list(marks[: values[0]])
    for at, end in zip(values, [*values[1:], len(marks)], strict=True):
        group = [*marks[at + 1 : end]]
        while group and group[-1].kind in {"joiner", "break"}:
            group.pop()
        if not any(mark.kind == "term" for mark in group):
            return marks
        last = group[-1].end
        made += [*group[1:], replace(marks[at], start=last, end=last), *marks[at + 1 + len(group) : end]]
    return made


def _reflexes_apart(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Power 3/5 in the triceps, reflexes brisk': a grade of power is no result of the reflexes behind it."""
    graded = False
    made: list[Mark] = []
    for mark in marks:
        graded = graded or (mark.amount is not None and mark.amount.kind == "grade")
        if graded and mark.kind in {"term", "hint"} and "reflex" in mark.hints:
            _part(made)
        made.append(mark)
    return made if graded else marks


def _rest_of_reflexes(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Reflexes: right triceps absent, otherwise 2+ throughout': what is said of the rest is of no one reflex."""
    at = next((index for index, mark in enumerate(marks) if mark.text in words().sets["remainder"]), 0)
    before = [mark for mark in marks[:at] if mark.kind not in _SOFT]
    named = any(mark.kind == "term" for mark in before) and any("reflex" in mark.hints for mark in before)
    ahead = [mark for mark in marks[at + 1 :] if mark.kind not in _SOFT]
    if not named or before[-1].kind not in {"joiner", "break"} or any("power" in mark.hints for mark in before):
        return marks
    if not any(mark.kind == "value" for mark in ahead[:1]) or any(mark.kind == "term" for mark in ahead):
        return marks
    made = list(marks[:at])
    _part(made)
    term, look = phrases["reflexes"].term, "" if any(mark.kind == "side" for mark in ahead) else _REST
    whole = Mark("term", marks[at].start, marks[at].end, term=term, text="reflexes", hints=("reflex",), look=look)
    made = [replace(mark, kind="break", text="but") if mark is before[-1] else mark for mark in made]
    return [*made, whole, *marks[at + 1 :]]


def _is_graded(marks: Sequence[Mark], index: int, named: Mapping[str, str]) -> bool:
    """Whether a result of just these muscles stands beside the words."""
    before = next((mark for mark in reversed(marks[:index]) if mark.kind not in _SOFT), None)
    after = [mark for mark in marks[index + 1 :] if mark.kind not in _SOFT]
    if marks[index].text in words().sets["remainder"]:
        grade = next((mark for mark in (before, *after[:1]) if mark is not None and mark.kind == "value"), None)
        return grade is not None and not any(mark.kind == "term" for mark in after)
    near = [*marks[max(0, index - 2) : index], *marks[index + 1 : index + 3]]
    whole = any(mark.text in named for mark in near) and any(mark.kind == "joiner" for mark in near)
    # 'proximally and distally': the whole limb
    return before is not None and before.kind in _RESULTS and not whole


def _has_grade_before(marks: Sequence[Mark], index: int) -> bool:
    """'2/5 right FPL, otherwise 5/5': the grade stands before what it is of."""
    before = next((mark for mark in reversed(marks[:index]) if mark.kind not in {"side", "filler"}), None)
    return before is not None and before.amount is not None and before.amount.kind == "grade"


def _part(made: list[Mark]) -> None:
    """'4/5 on the right, otherwise 5/5', '..., and 5/5 elsewhere': what is said of the rest stands by itself."""
    at = len(made) - 1
    while at >= 0 and made[at].kind in _RESULTS | _SOFT:
        at -= 1
    if at >= 0 and made[at].kind == "joiner":
        made[at] = replace(made[at], kind="break", text="but")


def _is_of_power(mark: Mark, catalogue: Catalogue) -> bool:
    if "power" in mark.hints or (mark.amount is not None and mark.amount.kind == "grade"):
        return True
    return any(catalogue.items[slug].value is ValueKind.MRC or slug.endswith("_strength") for slug in items_of(mark))
