"""Clauses of one sentence that have a part as their subject: '..., the elbow clicks', '..., her elbow was in plaster'.

Without this, the part would be one more place of the finding before it. Each clause is read by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.left_out import left_out
from letterkit.reading.likewise import likewise
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.next_side import next_list
from letterkit.reading.parting import AGAIN
from letterkit.reading.phrases import INCOMPLETE
from letterkit.reading.predication import BE, THERE_IS, term_is_adjective
from letterkit.reading.said_again import own_results, told_of_another
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_JOINS = frozenset({"comma", "and"})
_PARTING = frozenset({"joiner", "break"})
_PARTS_OF = frozenset({"distal", "proximal", "entire", "whole", "remaining"})
_RESULTS = frozenset({"state", "value", "term", "negator", "severity"})
_PASSED = frozenset({"filler", "certain", "severity"})
_ON = frozenset({"on", "at", "in", "over"})
_THERE = tuple(THERE_IS)
_SUBJECT = frozenset({"piece", "side"})
_NOT_SO = frozenset({"absent", "negative"})
_OF_IT = frozenset({"of", "it", "the"})


def clauses(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[list[Mark]]:
    """The marks of a sentence, parted before each part of the body that is the subject of a verb of its own."""
    marks = _said_in_full(marks, texts, catalogue)
    texts = texts.now(marks)
    starts = [0]
    told = False
    beyond = any([_is_elsewhere(mark) for mark in texts.placed])  # noqa: C419 - quicker than a generator
    read = 0  # how far the subject of the clause before reaches
    for index, mark in enumerate(marks):
        if mark.kind not in _PARTING:
            told = told or mark.kind == "term" or _is_of_unknown(marks, index)
            continue
        if mark.kind == "break" and mark.text == AGAIN:
            starts.append(index)
            read = index + 1
            continue
        if beyond and mark.text == "comma" and (apart := _parts_from_legs(marks, index, catalogue)):
            if apart == "clause":
                starts.append(index + 1)
                read = index + 1
            else:
                marks[index] = replace(mark, kind="break", text="but")
            continue
        joins = mark.kind == "break" or (mark.kind == "joiner" and mark.text in _JOINS)
        if told and joins and _begins_anew(marks, index):
            starts.append(index)
        verb = _verb_of_subject(marks, index + 1) if told and joins and index >= read else None
        if verb is None:
            continue
        before = next((each for each in reversed(marks[:index]) if each.kind == "term"), None)
        there = before is None or value_of(before, catalogue) is ValueKind.PRESENCE
        part = any(each.kind == "piece" for each in marks[index:verb])
        valued = any(each.kind == "value" for each in marks[:index])
        turns = beyond and _turns_elsewhere(marks, index, verb)
        if turns or _tells_of_subject(marks, verb, there=there, part=part, valued=valued):
            starts.append(index)
            read = verb
        elif not part and (degree := _degree(marks, verb)) is not None:
            comma, passed = replace(mark, kind="joiner", text="comma"), marks[verb:degree]
            marks[index : degree + 1] = [comma, marks[degree], *marks[index + 1 : verb], *passed]
        elif (not part or marks[verb - 1].text == "it") and _is_result(marks, verb, valued=valued):
            marks[index] = replace(mark, kind="break", text="but")  # '... on the left, the right reached 30 kg'
    return [marks[start:end] for start, end in zip(starts, [*starts[1:], len(marks)], strict=True)]


def _said_in_full(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks with what a second side, a second subject or a second result leaves out."""
    marks = likewise(_sides_apart(next_list(marks, texts), texts), texts, catalogue)
    texts = texts.now(marks)
    marks = left_out(marks, texts, catalogue)
    texts = texts.now(marks)
    if "comma" in texts or "break" in texts.kinds:
        marks = told_of_another(marks, catalogue)
    return own_results(marks) if "state" in texts.kinds else marks


def _begins_anew(marks: Sequence[Mark], index: int) -> bool:
    """Whether a clause begins behind a joiner that tells of somebody, or of another movement."""
    return _does_something(marks, index + 1) or _moves_otherwise(marks, index) or _can_or_cannot(marks, index + 1)


def _does_something(marks: Sequence[Mark], start: int) -> bool:
    """'..., and she resisted any attempt to move the fingers': what somebody does, and no more places of a finding."""
    near = marks[start : start + 2]
    does = len(near) == 2 and near[0].text in words().sets["who"] and near[1].kind == "word"  # noqa: PLR2004 - who, and what
    if not does or (not near[1].text.endswith("ed") and near[1].text not in words().sets["holds"]):
        return False
    behind = marks[start + 2 :]
    return not any(mark.kind in {"term", "state", "value", "negator"} for mark in behind)


def _can_or_cannot(marks: Sequence[Mark], start: int) -> bool:
    """'The left scar is red and she lacks 20 degrees of extension at the right elbow': what somebody cannot do there.

    Only where a side is named behind it: what was found before would take that side.
    """
    at = next((at for at in range(start, len(marks)) if marks[at].kind not in _PARTING), len(marks))
    if at + 2 >= len(marks) or marks[at].text not in words().sets["who"]:
        return False
    at += marks[at + 1].text in BE  # 'he is unable to oppose the right thumb'
    verb = marks[at + 1]
    may = verb.kind == "negator" and verb.text in words().sets["lacking"]
    if verb.state is not None:
        may = verb.state is INCOMPLETE or bool({"able", "unable"} & {*verb.state.classes})
    behind = marks[at + 2 :]
    return may and any(mark.kind == "term" for mark in behind) and any(mark.kind == "side" for mark in behind)


def _moves_otherwise(marks: Sequence[Mark], index: int) -> bool:
    """'He can fully straighten the elbow, and bending it is limited': a movement told by a verb, then one by a noun."""
    at = next((at for at in range(index + 1, len(marks)) if marks[at].kind not in {*_PARTING, "filler"}), len(marks))
    if at == len(marks) or marks[at].kind != "term" or marks[at].text not in words().sets["bare_movements"]:
        return False
    verb = next((each for each in marks[at + 1 :] if each.kind not in _SUBJECT and each.text not in _OF_IT), None)
    moved = next((at for at in range(index - 1, -1, -1) if marks[at].kind == "term"), None)
    if verb is None or verb.text not in BE or moved is None:
        return False
    name = marks[moved].text.rpartition(" ")[2]
    if name != marks[moved].text:
        return name in words().sets["base_verbs"]  # 'cannot straighten', 'fully bend'
    if name not in words().sets["bare_movements"] and name not in words().sets["base_verbs"]:
        return False
    led = [each.state for each in marks[max(0, moved - 3) : moved] if each.state is not None]
    return any({"able", "unable"} & set(state.classes) for state in led)


def _is_of_unknown(marks: Sequence[Mark], index: int) -> bool:
    """'Two fang marks were visible on the ring finger, and the hand was swollen': what is there is not known."""
    mark = marks[index]
    if index and mark.text == "lost" and marks[index - 1].text in words().sets["owns"]:
        return True  # 'had lost the index ray, and the remaining fingers moved normally'
    if mark.kind != "state" or mark.state is None or mark.state.classes != ("present",):
        return False
    return index > 1 and marks[index - 1].text in BE and any(each.kind == "word" for each in marks[:index])


def _is_elsewhere(mark: Mark) -> bool:
    """Whether a part is none of the arm: the leg, a plantar response."""
    return mark.kind == "piece" and mark.piece is not None and mark.piece.kind == "elsewhere"


def _turns_elsewhere(marks: Sequence[Mark], index: int, verb: int) -> bool:
    """'Brisk on the left and the left plantar was equivocal': a clause of a part that is none of the arm."""
    last = next((each for each in reversed(marks[:index]) if each.kind == "piece"), None)
    if marks[verb].text not in BE or (last is not None and _is_elsewhere(last)):
        return False
    return any(_is_elsewhere(each) for each in marks[index:verb])


def _parts_from_legs(marks: Sequence[Mark], comma: int, catalogue: Catalogue) -> str:
    """'Legs spastic, arms of normal tone': of the arms is what stands behind them.

    'clause' where that tells of something else than what was said of the legs, 'but' where it is another result.
    """
    at = comma - 1
    while at >= 0 and marks[at].kind not in {"joiner", "break"}:
        at -= 1
    before = marks[at + 1 : comma]
    last = next((each for each in reversed(before) if each.kind == "piece"), None)
    terms = [each for each in marks[:comma] if each.kind == "term"]
    if last is None or last.text not in words().legs or not terms:
        return ""
    at = comma + 1
    while at < len(marks) and marks[at].kind in {"side", "filler"} and marks[at].text not in BE:
        at += 1
    arm = marks[at].piece if at < len(marks) else None
    if arm is None or "upper_limb" not in arm.slugs:
        return ""
    behind = [each for each in marks[at + 1 :] if each.kind not in _PASSED]
    if not behind or behind[0].kind not in {"state", "value", "term"}:
        return ""
    there = value_of(terms[-1], catalogue) is ValueKind.PRESENCE
    own = there or any(each.kind == "term" for each in behind)
    return "clause" if own else "but"


def _is_of_part(marks: Sequence[Mark], start: int) -> bool:
    """'Swelling on the right and the left wrist is bruised': the part of the second side is what something else is."""
    verb = next((at for at in range(start, len(marks)) if marks[at].kind != "piece"), len(marks))
    if verb in {start, len(marks)} or marks[verb].text.partition(" ")[0] not in BE:
        return False
    told = next((mark for mark in marks[verb + 1 :] if mark.kind not in _PASSED | {"severity", "negator"}), None)
    return told is not None and told.kind == "term" and term_is_adjective(told)


def _sides_apart(marks: list[Mark], texts: Texts) -> list[Mark]:
    """'20 kg on the left and the right was 30 kg': the second side has a verb of its own."""
    if not any([" and the " in mark.word for mark in texts.sides]):  # noqa: C419 - quicker than a generator
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        first, and_the, second = mark.word.partition(" and the ") if mark.kind == "side" else ("", "", "")
        valued = any(each.kind == "value" for each in made)
        one = index + 1 < len(marks) and marks[index + 1].text == "one"
        verb = index + 1 + one
        own = and_the and any(each.kind == "term" for each in made) and verb < len(marks)
        part = bool(own) and _is_of_part(marks, verb)
        if own and (
            part
            or _tells_of_subject(marks, verb, there=False, part=False, valued=valued)
            or ((valued or one or _has_result(made)) and _is_result(marks, verb, valued=True))
        ):
            made.append(replace(mark, end=mark.start + len(first), text=first, word=first))
            parted = ("break", AGAIN) if part else ("joiner", "and")
            made.append(Mark(parted[0], mark.start, mark.start, text=parted[1]))
            made.append(replace(mark, start=mark.end - len(second), text=second, word=second))
        else:
            made.append(mark)
    return made


def _has_result(marks: Sequence[Mark]) -> bool:
    """Whether more is told than that something is there: 'grip was weak on the left and the right was normal'."""
    return any(mark.state is not None and bool(set(mark.state.classes) - {"present"}) for mark in marks)


def _verb_of_subject(marks: Sequence[Mark], start: int) -> int | None:
    """Where the verb stands behind 'the left elbow', 'her wrist and hand'; None where no part is led by such a word."""
    determiners = words().sets["determiners"]
    at = start
    if at < len(marks) and marks[at].text in _ON:
        return _it(marks, at + 1)
    led = at < len(marks) and (marks[at].text in determiners or marks[at].kind == "side")
    at += led and marks[at].kind != "side"
    while led and at < len(marks) and marks[at].text in _PARTS_OF:
        at += 1  # 'the distal forearms are tender'
    named = articles = False
    while led and at < len(marks):
        ahead = marks[at + 1 : at + 3]
        if marks[at].kind in _SUBJECT:
            named = True
        elif named and marks[at].text == "of" and ahead and (ahead[0].text in determiners or ahead[0].kind in _SUBJECT):
            at += ahead[0].text in determiners  # 'the knuckle of the ring finger'
        elif not named or marks[at].text != "and" or not ahead:
            break
        elif ahead[0].text in determiners and ahead[-1].kind in _SUBJECT:
            articles = True
            at += 1
        elif ahead[0].kind not in _SUBJECT:
            break
        at += 1
    if named and at + 1 < len(marks) and marks[at].text == "one":
        at += 1  # 'the left elbow was stiff and the right one was swollen'
    if not named or at >= len(marks):
        return None
    one = marks[at].text.partition(" ")[0].endswith("s") and marks[at].kind != "state"
    return None if articles and one else at  # 'swelling of the palm, the thumb and the wrist moves well'


def _it(marks: Sequence[Mark], start: int) -> int | None:
    """'..., and on the right it clicks': where the verb of 'it' stands."""
    for at in range(start, len(marks)):
        if marks[at].text == "it":
            return at + 1 if at + 1 < len(marks) else None
        if marks[at].text in words().sets["who"] and not any(each.kind in _RESULTS for each in marks[at:]):
            return at + 1 if at + 1 < len(marks) else None  # '..., but on the right he reached only the ring finger'
        if marks[at].text.startswith(_THERE):
            return at
        if marks[at].kind not in _SUBJECT and marks[at].text not in words().sets["determiners"]:
            return None
    return None


def _degree(marks: Sequence[Mark], verb: int) -> int | None:
    """'..., and on the right it was mild': where a degree stands that is all that is told."""
    if marks[verb].text not in BE:
        return None
    at = next((each for each in range(verb + 1, len(marks)) if marks[each].kind != "filler"), None)
    if at is None or marks[at].kind != "severity":
        return None
    return at if at + 1 == len(marks) or marks[at + 1].kind in {"joiner", "break"} else None


def _is_result(marks: Sequence[Mark], verb: int, *, valued: bool) -> bool:
    """Whether the verb leads to a result of its own, and not to 'was noted', which is said of all before it."""
    sets = words().sets
    ahead = next((each for each in marks[verb + 1 :] if each.kind not in {"filler", "certain"}), None)
    if ahead is None or marks[verb].text not in BE | THERE_IS | sets["owns"] | sets["verbs_of_parts"]:
        return False
    if ahead.kind == "state" and ahead.state is not None:
        return bool(set(ahead.state.classes) - {"present"}) or _ends_denied(marks[:verb])
    return valued and ahead.kind == "value"


def _ends_denied(marks: Sequence[Mark]) -> bool:
    """'Tenderness was absent on the left, on the right it was present': whether what was told last was not there."""
    told = next((mark for mark in reversed(marks) if mark.kind in {"state", "negator", "neither"}), None)
    return told is not None and (told.state is None or bool(_NOT_SO & set(told.state.classes)))


def _told_of_it(marks: Sequence[Mark], verb: int) -> Mark | None:
    """What is told behind a verb; 'swollen' of 'the wrist is not swollen'."""
    told = [each for each in marks[verb + 1 :] if each.kind not in _PASSED][:2]
    denied = len(told) > 1 and told[0].kind == "negator" and told[1].kind == "term" and term_is_adjective(told[1])
    return told[denied] if told else None


def _tells_of_subject(marks: Sequence[Mark], verb: int, *, there: bool, part: bool, valued: bool) -> bool:
    """Whether what follows is said of the subject itself, and is no result of the finding before it.

    `there` tells whether something was found to be there before it, `part` whether a part is named ('the right was not
    examined' is of what was told of the left), `valued` whether a number was told ('20 kg, the right reached 30 kg').
    """
    sets = words().sets
    mark = marks[verb]
    ahead = _told_of_it(marks, verb)
    if mark.kind == "state" and mark.text.startswith(words().affixes["has_gone"]):
        return part  # 'the knuckle has disappeared'
    if mark.text in sets["auxiliaries"] and ahead is None:
        return False  # 'the right could not be felt, the left could'
    if mark.text.partition(" ")[0] in sets["movement_verbs"]:
        return True
    if mark.text in sets["verbs_of_parts"]:
        return not valued or ahead is None or ahead.kind != "value"
    if mark.text.startswith(_THERE):  # 'and on the right there was bruising'
        return ahead is not None and ahead.kind == "term"
    if marks[verb - 1].text == "it" and "term" in {mark.kind, ahead.kind if ahead is not None else ""}:
        return True  # 'and on the right it locks'
    if mark.kind == "word":
        return mark.text not in words().plain and mark.text.endswith(("s", "ed"))
    if ahead is None:
        return False
    if mark.kind == "state" and mark.state is not None:
        may = mark.state is INCOMPLETE or bool({"able", "unable"} & set(mark.state.classes))
        return may and ahead.kind == "term"  # 'the elbow could be flexed', 'the elbow lacks 20 degrees of extension'
    if mark.text in sets["owns"]:
        noted = ahead.state is not None and set(ahead.state.classes) == {"present"}
        return ahead.kind in {"term", "state", "word"} and not noted  # 'and the forearm has been noted'
    if mark.text not in BE:  # 'was stiff, while the right one could be flexed'
        return (mark.text in sets["could_be"] and ahead.kind == "term") or (
            mark.kind == "maybe" and ahead.kind == "word"
        )
    normal = ahead.state is not None and set(ahead.state.classes) == {"normal"} and ahead.text not in sets["spared"]
    if ahead.kind == "unexamined":
        return part or there
    return ahead.kind == "term" or (there and part and (ahead.kind == "word" or normal))
