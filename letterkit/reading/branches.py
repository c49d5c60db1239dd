"""Nerves with their side inside their name: 'the dorsal cutaneous branch of the right ulnar nerve'.

And motor function told of nerves: 'motor function of the left radial nerve', 'motor intact in the median distribution'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BRANCHES = {
    ("ulnar", "dorsal"): ("dorsal cutaneous branch of the ulnar nerve", "dorsal_ulnar_area"),
    ("median", "palmar"): ("palmar cutaneous branch of the median nerve", "palmar_triangle"),
    ("radial", "superficial"): ("superficial radial nerve sensation", "radial_area"),
    ("radial", "sensory"): ("superficial radial nerve sensation", "radial_area"),
}  # fmt: skip
_MOTOR = frozenset({"motor", "deep"})
_SOFT = frozenset({"filler", "certain", "state", "negator", "severity", "side"})
_ENDS = (" nerves", " nerve", " distributions", " distribution", " territories", " territory")
_CORDS = frozenset({"cord", "cords"})
_FELT = frozenset({"filler", "word", "severity", "certain", "maybe", "side", "term", "state", "negator"})
_ALL = {"median_area": "median", "ulnar_area": "ulnar", "radial_area": "radial"}


def branches(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with such names put together."""
    if "branch\n" in texts.lines:
        marks = _of_a_branch(marks, phrases)
    if "nerve\n" in texts.lines and not texts.isdisjoint(_CORDS):
        marks = _like_a_cord(marks, phrases)
    if "motor" in texts.lines:
        marks = _of_motor_function(marks, phrases)
    return marks


def _base(mark: Mark) -> str:
    """The nerve that a place is of: 'ulnar' of 'ulnar nerve' and 'ulnar distributions'."""
    text = mark.text
    for end in _ENDS:
        text = text.removesuffix(end)
    return text


def _like_a_cord(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'The ulnar nerve felt like a tender cord': the nerve is thick, and there is no cord of anything else."""
    made = list(marks)
    begin = -1
    for index, mark in enumerate(marks):
        if mark.kind == "piece" and mark.text.endswith(" nerve"):
            begin = index
        elif begin >= 0 and mark.kind == "term" and mark.text in _CORDS:
            for at in range(begin + 1, index):
                if marks[at].kind == "term" or (marks[at].kind == "state" and not _says_whether(marks[at])):
                    made[at] = Mark("word", marks[at].start, marks[at].end, text=marks[at].text)
            entry = phrases["ulnar nerve thickening"]
            if _base(marks[begin]) == "ulnar":
                made[index] = Mark("term", mark.start, mark.end, term=entry.term, text="ulnar nerve thickening")
            else:
                made[index] = Mark("word", mark.start, mark.end, text=mark.text)
        elif mark.kind not in _FELT and not (mark.kind == "joiner" and _joins_adjectives(marks, index)):
            begin = -1
        elif mark.kind == "state" and mark.state is not None and mark.state.classes and not _says_whether(mark):
            begin = -1  # 'the nerve is normal and there is a cord in the palm'
    return made


def _says_whether(mark: Mark) -> bool:
    return mark.state is not None and not {"present", "absent"}.isdisjoint(mark.state.classes)


def _joins_adjectives(marks: Sequence[Mark], index: int) -> bool:
    """'A thick and tender cord', 'a hard, tender cord': no new clause begins there."""
    ahead = marks[index + 1] if index + 1 < len(marks) else None
    if ahead is None or ahead.text in _CORDS or marks[index].text not in {"and", "comma"}:
        return False
    return ahead.kind in {"term", "word", "state", "severity"}


def _of_a_branch(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'The dorsal cutaneous branch of the right ulnar nerve was intact': of the branch, and not of the nerve."""
    at = next(index for index, mark in enumerate(marks) if mark.text.endswith("branch"))
    begin = at
    while begin and marks[begin - 1].text in words().sets["of_a_branch"]:
        begin -= 1
    kinds = {word for mark in marks[begin : at + 1] for word in mark.text.split()}
    end = at + 1
    while end < len(marks) and (marks[end].text in {"of", "the"} or marks[end].kind == "side"):
        end += 1
    nerve = marks[end] if end < len(marks) else None
    if nerve is None or not nerve.text.endswith(" nerve"):
        return marks
    name, site = next(
        (told for (of, kind), told in _BRANCHES.items() if of == _base(nerve) and kind in kinds), ("", "")
    )
    felt = any(mark.kind == "term" and not begin <= index <= end for index, mark in enumerate(marks))
    if not name:
        whole = replace(nerve, kind="word", piece=None)  # 'a cut branch of the left median nerve': not all of it
        return marks if felt or kinds & _MOTOR else [*marks[:end], whole, *marks[end + 1 :]]
    made = Mark("piece", nerve.start, nerve.end, piece=Piece("site", (site,)), text=name)
    if not felt:
        made = Mark("term", nerve.start, nerve.end, term=phrases[name].term, text=name)
    between = [mark for mark in marks[at + 1 : end] if mark.kind == "side"]
    named = [Mark("hint", mark.start, mark.end, text=mark.text) for mark in marks[begin : at + 1]]
    return [*marks[:begin], *named, *between, made, *marks[end + 1 :]]


def _of_motor_function(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Motor intact in the median and ulnar distributions': the nerves that work, and no muscle or strength."""
    at = next((i for i, mark in enumerate(marks) if mark.text.startswith("motor") and _is_bare(mark)), None)
    terms = [mark for mark in marks if mark.kind in {"term", "value"}]
    if at is None or any(mark is not marks[at] and not _is_nerves(mark) for mark in terms):
        return marks
    first = next((i for i in range(at + 1, len(marks)) if marks[i].kind not in _SOFT), len(marks))
    if first == len(marks) or not (_is_nerves(marks[first]) or _nerves(marks[first])):
        return marks
    made = [*marks[:at], Mark("hint", marks[at].start, marks[at].end, text="motor"), *marks[at + 1 : first]]
    for mark in marks[first:]:
        name = _nerves(mark)
        if name and phrases.get(name) is not None:
            made.append(Mark("term", mark.start, mark.end, term=phrases[name].term, text=name))
        elif mark.text in {"nerve", "nerves"}:
            made.append(Mark("filler", mark.start, mark.end, text=mark.text))
        else:
            made.append(mark)
    return made


def _is_bare(mark: Mark) -> bool:
    """'Motor', 'motor function', and no 'motor deficit', which says how it is."""
    return mark.kind == "term" and mark.term is not None and not mark.term.state


def _is_nerves(mark: Mark) -> bool:
    """Whether the term names what nerves do."""
    items = items_of(mark)
    return bool(items) and all(slug.endswith("_nerve_function") for slug in items)


def _nerves(mark: Mark) -> str:
    """The name of what the nerve or the three nerves of a place do; empty where it is none."""
    slugs = mark.piece.slugs if mark.kind == "piece" and mark.piece is not None else ()
    if set(slugs) == set(_ALL):
        return "median , ulnar and radial nerve function"
    base = _base(mark)
    named = mark.kind == "piece" and base in {*_ALL.values(), "anterior interosseous", "posterior interosseous"}
    return f"{base} nerve function" if named else ""
