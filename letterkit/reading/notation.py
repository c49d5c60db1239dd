"""Notations of injury clinics: lengths from a landmark, the warmth of a hand that blood reaches.

Each function takes the marks of one sentence and gives them as they are meant; none finds anything of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.neither import neither
from letterkit.reading.pairs import movement_pairs
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.predication import BE
from letterkit.reading.set_beside import beside_each_other, in_brackets, sides_in_brackets
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_AWAY = frozenset({"below", "above"})
_AWAY_TO = frozenset({"distal", "proximal", "medial", "lateral", "radial", "ulnar", "distally", "proximally"})
_AWAY_FROM = ("below ", "above ")
_BEGINS_AWAY = tuple(f"\n{text}" for text in _AWAY_FROM)
_TEST = frozenset({"test", "tests", "sign", "manoeuvre", "maneuver"})
_FLOWS = frozenset({
    "radial_pulse", "ulnar_pulse", "brachial_pulse", "digital_pulse", "capillary_refill", "capillary_refill_time",
    "perfusion", "vascular_status", "skin_colour", "doppler_signal",
})  # fmt: skip  # what tells of the blood supply beside a warm hand
_SUPPLIED = frozenset({"hand", "hands", "digit", "digits", "fingers", "finger", "fingertips", "pulp"})
_NARROW = frozenset({"digit", "row", "ordinal"})
_IN = frozenset({"in", "at", "about", "approximately", "roughly"})
_SOFT = frozenset({"filler", "joiner", "certain", "severity"})
_WARM_AS_USUAL = "a hand called warm beside its pulses is read as of its usual warmth"
_AS_USUAL = StateWord(("normal",), {"temperature": "normal"})


def noted(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """The marks of one sentence with these notations settled."""
    kinds = texts.kinds
    made = _latter(marks) if "latter" in texts else list(marks)
    if texts & words().sets["brackets"]:
        made = sides_in_brackets(made)
    if "compared" in kinds or texts & {"(", "["}:
        made = beside_each_other(in_brackets(made, catalogue), phrases)
    if "neither" in kinds or "nowhere" in texts:
        made = neither(made)
    if {"and", "comma"} <= texts and any(a.text == "and" and b.text == "comma" for a, b in pairwise(made)):
        made = _set_off(made)
    if ":" in texts:
        made = _colons(_headed(made))
    if "value" in kinds and (
        not texts.isdisjoint(_AWAY | _AWAY_TO) or any([text in texts.lines for text in _BEGINS_AWAY])  # noqa: C419
    ):
        made = _landmarks(made)
    if any([mark.word == "both" for mark in texts.sides]):  # noqa: C419 - quicker than a generator
        made = _two(made)
    if "rigid" in texts:
        made = _rigid(made)
    if texts & _TEST:
        made = _not_ours(made, catalogue)
    if texts & {"sore", "reducible"}:
        made = _sore(_reducible(made), catalogue, phrases)
    if "value" in kinds:
        made = movement_pairs(made, texts, phrases)
        made = made if texts.isdisjoint(words().sets["held"]) else _bent(made, texts, phrases)
    if texts & words().sets["colours"]:
        made = _coloured(made, phrases)
    return _warm(made) if "warm" in texts else made


def _reducible(marks: Sequence[Mark]) -> list[Mark]:
    """'Ulnar drift, reducible', 'a reducible swan-neck deformity': a joint that can be put right, and no lump."""
    lumps = words().sets["lumps"]
    made = list(marks)
    for index, mark in enumerate(marks):
        terms = [each for each in reversed(marks[:index]) if each.kind == "term"]
        terms += [each for each in marks[index + 1 :] if each.kind == "term"]
        lump = not terms or any(slug.partition("_")[0] in lumps for slug in items_of(terms[0]))
        if mark.text == "reducible" and not lump:
            made[index] = replace(mark, kind="correctable", term=None)
    return made


def _set_off(marks: Sequence[Mark]) -> list[Mark]:
    """'Increased on the right and, on the left, normal': commas around a place join nothing."""
    made = list(marks)
    at = next(index for index, (one, two) in enumerate(pairwise(made)) if one.text == "and" and two.text == "comma")
    end = at + 2
    while end < len(made) and made[end].kind in {"filler", "side", "piece"}:
        end += 1
    placed = any(mark.kind in {"side", "piece"} for mark in made[at + 2 : end])
    closed = end < len(made) and made[end].text == "comma"
    return [*made[: at + 1], *made[at + 2 : end], *made[end + 1 :]] if placed and closed else made


def _latter(marks: Sequence[Mark]) -> list[Mark]:
    """'At the left elbow and the right index, the latter weeping': the place that was named last, said again."""
    at = next((index for index, mark in enumerate(marks) if mark.text == "latter"), None)
    if at is not None and [mark.kind for mark in marks[at + 1 : at + 2]] in (["correctable"], ["fixed"]):
        begin = next((index for index in range(at, 0, -1) if marks[index].kind == "joiner"), at)
        return [*marks[:begin], *marks[at + 1 :]]  # 'a boutonniere of the ring finger, the latter correctable'
    last = next((index for index in range((at or 0) - 1, -1, -1) if marks[index].kind == "side"), None)
    if at is None or last is None:
        return list(marks)
    place = [mark for mark in marks[last:at] if mark.kind in {"side", "piece"}]
    where = marks[at].start
    again = [
        replace(mark, start=where, end=where, look="'the latter' is read as the place named last") for mark in place
    ]
    return [*marks[:at], *again, *marks[at + 1 :]]


def _sore(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Passive motion sore': of a movement it is pain, and of no place tenderness."""
    made: list[Mark] = []
    for mark in marks:
        before = next(
            (each for each in reversed(made) if each.kind not in _SOFT - {"joiner"} and each.text != "v"), None
        )
        items = before.term.items if before is not None and before.kind == "term" and before.term is not None else ()
        moved = bool(items) and catalogue.items[items[0]].stage is Stage.MOVEMENT
        pain = phrases["painful"]
        if mark.text == "sore" and moved and pain.term is not None:
            made.append(Mark("term", mark.start, mark.end, term=pain.term, state=pain.state, text="painful"))
        else:
            made.append(mark)
    return made


def _bent(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Stuck in 30 degrees of flexion': a joint that is held bent, by so many degrees.

    'The elbow was held at 45 degrees of flexion' tells of a posture: whether it goes further was not said.
    """
    sets = words().sets
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in sets["held"]:
            continue
        at = index + 1
        while at < len(marks) and marks[at].kind in {"filler", "word"} and marks[at].text in _IN:
            at += 1
        amount = marks[at].amount if at < len(marks) else None
        bend = at + 1
        while bend < len(marks) and marks[bend].text in {"of", "fixed"}:
            bend += 1
        if (
            amount is None
            or amount.unit not in {"", "deg"}
            or bend >= len(marks)
            or marks[bend].text not in sets["bend"]
        ):
            continue
        joint = next((each.piece.slugs[:1] for each in reversed(marks[:index]) if each.piece is not None), ())
        kept = mark.text not in sets["held_fast"] and joint in {("elbow",), ("wrist",)}
        if kept and not texts.isdisjoint(sets["held_to_test"]):
            made[index : bend + 1] = map(_silent, marks[index : bend + 1])
            break  # 'the elbow was held at 90 degrees of flexion and the wrist tested'
        name = "held flexed" if kept else "flexion deformity"
        made[index] = Mark("term", mark.start, marks[bend].end, term=phrases[name].term, text=name)
        made[index + 1 : bend + 1] = [marks[at], *(_silent(each) for each in marks[index + 1 : bend + 1])]
        break
    return made


def _silent(mark: Mark) -> Mark:
    return Mark("filler", mark.start, mark.end, text="of")


def _headed(marks: Sequence[Mark]) -> list[Mark]:
    """'Right hand: thumb swollen': the hand says of which side the thumb is, and is not swollen itself."""
    at = next((index for index, mark in enumerate(marks[:6]) if mark.text == ":"), None)
    if at is None or not {mark.kind for mark in marks[:at]} <= {"side", "piece"}:
        return list(marks)
    first = next((mark for mark in marks[at + 1 :] if mark.kind not in {"filler", "side"}), None)
    narrower = first is not None and first.kind == "piece" and first.piece is not None and first.piece.kind in _NARROW
    if not narrower:
        return list(marks)
    return [mark for index, mark in enumerate(marks) if index >= at or mark.kind == "side" or not _is_hand(mark)]


def _is_hand(mark: Mark) -> bool:
    return mark.piece is not None and mark.piece.slugs in {("hand",), ("upper_limb",)} and mark.piece.side is None


def _colons(marks: Sequence[Mark]) -> list[Mark]:
    """'Bite over the knuckle: 1 cm wound': the length behind the colon is of what follows it."""
    made = list(marks)
    for index, mark in enumerate(marks[:-2]):
        if mark.text != ":":
            continue
        amount = marks[index + 1].amount
        length = amount is not None and (amount.kind == "size" or amount.unit in {"mm", "cm"})
        told = any(each.kind == "term" for each in marks[:index])
        if length and told and marks[index + 2].kind == "term":
            made[index] = Mark("joiner", mark.start, mark.end, text="comma")
    return made


def _coloured(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'The pulp is pink', 'fingers warm and dusky': a colour that is said of a part is that of its skin."""
    made: list[Mark] = []
    colour = phrases["skin colour"].term
    for index, mark in enumerate(marks):
        slug = mark.state.scales.get("skin_colour") if mark.state is not None and mark.kind == "state" else None
        if slug is None or mark.text not in words().sets["colours"] or colour is None:
            made.append(mark)
            continue
        before = next((each for each in reversed(made) if each.kind not in _SOFT), None)
        after = marks[index + 1] if index + 1 < len(marks) else None
        of_part = before is not None and (before.kind == "piece" or before.text in words().sets["beside_colours"])
        if of_part and (after is None or after.kind not in {"term", "word"}):
            made.append(replace(mark, kind="term", term=replace(colour, state=slug, adjective=True)))
        else:
            made.append(mark)
    return made


def _landmarks(marks: Sequence[Mark]) -> list[Mark]:
    """'Girth 27 cm, taken 10 cm below the epicondyle': the second length says where, and is no result."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.amount is None or mark.amount.kind != "amount" or mark.amount.unit not in {"mm", "cm"}:
            made.append(mark)
            continue
        after = [each.text for each in marks[index + 1 : index + 3]]
        away = after[:1] and (after[0] in _AWAY or (after[0] in _AWAY_TO and after[1:] == ["to"]))
        away = away or (bool(after) and after[0].startswith(_AWAY_FROM))  # 'below the lateral epicondyle', in one
        made.append(Mark("filler", mark.start, mark.end, text="at") if away else mark)
    return _without_level(made) if any(_is_girth(mark) for mark in made) else made


def _without_level(marks: Sequence[Mark]) -> list[Mark]:
    """'The girth measured 10 cm below the lateral epicondyle is 25 cm': where the tape was, and no place of its own."""
    return [
        replace(mark, kind="filler", piece=None, text="there")
        if mark.kind == "piece" and mark.text.startswith(_AWAY_FROM)
        else mark
        for mark in marks
    ]


def _is_girth(mark: Mark) -> bool:
    return any(slug.endswith("_girth") for slug in items_of(mark))


def _two(marks: Sequence[Mark]) -> list[Mark]:
    """'FDP and FDS both fire', 'FDP and FDS to the ring finger are both working': two terms, and not two sides."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        before = [each.kind for each in made]
        joined = any(before[at : at + 3] == ["term", "joiner", "term"] for at in range(len(before) - 2))
        counted = (
            mark.kind == "side" and mark.word == "both" and (joined or _are_two(made) or _are_of_one_side(made, marks))
        )
        counted = counted and (before[-1] in {"term", "piece"} or made[-1].text in BE)
        after = marks[index + 1].kind if index + 1 < len(marks) else ""
        if counted and (marks[index + 1 : index + 2] and _results(marks[index + 1])):
            continue
        ours = (
            mark.word == "both"
            and index + 1 < len(marks)
            and marks[index + 1].text.startswith(words().affixes["two_of_a_finger"])
        )
        if not ours and not (counted and after in {"state", "filler", "certain"}):
            made.append(mark)
    return made


def _are_two(made: Sequence[Mark]) -> bool:
    """'the snuffbox and the scaphoid tubercle were', 'thenar and hypothenar wasting': two named right before."""
    kinds = [mark.kind for mark in made if mark.kind not in {"filler", "certain"} and mark.text not in BE][-4:]
    named = kinds[-3:-2] + kinds[-1:]
    return kinds[-2:-1] == ["joiner"] and set(named) <= {"piece", "term", "word"} and kinds[-1:] != ["word"]


def _are_of_one_side(made: Sequence[Mark], marks: Sequence[Mark]) -> bool:
    """'On the left, resisted extension and gripping are both painful': two of what is not known, on the side named."""
    kinds = [mark.kind for mark in made]
    at = max((index for index, mark in enumerate(made) if mark.kind == "joiner" and mark.text == "and"), default=0)
    sides = {mark.text for mark in marks if mark.kind == "side"} | {
        mark.piece.side for mark in marks if mark.piece is not None and mark.piece.side
    }
    return 0 < at < len(made) - 1 and "word" in kinds[at:] and len(sides & {"left", "right"}) == 1


def _results(mark: Mark) -> bool:
    """What may stand behind 'both' where it counts: 'both tender', 'both reproduced', 'both provocative'."""
    return mark.kind in {"state", "term", "severity", "value"} or mark.text in words().provokes | {"provocative"}


def _rigid(marks: Sequence[Mark]) -> list[Mark]:
    """'The DIP joint is rigid', '... going rigid on Elson's test': a joint that does not give, and no muscle tone."""
    if any("tone" in mark.text or mark.text.startswith("cogwheel") for mark in marks):
        return list(marks)
    joint = any(mark.piece is not None and mark.piece.kind in _NARROW for mark in marks) or any(
        mark.term is not None and mark.term.items == ("elson_test",) for mark in marks
    )
    return [
        Mark("word", mark.start, mark.end, text=mark.text) if joint and mark.text == "rigid" else mark for mark in marks
    ]


def _not_ours(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Intrinsic plus posture test': the name of a test that is not known begins with a word that is."""
    made = list(marks)
    for index, mark in enumerate(marks[:-2]):
        if value_of(mark, catalogue) in {None, ValueKind.TEST}:
            continue
        word, test = marks[index + 1 : index + 3]
        if word.kind == "word" and word.text.isalpha() and test.text in _TEST:
            made[index] = Mark("word", mark.start, mark.end, text=mark.text)
    return made


def _warm(marks: Sequence[Mark]) -> list[Mark]:
    """'The hand is warm and the radial pulse is felt': well supplied, and of the warmth it should have."""
    slugs = {slug for mark in marks if mark.kind == "term" and mark.term is not None for slug in mark.term.items[:1]}
    pink = any(mark.text == "pink" for mark in marks)
    if not (slugs & _FLOWS or pink):
        return list(marks)
    named = any(mark.kind == "piece" and mark.text in _SUPPLIED for mark in marks)
    told = {"redness", "swelling", "effusion", "synovitis", "cellulitis", "joint_tenderness"} & slugs
    if not named or told:
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        if mark.kind == "term" and mark.text == "warm" and mark.term is not None:
            term = replace(mark.term, state="normal", look=_WARM_AS_USUAL)
            mark = Mark("term", mark.start, mark.end, term=term, state=_AS_USUAL, text="warm")  # noqa: PLW2901
        made.append(mark)
    return made
