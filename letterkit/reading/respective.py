"""Lists that are told in turn: '30 and 20 kg on the right and left respectively' is 30 right and 20 left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import NAMES_SIDE, Mark, side_of
from letterkit.reading.one_joint import is_digit, is_row
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

RESPECTIVELY = "respectively"
_RESULTS = frozenset({"state", "value"})
_TERM, _VALUE = frozenset({"term"}), frozenset({"value"})
_SOFT = frozenset({"filler", "side", "piece", "joiner", "certain", "break"})
_PARTS = frozenset({"joiner", "break", "compared"})
_JOINERS = frozenset({"and", "comma", "or"})
_PLACES = frozenset({"piece", "side"})
_SMALL = frozenset({"of", "the", "on", "at", "in", "to", "for", "over", "both"})


def respective(marks: Sequence[Mark]) -> list[Mark]:
    """The marks with each result beside its own place or term; as they were where the lists do not match."""
    made = [mark for mark in marks if mark.text != RESPECTIVELY]
    if len(made) == len(marks):
        return made
    runs = _runs(made, _RESULTS)
    if not runs or any(len(run) != len(runs[0]) for run in runs):
        return list(marks)
    first, last = runs[0][0], runs[-1][-1]
    named = next((at + 1 for at in range(first - 1, -1, -1) if made[at].kind == "term"), 0)
    stretches = ((last + 1, len(made)), (named, first), (0, max(0, named - 1)))
    for start, end, groups in (_groups(made, *stretch) for stretch in stretches):
        if len(groups) == len(runs[0]):
            return _places_paired(made, groups, (start, end), runs)
    terms = next(iter(_runs(made[:first], _TERM)), [])
    return _terms_paired(made, terms, runs) if len(terms) == len(runs[0]) else list(marks)


def sides_told(texts: Texts, before: tuple[str, ...]) -> tuple[str, ...]:
    """Right and left in the order in which a sentence names them, each once; as `before` where it names no side."""
    if texts.kinds.isdisjoint(NAMES_SIDE):
        return before
    named = tuple(side for mark in texts.marks if (side := side_of(mark)))
    return named if set(named) == OPPOSITE.keys() and len(named) == len(OPPOSITE) else () if named else before


def on_sides_before(marks: list[Mark], texts: Texts, order: tuple[str, ...]) -> list[Mark]:
    """'45 degrees on the right and 60 on the left. Grip was 18 and 20 kg, respectively.': right and left again."""
    if RESPECTIVELY not in texts or not order or len(texts.placed) > 1 or any(side_of(mark) for mark in marks):
        return marks
    runs = _runs(marks, _RESULTS)
    if len(runs) != 1 or len(runs[0]) != len(order) or _runs(marks, _TERM) or not texts.terms:
        return marks
    named = [at for at in range(runs[0][0]) if marks[at].kind == "term"]
    if not named:
        return marks
    made = list(marks)
    made[named[-1]] = replace(marks[named[-1]], look="the sides are those of the sentence before, in that order")
    told = _with_one_unit(marks, runs[0])
    for at, side, result in reversed(list(zip(runs[0], order, told, strict=True))):
        made[at : at + 1] = [result, Mark("side", result.end, result.end, text=side, word=side)]
    at = next(at for at, mark in enumerate(made) if mark.text == RESPECTIVELY)
    return [*made[: at - (made[at - 1].text == "comma")], *made[at + 1 :]]


def in_turn(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Flexion and extension are 60 and 50 degrees': numbers as many as the terms before them are each of its own term.

    'The index and middle fingers 5 and 6 mm', '20 and 25 kg on the right and left': or as many as the places.
    """
    figures = [mark for mark in marks if mark.kind == "value"]
    if len(figures) < 2 and not any(mark.amount is not None and len(mark.amount.numbers) > 1 for mark in figures):  # noqa: PLR2004
        return marks
    made = _listed_apart(_movements_apart(marks, phrases))
    runs = [run for run in _runs(made, _VALUE) if not _are_digits(made, run)]
    compared = next((at for at, mark in enumerate(made) if mark.kind == "compared"), len(made))
    runs = [run for run in runs if run[-1] < compared] or runs
    if not runs or any(len(run) != len(runs[0]) or made[run[-1] - 1].text != "and" for run in runs):
        return marks
    first, last = runs[0][0], runs[-1][-1]
    told = {at for run in runs for at in range(run[0], run[-1] + 1)}
    behind = next((mark for mark in made[last + 1 :] if mark.kind not in _PLACES | {"filler"}), None)
    if behind is not None and behind.kind not in _PARTS:
        return marks  # '60 and 50 less than'
    terms = next(reversed(_runs(made[:first], _TERM)), [])
    shared = made[terms[-1]] if terms and made[terms[-1]].text in words().sets["shared_names"] else None
    names = terms[:-1] if shared is not None else terms
    between = [mark for at, mark in enumerate(made) if at not in told and (terms or [first])[-1] < at < last]
    if len(names) == len(runs[0]):
        return marks if any(mark.kind not in _SOFT for mark in between) else _terms_paired(made, names, runs, shared)
    named = next((at for at in range(first - 1, -1, -1) if made[at].kind == "term"), None)
    digits = _digits_told(made[: runs[0][0]])
    sided = any(mark.kind == "side" for mark in made[first:])
    if len(digits) == len(runs[0]) and not sided and all(mark.kind != "piece" or is_row(mark) for mark in between):
        return _each_at(made, runs, digits)
    if named is None or len(runs) > 1:
        return marks
    for start, end, groups in (_groups(made, last + 1, len(made)), _groups(made, named + 1, first)):
        if len(groups) == len(runs[0]):
            return _places_paired(made, groups, (start, end), runs)
    return marks


def _are_digits(marks: Sequence[Mark], run: Sequence[int]) -> bool:
    """'MCP 2 and 3 on the right': joints of these fingers, and no figures."""
    return bool(run[0]) and is_row(marks[run[0] - 1]) and all(is_digit(marks[at]) for at in run)


def _digits_told(before: Sequence[Mark]) -> list[Mark]:
    """The digits of '80 degrees in the index and 84 degrees in the long finger', in that order."""
    digits = [mark for mark in before if mark.piece is not None and mark.piece.kind == "digit" and mark.kind == "piece"]
    told = sum(mark.kind == "value" for mark in before)
    return digits if len(digits) == told and len({mark.text for mark in digits}) == told else []


def _each_at(marks: Sequence[Mark], runs: Sequence[Sequence[int]], digits: Sequence[Mark]) -> list[Mark]:
    """'..., PIP flexion 95 and 98': the marks with its digit behind each number."""
    behind = {at: digit for run in runs for at, digit in zip(run, digits, strict=True)}
    made: list[Mark] = []
    row: list[Mark] = []
    for at, mark in enumerate(marks):
        made.append(mark)
        if is_row(mark):
            row = [mark]
        if at in behind:
            made += [replace(each, start=mark.end, end=mark.end) for each in row]
            made.append(replace(behind[at], start=mark.end, end=mark.end))
    return made


def _movements_apart(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Flexion and extension of the wrist': two movements, where two numbers follow."""
    if not any([" and " in mark.text for mark in marks]):  # noqa: C419 - quicker than a generator
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        first, _, second = mark.text.partition(" and ")
        joint, _, movement = first.rpartition(" ")
        moves = bool(second) and {movement, second} <= words().sets["bare_movements"]
        if mark.kind != "term" or not moves or not _runs(marks[index:], _VALUE):
            made.append(mark)
            continue
        whole = f"{joint} {second}"
        if whole in phrases:
            second = whole
        elif joint in phrases and phrases[joint].piece is not None:
            made.append(Mark("piece", mark.start, mark.start, piece=phrases[joint].piece, text=joint))
            first = movement
        made.append(replace(mark, term=phrases[first].term, text=first))
        made.append(Mark("joiner", mark.start, mark.end, text="and"))
        made.append(replace(mark, term=phrases[second].term, text=second))
    return made


def _listed_apart(marks: list[Mark]) -> list[Mark]:
    """'30, 8 and 5 kg' behind as many terms: one number each, and no three trials of one."""
    if not any([mark.amount is not None and mark.amount.kind == "trials" for mark in marks]):  # noqa: C419 - quicker
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        several = mark.amount is not None and mark.amount.kind == "trials"
        terms = next(reversed(_runs(marks[:index], _TERM)), []) if several else []
        if mark.amount is None or len(terms) != len(mark.amount.numbers) or len(terms) < 2:  # noqa: PLR2004 - a list
            made.append(mark)
            continue
        for number in mark.amount.numbers:
            made.append(replace(mark, amount=replace(mark.amount, kind="amount", numbers=(number,))))
            made.append(Mark("joiner", mark.start, mark.end, text="comma"))
        made.pop()
        made[-2] = replace(made[-2], text="and")
    return made


def former_latter(marks: Sequence[Mark]) -> list[Mark]:
    """'Tinel's and Durkan's: the former negative, the latter positive': each in the place of what it stands for."""
    texts = [mark.text for mark in marks]
    if texts.count("former") != 1 or texts.count("latter") != 1:
        return list(marks)
    first, second = texts.index("former"), texts.index("latter")
    terms = [mark for mark in marks[:first] if mark.kind == "term"]
    if len(terms) != 2 or second < first or any(mark.kind in _RESULTS for mark in marks[:first]):  # noqa: PLR2004 - a pair
        return list(marks)
    place = [mark for mark in marks[:first] if mark.kind in _PLACES]
    if any(mark.kind == "piece" and terms[0].start < mark.start < terms[1].start for mark in place):
        # 'a mallet of the long and a boutonniere of the ring finger, the former ...': each with its own
        return list(marks)
    where = marks[first].start
    lead = [replace(mark, start=where, end=where) for mark in place]
    one = [replace(terms[0], start=where, end=where), *marks[first + 1 : second]]
    other = [replace(terms[1], start=marks[second].start, end=marks[second].start), *marks[second + 1 :]]
    return [*lead, *one, *other]


def for_both(marks: Sequence[Mark]) -> list[Mark]:
    """'R biceps trace, R triceps trace, L 2+ for both': the last result is of both terms, on its own side."""
    at = next((index for index, mark in enumerate(marks) if mark.word == "both" and marks[index - 1].text == "for"), 0)
    ends = at + 1 == len(marks) or marks[at + 1].kind in {"joiner", "break"}
    begins = next((index for index in range(at - 1, -1, -1) if marks[index].kind in {"joiner", "break"}), None)
    if not at or not ends or begins is None:
        return list(marks)
    told = [mark for mark in marks[begins + 1 : at - 1] if mark.kind != "filler"]
    terms = [mark for mark in marks[:begins] if mark.kind == "term"]
    if {mark.kind for mark in told} != {"side", "value"} and {mark.kind for mark in told} != {"side", "state"}:
        return list(marks)
    if len(terms) < 2:  # noqa: PLR2004 - both
        return list(marks)
    where = marks[begins].end
    made = list(marks[: begins + 1])
    for term in terms[-2:]:
        made += [replace(term, start=where, end=where), *told, Mark("joiner", where, where, text="comma")]
    return [*made[:-1], *marks[at + 1 :]]


def _runs(marks: Sequence[Mark], kinds: frozenset[str]) -> list[list[int]]:
    """The lists of marks of these kinds that have nothing but 'and' and commas in them."""
    found: list[list[int]] = [[]]
    for index, mark in enumerate(marks):
        if mark.kind in kinds:
            found[-1].append(index)
        elif found[-1] and not (mark.kind == "joiner" and mark.text in _JOINERS):
            found.append([])
    return [run for run in found if len(run) > 1]


def _with_one_unit(marks: Sequence[Mark], run: Sequence[int]) -> list[Mark]:
    """'30 and 20 kg': the unit stands behind the last number for all."""
    told = [marks[at] for at in run]
    last = told[-1].amount
    if last is None or not last.unit:
        return told
    return [
        replace(mark, amount=replace(mark.amount, unit=last.unit, kind=last.kind))
        if mark.amount is not None and not mark.amount.unit
        else mark
        for mark in told
    ]


def _groups(marks: Sequence[Mark], start: int, end: int) -> tuple[int, int, list[list[Mark]]]:
    """The places of a stretch, parted at its joiners, with where they begin and end."""
    at = start
    while at < end and marks[at].kind not in _PLACES:
        if marks[at].kind in {"term", "negator", "break"}:
            return (start, start, [])
        at += 1
    begin = at
    groups: list[list[Mark]] = [[]]
    both = False
    while at < end:
        mark = marks[at]
        if mark.kind == "side" and (order := _in_order(mark)):
            groups, both = [[replace(mark, text=side, word=side)] for side in order], True
        elif both and mark.kind == "piece":
            groups = [[*group, mark] for group in groups]  # 'of the right and left wrists'
        elif mark.kind in _PLACES or (mark.kind == "filler" and mark.text in _SMALL):
            groups[-1].append(mark)
        elif mark.kind == "joiner" and mark.text in _JOINERS:
            if any(each.kind in _PLACES for each in groups[-1]):
                groups.append([])
        else:
            break
        at += 1
    named = [group for group in groups if any(each.kind in _PLACES for each in group)]
    return (begin, at, [[_one_of_them(mark) for mark in group] for group in named] if len(named) > 1 else [])


def _one_of_them(mark: Mark) -> Mark:
    """'The index and ring fingers': of the list the fingers are many, and each of them is one."""
    if mark.piece is None or mark.piece.kind != "digit" or not mark.piece.plural:
        return mark
    return replace(mark, piece=replace(mark.piece, plural=False))


def _in_order(mark: Mark) -> tuple[str, str] | None:
    """The sides of 'right and left' in the order in which they are named."""
    if mark.word in words().sets["right_first"]:
        return ("right", "left")
    return ("left", "right") if mark.word in words().sets["left_first"] else None


def _places_paired(
    marks: Sequence[Mark], groups: Sequence[Sequence[Mark]], where: tuple[int, int], runs: Sequence[Sequence[int]]
) -> list[Mark]:
    """Each result behind its own place, where the results stood."""
    made: list[Mark] = []
    index = 0
    while index < len(marks):
        run = next((run for run in runs if run[0] == index), None)
        if where[0] <= index < where[1]:
            index += 1
        elif run is None:
            made.append(marks[index])
            index += 1
        else:
            index = run[-1] + 1
            if (term := _named_behind(marks, index)) is not None:
                made.append(replace(marks[term], start=marks[run[0]].start, end=marks[run[-1]].end))
                index = term + 1
            made += _paired(groups, _with_one_unit(marks, run))
    return made


def _named_behind(marks: Sequence[Mark], index: int) -> int | None:
    """'60 and 50 degrees of flexion': where the term stands that the results before `index` are of."""
    if index + 1 < len(marks) and marks[index].text == "of" and marks[index + 1].kind == "term":
        return index + 1
    return None


def _paired(groups: Sequence[Sequence[Mark]], told: Sequence[Mark]) -> list[Mark]:
    sides = [mark for group in groups for mark in group if mark.kind == "side"]
    side = sides[0] if len(sides) == 1 else None  # 'the right thumb and index finger'
    pairs: list[Mark] = []
    for group, result in zip(groups, told, strict=True):
        own = any(mark.kind == "side" for mark in group)
        lead = [] if own or side is None else [side]
        pairs += [*lead, *group, result, replace(result, kind="joiner", text="comma", state=None, amount=None)]
    return [replace(mark, start=told[0].start, end=told[-1].end) for mark in pairs[:-1]]


def _terms_paired(
    marks: Sequence[Mark], terms: Sequence[int], runs: Sequence[Sequence[int]], shared: Mark | None = None
) -> list[Mark]:
    """Each result behind its own term; a place that stands beside a list of results goes before them all.

    `shared` is the name that closes the list of terms and is of each: 'biceps and triceps reflexes'.
    """
    made = list(marks[: terms[0]])
    at = terms[-1] + 1
    tail = [] if shared is None else [shared]
    joint: list[Mark] = []
    for run in runs:
        until = run[-1] + 1
        while until < len(marks) and (marks[until].kind in _PLACES or marks[until].kind == "filler"):
            until += 1
        told = _with_one_unit(marks, run)
        start, end = marks[terms[0] if run is runs[0] else run[0]].start, told[-1].end
        comma = Mark("joiner", start, end, text="comma")
        beside = [mark for mark in (*marks[at : run[0]], *marks[run[-1] + 1 : until]) if mark.kind in _PLACES]
        pairs = [each for term, result in zip(terms, told, strict=True) for each in (comma, marks[term], *tail, result)]
        if run is not runs[0]:
            made.append(comma)
            beside = beside if any(mark.kind == "piece" for mark in beside) else [*beside, *joint]
        joint = [mark for mark in beside if mark.kind == "piece"]
        made += [replace(each, start=start, end=end) for each in (*beside, *pairs[1:])]
        at = until
    return [*made, *marks[at:]]
