"""Grouping: many facts become one statement without ever claiming a place nobody recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Polarity, Qualifier, ValueKind
from letterkit.findings.facts import Fact
from letterkit.summary.statement import Form, Part, PlaceRef, Statement, Tier

_MOST_ITEMS = 5  # a sentence that lists more is hard to read aloud
_MOST_NEGATIVE_ITEMS = 8
_MOST_MUSCLES = 12
_MUSCLES = 4  # from here on, full power is told of the muscles together


@dataclass(frozen=True, slots=True)
class _Draft:
    """A statement in the making, with the place it would take in the letter."""

    parts: tuple[Part, ...]
    tier: Tier
    rank: tuple[int, ...]
    form: Form = Form.SINGLE


@lru_cache(maxsize=4)
def _families(catalogue: Catalogue) -> Mapping[str, tuple[str, ...]]:
    """By item, what makes two items one family of words: the same words at different sites, such as tenderness."""
    return {slug: _family(item) for slug, item in catalogue.items.items()}


def _family(item: Item) -> tuple[str, ...]:
    wording = item.doctor
    words = wording.noun or wording.subject or item.slug
    if wording.place is Place.SIDE or not item.sites:
        return (item.slug,)
    return (item.value, words, wording.place, item.scale or "", item.stage)


def _part(facts: Sequence[Fact], catalogue: Catalogue) -> Part:
    first = facts[0]
    ordered = sorted(facts, key=lambda fact: (_site_order(fact.site, catalogue), fact.side == "left"))
    items = tuple(dict.fromkeys([fact.item for fact in ordered]))
    return Part(
        items=items,
        places=tuple([PlaceRef(*place) for place in dict.fromkeys([(fact.site, fact.side) for fact in ordered])]),
        state=first.state, value=first.value, polarity=first.polarity, qualifiers=first.qualifiers, note=first.note,
        facts=tuple([fact.id for fact in ordered]),
        crossed=len(items) == 1,
    )  # fmt: skip


def _site_order(site: str | None, catalogue: Catalogue) -> int:
    return catalogue.sites[site].order if site else 0


def _only_side(draft: _Draft) -> str | None:
    """The side of all places of a draft, or None where there are two or none."""
    first, *others = draft.parts[0].places
    return first.side if all(place.side == first.side for place in others) else None


def _sites(part: Part) -> frozenset[str | None]:
    return frozenset([place.site for place in part.places])


def _contrasts(drafts: list[_Draft], catalogue: Catalogue) -> list[_Draft]:
    """Pairs of one-sided drafts about the same items and sites become one statement, right before left."""
    left = [draft for draft in drafts if _only_side(draft) == "left"]
    if not left:
        return drafts
    right: dict[tuple[object, ...], _Draft] = {}
    for draft in drafts:
        if _only_side(draft) == "right":
            right.setdefault(_pairing(draft, catalogue), draft)
    taken: set[int] = set()
    result: list[_Draft] = []
    for draft in left:
        partner = right.get(_pairing(draft, catalogue))
        if partner is None or id(partner) in taken or not _worth_contrasting(partner.parts[0], draft.parts[0]):
            continue
        if catalogue.items[draft.parts[0].items[0]].value is ValueKind.TEXT:
            continue  # the clinician's own words may name a side
        taken |= {id(partner), id(draft)}
        leading = min(partner, draft, key=lambda each: (_TIERS[each.tier], each.rank))
        result.append(_Draft((partner.parts[0], draft.parts[0]), leading.tier, leading.rank, Form.CONTRAST))
    return [draft for draft in drafts if id(draft) not in taken] + result


def _pairing(draft: _Draft, catalogue: Catalogue) -> tuple[object, ...]:
    part = draft.parts[0]
    mode = next((value for key, value in part.qualifiers if key is Qualifier.MODE), None)
    return (part.items, _sites(part), _families(catalogue)[part.items[0]], mode)


def _worth_contrasting(right: Part, left: Part) -> bool:
    """Two normal sides that differ only in wording are not a contrast; two different values are."""
    return not (right.polarity is Polarity.NORMAL and left.polarity is Polarity.NORMAL and right.value == left.value)


_TIERS = {tier: position for position, tier in enumerate(Tier)}


def _mergeable(draft: _Draft, catalogue: Catalogue) -> tuple[object, ...] | None:
    """Drafts with the same answer may share a sentence: one form, one state, the same places, nothing else to say."""
    key: list[object] = [draft.tier]
    for part in draft.parts:
        if part.note:
            return None
        item = catalogue.items[part.items[0]]
        wording = item.doctor
        plain = not part.qualifiers or all(name is Qualifier.SEVERITY for name, _ in part.qualifiers)
        custom = wording.positive or wording.negative or wording.states
        if not plain or not part.crossed or custom or item.value in {ValueKind.ARC, ValueKind.TEXT, ValueKind.QUANTITY}:
            return None
        if item.value is ValueKind.PRESENCE and part.polarity is not Polarity.NORMAL and part.qualifiers:
            return None
        key += [item.value, item.scale, wording.place, part.state, part.value, part.qualifiers, part.places]
        if part.polarity is Polarity.NORMAL and item.value is ValueKind.PRESENCE:
            key.append(item.stage)
    return tuple(key)


def _merge_items(drafts: Iterable[_Draft], catalogue: Catalogue) -> list[_Draft]:
    merged: dict[object, int] = {}  # where the sentence that others may share stands in the result
    result: list[_Draft] = []
    for draft in sorted(drafts, key=lambda each: (_TIERS[each.tier], each.rank)):
        key = _mergeable(draft, catalogue)
        at = merged.get(key) if key is not None else None
        known = result[at] if at is not None else None
        most = _MOST_NEGATIVE_ITEMS if draft.parts[0].polarity is Polarity.NORMAL else _MOST_ITEMS
        if catalogue.items[draft.parts[0].items[0]].value is ValueKind.MRC:
            most = _MOST_MUSCLES
        if at is None or known is None or len(known.parts[0].items) >= most:
            if key is not None:
                merged[key] = len(result)
            result.append(draft)
            continue
        result[at] = replace(
            known,
            parts=tuple(
                replace(a, items=a.items + b.items, facts=a.facts + b.facts)
                for a, b in zip(known.parts, draft.parts, strict=True)
            ),
        )
    return result


def _chains(drafts: Sequence[_Draft], catalogue: Catalogue) -> list[_Draft]:
    """States of one thing that are told by the same subject at the same place follow each other in one sentence."""
    known: dict[object, int] = {}
    result: list[_Draft] = []
    for draft in drafts:
        part = draft.parts[0]
        item = catalogue.items[part.items[0]]
        wording = item.doctor
        plain = draft.form is Form.SINGLE and len(part.items) == 1 and not part.qualifiers and not part.note
        if item.value is not ValueKind.STATE or wording.place is Place.SIDE or not plain:
            result.append(draft)
            continue
        key = (wording.subject, wording.place, part.places)
        at = known.get(key)
        # Two states of one item may not fit each other; each has a sentence of its own, and the clinician is asked.
        twice = at is not None and part.items in {told.items for told in result[at].parts}
        if at is None or twice or len(result[at].parts) >= _MOST_ITEMS:
            known[key] = len(result)
            result.append(draft)
        else:
            chain = result[at]
            result[at] = replace(chain, parts=(*chain.parts, part), form=Form.CHAIN)
    return result


def group(
    facts: Sequence[Fact],
    tiers: Mapping[str, tuple[Tier, tuple[int, ...]]],
    catalogue: Catalogue,
) -> list[Statement]:
    """The statements that `facts` make, in the order of their tiers and ranks; `tiers` gives both by fact id."""
    variants: dict[tuple[object, ...], list[Fact]] = {}
    families = _families(catalogue)
    for fact in facts:
        key = (families[fact.item], fact.state, fact.value, fact.qualifiers, fact.note, tiers[fact.id][0])
        variants.setdefault(key, []).append(fact)
    drafts = []
    for members in variants.values():
        for uniform in _uniform(members):
            rank = min([tiers[fact.id][1] for fact in uniform])
            drafts.append(_Draft((_part(uniform, catalogue),), tiers[uniform[0].id][0], rank))
    ordered = _chains(_merge_items(_contrasts(drafts, catalogue), catalogue), catalogue)
    weak = any(
        part.polarity is not Polarity.NORMAL
        for draft in ordered
        for part in draft.parts
        if catalogue.items[part.items[0]].value is ValueKind.MRC
    )
    return [
        Statement(
            draft.parts, draft.tier, catalogue.items[draft.parts[0].items[0]].stage, draft.form,
            ("others" if weak else "all") if _is_throughout(draft, catalogue) else None,
        )
        for draft in ordered
    ]  # fmt: skip


def _is_throughout(draft: _Draft, catalogue: Catalogue) -> bool:
    """Whether a draft tells full power of so many muscles that a reader wants to hear it of them together."""
    part = draft.parts[0]
    power = catalogue.items[part.items[0]].value is ValueKind.MRC
    return power and draft.form is Form.SINGLE and part.polarity is Polarity.NORMAL and len(part.items) >= _MUSCLES


def _uniform(facts: Sequence[Fact]) -> list[list[Fact]]:
    """Splits the facts of one family into items that share their sides, so that a side is said once for all of them."""
    by_item: dict[str, list[Fact]] = {}
    for fact in facts:
        by_item.setdefault(fact.item, []).append(fact)
    by_sides: dict[frozenset[object], list[Fact]] = {}
    if len(by_item) == 1:
        return [list(facts)]
    for members in by_item.values():
        by_sides.setdefault(frozenset(fact.side for fact in members), []).extend(members)
    return list(by_sides.values())
