"""'Unable to touch the thumb to the little finger', 'touches her nose': what somebody touches is no sense of touch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, without_place
from letterkit.reading.phrases import Entry
from letterkit.reading.places import FINGERS
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "side", "piece", "joiner", "word", "certain"})
_SOFT = frozenset({"filler", "certain"})
_LAST = "little"  # the finger that a thumb reaches last


def touching(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with a thumb that touches a finger as its opposition, and other touching as nothing that is felt."""
    verbs = words().sets["touches"]
    if texts.isdisjoint(verbs):
        return marks
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        at += 1
        lead = _lead(made, mark) if mark.text in verbs and mark.kind in {"term", "word"} else None
        if lead is None:
            made.append(mark)
            continue
        verb = made[lead] if lead < len(made) else None
        able = verb is None or (verb.state is not None and "able" in verb.state.classes)
        end = _reach(marks, at)
        told = _told(made, marks[at:end], marks[end:], able=able)
        if not told:
            made.append(Mark("word", mark.start, mark.end, text=mark.text))
            continue
        where = (mark.start, mark.start) if verb is None else (verb.start, verb.end)
        made[lead : lead + 1] = [Mark("state", *where, state=phrases[told].state, text=told)]
        made.append(replace(mark, kind="term", term=phrases["oppose"].term, text="oppose"))
        if told == "reduced":  # 'to the index finger but not to the ring finger' says once that it stops there
            stops = (at for at in range(end, len(marks)) if marks[at].kind not in {*_BETWEEN, "break", "negator"})
            end = next(stops, len(marks)) if any(each.kind == "negator" for each in marks[end : end + 2]) else end
        made += [_unnamed(each) for each in marks[at:end]]
        at = end
    return made


def _reach(marks: Sequence[Mark], start: int) -> int:
    """Where what is touched ends: before '..., the middle finger is swollen', which has a result of its own."""
    end = next((end for end in range(start, len(marks)) if marks[end].kind not in _BETWEEN), len(marks))
    if end == len(marks) or marks[end].kind in {"break", "negator"}:
        return end
    return next((at for at in range(end - 1, start, -1) if marks[at].kind == "joiner"), end)


def _unnamed(mark: Mark) -> Mark:
    """A finger that is reached is not where the finding is; the side and the hand it is of stay."""
    if mark.kind in {"break", "negator"}:
        return Mark("filler", mark.start, mark.end, text=mark.text)
    apart = mark.piece is not None and mark.piece.kind == "site" and not mark.piece.slugs[0].startswith("pulp")
    return mark if apart else without_place(mark)


def _lead(made: Sequence[Mark], verb: Mark) -> int | None:
    """Where the word stands that says whether somebody can; past the end where the verb does, None where none does."""
    at = len(made) - 1
    while at >= 0 and made[at].kind in _SOFT:
        at -= 1
    before = made[at] if at >= 0 else None
    if before is not None and before.kind == "state" and before.state is not None:
        return at if {"able", "unable"} & {*before.state.classes} else None
    if before is not None and before.kind == "negator" and before.text in words().sets["not_doing"]:
        return at
    return len(made) if verb.text == "touches" else None


def _told(before: Sequence[Mark], reached: Sequence[Mark], after: Sequence[Mark], *, able: bool) -> str:
    """How well the thumb comes to the fingers; nothing where it is not said to touch one, or brings on symptoms."""
    if any(mark.text == "on" for mark in reached[:1]):
        return ""  # 'compression of the carpal canal did not bring on tingling in the thumb or ring finger'
    named = {slug for mark in reached if mark.piece is not None for slug in mark.piece.slugs}
    if not any(_is_thumb(mark) for mark in (*before, *reached)):
        return ""
    each = any(mark.text in words().sets["each_of_them"] for mark in reached) or "pulp" in named
    fingers = {finger for finger in FINGERS if each or any(slug.endswith(finger) for slug in named)}
    if not able or not fingers:
        return "unable to" if fingers else ""
    if _LAST in fingers:
        return "able to"
    said = {mark.text for mark in (*before[-1:], *reached, *after[:1])}
    return "reduced" if said & words().sets["no_further_finger"] else ""


def _is_thumb(mark: Mark) -> bool:
    """Whether a mark names the thumb or its pulp alone, and not the digits of a hand, of which it is one."""
    slugs = mark.piece.slugs if mark.piece is not None else ()
    return bool(slugs) and all("thumb" in slug for slug in slugs)
