"""Tests and tenderness told by what the examiner does, and what it did.

'Tapping over the carpal tunnel gives tingling', 'pressure on the pisiform was painless', 'no tingling on Phalen's
test': each becomes the name of the test or finding and its result.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.phrases import NEGATIVE, POSITIVE, Entry, StateWord
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "certain", "severity", "side", "piece", "value"})
_ON = frozenset({"on", "by", "with", "upon", "during", "when", "after", "from", "to"})
_FAR = 12  # marks between what was done and what it did
_NEAR = 6  # marks between what was done and where
_CARPAL = frozenset({"carpal_tunnel", "median_area", "volar_wrist"})
_BY = frozenset({"behind", "beside", "just", "firmly", "directly", "held", "maintained", "applied"})
_TAPPED = frozenset({"scar", "palpable_neuroma", "lump", "palpable_lump", "swelling", "ganglion", "nodule"})
_NO = frozenset({"negator", "neither"})
_ARTERIES = frozenset({"artery", "arteries"})
_FORMS = ("tingles", "taps", "loads", "presses", "flexes", "released", "occludes", "winces")


@cache
def _asked() -> frozenset[str]:
    """The words of which one must stand in a sentence that tells of a manoeuvre."""
    sets = words().sets
    return frozenset[str]().union(*(sets[each] for each in _FORMS))


def manoeuvres(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence with what was done, and what it did, by their names."""
    sets = words().sets
    if texts.isdisjoint(_asked()):
        return marks
    made = list(marks)
    if texts & sets["taps"]:
        made = _tapped(made, phrases)
    if texts & sets["tingles"]:
        made = _on_test(_stretched(_done(made, phrases), phrases), catalogue)
    if texts & sets["loads"]:
        made = _loaded(made, phrases)
    if texts & sets["presses"]:
        made = _pressed(made, phrases)
    if texts & sets["flexes"]:
        made = _froments(made)
    if texts & sets["released"] or (texts & _ARTERIES and texts & sets["occludes"]):
        made = _blanched(made)
    return _winced(made, phrases) if texts & sets["winces"] else made


def _named(mark: Mark, name: str, phrases: Mapping[str, Entry]) -> Mark:
    """The mark as the term of that name."""
    return Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)


def _slugs(marks: Sequence[Mark]) -> set[str]:
    return {slug for mark in marks if mark.piece is not None for slug in mark.piece.slugs}


def _tingles(mark: Mark) -> bool:
    return mark.text in words().sets["tingles"]


def _place(marks: Sequence[Mark], index: int) -> int:
    """Where the place of what was done ends that begins behind `index`; 0 where none is named."""
    end = said = 0
    for at in range(index + 1, len(marks)):
        mark = marks[at]
        said += mark.kind != "filler"  # of 'at the level of the' nothing counts
        if said > _NEAR:
            break
        if mark.kind == "piece" or (mark.kind == "term" and mark.piece is not None):
            end = at + 1
        elif (
            mark.kind not in _SOFT and mark.text not in _BY and not (end and _joins_places(marks, at))
        ) or mark.text == ":":
            break
    return end


def _on_a_lump(marks: Sequence[Mark], index: int) -> int:
    """'Tapping over the lump gave tingling', 'tapping over it': where what was tapped ends; 0 where it is no lump."""
    for at in range(index + 1, min(len(marks), index + 1 + _NEAR)):
        mark = marks[at]
        if not _TAPPED.isdisjoint(items_of(mark)[:1]):
            return _place(marks, at) or at + 1
        if mark.kind not in _SOFT and mark.text not in _BY:
            break
    return 0


def _joins_places(marks: Sequence[Mark], at: int) -> bool:
    """'the snuffbox and the tubercle': an 'and' between two places."""
    after = next((mark for mark in marks[at + 1 :] if mark.text not in {"the", "over", "on"}), None)
    return marks[at].text == "and" and after is not None and after.kind in {"piece", "side"}


def _does(marks: Sequence[Mark], start: int) -> bool:
    """Whether tingling is what comes next: 'gives tingling', 'did not produce any tingling', ': no tingling'."""
    told = False
    for at, mark in enumerate(marks[start : start + _FAR], start):
        if _tingles(mark):
            return told
        if _is_done_too(marks, at):
            continue
        verb = mark.text in words().provokes
        told = told or verb or mark.kind in _NO or mark.text == ":"
        stops = mark.kind in {"state", "joiner"} and not (verb or mark.text == "or" or _could_not(mark))
        if stops or mark.kind in {"break", "term"}:
            return False
    return False


def _is_done_too(marks: Sequence[Mark], at: int) -> bool:
    """'Tapping over the wrist and holding it in flexion reproduce tingling': what did it is two things."""
    return _stretches(marks[at]) or (marks[at].text == "and" and any(map(_stretches, marks[at + 1 : at + 2])))


def _stretches(mark: Mark) -> bool:
    return mark.text in words().stretches or items_of(mark)[:1] in {("phalen_test",), ("elbow_flexion_test",)}


def _done(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Percussion over the right ulnar nerve gave tingling', 'compression of the carpal tunnel produced numbness'."""
    sets = words().sets
    made = list(marks)
    for index, mark in enumerate(marks):
        taps = mark.text in sets["taps"]
        if mark.kind not in {"word", "say", "filler", "hint"} or not (taps or mark.text in sets["presses"]):
            continue
        end = _place(marks, index) or (_on_a_lump(marks, index) if taps else 0)
        led = bool(index) and marks[index - 1].text in _ON
        if not end or not (_does(marks, end) or (led and any(map(_tingles, marks[max(0, index - _FAR) : index])))):
            continue
        slugs = _slugs(marks[index:end])
        if taps:
            made[index] = _named(mark, "tinel's", phrases)
        elif slugs & _CARPAL:
            made[index] = _named(mark, "carpal compression test", phrases)
    return made


def _tapped(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Percussion of the median nerve was negative', 'tapping over the right supinator gave tingling'."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind == "term" or mark.text not in words().sets["taps"]:
            continue
        muscle = _muscle(marks, index)
        end = muscle + 1 if muscle else _on_a_lump(marks, index) or _on_a_nerve(marks, index)
        if not end or not (_is_answered(marks, end) or (muscle and _does(marks, end))):
            continue
        made[index] = _named(mark, "tinel's over the lump" if muscle else "tinel's", phrases)
        if muscle:  # where it was tapped, and no power of it
            made[muscle] = Mark("piece", marks[muscle].start, marks[muscle].end, piece=phrases["forearm"].piece)
    return made


def _muscle(marks: Sequence[Mark], index: int) -> int:
    """Where a muscle stands below which a nerve was tapped; 0 where none does."""
    for at in range(index + 1, min(len(marks), index + 1 + _NEAR)):
        if marks[at].text in words().sets["tapped_muscles"]:
            return at
        if marks[at].kind not in {"filler", "side"}:
            break
    return 0


def _on_a_nerve(marks: Sequence[Mark], index: int) -> int:
    """Where the name of a nerve, or of the tunnel it lies in, ends that was tapped; 0 where it is another place."""
    end = _place(marks, index)
    nerves = any(mark.text.endswith((" nerve", " nerves")) for mark in marks[index:end])
    return end if nerves or not _slugs(marks[index:end]).isdisjoint(words().sets["nerve_tunnels"]) else 0


def _is_answered(marks: Sequence[Mark], start: int) -> bool:
    """Whether a result of a test is what comes next: 'was negative', 'on the left elicits nothing'."""
    mark = next((each for each in marks[start:] if each.kind not in {"filler", "side", "certain", "severity"}), None)
    told = mark.state.classes if mark is not None and mark.state is not None and mark.kind == "state" else ()
    return told in {("positive",), ("negative",)}


def _stretched(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Wrist flexion for a minute produced tingling': Phalen's test, and no movement that hurts."""
    made = list(marks)
    for index, mark in enumerate(marks):
        name = words().stretches.get(mark.text)
        if name is not None and _does(marks, index + 1):
            made[index] = _named(mark, name, phrases)
        elif name is None and mark.text in {"flexion", "flexing", "bending"}:
            _stretched_at(made, index, phrases)
        elif mark.text in words().sets["holding"]:
            _held_bent(made, index, phrases)
    return made


def _stretched_at(made: list[Mark], index: int, phrases: Mapping[str, Entry]) -> None:
    """'Flexion of the left wrist brings on tingling': the side stands within the name."""
    near = made[index + 1 : index + _NEAR]
    joint = next((at for at, mark in enumerate(near) if mark.kind == "piece"), None)
    if joint is None or any(mark.kind not in {"filler", "side"} for mark in near[:joint]):
        return
    name = words().stretches.get(f"{made[index].text} of the {near[joint].text}")
    end = index + joint + 2
    if name is None or not _does(made, end):
        return
    made[index] = _named(made[index], name, phrases)
    made[index + 1 : end] = [mark for mark in made[index + 1 : end] if mark.kind == "side"]


def _held_bent(made: list[Mark], index: int, phrases: Mapping[str, Entry]) -> None:
    """'Holding the right wrist flexed for a minute brings on tingling', '... in flexion did not': Phalen's test."""
    near = made[index + 1 : index + _NEAR]
    joint = next((at for at, mark in enumerate(near) if mark.kind == "piece"), None)
    if joint is None or any(mark.kind not in {"filler", "side"} for mark in near[:joint]):
        return
    start = index + joint + 2
    bent = next((at for at in range(start, min(len(made), start + 3)) if _is_bent(made[at])), None)
    name = words().stretches.get(f"flexion of the {near[joint].text}")
    if bent is None or name is None or not _does(made, bent + 1):
        return
    made[index] = _named(made[index], name, phrases)
    made[index + 1 : bent + 1] = [mark for mark in made[index + 1 : start] if mark.kind == "side"]


def _is_bent(mark: Mark) -> bool:
    return mark.text in words().sets["held_bent"] | words().sets["bend"]


def _on_test(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'No tingling on Phalen's test', 'I could not provoke tingling by tapping ...': the result before the test."""
    for index, mark in enumerate(marks):
        lead = index - 1
        while lead > 0 and marks[lead].text in {"the", "a", "any", "either"}:
            lead -= 1
        if value_of(mark, catalogue) is not ValueKind.TEST or lead < 1 or marks[lead].text not in _ON:
            continue
        first = lead
        while first > 0 and _leads(marks[first - 1]):
            first -= 1
        inside = marks[first:lead]
        if not any(map(_tingles, inside)):
            continue
        negated = any(each.kind in _NO or _could_not(each) for each in inside)
        state = NEGATIVE if negated else POSITIVE
        result = Mark("state", inside[0].start, marks[lead].end, state=state, text=state.classes[0])
        sides = [each for each in inside if each.kind == "side"]
        return _on_test([*marks[:first], *sides, result, *marks[lead + 1 :]], catalogue)
    return marks


def _leads(mark: Mark) -> bool:
    """Whether a mark may stand between the beginning of its statement and the test that is named last."""
    return (
        mark.kind in _SOFT | _NO
        or _tingles(mark)
        or mark.text in words().provokes
        or _could_not(mark)
        or (mark.kind == "state" and mark.state is not None and "present" in mark.state.classes)
        or (mark.kind == "joiner" and mark.text == "or")
    )


def _loaded(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Axial loading of the left thumb', 'longitudinal compression of the thumb': the test of the scaphoid."""
    made = list(marks)
    for index, mark in enumerate(marks[:-1]):
        after = marks[index + 1]
        if mark.text not in words().sets["axial"] or after.text not in words().sets["loads"] or mark.kind == "term":
            continue
        before = marks[index - 1].term if index else None
        end = _place(marks, index + 1) if before is None or not before.pain else 0  # 'pain on axial loading'
        if "thumb" not in _slugs(marks[index + 1 : end]):
            continue
        made[index] = replace(_named(mark, "axial thumb compression test", phrases), end=after.end)
        made[index + 1] = Mark("filler", after.start, after.end, text="of")
    return made


def _hurt(marks: Sequence[Mark], start: int) -> tuple[int, int, bool] | None:
    """Where the result of a pressure stands, and whether it hurt: 'was painful', 'elicited no pain', 'hurts'."""
    sets = words().sets
    negated = provoked = False
    first = start
    for at in range(start, min(len(marks), start + _FAR)):
        mark = marks[at]
        if mark.text in sets["pained"] and (mark.text in sets["by_itself"] or provoked or negated):
            return first, at + 1, not negated
        if mark.text in sets["unpained"]:
            return None if negated else (first, at + 1, False)
        if mark.kind in _NO or _could_not(mark):
            negated = True
        elif mark.text in words().provokes or mark.text in {"with", "without"}:
            provoked = True
        elif mark.kind == "word" and provoked:
            continue
        elif mark.kind not in {"filler", "severity", "certain", "word"}:
            if mark.kind not in {"side", "piece"} or negated or provoked:
                return None
            first = at + 1
    return None


def _pressed(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Pressure over the left pisiform was uncomfortable', 'palpation of the snuffbox did not elicit pain'."""
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["presses"] or mark.kind in {"term", "piece"}:
            continue
        end = _place(marks, index)
        told = _hurt(marks, end) if end else None
        if told is None:
            continue
        first, last, hurts = told
        squeezed = mark.text in words().sets["squeezes"]
        if marks[last - 1].text.startswith("tender") and not squeezed:
            continue  # 'on palpation the wrist is tender': read as it stands
        rows = {mark.piece.slugs[0] for mark in marks[index:end] if mark.piece is not None}
        if squeezed and rows & {"mcp", "metacarpal", "metacarpal_head"}:
            name, state = "metacarpophalangeal squeeze test", POSITIVE if hurts else NEGATIVE
        else:
            name, state = "tenderness", StateWord(("present",) if hurts else ("absent",))
        result = Mark("state", marks[first].start, marks[last - 1].end, state=state, text=state.classes[0])
        where = [
            Mark("piece", each.start, each.end, piece=each.piece, text=each.text) if each.piece is not None else each
            for each in marks[index + 1 : first]
        ]
        made = [*marks[:index], _named(mark, name, phrases), *where, result]
        return [*made, *_pressed(marks[last:], phrases)]
    return marks


def _winced(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'She winced when the right radial styloid was pressed', 'did not flinch on palpation of the snuffbox'."""
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["winces"]:
            continue
        press = next(
            (at for at in range(index + 1, min(len(marks), index + _FAR)) if _presses(marks[at])),
            None,
        )
        between = marks[index + 1 : press] if press is not None else []
        if press is None or any(each.kind not in _SOFT | {"word"} for each in between):
            continue
        before = marks[index - 1] if index else None
        negated = before is not None and (before.kind in _NO or _could_not(before))
        no = [Mark("negator", before.start, before.end, text="no")] if negated and before is not None else []
        tender = _named(mark, "tenderness", phrases)
        pressed = Mark("filler", marks[press].start, marks[press].end, text="over")
        soft = [each for each in between if each.kind != "word"]
        return [*marks[: index - len(no)], *no, tender, *soft, pressed, *_winced(marks[press + 1 :], phrases)]
    return marks


def _could_not(mark: Mark) -> bool:
    return mark.text in words().sets["could_not"]


def _presses(mark: Mark) -> bool:
    return mark.text in words().sets["presses"] or mark.text.endswith(" palpation")


def _froments(marks: list[Mark]) -> list[Mark]:
    """'Froment's test shows IP flexion of the right thumb': the sign itself, and no movement of the joint."""
    sign = next((at for at, mark in enumerate(marks) if items_of(mark)[:1] == ("froment_sign",)), None)
    if sign is None or any(mark.kind == "break" for mark in marks):
        return marks
    made: list[Mark] = []
    told = False
    for at, mark in enumerate(marks):
        told = told or (at > sign and mark.kind == "state")
        if _slugs([mark]) and _slugs([mark]) <= {"ip_thumb", "ip", "thumb"} and mark.kind == "piece":
            side = (mark.piece.side if mark.piece is not None else "") or ""
            made.append(Mark("side" if side else "filler", mark.start, mark.end, text=side or "of", word=side))
        elif mark.text in words().sets["flexes"]:
            kind, state = ("word", None) if told else ("state", POSITIVE)
            made.append(Mark(kind, mark.start, mark.end, state=state, text="positive" if state else mark.text))
            told = True
        elif mark.text != "ip":
            made.append(mark)
    return made


def _blanched(marks: list[Mark]) -> list[Mark]:
    """'The hand stays pale for 14 seconds after release of the artery': while it was tested, and no pallor of today."""
    return [
        replace(mark, kind="word", term=None, state=None)
        if items_of(mark)[:1] == ("skin_colour",)
        or (mark.state is not None and "skin_colour" in mark.state.scales)
        or (mark.kind == "term" and mark.text in words().sets["refills"])
        else mark
        for mark in marks
    ]
