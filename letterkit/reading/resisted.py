"""Power told by what somebody can do: 'unable to extend the elbow against resistance', 'flexes it against gravity'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_LOADS = frozenset({"resistance", "gravity"})
_BETWEEN = frozenset({"filler", "side", "piece", "certain", "active_mode"})


def resisted(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with such a movement as one that is weak or strong.

    Who can lift a hand against gravity may still be weak, and one who cannot is: only the second tells of power.
    """
    if "against" not in texts or texts.isdisjoint(_LOADS) or "value" in texts.kinds:
        return marks
    against = next(at for at, mark in enumerate(marks) if mark.text == "against")
    load = next((at for at in range(against + 1, len(marks)) if marks[at].kind != "filler"), against)
    moved = against - 1
    while moved >= 0 and marks[moved].kind in _BETWEEN:
        moved -= 1
    if marks[load].text not in _LOADS or moved < 0 or marks[moved].kind != "term":
        return marks
    said = marks[moved].text.split()[-3 if " and " in marks[moved].text else -1 :: 2]  # 'bend and straighten'
    names = [words().movements.get(each, each) for each in said]
    able, told = _ability(marks, moved, load)
    if not {"flexion", "extension"}.issuperset(names) or able is None or (able and marks[load].text == "gravity"):
        return marks
    weak = not able or any(mark.text in {"weak", "weakly"} for mark in marks[load:])
    if able and not weak and any(mark.kind in {"negator", "break", "state"} for mark in marks[load + 1 :]):
        return marks
    word = "weak" if weak else "strong"
    start, end = marks[moved].start, marks[moved].end
    terms = [Mark("term", start, end, term=phrases[name].term, text=name) for name in names]
    terms[1:] = [each for term in terms[1:] for each in (Mark("joiner", start, start, text="and"), term)]
    by = told or marks[moved]
    state = Mark("state", by.start, by.end, state=phrases[word].state, text=word)
    rest = [replace(mark, kind="filler", text="of") for mark in marks[against : load + 1]]
    made = [*marks[:moved], state, *terms, *marks[moved + 1 : against], *rest, *marks[load + 1 :]]
    return [mark for mark in made if mark is not told]


def _ability(marks: Sequence[Mark], moved: int, load: int) -> tuple[bool | None, Mark | None]:
    """Whether the movement could be made, and the word that says so where it stands by itself; None if none does."""
    affixes = words().affixes
    if marks[moved].text.startswith(affixes["unable_to"]):
        return False, None
    if marks[moved].text.startswith(affixes["able_to"]):
        return True, None
    behind = [mark for mark in marks[load + 1 :] if mark.kind != "filler"][:1]
    for mark in [*reversed(marks[max(0, moved - 2) : moved]), *behind]:
        classes = mark.state.classes if mark.kind == "state" and mark.state is not None else ()
        if classes in {("able",), ("unable",)}:
            return classes == ("able",), mark
    return None, None
