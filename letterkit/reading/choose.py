"""Which item a term means at a place, and what was found of it: the site and the value decide among candidates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Stage, StateDef, ValueKind
from letterkit.reading import measured
from letterkit.reading.marks import Mark
from letterkit.reading.outcome import ONLY_A_QUALITY, outcome
from letterkit.reading.phrases import Term
from letterkit.reading.places import DIGITS, Place, wider
from letterkit.reading.predication import Predication, Said
from letterkit.reading.result import ONE_WAY
from letterkit.reading.said import Outcome, amounts_of
from letterkit.reading.sides import Statement, statements
from letterkit.reading.values import AS_PAIR
from letterkit.reading.words import Words

_NOT_NORMAL = frozenset({"unable", "reduced", "abnormal"})
_BEST = 8  # the rank of an item that is recorded at just this place, with a plain result
_WHOLE_POWER = frozenset({"upper_limb_power", "hand_power"})
_NOT_OF_THE_ARM = frozenset({"neck", "ear"})
_MOVES = frozenset({"flexion", "extension", "abduction", "adduction", "opposition", "supination", "pronation"})
_OF_THE_LIMB = "upper_limb"
_ANYWHERE = frozenset({"hand", "upper_limb"})
_JOINTS = frozenset({"wrist", "elbow"})
_WHICH_JOINT = "of which joint of the digit is not said"
_ONE_WAY_LOST = "which movement is lost is not told apart here"
_RANGE = "range_of_movement"
_ONE_WAY = frozenset({"dip", "ip"})  # joints that stand straight at rest, and bend
_OF_THE_HAND = frozenset({"metacarpal", "metacarpal_head"})  # bones of the hand, and of no finger


@lru_cache(maxsize=4)
def _siblings(catalogue: Catalogue, words: Words) -> Mapping[str, tuple[str, ...]]:
    """Items that are the same thing recorded in another kind of value."""
    table: dict[str, list[str]] = {}
    for group in words.siblings:
        for slug in group:
            table.setdefault(slug, []).extend(other for other in group if other != slug)
    for slug in catalogue.items:
        if f"{slug}_range" in catalogue.items:
            table.setdefault(slug, []).append(f"{slug}_range")
    nouns: dict[str, list[str]] = {}
    for item in catalogue.items.values():
        if item.value in {ValueKind.MRC, ValueKind.STATE} and item.doctor.subject:
            nouns.setdefault(item.doctor.subject.removeprefix("the "), []).append(item.slug)
    for slugs in nouns.values():
        for slug in slugs:
            table.setdefault(slug, []).extend(other for other in slugs if other != slug)
    return {slug: tuple(dict.fromkeys(others)) for slug, others in table.items()}


def _weak(said: Sequence[Said], looks: tuple[str, ...], *, denied: bool) -> Outcome:
    """'Deltoid weakness', with a grade or without one, or that there is none."""
    graded = measured.power([each for each in said if each.mark is not None and each.mark.amount is not None], False)
    if graded is not None and not denied:
        return replace(graded, looks=(*graded.looks, *looks))
    if denied:
        return Outcome("graded", "5", ("called normal, no grade given", *looks))
    return Outcome("reduced", None, ("no grade given", *looks))


class Chooser:
    """Chooses items for one catalogue."""

    def __init__(self, catalogue: Catalogue, words: Words) -> None:
        self._catalogue = catalogue
        self._words = words
        self._also = _siblings(catalogue, words)
        self._sited = frozenset([slug for slug, item in catalogue.items.items() if item.sites])

    def candidates(self, term: Term, hints: set[str]) -> list[str]:
        """The items a term may mean, the likeliest first; `hints` are 'power' or 'reflex' where that is said."""
        slugs = list(term.items)
        for slug in term.items[:3]:
            if slug in self._also:
                slugs += [other for other in self._also[slug] if other not in slugs]
        if "reflex" in hints and term.head not in _MOVES:  # 'reflexes 2+, and elbow extension of full strength'
            reflexes = [self._words.reflexes[slug] for slug in slugs if slug in self._words.reflexes]
            if reflexes:
                return reflexes
        named = term.head in self._words.sets["power_heads"] and self._catalogue.items[slugs[0]].value is ValueKind.MRC
        if named or ("power" in hints and any(self._catalogue.items[slug].value is ValueKind.MRC for slug in slugs)):
            power = [
                slug
                for slug in slugs
                if self._catalogue.items[slug].value is ValueKind.MRC or slug.startswith("upper_limb")
            ]
            return power or slugs
        return slugs

    def _placed(self, slugs: Sequence[str], place: Place) -> list[str]:
        """The candidates as they are at this place: Tinel's at the elbow is another item, and in the axilla none."""
        site = place.site or place.row
        if site is None:
            return list(slugs)
        if self._words.placed.keys().isdisjoint(slugs):
            return list(slugs)
        row = (self._catalogue.sites[site].row if site in self._catalogue.sites else site) or ""
        around = (site, row, wider(site))
        found: list[str] = []
        for slug in slugs:
            table = self._words.placed.get(slug)
            other = next((table[name] for name in around if name in table), slug) if table else slug
            found += [other] if other else []
            if other == _RANGE != slug:
                found += [each for each in self._also.get(other, ()) if each not in slugs]
        return list(dict.fromkeys(found))

    def choose(
        self, term: Term, place: Place, statement: Statement, predication: Predication
    ) -> tuple[Item, Outcome, str | None, str, tuple[str, ...]] | None:
        """The item, its outcome and its site: the first candidate that has a value for what was said at this place."""
        slugs = self.candidates(term, predication.hints)
        meant = frozenset(slugs)
        named = term.stays or (term.head in _JOINTS and slugs[0].startswith(term.head))  # 'extension of the wrist'
        slugs = slugs if named else self._placed(slugs, place)
        best: tuple[Item, Outcome, str | None, str, tuple[str, ...]] | None = None
        rank = 0
        alone = not term.strict and (len(term.items) == 1 or len(self._sited.intersection(term.items)) <= 1)
        for slug in slugs:
            item = self._catalogue.items[slug]
            fits, site, words, looks = self._site(item, place, alone=alone and slug in term.items)
            if (not fits and (term.strict or place.site in _NOT_OF_THE_ARM)) or 2 + 2 * fits <= rank:
                continue  # whatever it says, it cannot be better than what was found, or it is of the neck
            result = self._outcome(item, term, statement, predication)
            if result is None:
                continue
            if item.value is ValueKind.ARC and slug != term.items[0] and place.site in DIGITS and site != place.site:
                looks = (*looks, _WHICH_JOINT)  # 'index: ROM 10-60'
            if result.state == "absent" and slug not in meant and self._moves_otherwise(item, site, term):
                result = replace(result, state="reduced", value="reduced", looks=(*result.looks, _ONE_WAY_LOST))
            if result.state == "full" and slug == _RANGE != term.items[0] and (way := self._way(term)):
                result = replace(result, looks=(*result.looks, ONE_WAY[way]))
            if item.value is ValueKind.ARC and fits < 2 and self._is_of_another_joint(item, place, statement, result):  # noqa: PLR2004
                continue
            if item.value is ValueKind.ARC and result.value is None and term.head:
                result = replace(result, note=f"{term.head} {result.note}")
            if site is None and place.site is None and (joint := self._joint_of(item, slugs)):
                fits, site, looks = 2, joint, ()
            own = 2 + 2 * fits
            if result.looks:
                own -= any("no grade given" in look for look in result.looks)
                own -= ONLY_A_QUALITY in result.looks  # an item of that quality comes before
            if own > rank:
                best, rank = (item, result, site, words, looks), own
            if rank == _BEST:
                break
        return best

    def items_at(self, term: Term, place: Place, predication: Predication) -> list[Item]:
        """The items that the words may mean at this place: 'ulcers' of a digit, and of the forearm."""
        return [self._catalogue.items[slug] for slug in self._placed(self.candidates(term, predication.hints), place)]

    def _way(self, term: Term) -> str:
        """'Both elbows extend fully': that they extend; how they bend is not told. Empty where no one way is named."""
        return next((way for way in ONE_WAY if term.head.startswith(self._words.affixes[way])), "")

    def _moves_otherwise(self, item: Item, site: str | None, term: Term) -> bool:
        """'She cannot straighten the elbow': she may bend it; a DIP joint that does not flex has no other way to go."""
        row = self._catalogue.sites[site].row if site is not None and site in self._catalogue.sites else ""
        return item.slug == _RANGE and not (row in _ONE_WAY and "flexion" in term.items[0])

    @staticmethod
    def _is_of_another_joint(item: Item, place: Place, statement: Statement, result: Outcome) -> bool:
        """'Range of motion of the wrist: 15-25', where another joint was named."""
        if place.site is not None and (wider(place.site),) == item.sites:
            return False  # 'The olecranon is tender. Elbow flexion 115': a part of this joint
        zeroed = any(amount.kind == "zeroed" for amount in amounts_of(statement.said))
        return result.value is None or zeroed or place.site is not None

    def _joint_of(self, item: Item, slugs: Sequence[str]) -> str | None:
        """'Elbow extension is limited': the joint of the words, where the item is recorded at any joint."""
        if item.slug != _RANGE:
            return None
        joints = {self._catalogue.items[slug].sites for slug in slugs[:2] if slug.endswith("_movement")}
        single = [sites[0] for sites in joints if len(sites) == 1]
        return single[0] if len(single) == 1 and single[0] in item.sites else None

    def _site(self, item: Item, place: Place, *, alone: bool) -> tuple[int, str | None, str, tuple[str, ...]]:
        """How well the place fits, the site, the words where there is no site, and what to ask.

        3 is exactly, 2 an item without sites, 1 a wider or narrower site, 0 not at all.
        """
        if not item.sites:
            return 3 if place.site is None and place.row is None else 2, None, "", ()
        if place.site is None and place.row is None:
            if len(item.sites) == 1 and alone:
                return 3, item.sites[0], "", ()
            if item.slug.startswith(_OF_THE_LIMB):
                return 3, None, "", ()  # 'strength is normal': of the whole limb, as its name says
            return 0, None, "", ("the site is not said",)
        if place.row is not None:
            row = self._catalogue.rows[place.row]
            fits = any(f"{place.row}_{digit}" in item.sites for digit in row.digits) or place.row == "digit"
            return 2 * fits, None, row.plural, (f"of which digits the {row.plural} are is not said",)
        site = place.site
        assert site is not None
        if site in item.sites:
            return 3, site, "", ()
        if (whole := wider(site)) in item.sites:
            return 1, whole, "", (f"recorded for the {self._catalogue.sites[whole].name}",)
        if (near := self._of_digits(item, site)) is not None:
            return near
        if len(item.sites) == 1 and alone and self._is_about(site, item.sites[0]):
            return 2, item.sites[0], "", ()  # its name says where
        if len(item.sites) == 1:
            return 0, item.sites[0], "", ("the place said is not where this is recorded",)
        return 0, None, self._catalogue.sites[site].name, ("it is not recorded at this place in the catalogue",)

    def _of_digits(self, item: Item, site: str) -> tuple[int, str, str, tuple[str, ...]] | None:
        """The part of a digit that an item is recorded at, or the digit or hand of a part that it has no site for."""
        sites = self._catalogue.sites
        known = sites[site]
        if known.row == "digit":
            rows = [each for each in item.sites if sites[each].digit == site and sites[each].row]
            kinds = {sites[each].row for each in item.sites if sites[each].row}
            if len(rows) == 1 and len(kinds - {"ip"}) == 1:
                return 2, rows[0], "", ()
            preferred = f"{self._words.rows.get(item.slug)}_{site}"
            return (2, preferred, "", ()) if preferred in item.sites else None
        if known.row in _OF_THE_HAND and "hand" in item.sites:
            return 1, "hand", "", ("recorded for the hand",)
        if known.digit and known.digit in item.sites:
            plain = known.row in {"ray", "pulp", "nail"}
            return 1, known.digit, "", () if plain else (f"recorded for the {sites[known.digit].name}",)
        return None

    def _is_about(self, said: str, recorded: str) -> bool:
        """Whether a place is where a site lies: a snuffbox is of the wrist, and a collapse of the wrist of no thumb."""
        if said in _ANYWHERE or (wider(said) or said) == (wider(recorded) or recorded):
            return True
        sites = self._catalogue.sites
        first, second = sites[said].digit, sites[recorded].digit
        return first == second if first and second else recorded not in _JOINTS and said not in _JOINTS

    def _outcome(self, item: Item, term: Term, statement: Statement, predication: Predication) -> Outcome | None:
        negated = predication.negated
        maybe = predication.maybe and (statement.implied or statement.said == statements(predication)[0].said)
        said = statement.said
        marks = [each.mark for each in said if each.mark is not None]
        maybe = maybe or any([mark.kind == "maybe" for mark in marks])  # noqa: C419 - quicker than a generator
        if predication.negated and any(each not in predication.before for each in said) and not statement.implied:
            negated = self._still_negated(statement, predication)
        if "power" not in predication.hints and self._is_another_kind(item, term, said):
            return None
        if term.state:
            return self._sense(item, term, said, negated=negated, maybe=maybe)
        pairs = [mark.amount for mark in marks if mark.amount is not None and mark.amount.kind == "pair"]
        pair = pairs[0] if pairs else None
        if pair is not None and pair.other.startswith("4") and item.scale == "reflex":  # '2/4': grade 2 of 4
            return outcome(
                item,
                [Said(Mark("value", 0, 0, amount=replace(pair, kind="signed")))],
                self._catalogue,
                negated=False,
                maybe=False,
            )
        if pair is not None and (item.value is ValueKind.MRC or item.scale in {"reflex", "strength"}):
            halves = []
            for grade in (pair.grade, pair.other):
                mark = Mark("value", 0, 0, amount=replace(pair, kind="signed", grade=grade))
                half = outcome(item, [Said(mark)], self._catalogue, negated=False, maybe=False)
                if half is None:
                    return None
                halves.append(half)
            if halves[0] == halves[1]:
                return Outcome("pair", (halves[0], None), (), "pair")
            looks = (AS_PAIR,)
            return Outcome("pair", tuple(replace(half, looks=(*half.looks, *looks)) for half in halves), (), "pair")
        return outcome(item, said, self._catalogue, negated=negated, maybe=maybe)

    def _is_another_kind(self, item: Item, term: Term, said: Sequence[Said]) -> bool:
        """'Elbow extension is limited' is how far it goes, 'weak' its power, where the words mean either."""
        power, sets = item.value is ValueKind.MRC, self._words.sets
        if not power and item.stage is not Stage.MOVEMENT:
            return False
        graded = any(amount.kind == "grade" for amount in amounts_of(said))
        if graded and not power:
            slugs = self.candidates(term, set())
            return any(self._catalogue.items[slug].value is ValueKind.MRC for slug in slugs)
        if power and graded:
            return False  # 'elbow flexion is reduced, 4/5'
        if not power and item.value is not ValueKind.STATE:
            return False
        told = {
            each.mark.text
            for each in said
            if each.mark is not None and each.mark.state is not None and each.mark.state.classes != ("present",)
        }  # 'weakness of supination was noted'
        if (
            power
            and term.head in {"flexion", "extension"}
            and told
            and told <= sets["range"] | sets["sound_or_reduced"]
        ):
            # 'Elbow flexion is normal': of a movement, not of a muscle, unless power is spoken of
            others = [self._catalogue.items[slug] for slug in self.candidates(term, set())]
            return any(other.stage is Stage.MOVEMENT for other in others)
        if not told or not told <= sets["range" if power else "power"]:
            return False
        if power and item.slug == "deltoid_power" and term.head in {"abduction", "arm", "shoulder"}:
            return True  # 'shoulder abduction is limited': how far it goes
        others = [self._catalogue.items[slug] for slug in self.candidates(term, set())]
        return any(other.stage is Stage.MOVEMENT if power else other.value is ValueKind.MRC for other in others)

    def _still_negated(self, statement: Statement, predication: Predication) -> bool:
        """'No swelling was seen' is negated; 'no wasting on the right, present on the left' is not on the left."""
        first = statements(predication)[0]
        return statement == first

    def _sense(self, item: Item, term: Term, said: Sequence[Said], *, negated: bool, maybe: bool) -> Outcome | None:
        """A term that says its state at once, with or without a negation."""
        classes = {name for each in said if each.mark and each.mark.state for name in each.mark.state.classes}
        turned = any(
            each.negated and each.mark is not None and each.mark.state is not None
            and bool(each.mark.state.classes or item.scale in each.mark.state.scales)
            for each in said
        )  # fmt: skip
        values = item.value is ValueKind.PRESENCE
        looks = ("uncertain in the note",) if maybe else ()
        denied = bool(classes & {"negative", "absent"}) or (turned and bool(classes & {"present", "positive"}))
        denied = denied and (turned or not values or term.state != "absent")  # what is denied is so once
        if (turned and not denied) or (denied and negated):
            return None
        if denied and term.state == "normal" and all(each.joined for each in said):
            denied, looks = False, (*looks, "what is said behind it was not read")  # 'LT intact, absent below'
        if values:
            state = "present" if term.state not in {"absent", "normal"} else "absent"
            state = {"present": "absent", "absent": "present"}[state] if denied or negated else state
            state = "equivocal" if maybe and not (denied or negated) else state
            return Outcome(state, state, looks)
        if item.value is ValueKind.TEST:
            if (denied or negated) and term.state == "negative":
                return None  # 'could be hooked on the right but not on the left'
            state = term.state if not (denied or negated) else "negative"
            state = "equivocal" if "equivocal" in classes else state
            return Outcome(state, state, looks)
        graded = any(each.mark is not None and each.mark.amount is not None for each in said)
        if item.value is ValueKind.MRC and (item.slug in term.items or (graded and item.slug in _WHOLE_POWER)):
            return _weak(said, looks, denied=denied or negated)
        if graded and item.scale == "strength":
            return None  # 'weakness of the arm, 4/5': a grade is of the item that takes one
        if item.scale is None:
            return None
        scale = self._catalogue.scales[item.scale]
        states = {state.slug: state for state in scale.states}
        normal = next(state.slug for state in scale.states if state.polarity is Polarity.NORMAL)
        if term.state not in states and term.state != "normal":
            return None
        if term.state not in states:
            otherwise = denied or negated or not classes.isdisjoint(_NOT_NORMAL)
            return None if otherwise else Outcome(normal, normal, looks)
        if denied or negated:
            if states[term.state].polarity is Polarity.NORMAL:
                low = next((slug for slug in ("reduced", "weak", "abnormal", "absent") if slug in states), None)
                return Outcome(low, low, (*looks, "how far it is reduced is not said")) if low else None
            return Outcome(normal, normal, looks)
        behind = term.adjective and classes == {"normal"} and all(each.joined for each in said)
        looks = (*looks, "what is said behind it was not read") if behind else looks  # 'warm, not tender and normal'
        state = term.state if behind else _said_otherwise(classes, states, term.state, normal)
        return Outcome(state, state, looks) if state else None


def _said_otherwise(classes: set[str], states: Mapping[str, StateDef], own: str, normal: str) -> str:
    """What the term says, or the result against it: 'radial nerve insensate, ulnar nerve normal'; '' if unclear."""
    usual = states[own].polarity is Polarity.NORMAL
    if usual and not classes.isdisjoint(_NOT_NORMAL):
        return next((slug for slug in ("reduced", "weak", "abnormal") if slug in states), "")
    return normal if classes == {"normal"} and not usual else own
