"""What an exception takes out of a statement, and what it says: 'negative bilaterally, except on the right'."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.parting import in_place
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import OPPOSITE, Places, lies_in, sides_of
from letterkit.reading.predication import BE, Predication, Said, term_is_adjective
from letterkit.reading.result import ReadFinding
from letterkit.reading.said import classes_of
from letterkit.reading.sides import Statement
from letterkit.reading.words import words

_TOLD = frozenset({"state", "value", "negator", "neither"})
_NAMED = frozenset({"piece", "side", "term"})
_PLACED = frozenset({"filler", "side", "piece"})
_LISTED = frozenset({"filler", "joiner"}) | _NAMED
_NOT_OF_ALL = "an exception is named: it is not so of all"
HOW_LITTLE = "an exception is named: how much is felt there is not said"
NOT_SAID = "an exception is named: say what was found there"
WHICH_ONE = "an exception is named: which of these was there is not said"
_DECIDES = frozenset({"negative", "absent", "positive", "present"})  # classes of which each has its opposite


def excepted_last(marks: Sequence[Mark]) -> list[Mark]:
    """'All fingers except the ring finger on the left are numb': '... are numb except the ring finger on the left'.

    Without this what is told of the others would be told of the one that is excepted.
    """
    at = next((index for index, mark in enumerate(marks) if mark.kind == "except"), 0)
    verb = next((each for each in range(at + 1, len(marks)) if _is_verb(marks[each])), len(marks))
    excepted = list(marks[at + 1 : verb])
    result = verb + 1 if verb < len(marks) and marks[verb].text in BE else verb
    if not at or result >= len(marks) or any(mark.kind not in _LISTED for mark in excepted):
        return list(marks)
    told = any(mark.kind in _TOLD or (term_is_adjective(mark) and mark.kind == "term") for mark in marks[:at])
    if told or not any(mark.kind in _NAMED for mark in excepted):
        return list(marks)
    lead = list(marks[:at])
    if lead[-1].text == "comma":
        lead.pop()
    if excepted[-1].text == "comma":
        excepted.pop()
    end = next((each for each in range(verb + 1, len(marks)) if _ends(marks[each])), len(marks))
    turned = [*marks[verb:end], marks[at], *excepted]
    return [*lead, *in_place(turned, marks[at : at + len(turned)]), *marks[end:]]


def all_but(marks: Sequence[Mark]) -> list[Mark]:
    """'Lost in all digits but the right thumb', 'all fingers were numb but the left ring': an exception of all."""
    made = list(marks)
    begin = 0
    for index, mark in enumerate(marks):
        if mark.kind != "break":
            continue
        head, begin = marks[begin:index], index + 1
        if mark.text != "but" or not _is_of_all(head):
            continue
        end = index + 1
        while end < len(marks) and _may_be_excepted(marks[end]):
            end += 1
        named = any(each.kind in _NAMED for each in marks[index + 1 : end])
        verb = end < len(marks) and _is_verb(marks[end]) and not any(map(_is_told, head))
        if named and (verb or end == len(marks) or _ends(marks[end])):
            made[index] = replace(mark, kind="except", text="except")
    return made


def _may_be_excepted(mark: Mark) -> bool:
    if mark.kind == "term":
        return not _is_told(mark)
    return mark.kind in _PLACED and mark.text not in BE


def _is_told(mark: Mark) -> bool:
    """Whether a mark tells a result: 'full', 'numb', 'moved well'."""
    return mark.text in BE or mark.kind in _TOLD or (mark.term is not None and bool(mark.term.state))


def _is_verb(mark: Mark) -> bool:
    """'... were', '... moved fully': what the whole did, behind what is excepted."""
    told = mark.term is not None and bool(mark.term.state) and not term_is_adjective(mark)
    return mark.text in BE or told


def _is_of_all(marks: Sequence[Mark]) -> bool:
    """'all fingers', 'every movement'."""
    of_all = words().affixes["of_all"]
    return any(f"{mark.text} ".startswith(of_all) or mark.word.startswith(of_all) for mark in marks)


def _ends(mark: Mark) -> bool:
    return mark.kind == "break" or mark.text == "comma"


def of_exception(predication: Predication, places: Places) -> Statement | None:
    """What is so at the place that is excepted; None where what was said of the others does not tell."""
    if predication.negated:
        return Statement((), places, implied=True)
    told = [each for each in (*predication.before, *predication.tail) if isinstance(each, Said)]
    classes, unclear, some = classes_of(told)
    if is_less_felt(predication, places):
        return Statement((Said(Mark("state", 0, 0, state=StateWord(("reduced",)))),), places)
    if unclear or not some or not classes <= _DECIDES:
        return None
    other = ("positive", "present") if classes & {"negative", "absent"} else ("negative", "absent")
    return Statement((Said(Mark("state", 0, 0, state=StateWord(other))),), places)


def is_less_felt(predication: Predication, places: Places) -> bool:
    """'Light touch is intact except in the left little finger': less there, as it seems; how much is not said."""
    felt = words().sets["felt_less"]
    if places.elsewhere or any(mark.term is None or not felt >= {*mark.term.items[:1]} for mark in predication.terms):
        return False
    told = [each for each in (*predication.before, *predication.tail) if isinstance(each, Said)]
    classes, unclear, some = classes_of(told)
    return bool(some) and not unclear and classes == {"normal"}


def left_out(finding: ReadFinding, excepted: Places) -> Iterator[ReadFinding]:
    """The finding without the sites that are excepted, which of a finding on both sides may be so on one alone."""
    gone = {
        site for site in finding.sites for place in excepted.places if place.site and _is_at(site, place.site)
    }  # fmt: skip
    sides = {place.side for place in excepted.places} - {None}
    if not gone or len(sides) > 1 or (sides and not sides & {finding.side, "both"} and finding.side != "both"):
        yield _but_not_all_of_it(finding, excepted)
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


def _but_not_all_of_it(finding: ReadFinding, excepted: Places) -> ReadFinding:
    """'Normal in both hands except the right index, where it is absent': what is told of the hands is not of it all."""
    sides = {finding.side, "both"} if finding.side != "both" else {"left", "right", "both"}
    within = any(
        place.side in sides and any(site != place.site and lies_in(place, site) for site in finding.sites)
        for place in excepted.places
    )
    if not within:
        return finding
    return replace(finding, sure="needs_a_look", reasons=(*finding.reasons, _NOT_OF_ALL))


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


def narrowed(findings: list[ReadFinding]) -> list[ReadFinding]:
    """'All fingers are numb, but not the ring': what is told of some sites of one sentence is not so of those that it
    tells otherwise of further on."""
    if len({each.item for each in findings}) == len(findings):
        return findings
    made = list(findings)
    for at, later in enumerate(findings):
        for index, each in enumerate(made[:at]):
            told = set(later.sites) < set(each.sites) and later.item == each.item and later.state != each.state
            if later.sites and told and later.side == each.side and each.state != "measured":
                made[index] = replace(each, sites=tuple(site for site in each.sites if site not in later.sites))
    return made
