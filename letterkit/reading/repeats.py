"""A finding told again: 'a lump of the palm ... it measures 2 cm' is one lump, with its size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.result import ONE_WAY, TOLD_IN_TWO_WAYS, ReadFinding

_OF_WHICH_MOVEMENT = "this is told in two ways, once without saying whether the movement is active or passive"
_OF_ONE_WAY = frozenset(ONE_WAY.values())
_STATES = frozenset({"present", "absent", "positive", "negative"})


def _same(first: ReadFinding, second: ReadFinding) -> bool:
    """Whether nothing that one says contradicts the other."""
    for name in first.qualifiers.keys() & second.qualifiers.keys():
        if first.qualifiers[name] != second.qualifiers[name]:
            return False
    return first.item == second.item and first.side == second.side and first.state == second.state


def _joined(first: ReadFinding, second: ReadFinding) -> ReadFinding:
    qualifiers: Mapping[str, str | float | int] = {**first.qualifiers, **second.qualifiers}
    figures = first.figures or second.figures
    added = second.qualifiers.keys() - first.qualifiers.keys()
    doubtful = first.sure != "certain" or (bool(added) and second.sure != "certain")
    reasons = dict.fromkeys((*first.reasons, *(second.reasons if added else ())))
    return replace(
        first, qualifiers=qualifiers, figures=figures, sure="needs_a_look" if doubtful else "certain",
        reasons=tuple(reasons),
    )  # fmt: skip


def told_once(findings: Sequence[ReadFinding]) -> list[ReadFinding]:
    """Findings in order, one that only repeats or adds to an earlier one joined with it."""
    findings = both_ways(findings)
    kept: list[ReadFinding] = []
    at: dict[tuple[str, str | None, tuple[str, ...], str, str], int] = {}
    for finding in findings:
        key = (finding.item, finding.side, finding.sites, finding.words, finding.state)
        before = at.get(key) if finding.state in _STATES else None
        if before is not None and _same(kept[before], finding):
            kept[before] = _joined(kept[before], finding)
            continue
        at.setdefault(key, len(kept))
        kept.append(finding)
    return _against_each_other(kept)


def both_ways(findings: Sequence[ReadFinding]) -> Sequence[ReadFinding]:
    """'Flexion and extension are full', 'extension reduced, full flexion': where both ways are told, none is asked."""
    if _OF_ONE_WAY.isdisjoint(reason for finding in findings for reason in finding.reasons):
        return findings
    told: dict[tuple[object, ...], set[str]] = {}
    for finding in findings:
        told.setdefault(_of_what(finding), set()).update(_OF_ONE_WAY.intersection(finding.reasons) or _OF_ONE_WAY)
    both = {what for what, ways in told.items() if len(ways) == len(_OF_ONE_WAY)}
    return [_without_way(finding) if _of_what(finding) in both else finding for finding in findings]


def _without_way(finding: ReadFinding) -> ReadFinding:
    reasons = tuple(reason for reason in finding.reasons if reason not in _OF_ONE_WAY)
    return replace(finding, reasons=reasons, sure="needs_a_look" if reasons else "certain")


def _against_each_other(findings: Sequence[ReadFinding]) -> list[ReadFinding]:
    """'Extension reduced, full flexion': what is told of one thing in two ways is for the clinician to look at."""
    if len({(finding.item, finding.side, finding.sites) for finding in findings}) == len(findings):
        return list(findings)
    told: dict[tuple[object, ...], dict[str, set[str]]] = {}
    for finding in findings:
        modes = told.setdefault(_of_what(finding), {})
        modes.setdefault(_mode(finding), set()).add(f"{finding.state} {finding.value}")
    return [_looked_at(finding, told[_of_what(finding)]) for finding in findings]


def _looked_at(finding: ReadFinding, told: Mapping[str, set[str]]) -> ReadFinding:
    """The finding with a look where what is told of its thing, by the mode of movement, does not agree."""
    if len(told[_mode(finding)]) > 1:
        why = TOLD_IN_TWO_WAYS
    elif "" in told and len(set().union(*told.values())) > 1:  # an active and a passive movement may differ
        why = _OF_WHICH_MOVEMENT
    else:
        return finding
    return replace(finding, sure="needs_a_look", reasons=tuple(dict.fromkeys((*finding.reasons, why))))


def _mode(finding: ReadFinding) -> str:
    return str(finding.qualifiers.get("mode", ""))


def _of_what(finding: ReadFinding) -> tuple[object, ...]:
    how = tuple(str(finding.qualifiers.get(name, "")) for name in ("note", "description"))
    return finding.item, finding.side, finding.sites, finding.words, how
