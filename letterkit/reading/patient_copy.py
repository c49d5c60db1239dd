"""The check of a finished patient's copy: sides, digits, numbers and denials of its words against the recorded facts.

The reader knows the words of the trade, not those of plain English, so the copy is not read as a note is. Each sentence
says which facts it states; here its words are held against these, with the catalogue's words for a patient and with no
word of what wrote them. The clinician's own words within it are left alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.american import in_language
from letterkit.catalogue.model import Item, Qualifier, ValueKind
from letterkit.findings.facts import EarlierFact, Fact, Facts
from letterkit.findings.values import Arc, Grade, Quantity, Value
from letterkit.letter.model import BulletList, Letter, Paragraph, Sentence
from letterkit.reading.places import FINGERS
from letterkit.reading.readback import rounded

_SIDE = re.compile(r"\b(right|left|both|either)\b")
_SIDE_OR_YOUR = re.compile(r"\b(?:right|left|both|either|your) ")
_ON = re.compile(r"\bon the (right|left)\b")
_NUMBER = re.compile(r"(?:minus )?\d+(?:\.\d+)?")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
           "December")  # fmt: skip
_DATE = re.compile(r"^On \d{1,2} [A-Z][a-z]+ \d{4}, ")
_DIGIT = re.compile(
    r"\b(?P<thumb>thumb)s?\b|\b(?P<finger>index|middle|long|ring|little|small)(?= fingers?\b|,| and\b| or\b)"
    r"|\b(?:any finger|all four fingers?)\b"
)
_PARTS = re.compile(r"\b(thumb|finger|hand|wrist|palm|forearm|elbow|arm|shoulder|ear|bone|armpit)s\b")
_SAME = {"long": "middle", "small": "little"}  # American names
_EDGES = re.compile(r"\bthe (?:thumb|little finger|small finger|outer|inner) side\b")
_AGAIN = re.compile(r"\b(?:it|they|none)\b")  # a sentence about what the one before named
_OTHER_SIDE = re.compile(r"^On the (?:right|left), |^We (?:saw|found) none\b")  # of the place of the one before
_DENIAL = re.compile(r"\b(?:no|none|not|nothing|never)\b")
_DOUBT = re.compile(r"\bmay be\b|\bnot sure\b")
_ZERO = "Here 0 degrees means straight."
_FULL_STRENGTH = 5  # of the grades of the Medical Research Council
_STRENGTH = (
    "no movement", "only a flicker", "only with the weight held", "not against pressure", "had less than full strength",
    "had full strength",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fault:
    """A sentence of the patient's copy and what in it does not fit the recorded facts."""

    text: str
    what: str

    def __str__(self) -> str:
        return f"{self.text!r} {self.what}"


def check_patient_copy(letter: Letter, facts: Facts) -> tuple[Fault, ...]:
    """What in a patient's copy contradicts the facts it states. What it leaves out is for the clinic's template."""
    words = in_language(catalogue(), letter.properties.language)
    known = {fact.id: fact for fact in facts.facts}
    earlier = list(facts.earlier)
    faults: list[Fault] = []
    for entry in _entries(letter):
        placed = _Placed()
        for sentence in entry:
            stated = [known[each] for each in sentence.facts if each in known]
            if stated and sentence.origin == "finding":
                faults += [
                    Fault(sentence.text, what) for what in _Told(sentence.text, stated, earlier, words).faults(placed)
                ]
    return tuple(faults)


@dataclass(slots=True)
class _Placed:
    """What an entry has named so far: the facts whose place stands in it, and the digits it last spoke of."""

    facts: set[str] = field(default_factory=set)
    digits: frozenset[str] = frozenset()

    def holds(self, facts: Sequence[Fact]) -> bool:
        return self.facts.issuperset(fact.id for fact in facts)


def _entries(letter: Letter) -> Iterator[Sequence[Sentence]]:
    for block in letter.blocks:
        if isinstance(block, BulletList):
            yield from block.entries
        elif isinstance(block, Paragraph):
            yield block.sentences


@lru_cache(maxsize=8192)
def _bare(text: str) -> str:
    """Words without the sides put into them: 'both your thumbs', 'your left thumb' and 'either thumb' alike."""
    return _PARTS.sub(r"\1", " ".join(_SIDE_OR_YOUR.sub("", text.casefold().replace("\u00a0", " ")).split()))


def _wordings(item: Item, catalogue: Catalogue) -> Iterator[str]:
    words = item.patient
    for each in (words.noun, words.plural, words.subject, words.positive, words.negative, words.equivocal,
                 *words.states.values()):  # fmt: skip
        if each:
            yield each
    if item.scale:
        yield from (state.patient for state in catalogue.scales[item.scale].states)
    if not (words.noun or words.subject):
        yield item.name


def _site_words(slug: str, catalogue: Catalogue) -> tuple[str, ...]:
    site = catalogue.sites[slug]
    place = catalogue.rows[site.row] if site.row else catalogue.plain_sites[slug]
    return (place.patient, place.patient_plural)


class _Told:
    """One sentence of the copy beside the facts it says it states."""

    def __init__(self, text: str, facts: Sequence[Fact], earlier: Sequence[EarlierFact], words: Catalogue) -> None:
        text = text.replace("\u00a0", " ")
        for fact in facts:  # what a clinician wrote in place of a value
            text = text.replace(fact.value, "") if isinstance(fact.value, str) else text
        self._text = text
        self._facts = facts
        self._words = words
        self._items = [words.items[fact.item] for fact in facts]
        self._before = [each for each in earlier if each.item in {fact.item for fact in facts}]
        self._bare = _bare(_DATE.sub("", text))

    def faults(self, placed: _Placed) -> Iterator[str]:
        """What contradicts the facts; `placed` gathers the facts of the entry whose place has been named."""
        if self._is_own_words() or self._text == _ZERO:
            return
        if match := _DATE.match(self._text):
            named = {side for each in _SIDE.finditer(self._text) for side in _each_side(each[1])}
            then = [each.value for each in self._before
                    if _day(each) in match[0] and (not named or each.side in named)]  # fmt: skip
            if len(then) == 1 and not set(_figures(then[0], self._items[0])) <= set(_NUMBER.findall(self._text)):
                yield "does not give the earlier value"
            yield from self._wrong_numbers(then)
            return
        yield from self._wrong_sides(placed)
        yield from self._wrong_digits(placed)
        yield from self._wrong_numbers([fact.value for fact in self._facts])
        if not placed.holds(self._facts) or self._text.startswith("On the "):
            yield from self._wrong_states()
        placed.facts |= {fact.id for fact in self._facts}

    def _is_own_words(self) -> bool:
        own = [
            str(text).strip().rstrip(".")
            for fact in self._facts
            for text in (fact.note, fact.qualifier(Qualifier.DESCRIPTION), fact.qualifier(Qualifier.DISTRIBUTION))
            if text
        ]
        leads = (":", "You felt this in")
        return self._text.rstrip(".").endswith(tuple(f"{lead} {text}" for text in own for lead in leads))

    def _wrong_sides(self, placed: _Placed) -> Iterator[str]:
        rest = self._text
        for each in (each for item in self._items for each in _wordings(item, self._words)):
            for piece in each.split("your"):
                rest = rest.replace(piece, "") if _SIDE.search(piece) else rest
        named = {word for match in _SIDE.finditer(rest) for word in _each_side(match[1])}
        recorded = {fact.side for fact in self._facts} - {None}
        if named - recorded:
            yield f"names the {' and the '.join(sorted(named - recorded))} side, which was not recorded"
        elif recorded - named and not placed.holds(self._facts):
            yield f"does not name the {' and the '.join(sorted(str(each) for each in recorded - named))} side"

    def _wrong_digits(self, placed: _Placed) -> Iterator[str]:
        sites = [self._words.sites[fact.site] for fact in self._facts if fact.site]
        recorded = {site.digit for site in sites if site.digit and site.row}
        known = {_EDGES.sub("", _bare(each)) for item in self._items for each in _wordings(item, self._words)}
        known |= {_EDGES.sub("", _bare(each)) for site in sites for each in _site_words(site.slug, self._words)}
        rest = _EDGES.sub("", self._bare)
        for each in sorted(known, key=len, reverse=True):
            rest = rest.replace(each, "") if _DIGIT.search(f"{each} finger") else rest
        named: set[str] = set()
        for match in _DIGIT.finditer(rest):
            name = match["thumb"] or match["finger"]
            named |= {_SAME.get(name, name)} if name else FINGERS
        if not named and placed.holds(self._facts):
            return
        if not named and _OTHER_SIDE.match(self._text):
            named = set(placed.digits)
        placed.digits = frozenset(named)
        if named - recorded:
            yield f"names the {' and the '.join(sorted(named - recorded))}, which was not recorded"
        elif recorded - named and not placed.holds(self._facts):
            yield f"does not name the {' and the '.join(sorted(str(each) for each in recorded - named))}"

    def _wrong_numbers(self, values: Sequence[Value]) -> Iterator[str]:
        text = self._text
        if match := _DATE.match(text):
            text = text[match.end() :]
        spans = _by_side(text) if len({fact.side for fact in self._facts}) > 1 else {}
        for side, part in spans.items():
            here = [fact for fact in self._facts if fact.side == side]
            wanted = {each for fact in here for each in _figures(fact.value, self._words.items[fact.item])}
            if wanted and not wanted <= set(_NUMBER.findall(part)):
                yield f"does not give {', '.join(sorted(wanted))} on the {side}"
        item = self._items[0]
        allowed = {figure for value in values for figure in (*_figures(value, item), *_trials(value))}
        for fact, item in zip(self._facts, self._items, strict=True):
            allowed |= {rounded(abs(float(each))) for _, each in fact.qualifiers if isinstance(each, (int, float))}
            allowed |= set(_NUMBER.findall(str(fact.qualifier(Qualifier.GRADE) or "")))
            allowed |= {number for each in _wordings(item, self._words) for number in _NUMBER.findall(each)}
            allowed |= {str(_FULL_STRENGTH)} if item.value is ValueKind.MRC else set()
        if strange := [each for each in _NUMBER.findall(text) if each not in allowed]:
            yield f"gives {', '.join(strange)}, which was not recorded"

    def _wrong_states(self) -> Iterator[str]:
        for fact, item in zip(self._facts, self._items, strict=True):
            if what := self._wrong_state(fact, item):
                yield what
                return

    def _wrong_state(self, fact: Fact, item: Item) -> str | None:
        match item.value:
            case ValueKind.PRESENCE:
                return self._wrong_presence(fact)
            case ValueKind.TEST:
                told = {"positive": item.patient.positive, "negative": item.patient.negative,
                        "equivocal": item.patient.equivocal or "gave no clear answer"}  # fmt: skip
                return self._lacks(told[fact.state])
            case ValueKind.STATE:
                assert item.scale is not None
                words = {state.slug: state.patient for state in self._words.scales[item.scale].states}
                return self._lacks(item.patient.states.get(fact.state, words[fact.state]))
            case ValueKind.MRC:
                assert isinstance(fact.value, Grade)
                return self._lacks(_STRENGTH[int(fact.value.text[0])])
            case ValueKind.QUANTITY | ValueKind.ARC:
                if missing := set(_figures(fact.value, item)) - set(_NUMBER.findall(self._text)):
                    return f"does not give {', '.join(sorted(missing))}"
        return None

    def _wrong_presence(self, fact: Fact) -> str | None:
        rest = told = _EDGES.sub("", self._bare)
        for item in self._items:
            words = (item.patient.plural, item.patient.noun or item.name)
            nouns = [_EDGES.sub("", _bare(each)) for each in words if each]
            if not (_AGAIN.search(told) or any(each in told for each in nouns)):
                return f"does not name {nouns[-1]}"
            for each in sorted(nouns, key=len, reverse=True):
                rest = rest.replace(each, "")
        denied, doubted = bool(_DENIAL.search(rest)), bool(_DOUBT.search(rest))
        right = {"present": not denied and not doubted, "absent": denied and not doubted, "equivocal": doubted}
        return None if right[fact.state] else f"does not say {fact.state}"

    def _lacks(self, words: str | None) -> str | None:
        bare = _bare(words or "")
        return None if _EDGES.sub("", bare) in _EDGES.sub("", self._bare) else f"does not say {words!r}"


def _day(earlier: EarlierFact) -> str:
    """The day of an earlier value as the copy prints it: '30 September 2026'."""
    year, month, day = earlier.date.split("-")
    return f"{int(day)} {_MONTHS[int(month) - 1]} {year}"


def _each_side(word: str) -> tuple[str, ...]:
    return (word,) if word in {"right", "left"} else ("right", "left")


def _by_side(text: str) -> dict[str, str]:
    """The words before each 'on the right' and 'on the left', from the end of the one before."""
    parts: dict[str, str] = {}
    start = 0
    for match in _ON.finditer(text):
        parts[match[1]] = text[start : match.start()]
        start = match.end()
    return parts if len(parts) > 1 else {}


def _figure(number: float, decimals: int = 1) -> str:
    return rounded(number, decimals).replace("-", "minus ")


def _figures(value: Value, item: Item) -> Iterable[str]:
    """The figures of a value as a letter prints them."""
    match value:
        case Quantity():
            return (_figure(value.number, max(item.decimals, 1)),)
        case Arc():
            return (rounded(abs(value.from_deg)), rounded(abs(value.to_deg)))
        case Grade():
            return (value.text.rstrip("+-"),) if not value.text.startswith(str(_FULL_STRENGTH)) else ()
        case _:
            return ()


def _trials(value: Value) -> Iterable[str]:
    trials = value.trials if isinstance(value, Quantity) else ()
    return (str(len(trials)), *(_figure(each) for each in trials)) if trials else ()
