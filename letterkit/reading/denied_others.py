"""What is denied, or told, of others than were named: 'no swelling elsewhere', 'no other wounds', 'others nil'."""

from __future__ import annotations

from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.predication import BE, term_is_adjective
from letterkit.reading.words import words


def seen_at_another(marks: list[Mark]) -> list[Mark]:
    """'Crepitus absent at the right wrist, coarse at the left': how it is at a further place, and so there."""
    made: list[Mark] = []
    term = denied = False
    for index, mark in enumerate(marks):
        classes = set(mark.state.classes) if mark.kind == "state" and mark.state is not None else set()
        term = term or mark.kind == "term"
        denied = denied or mark.kind == "negator" or bool(classes & {"absent", "negative"})
        joined = bool(made) and made[-1].kind in {"joiner", "break"} and made[-1].text != "or"
        seen = joined and mark.text in words().sets["seen_at_another"]
        if term and denied and seen and _ends_with_place(marks[index + 1 :]):
            made.append(replace(mark, kind="state", state=StateWord(("present",)), text="present"))
        else:
            made.append(mark)
    return made


def _ends_with_place(marks: list[Mark]) -> bool:
    """Whether a place, and nothing else, comes next: 'at the left', 'in the left palm'."""
    end = next((at for at, mark in enumerate(marks) if mark.kind in {"joiner", "break"}), len(marks))
    kinds = {mark.kind for mark in marks[:end]}
    return kinds <= {"filler", "side", "piece"} and bool(kinds & {"side", "piece"})


def of_the_others(marks: list[Mark]) -> list[Mark]:
    """'The left PIP joint is swollen, others nil', 'others nontender': said of what is not named."""
    made = list(marks)
    for index, mark in enumerate(marks):
        begins = index > 0 and marks[index - 1].kind in {"joiner", "break"}
        if mark.kind not in {"word", "filler"} or mark.text not in words().sets["the_others"] or not begins:
            continue
        told = index + 1
        while told < len(marks) and marks[told].text in BE | {"all"}:
            told += 1
        said = marks[told : told + 1]
        result = bool(said) and (said[0].kind == "state" or term_is_adjective(said[0]))
        last = told + 1 >= len(marks) or marks[told + 1].kind in {"joiner", "break"}
        if result and last and any(each.kind == "term" for each in marks[:index]):
            made[told] = replace(said[0], kind="word", state=None, term=None)
    return made


def elsewhere(marks: list[Mark]) -> list[Mark]:
    """'The right wrist is swollen, no swelling elsewhere': the denial is of no place that was named."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text != "elsewhere":
            continue
        at = index - 1
        while at > 0 and marks[at].kind in {"term", "filler", "certain", "severity", "joiner"}:
            at -= 1
        joined = (
            at > 0 and marks[at - 1].kind in {"joiner", "break"} and any(each.kind == "term" for each in marks[:at])
        )
        if at >= 0 and marks[at].kind == "negator" and (joined or at == 0):  # at the start it is of the sentence before
            for each in range(at + 1, index):
                if marks[each].kind == "term":
                    made[each] = replace(marks[each], kind="word", term=None)
    return made


def no_others(marks: list[Mark]) -> list[Mark]:
    """'A wound of the right forearm, no other wounds': the one that was named is not denied."""
    made = list(marks)
    for index, mark in enumerate(marks[2:], start=2):
        led = marks[index - 2].kind == "negator" and marks[index - 1].text == "other"
        named = any(_is_same(mark, each) for each in marks[: index - 2])
        if led and mark.kind == "term" and (named or index == 2):  # noqa: PLR2004 - of the sentence before
            made[index] = replace(mark, kind="word", term=None)
    return made


def _is_same(mark: Mark, other: Mark) -> bool:
    """Whether two marks name one item."""
    return bool({*items_of(mark)} & {*items_of(other)})


def one_and_other(marks: list[Mark]) -> list[Mark]:
    """'Two wounds, one on the eminence and the other on the dorsum': the other one, and no other side."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = marks[index + 1].text if index + 1 < len(marks) else ""
        one = any(each.text == "one" and each.kind == "filler" for each in marks[:index])
        if mark.kind == "side" and mark.text == "other" and one and after in words().sets["where"]:
            made.append(replace(mark, kind="filler", text="one"))
        else:
            made.append(mark)
    return made


def but_one(marks: list[Mark]) -> list[Mark]:
    """'Free of nodules, but a rubbery 1 cm one sits on the forearm': the one is what was spoken of."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text != "one" or mark.kind != "filler":
            continue
        parted = max((at for at in range(index) if marks[at].kind == "break"), default=-1)
        named = next((each for each in reversed(marks[:parted]) if each.kind == "term"), None) if parted > 0 else None
        if named is not None and any(each.text in {"a", "an"} for each in marks[parted:index]):
            made[index] = replace(named, start=mark.start, end=mark.end)
    return made
