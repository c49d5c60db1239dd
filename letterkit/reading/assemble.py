"""Findings from predications: the item that the site and the value decide, its state, side, sites and qualifiers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Qualifier, Stage, ValueKind
from letterkit.findings.values import UnreadValue, read_value
from letterkit.reading.borrowed import borrows_part, is_before_another
from letterkit.reading.choose import Chooser
from letterkit.reading.exceptions import HOW_LITTLE, NOT_SAID, WHICH_ONE, is_less_felt, left_out, of_exception, without
from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Term
from letterkit.reading.placenames import WHICH_LF
from letterkit.reading.places import FINGERS, OF_OTHER_SIDE, OPPOSITE, Place, Places, sides_of, whole_hand, wider
from letterkit.reading.predication import Predication, Said
from letterkit.reading.repeats import both_ways
from letterkit.reading.result import ReadFinding, ReadStage
from letterkit.reading.said import Outcome, amounts_of
from letterkit.reading.sides import Statement, around_of, resolved, settled, severity_of, statements
from letterkit.reading.words import Words

Figures: TypeAlias = tuple[tuple[int, int], ...]

_SEVERAL_A_SIDE = frozenset({"upper_limb_reflexes", "interossei_power"})
_ALL_REFLEXES = ("upper_limb_reflexes",)
_SMALLEST_ANGLE = 5  # degrees; a smaller bare number is a count or a grade


def _unclear_reach(predication: Predication) -> list[str]:
    """'No swelling, redness present': a list that is denied, or one thing denied and another found."""
    if not (predication.negated and predication.commas):
        return []
    said = [each.mark for each in predication.tail if isinstance(each, Said) and each.mark is not None]
    if any(mark.text == "present" for mark in said):
        return ["how far the 'no' reaches is not clear"]
    return []


def _joint_named(mark: Mark) -> str:
    """'The wrist is swollen. Elbow extension is full': of the elbow, whatever part was spoken of before."""
    elbow = mark.term is not None and "elbow_movement" in mark.term.items and mark.text.startswith("elbow ")
    return "elbow" if elbow else ""


@dataclass(frozen=True, slots=True)
class Made:
    """What came of one predication."""

    findings: tuple[ReadFinding, ...] = ()
    not_examined: tuple[ReadStage, ...] = ()
    elsewhere: bool = False
    silent: tuple[Mark, ...] = ()  # terms of which nothing came, while something came of others


def _is_of_all_limbs(predication: Predication, places: Places) -> bool:
    """'Absent tendon reflexes and chorea of the left hand': of no one hand, though of an arm."""
    if any(mark.term is None or mark.term.items[:1] != _ALL_REFLEXES for mark in predication.terms):
        return False
    return any(each.site != "upper_limb" for each in places.places)


class Assembler:
    """Makes findings of predications for one catalogue."""

    def __init__(self, catalogue: Catalogue, words: Words) -> None:
        self._catalogue = catalogue
        self._chooser = Chooser(catalogue, words)

    def make(self, predication: Predication, around: Places | None) -> Made:
        """The findings of one predication; `around` is the place the context gives."""
        findings: list[ReadFinding] = []
        unexamined: list[ReadStage] = []
        silent = [mark for mark in predication.terms if mark.term is not None and mark.term.items]
        behind = predication.places
        elsewhere = False
        start = min([mark.start for mark in predication.used])
        end = max([mark.end for mark in predication.used])
        if predication.without and not predication.negated:
            predication.looks.append(NOT_SAID)
        predication.looks += _unclear_reach(predication)
        told = statements(predication)
        if (
            predication.twin_places is not None
            and len(told) == 1
            and told[0].places is None
            and not _is_of_all_limbs(predication, predication.twin_places)
        ):
            told = [Statement(told[0].said, predication.twin_places, told[0].implied)]
        for statement in told:
            beyond = around_of(statement, told, around)
            places, carried = settled(statement.places, behind, beyond)
            borrowed = len(told) == 1 and borrows_part(predication, statement, beyond)
            places = replace(places, look=tuple(each for each in places.look if each != OF_OTHER_SIDE))
            for mark in predication.terms:
                assert mark.term is not None
                ours = mark.term.site or (carried and self._is_of_the_hand(mark.term))
                here = Places() if places.elsewhere and not ours and is_before_another(predication, mark) else places
                if not mark.term.items or (here.elsewhere and not ours):
                    unclear = bool(mark.hints) and any(each.negated for each in statement.said)
                    elsewhere = elsewhere or here.elsewhere or not unclear  # 'power of the hand is not normal'
                    silent = [each for each in silent if each is not mark]
                    continue
                if predication.unexamined:
                    silent = [each for each in silent if each is not mark]
                    unexamined.append(self._not_examined(mark.term, here, predication, start, end))
                    continue
                where = self._where(mark, statement, here, predication, borrowed=borrowed)
                own = self._with_own_size(mark, statement, predication)
                if own is None and len(told) > 1:
                    continue  # only of another of the terms
                own = own or replace(statement, said=(), implied=True)
                made = list(self._findings(mark, own, where, predication, around, start, end))
                findings += made
                if made:
                    silent = [each for each in silent if each is not mark]
            behind = behind if predication.places is not None else None
        for places in predication.apart:
            findings = [kept for each in findings for kept in (tuple(left_out(each, places)) or (each,))]
        for places in predication.without:
            excepted = list(self._exceptions(predication, places, around, start, end))
            findings = [kept for each in findings for kept in left_out(each, places)]
            findings = [kept for each in findings for kept in without(each, excepted)] + excepted
        return Made(_once(both_ways(findings)), tuple(unexamined), elsewhere and not findings, tuple(silent))

    def _where(
        self, mark: Mark, statement: Statement, places: Places, predication: Predication, *, borrowed: bool
    ) -> Places:  # fmt: skip
        """The places of one term of a statement; `borrowed`: of a part that only the other side was said to have."""
        assert mark.term is not None
        where = self._nearer(mark, statement, places, predication)
        if mark.term.plural and self._speaks_of_both(mark.term, statement, predication):
            where = Places((Place("both"),), places.look)
        elif self._is_equal(statement) and not self._names_a_side(statement, predication):
            where = Places(tuple(replace(each, side="both") for each in where.places), where.look)
        if borrowed and any(len(self._catalogue.items[slug].sites) > 1 for slug in mark.term.items):
            where = replace(where, look=(*where.look, OF_OTHER_SIDE))
        return where

    def _speaks_of_both(self, term: Term, statement: Statement, predication: Predication) -> bool:
        """'Radial pulses present': a plural means both sides, whatever side was spoken of before."""
        if self._names_a_side(statement, predication):
            return False
        items = [self._catalogue.items[slug] for slug in term.items]
        if any(self._has_several(item) for item in items):
            return False
        return all(item.paired and not item.sites and item.value is not ValueKind.PRESENCE for item in items)

    def _with_own_size(self, mark: Mark, statement: Statement, predication: Predication) -> Statement | None:
        """'1 cm wound, redness 4 cm': each finding has its own length. None where nothing else is said of this one."""
        terms = predication.terms
        if not predication.commas or len(terms) == 1:
            return statement
        there = all(
            self._catalogue.items[slug].value is ValueKind.PRESENCE
            for each in terms if each.term is not None for slug in each.term.items[:1]
        )  # fmt: skip
        if not there:
            return statement
        kept = tuple(
            each for each in statement.said
            if each.mark is None or each.mark.amount is None or each.mark.amount.unit not in {"mm", "cm"}
            or mark is (terms[0] if each.before else terms[-1])
        )  # fmt: skip
        return replace(statement, said=kept) if kept or not statement.said else None

    @staticmethod
    def _has_several(item: Item) -> bool:
        """'Intrinsics 4/5', 'reflexes 2+': one arm has several of them, so that the plural names no second side."""
        return item.slug in _SEVERAL_A_SIDE

    @staticmethod
    def _is_equal(statement: Statement) -> bool:
        """'Grip is equal and strong': of both hands, whichever was spoken of before."""
        states = [each.mark.state for each in statement.said if each.mark is not None and not each.negated]
        return any(state is not None and "equal" in state.classes for state in states)

    @staticmethod
    def _names_a_side(statement: Statement, predication: Predication) -> bool:
        said = (statement.places, None if predication.carried else predication.places)
        return any(place.side for places in said if places is not None for place in places.places)

    @staticmethod
    def _nearer(mark: Mark, statement: Statement, places: Places, predication: Predication) -> Places:
        """'L wrist: swollen, warm, tender over the snuffbox': the last place is that of the last term alone."""
        before = predication.places
        if mark is predication.terms[-1] or not predication.commas or statement.places is None:
            return places
        if predication.carried and (before is None or before.side not in OPPOSITE):
            return places
        return before if before is not None and before.has_site and statement.places.has_site else places

    def _is_of_the_hand(self, term: Term) -> bool:
        """Whether the term can only be of the hand or arm, whatever part was spoken of before."""
        nerves = {Stage.NEUROVASCULAR, Stage.FUNCTION, Stage.SPECIAL_TESTS}
        items = [self._catalogue.items[slug] for slug in term.items]
        return all(not item.sites or item.stage in nerves for item in items)

    def _exceptions(
        self, predication: Predication, places: Places, around: Places | None, start: int, end: int
    ) -> Iterator[ReadFinding]:
        """'No tenderness apart from the styloid': the negative reaches all but this place."""
        statement = of_exception(predication, places)
        if statement is None:
            return
        turned = replace_predication(predication)
        if predication.negated and len(predication.terms) > 1:
            turned.looks.append(WHICH_ONE)  # 'no swelling or redness except at the wrist'
        if is_less_felt(predication, places):
            turned.looks = [HOW_LITTLE if look == NOT_SAID else look for look in turned.looks]
        named, _ = settled(places, predication.places, around)
        for mark in predication.terms:
            for found in self._findings(mark, statement, named, turned, around, start, end):
                if found.sites or not named.has_site or not self._catalogue.items[found.item].sites:
                    yield found  # and no 'PIP joints of all fingers except the little one' that is of none

    def _findings(
        self, mark: Mark, statement: Statement, places: Places, predication: Predication, around: Places | None,
        start: int, end: int,
    ) -> Iterator[ReadFinding]:  # fmt: skip
        term = mark.term
        assert term is not None
        named = places.places or (Place(),)
        if term.every:
            for slug in term.items:
                look = "" if slug == term.items[0] else term.look  # what the words say first is not doubted
                single = replace(term, items=(slug,), every=False, look=look)
                copy = Mark("term", mark.start, mark.end, term=single, text=mark.text)
                yield from self._findings(copy, statement, places, predication, around, start, end)
            return
        angles = "deg" in term.near and any(each.unit == "deg" for each in amounts_of(statement.said))
        if term.near and not angles and not self._is_near(term, named):
            return
        grouped: dict[tuple[str, str | None, str, str, tuple[str, ...]], list[str]] = {}
        kept: dict[tuple[str, str | None, str, str, tuple[str, ...]], tuple[Outcome, str, Figures]] = {}
        named = self._meant(mark, term, named, predication)
        parts = self._apart(term, statement)
        first = self._chooser.choose(term, named[0], statement, predication) if len(parts) == 1 else None
        if len(parts) == 1 and first is None:
            parts = self._one_each(term, named[0], statement, predication) or parts
        for place, told in [(place, each) for place in named for each in parts]:
            again = place is named[0] and told.said is statement.said
            chosen = first if again else self._chooser.choose(term, place, told, predication)
            if chosen is None or self._is_of_other_digits(chosen[0], place, named):
                continue
            item, result, site, words, looks = chosen
            itself = bool(term.side) and not self._names_a_side(statement, predication)
            side, ask = (term.side, "") if itself else resolved(place.side, around)  # 'generalised hypotonia'
            if side is None and any(
                "equal" in each.mark.state.classes for each in statement.said if each.mark and each.mark.state
            ):
                side = "both"
            several = term.plural and item.paired and not item.sites and item.value is not ValueKind.PRESENCE
            several = several and not self._has_several(item)
            side = side or term.side or ("both" if several else None)
            if not item.paired:
                side = None
            asked = (*looks, ask, *places.look, term.look, mark.look, *predication.looks)
            sited = bool(site or words or item.sites)  # 'LF numb. Tinels +ve': of no digit
            looks = tuple(each for each in asked if each and (sited or each != WHICH_LF))
            figures = () if result.side else tuple((each.start, each.end) for each in amounts_of(statement.said))
            for one, each in self._sided(result, side, predication):
                key = (item.slug, one, each.state, repr(each.value), (*looks, *each.looks))
                grouped.setdefault(key, [])
                kept[key] = (each, words, figures)
                if site and site not in grouped[key]:
                    grouped[key].append(site)
        for key, sites in grouped.items():
            slug, side, _, _, looks = key
            result, words, figures = kept[key]
            yield self._finding(
                self._catalogue.items[slug], side, sites, result, words, looks, predication, statement, start, end,
                figures,
            )  # fmt: skip

    def _meant(
        self, mark: Mark, term: Term, named: tuple[Place, ...], predication: Predication
    ) -> tuple[Place, ...]:  # fmt: skip
        """The places that are named, or what stands for them: the joint in a name, the hand for all its fingers."""
        own = term.site or (_joint_named(mark) if any(place.site for place in named) else "")
        if own:
            return tuple(dict.fromkeys(Place(place.side, own) for place in named))
        if len(named) < len(FINGERS):
            return named
        return whole_hand(named, self._chooser.items_at(term, named[0], predication))

    def _is_of_other_digits(self, item: Item, place: Place, named: Sequence[Place]) -> bool:
        """'FDS intact to all digits': of those that have one."""
        digits = self._catalogue.digits.keys()
        every = digits <= {each.site for each in named}
        return every and place.site in digits - set(item.sites) and bool(digits & set(item.sites))

    def _apart(self, term: Term, statement: Statement) -> list[Statement]:
        """'The lump was firm and freely mobile': results that belong to different items of one subject."""
        states = [each for each in statement.said if each.mark is not None and each.mark.state is not None]
        if len(states) < 2 or len(term.items) < 2 or len(states) != len(statement.said):  # noqa: PLR2004 - one cannot be parted
            return [statement]
        owners: set[str] = set()
        for each in states:
            assert each.mark is not None
            assert each.mark.state is not None
            for slug in term.items:
                item = self._catalogue.items[slug]
                if slug in each.mark.state.items or (item.scale or "") in each.mark.state.scales:
                    owners.add(slug)
                    break
        if len(owners) < len(states):
            return [statement]
        return [Statement((each,), statement.places, statement.implied) for each in states]

    def _one_each(
        self, term: Term, place: Place, statement: Statement, predication: Predication
    ) -> list[Statement]:  # fmt: skip
        """'Sensation was reduced and heightened': two results of one item that do not go together, each told."""
        states = [each for each in statement.said if each.mark is not None and each.mark.state is not None]
        if len(states) < 2 or len(states) != len(statement.said) or predication.negated:  # noqa: PLR2004 - two results
            return []
        parts = [Statement((each,), statement.places, statement.implied) for each in states]
        if any(self._chooser.choose(term, place, part, predication) is None for part in parts):
            return []
        predication.looks.append("two results that do not go together")
        return parts

    def _is_near(self, term: Term, named: Sequence[Place]) -> bool:
        for place in named:
            site = place.site or place.row or ""
            row = (self._catalogue.sites[site].row if site in self._catalogue.sites else "") or ""
            if site in term.near or row in term.near or wider(site) in term.near:
                return True
        return False

    def _sided(
        self, result: Outcome, side: str | None, predication: Predication
    ) -> Iterator[tuple[str | None, Outcome]]:  # fmt: skip
        if result.side is None:
            yield side, result
            return
        first, second = result.value
        if second is None:
            own = side is not None and _names_side(predication)  # 'R APB 4/5. Biceps 2/2': of both
            yield side if own else "both", first
            return
        yield from (("right", first), ("left", second))

    def _finding(
        self, item: Item, side: str | None, sites: list[str], result: Outcome, words: str, looks: tuple[str, ...],
        predication: Predication, statement: Statement, start: int, end: int, figures: Figures,
    ) -> ReadFinding:  # fmt: skip
        said = statement.said
        qualifiers: dict[str, str | float | int] = {}
        asks = [*looks]
        allowed = item.qualifiers
        severity = severity_of(statement, predication)
        if severity and Qualifier.SEVERITY in allowed and result.state == "present":
            qualifiers["severity"] = severity
        mode = next((each.mode for each in said if each.mode), predication.mode)
        if mode and Qualifier.MODE in allowed:
            qualifiers["mode"] = mode
        if predication.fixed and Qualifier.CORRECTABILITY in allowed:
            qualifiers["correctability"] = predication.fixed
        if item.value in {ValueKind.PRESENCE, ValueKind.TEST}:
            for each in said:
                if each.mark is not None and each.mark.amount is not None:
                    self._measure(each.mark, item, qualifiers)
        if result.note:
            qualifiers["note"] = result.note
        if predication.motions and item.slug.startswith("pain_on"):
            qualifiers["note"] = f"on {', '.join(predication.motions)}"
        if item.slug == "pain_on_movement" and predication.pains_on_nothing():
            asks.append("what brings on the pain was not read")
        if item.paired and side is None:
            asks.append("the side is not said")
        if result.value is not None:
            try:
                read_value(result.value, item, self._catalogue)
            except UnreadValue as error:
                asks.append(str(error))
        order = sorted(sites, key=lambda slug: self._catalogue.sites[slug].order)
        return ReadFinding(
            item.slug, sides_of(side), tuple(order), result.state, result.value, qualifiers, start, end,
            "needs_a_look" if asks else "certain", tuple(dict.fromkeys(asks)), words, figures,
        )  # fmt: skip

    @staticmethod
    def _measure(mark: Mark, item: Item, qualifiers: dict[str, str | float | int]) -> None:
        amount = mark.amount
        assert amount is not None
        if (
            amount.unit == "deg" or (amount.kind == "bare" and amount.numbers[0] > _SMALLEST_ANGLE)
        ) and Qualifier.ANGLE in item.qualifiers:
            qualifiers.setdefault("angleDeg", amount.numbers[0])
        elif amount.unit == "s" and Qualifier.ONSET in item.qualifiers:
            qualifiers.setdefault("onsetS", amount.numbers[0])
        elif amount.unit in {"mm", "cm"}:
            factor = 10 if amount.unit == "cm" else 1
            if amount.unit == "cm" and Qualifier.LENGTH in item.qualifiers:
                qualifiers.setdefault("lengthCm", amount.numbers[0])
            elif Qualifier.SIZE in item.qualifiers:
                qualifiers.setdefault("sizeMm", max(amount.numbers) * factor)

    def _not_examined(self, term: Term, places: Places, predication: Predication, start: int, end: int) -> ReadStage:
        slug = self._chooser.candidates(term, predication.hints)[0]
        item = self._catalogue.items[slug]
        record: dict[str, object] = {"item": slug}
        sites = [place.site for place in places.places if place.site in item.sites]
        if (side := sides_of(places.side)) and item.paired:
            record["side"] = side
        if sites:
            record["site"] = sites[0] if len(sites) == 1 else sites
        if predication.declined:
            record["declined"] = True
        asks: tuple[str, ...] = () if "side" in record or not item.paired else ("the side is not said",)
        if not item.sites and any(place.row or place.site for place in places.places) and len(term.items) > 1:
            asks += (f"recorded as {item.name}",)  # 'MCP flexion not measured'
        return ReadStage(record, start, end, "needs_a_look" if asks else "certain", asks)


def _names_side(predication: Predication) -> bool:
    """Whether a side stands in the words of the predication itself."""
    named = [predication.places, *(each for each in predication.tail if isinstance(each, Places))]
    return any(each.side for places in named if places is not None for each in places.places)


def _once(findings: Sequence[ReadFinding]) -> tuple[ReadFinding, ...]:
    """Without what two words of one statement say alike: 'no scissoring or malrotation'."""
    if len({(each.item, each.side, each.sites) for each in findings}) == len(findings):
        return tuple(findings)
    kept: dict[str, ReadFinding] = {}
    for each in findings:
        kept.setdefault(repr((each.record, each.state, each.sure)), each)
    return tuple(kept.values())


def replace_predication(predication: Predication) -> Predication:
    """A copy that is not negated and says nothing else."""
    return Predication(
        terms=predication.terms, looks=list(predication.looks), hints=predication.hints, used=predication.used,
        severity=predication.severity, mode=predication.mode,
    )  # fmt: skip
