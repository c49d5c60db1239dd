"""Sides of a part in short forms: 'dorsum of R forearm' is the forearm, and 'swollen hand and wrist' two places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import CARRIERS, Piece
from letterkit.reading.places import FACES_OF_THE_HAND, Place, Places, lies_in, of_the_part
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"the", "his", "her", "their", "this", "of"})
_BEYOND_THE_HAND = CARRIERS - {"hand", "wrist"}
_OF_A_DIGIT = frozenset({"side", "aspect", "border"})
_HALVES: Mapping[tuple[str, ...], str] = {("thumb",): "radial side", ("little",): "ulnar side"}
_LISTING = frozenset({"and", "comma", "or"})


def aspects(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Dorsum of R forearm', 'dorsum of the left elbow': the part that is named last says where."""
    if not texts.isdisjoint(_OF_A_DIGIT):
        marks = _side_of_digit(marks, phrases)
    if "of" not in texts:
        return marks
    if not texts.isdisjoint(words().sets["pads"]) and any(_tells_two_points(mark) for mark in marks):
        marks = _sides_of_pad(marks)
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark, whole = marks[at], _whole(marks, at)
        at += 1
        if whole is None:
            made.append(mark)
            continue
        part = marks[whole]
        sides = [each for each in marks[at:whole] if each.kind == "side"]
        named = phrases.get(f"{mark.text} of the {part.text}")
        if named is not None and named.piece is not None:
            made += [replace(each, start=mark.start) for each in sides]
            made.append(Mark("piece", mark.start, part.end, piece=named.piece, text=f"{mark.text} of the {part.text}"))
            at = whole + 1
        elif _is_beyond_the_hand(mark, part):
            made.append(replace(mark, kind="filler", piece=None))
        else:
            made.append(mark)
    return made


def _side_of_digit(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'On the thumb side of the forearm', 'the little finger side of the wrist': that half of it, and no digit."""
    made: list[Mark] = []
    for mark in marks:
        led = len(made) > 1 and made[-1].text == "-"
        digit = made[-1 - led] if len(made) > led else mark
        half = _HALVES.get(digit.piece.slugs) if digit.piece is not None and digit.kind == "piece" else None
        if mark.text in _OF_A_DIGIT and half is not None:
            made[-1 - led :] = [Mark("piece", digit.start, mark.end, piece=phrases[half].piece, text=half)]
        else:
            made.append(mark)
    return made


def _sides_of_pad(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'On the radial and ulnar side of the pad of the index': those sides of the finger, and no third place."""
    for at in range(3, len(marks)):
        of_the = [mark.text for mark in marks[at - 2 : at]] == ["of", "the"]
        if of_the and marks[at].text in words().sets["pads"] and marks[at - 3].text in words().sets["sides_of_digit"]:
            return [*marks[: at - 2], Mark("filler", marks[at].start, marks[at].end, text="the"), *marks[at + 1 :]]
    return marks


def _tells_two_points(mark: Mark) -> bool:
    return any(slug.endswith("two_point_discrimination") for slug in items_of(mark))


def _whole(marks: Sequence[Mark], index: int) -> int | None:
    """Where the part stands whose side or face the place is; None where it is of nothing."""
    if marks[index].kind != "piece" or index + 1 == len(marks) or marks[index + 1].text != "of":
        return None
    for at in range(index + 2, len(marks)):
        if marks[at].kind == "piece":
            return at
        if marks[at].kind != "side" and marks[at].text not in _BETWEEN:
            return None
    return None


def _is_beyond_the_hand(aspect: Mark, part: Mark) -> bool:
    """Whether a face of the hand is said of a part that is none of the hand's: 'dorsum of the left foot'."""
    if aspect.piece is None or part.piece is None or not FACES_OF_THE_HAND.keys() & set(aspect.piece.slugs):
        return False
    return part.piece.kind == "elsewhere" or any(
        slug in _BEYOND_THE_HAND or lies_in(Place(None, slug), "forearm") or lies_in(Place(None, slug), "elbow")
        for slug in part.piece.slugs
    )  # fmt: skip


def faces_of_part(marks: list[Mark], part: Places | None) -> list[Mark]:
    """'Left wrist:' and under it 'swelling over the dorsum': the face of the part that the heading names."""
    if part is None:
        return marks
    pieces = [mark for mark in marks if mark.piece is not None]
    if len(pieces) != 1 or pieces[0].text not in words().sets["faces"] or pieces[0].piece is None:
        return marks
    slug, row = pieces[0].piece.slugs[0], pieces[0].piece.kind == "row"
    made = of_the_part(Places((Place(None, None if row else slug, slug if row else None),)), part)
    if len(made.places) != 1 or made.places[0].site is None:
        return marks
    piece = Piece("site", (made.places[0].site,))
    return [replace(mark, piece=piece) if mark is pieces[0] else mark for mark in marks]


def parts_apart(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """'A swollen hand and wrist': beside other parts, the part in the name of a finding is one of them."""
    if "piece" not in texts.kinds or not any([" " in mark.text for mark in texts.now(marks).terms]):  # noqa: C419
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        halves = _halves(mark, catalogue, phrases) if mark.kind == "term" and " " in mark.text else None
        if halves is not None and (
            _leads_to_part(marks, index) or any(each.kind == "piece" for each in marks[:index])
        ):  # fmt: skip
            made += halves
        else:
            made.append(mark)
    return made


def _halves(mark: Mark, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark] | None:
    """'Swollen' and 'hand', 'tender' and 'scapholunate interval'; None where the name is not of two such words."""
    one_place = not any(catalogue.items[slug].sites for slug in items_of(mark))  # 'red palms' are of their own place
    for adjective, _, part in (mark.text.rpartition(" "), mark.text.partition(" ")):
        told, named = phrases.get(adjective), phrases.get(part)
        if told is None or told.term is None or not told.term.adjective or named is None or named.piece is None:
            continue
        if one_place and not set(items_of(mark)) <= set(told.term.items):
            continue
        cut = mark.end - len(part)
        return [
            replace(mark, end=cut, term=told.term, text=adjective),
            Mark("piece", cut, mark.end, piece=named.piece, text=part),
        ]
    return None


def _leads_to_part(marks: Sequence[Mark], index: int) -> bool:
    """'... and a painful wrist': whether another part comes next in a list."""
    listed = False
    for mark in marks[index + 1 :]:
        if mark.kind == "piece":
            return listed
        if mark.kind == "break" or (mark.kind == "joiner" and mark.text not in _LISTING):
            return False
        listed = listed or mark.kind == "joiner"
    return False
