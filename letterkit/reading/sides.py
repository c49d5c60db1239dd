"""The tail of a predication as statements: which result holds where, right and left told apart."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from letterkit.reading.places import OPPOSITE, Places, of_row, on_side, unsided, with_digits
from letterkit.reading.predication import Cut, Predication, Said

TWO_SIDES = "two sides are named: is it so of both?"
_CONTRARY = (
    ({"positive", "present"}, {"negative", "absent"}),
    ({"normal", "full", "able", "stable", "equal"}, {"reduced", "absent", "abnormal", "increased", "unable"}),
    ({"positive", "present", "negative", "absent"}, {"equivocal"}),
    ({"reduced"}, {"absent", "increased"}),
)


@dataclass(frozen=True, slots=True)
class Statement:
    """Results that hold together, with the places named for them; `implied` where the term alone is the result."""

    said: tuple[Said, ...]
    places: Places | None
    implied: bool = False


def _union(places: Sequence[Places]) -> Places | None:
    if not places:
        return None
    ours = [each for each in places if not each.elsewhere]
    if len(ours) < len(places) and any(each.has_site for each in ours):
        places = ours  # 'on the wrist, the elbow and the knees': another part of the body does not take ours away
    made = places[0]
    for more in places[1:]:
        made = _and_the_other(made, more) or merged(made, more)
    return made


def _and_the_other(first: Places, more: Places) -> Places | None:
    """'At the right wrist and, hardly, on the left': a bare side behind a place of the other one is a second place."""
    if more.has_site or more.elsewhere or not first.has_site or first.elsewhere or more.side not in OPPOSITE:
        return None
    if any(place.side != OPPOSITE[more.side or ""] for place in first.places):
        return None
    both = tuple(on_side(place, "both") for place in first.places)
    return Places(both, tuple(dict.fromkeys((*first.look, *more.look, TWO_SIDES))))


def merged(common: Places, own: Places) -> Places:
    """A site said once and a side said apart belong together; two sites stand beside each other."""
    looks = tuple(dict.fromkeys((*common.look, *own.look)))
    if common.elsewhere and not own.has_site:
        return common
    if own.elsewhere:
        return own
    if common.has_site and not own.has_site and own.places:
        sides = tuple(dict.fromkeys(place.side for place in own.places if place.side))
        side = sides[0] if len(sides) == 1 else "both" if len(sides) > 1 else None
        return Places(tuple(on_side(place, side or place.side) for place in common.places), looks, common.elsewhere)
    if own.has_site and not common.has_site and common.places:
        side = common.side
        kept = tuple(on_side(place, place.side or side) for place in own.places)
        return Places(kept, looks, own.elsewhere)
    return Places(tuple(dict.fromkeys((*common.places, *own.places))), looks, common.elsewhere and own.elsewhere)


def _is_sided(places: Places) -> bool:
    return any(place.side for place in places.places)


def statements(predication: Predication) -> list[Statement]:
    """The statements of one predication, in the order of the text."""
    parts: list[list[Said | Places]] = [[]]
    for each in predication.tail:
        if isinstance(each, Cut):
            parts.append([])
        else:
            parts[-1].append(each)
    before = tuple(predication.before)
    found: list[Statement] = []
    if before and any(_is_value(each) for each in before) and any(_is_value(each) for each in parts[0]):
        first = next(index for index, each in enumerate(parts[0]) if _is_value(each))
        after = any(isinstance(each, Places) for each in parts[0][first:])
        lead = _union([each for each in parts[0][:first] if isinstance(each, Places)]) if after else None
        found.append(Statement(before, lead))  # '20 degrees of flexion on the left, 30 on the right'
        parts[0] = parts[0][first:] if lead is not None and lead.side else parts[0]
        before = ()
    if before and _is_of_the_other_side(predication, parts[0]):
        found.append(Statement(before, None))
        before = ()
    for part in parts:
        made = _of_part(part, before)
        common = next((each.places for each in found if each.places and each.places.has_site), None)
        if found and common is not None:
            bare = Places(tuple(on_side(place, None) for place in common.places if place.site or place.row))
            made = [replace(each, places=under(bare, each.places) if each.places else bare) for each in made]
        found += made
        before = ()
    return _with_results(found)


def _is_of_the_other_side(predication: Predication, part: Sequence[Said | Places]) -> bool:
    """'The left thumb could not be flexed, and the right one was normal': what came before is of the first side."""
    side = predication.places.side if predication.places is not None and not predication.carried else None
    first = part[0] if part else None
    if side not in OPPOSITE or not isinstance(first, Places) or not any(isinstance(each, Said) for each in part):
        return False
    return first.side == OPPOSITE[side] and not first.elsewhere


def _with_results(found: list[Statement]) -> list[Statement]:
    """'Positive at 20 s on the left and at 40 s on the right': seconds alone are when the same result was there."""
    told: tuple[Said, ...] = ()
    made: list[Statement] = []
    for each in found:
        seconds = bool(each.said) and all(
            one.mark is not None and one.mark.amount is not None and one.mark.amount.unit == "s" for one in each.said
        )
        made.append(replace(each, said=(*told, *each.said)) if seconds and told else each)
        states = tuple(one for one in made[-1].said if one.mark is not None and one.mark.amount is None)
        told = (
            states
            if all("positive" in (one.mark.state.classes if one.mark and one.mark.state else ()) for one in states)
            else ()
        )
    return made


def severity_of(statement: Statement, predication: Predication) -> str:
    """'mild on the right, severe on the left': the degree of one statement, or that said before the term."""
    own = next((each.mark.text for each in statement.said if each.mark and each.mark.kind == "severity"), "")
    if own or not predication.severity:
        return own
    return predication.severity if statement == statements(predication)[0] or not statement.said else ""


def _is_value(each: Said | Places) -> bool:
    return isinstance(each, Said) and each.mark is not None and each.mark.amount is not None


def under(common: Places, own: Places) -> Places:
    """A place said for one result, under a place said for all: the nearer site wins, the farther side fills in."""
    if own.elsewhere:
        return own
    own = of_row(own, common)
    if common.has_site and own.places and all(place.row and place.plural for place in own.places):
        return Places(common.places, (*common.look, *own.look))  # 'a papule of the thumb, streaks beneath the nails'
    if own.has_site:
        side = common.side
        kept = tuple(on_side(place, place.side or side) for place in own.places)
        return Places(kept, own.look, own.elsewhere)
    return merged(common, own)


def _of_part(tail: Sequence[Said | Places], before: tuple[Said, ...]) -> list[Statement]:
    results = [index for index, each in enumerate(tail) if isinstance(each, Said)]
    if not results:
        named = _union([each for each in tail if isinstance(each, Places)])
        return [Statement(before, named, implied=not before)]
    lead = _union([each for each in tail[: results[0]] if isinstance(each, Places)])
    rest = tail[results[0] :]
    if _turns(before, rest):
        sites = [place for place in lead.places if place.site or place.row] if lead else []
        common = Places(tuple(on_side(place, None) for place in sites)) if sites else None
        after = [each for each in rest if isinstance(each, Places)]
        others = (
            _of_part(rest, ()) if after else [Statement(tuple(each for each in rest if isinstance(each, Said)), None)]
        )
        if common is not None:
            others = [replace(each, places=under(common, each.places) if each.places else common) for each in others]
        return [Statement(before, lead), *others]
    places_after = any(isinstance(each, Places) for each in rest)
    if lead is not None and not places_after:
        told = [*before, *(each for each in rest if isinstance(each, Said))]
        return [Statement(tuple(each), lead) for each in _one_value_each(told)]
    if lead is not None and _is_sided(lead) and isinstance(tail[-1], Said):
        return _side_first(tail, before)
    found: list[Statement] = []
    common = lead
    if lead is not None and _is_sided(lead) and not _only_refines(lead, rest):
        if before or not _is_of_both(lead, rest):
            found.append(Statement(before, lead, implied=not before))
        before = ()
        common = Places(tuple(on_side(place, None) for place in lead.places if place.site or place.row))
    groups = _result_first(rest)
    for number, (said, named) in enumerate(groups):
        joined = (*before, *said) if number == 0 else said
        known = common is not None and bool(common.places or common.elsewhere)
        own = under(common, named) if common and known and named else named or common
        found += [Statement(tuple(each), own) for each in _one_value_each(joined)]
        if named is not None and named.has_site and (common is None or not common.has_site):
            common = Places(tuple(on_side(place, None) for place in named.places if place.site or place.row))
    return found


def _turns(before: Sequence[Said], rest: Sequence[Said | Places]) -> bool:
    """'Negative at the wrist, positive at the elbow': a result before the term, and the other one after a comma."""
    after = rest[0]
    if not before or not isinstance(after, Said) or not after.joined:
        return False
    if not any(isinstance(each, Places) for each in rest):
        return False
    second = set(after.mark.state.classes) if after.mark and after.mark.state else set()
    return _go_against(_classes(before), second, _CONTRARY)


def _classes(told: Sequence[Said]) -> set[str]:
    return {name for each in told if each.mark and each.mark.state for name in each.mark.state.classes}


def _go_against(first: AbstractSet[str], second: AbstractSet[str], pairs: Sequence[tuple[set[str], set[str]]]) -> bool:
    return any(first & one and second & other for one, other in (*pairs, *(pair[::-1] for pair in pairs)))


def are_contrary(first: AbstractSet[str], second: AbstractSet[str]) -> bool:
    """Whether of two results one says that something is there, or whole, and the other that it is not."""
    return _go_against(first or {"present"}, second, _CONTRARY[:2])


def around_of(statement: Statement, told: Sequence[Statement], around: Places | None) -> Places | None:
    """'Positive at the wrist and negative on the left': the place of the context for one of the statements `told`.

    A result that has no side is not of the side of which the contrary is said.
    """
    if len(told) == 1 or around is None or around.side not in OPPOSITE or (statement.places and statement.places.side):
        return around
    sites = {place.site or place.row for place in statement.places.places} if statement.places else set()
    for each in told:
        if each.places is None or each.places.side != around.side:
            continue
        own = {place.site or place.row for place in each.places.places} - {None}
        if own <= sites and are_contrary(_classes(statement.said), _classes(each.said)):
            return unsided(around)
    return around


def _goes_on(said: Said) -> bool:
    """Whether a result after a place still belongs to the result before that place."""
    graded = said.bracketed and said.mark is not None and said.mark.amount is not None
    return _is_onset(said) or _is_equal(said) or graded  # 'weak on the right (4/5)'


def _is_grade_of_it(told: Sequence[Said], rest: Sequence[Said | Places]) -> bool:
    """'Brisk on the left at 3+, 2+ on the right': the grade of what was told; another result follows, or nothing."""
    graded, after = rest[0], rest[1] if len(rest) > 1 else None
    if not isinstance(graded, Said) or graded.mark is None or graded.joined or any(_is_value(each) for each in told):
        return False
    if graded.mark.amount is None or graded.mark.amount.unit:
        return False
    return after is None or (isinstance(after, Said) and after.joined)


def _is_equal(said: Said) -> bool:
    """'2+ bilaterally, symmetric': nothing new."""
    return said.mark is not None and said.mark.state is not None and said.mark.state.classes == ("equal",)


def _is_onset(said: Said) -> bool:
    """Seconds right after a side are when it became positive: '+ve R at 20s, -ve L'."""
    amount = said.mark.amount if said.mark is not None else None
    return amount is not None and amount.unit == "s" and not said.joined


def _one_value_each(said: Sequence[Said]) -> list[list[Said]]:
    """'20-85 active, 0-95 passive': two values at one place, of which each says its mode, are two statements."""
    moded = [each for each in said if each.mode]
    if len(moded) < 2:  # noqa: PLR2004 - one mode makes no contrast
        return [list(said)]
    others = [each for each in said if not each.mode]
    return [[*others, each] for each in moded]


def _only_refines(lead: Places, rest: Sequence[Said | Places]) -> bool:
    """Whether the places after the result only add a site to a side, or the same side again."""
    after = [each for each in rest if isinstance(each, Places)]
    sides = {place.side for each in after for place in each.places if place.side}
    return not sides or (len(after) == 1 and sides == {lead.side})


def _is_of_both(lead: Places, rest: Sequence[Said | Places]) -> bool:
    """'A drift on the left, while a Z deformity of the thumb was noted bilaterally': of no one side."""
    after = [each for each in rest if isinstance(each, Places)]
    return lead.has_site and len(after) == 1 and after[0].side == "both" and not after[0].has_site


def _side_first(tail: Sequence[Said | Places], before: tuple[Said, ...]) -> list[Statement]:
    """'R +ve at 20 s, L -ve'."""
    found: list[Statement] = []
    named: list[Places] = []
    said: list[Said] = []
    common: Places | None = None
    for each in tail:
        if isinstance(each, Places):
            if said:
                found.append(Statement((*before, *said), _union(named)))
                first = _union(named)
                if common is None and first is not None and first.has_site:
                    common = Places(tuple(on_side(place, None) for place in first.places))
                named, said = [], []
            named.append(merged(common, each) if common and not each.has_site else each)
        else:
            said.append(each)
    if said:
        found.append(Statement((*before, *said), _union(named)))
    return found


def _result_first(rest: Sequence[Said | Places]) -> list[tuple[list[Said], Places | None]]:
    groups: list[tuple[list[Said], list[Places]]] = []
    sided = sum(isinstance(each, Places) and each.side in OPPOSITE for each in rest) == 1
    for at, each in enumerate(rest):
        if isinstance(each, Said):
            if not groups or (groups[-1][1] and not (_goes_on(each) or _is_grade_of_it(groups[-1][0], rest[at:]))):
                groups.append(([], []))
            elif sided and each.joined and are_contrary(_classes(groups[-1][0]), _classes([each])):
                groups.append(([], []))  # 'positive, and negative on the left'
            groups[-1][0].append(each)
        elif groups:
            groups[-1][1].append(each)
    if len(groups) > 1 and not groups[-1][1] and len(groups[-2][1]) > 1:
        groups[-1][1].append(groups[-2][1].pop())  # '5 mm IF, 8 MF, LF 4'
    return [(said, _union(named)) for said, named in groups]


def settled(places: Places | None, behind: Places | None, around: Places | None) -> tuple[Places, bool]:
    """Places with what was not said filled in from before the term (`behind`) and from the context (`around`).

    Gives the places and whether anything had to be carried from the context.
    """
    made = places or Places()
    carried = False
    if made.elsewhere:
        return made, False
    for source in (behind, around):
        if source is None or (source.elsewhere and made.has_site):
            continue
        if source.elsewhere:
            if made.places:
                return Places(made.places, made.look, elsewhere=True), source is around
            return Places(source.places, (*made.look, *source.look), elsewhere=True), source is around
        if not made.places:
            made, carried = source, source is around
            continue
        made = with_digits(made, source)
        if source is behind:
            made = of_row(made, source)
        if not made.has_site and source.has_site:
            made = merged(Places(tuple(on_side(place, None) for place in source.places), source.look), made)
        if not any(place.side for place in made.places) and source.side:
            kept = tuple(on_side(place, source.side) for place in made.places)
            looks = tuple(dict.fromkeys((*made.look, *source.look)))
            made, carried = Places(kept, looks, made.elsewhere), carried or source is around
    return made, carried


def resolved(side: str | None, around: Places | None) -> tuple[str | None, str]:
    """The side as left, right or both, and what to ask where the context cannot tell."""
    if side not in {"other", "same"}:
        return side, ""
    known = around.side if around is not None else None
    if around is not None and known in OPPOSITE:
        why = around.look[0] if around.look else ""  # the side may be offered only: 'the affected hand and the other'
        return (OPPOSITE[known] if side == "other" else known), why
    return None, "the other side of what is not said"
