"""Remarks in brackets, which are nobody's finding: 'Phalen's positive (she says it was negative last year)'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_LONGEST_REMARK = 80  # marks
_SIGNS = frozenset({"positive", "negative"})
_REMARKS = frozenset({"word", "term", "state", "unexamined", "negator"})


def _are_signs(inside: Sequence[Mark]) -> bool:
    """'(-)', '(R+, L-)': nothing but results, with their sides."""
    told = [mark for mark in inside if mark.kind not in {"side", "joiner"} and mark.text != ")"]
    return bool(told) and all(
        mark.kind == "state" and mark.state is not None and bool(_SIGNS & set(mark.state.classes)) for mark in told
    )


def without_remarks(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """Leaves out what stands in brackets after a term, unless it only says where: a remark is nobody's finding."""
    if "(" not in texts:
        return marks
    allergic = words().sets["allergic"]  # 'penicillin allergic (rash)': how they react, and nothing that is seen
    kept: list[Mark] = []
    told = False
    at = 0
    while at < len(marks):
        mark = marks[at]
        if told and mark.kind == "filler" and mark.text == "(":
            depth, end = 1, at + 1
            while end < min(len(marks), at + _LONGEST_REMARK) and depth:
                depth += {"(": 1, ")": -1}.get(marks[end].text, 0) if marks[end].kind == "filler" else 0
                end += 1
            inside = marks[at + 1 : end]
            if any(each.kind in _REMARKS for each in inside) and not _are_signs(inside):
                at = end
                continue
        kept.append(mark)
        told = told or mark.kind == "term" or mark.text in allergic
        at += 1
    return kept
