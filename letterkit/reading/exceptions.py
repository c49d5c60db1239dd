"""What an exception takes out of a statement, and what it says: 'negative bilaterally, except on the right'."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import OPPOSITE, Places, sides_of
from letterkit.reading.predication import Predication, Said
from letterkit.reading.result import ReadFinding
from letterkit.reading.said import classes_of
from letterkit.reading.sides import Statement

_DECIDES = frozenset({"negative", "absent", "positive", "present"})  # classes of which each has its opposite


def of_exception(predication: Predication, places: Places) -> Statement | None:
    """What is so at the place that is excepted; None where what was said of the others does not tell."""
    if predication.negated:
        return Statement((), places, implied=True)
    told = [each for each in (*predication.before, *predication.tail) if isinstance(each, Said)]
    classes, unclear, some = classes_of(told)
    if unclear or not some or not classes <= _DECIDES:
        return None
    other = ("positive", "present") if classes & {"negative", "absent"} else ("negative", "absent")
    return Statement((Said(Mark("state", 0, 0, state=StateWord(other))),), places)


def left_out(finding: ReadFinding, excepted: Places) -> Iterator[ReadFinding]:
    """The finding without the sites that are excepted, which of a finding on both sides may be so on one alone."""
    gone = {
        site for site in finding.sites for place in excepted.places if place.site and _is_at(site, place.site)
    }  # fmt: skip
    sides = {place.side for place in excepted.places} - {None}
    if not gone or len(sides) > 1 or (sides and not sides & {finding.side, "both"} and finding.side != "both"):
        yield finding
        return
    kept = tuple(site for site in finding.sites if site not in gone)
    if kept:
        yield replace(finding, sites=kept)
    if finding.side == "both" and sides & {"left", "right"}:
        yield replace(
            finding,
            sites=tuple(each for each in finding.sites if each in gone),
            side=sides_of(OPPOSITE[sides.pop() or ""]),
        )


def _is_at(site: str, place: str) -> bool:
    """Whether a site is the place, or the joint of it: of the thumb is its MCP joint."""
    return site == place or site.endswith(f"_{place}")


def without(finding: ReadFinding, excepted: Sequence[ReadFinding]) -> Iterator[ReadFinding]:
    """The finding without the side or place that an exception takes out of it; nothing where none of it is left."""
    left: ReadFinding | None = finding
    for each in excepted:
        if left is None or each.item != left.item:
            continue
        same = not each.sites or each.sites == left.sites
        if same and each.side in {left.side, "both"}:
            left = None
        elif same and left.side == "both" and each.side in OPPOSITE:
            left = replace(left, side=sides_of(OPPOSITE[each.side]))
    if left is not None:
        yield left
