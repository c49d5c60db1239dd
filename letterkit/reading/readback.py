"""Read-back: finished sentences are read again and must give exactly the facts they were made from.

The reader is that of pasted notes and knows nothing of how a sentence was made; each sentence stands for itself.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import NamedTuple

from letterkit.catalogue import catalogue
from letterkit.catalogue.american import in_language
from letterkit.catalogue.model import Item, Place, Qualifier, ValueKind
from letterkit.findings.facts import Facts
from letterkit.findings.sides import Side, each
from letterkit.findings.values import Arc, Grade, Quantity, UnreadValue, Value, read_value
from letterkit.reading.read import note_reader
from letterkit.reading.remembered import Remembered
from letterkit.reading.result import ReadFinding, Reading, ReadStage

NOT_EXAMINED = "not_examined"


class FactKey(NamedTuple):
    """What one fact says: `item` a slug or `stage:<stage>`, side, site, state, and the value as text with its mode.

    `state` is the catalogue's, or `normal` and `not_examined` of a whole stage. `measures` holds sizes, angles and
    seconds that qualify the finding.
    """

    item: str
    side: Side | None
    site: str | None
    state: str
    value: str = ""
    measures: str = ""


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A sentence that does not read back: its number and text, what it should say and does not, and what it adds.

    `strange` are words of the sentence that belong to no finding.
    """

    sentence: int
    text: str
    missing: tuple[FactKey, ...]
    added: tuple[FactKey, ...]
    strange: tuple[str, ...] = ()

    def __str__(self) -> str:
        parts = [f"sentence {self.sentence + 1}, {self.text!r}, does not read back"]
        if self.missing:
            parts.append("not found: " + ", ".join(_shown(key) for key in self.missing))
        if self.added:
            parts.append("found and not recorded: " + ", ".join(_shown(key) for key in self.added))
        if self.strange:
            parts.append("belongs to no finding: " + ", ".join(self.strange))
        return "; ".join(parts)


@dataclass(frozen=True, slots=True)
class Told:
    """What one sentence gives when it is read by itself, and its words that belong to no finding."""

    found: frozenset[FactKey]
    strange: tuple[str, ...] = ()


remembered: Remembered[Told] = Remembered()


def _shown(key: FactKey) -> str:
    return " ".join(
        part
        for part in (key.side, key.item, f"at {key.site}" if key.site else "", key.state, key.value, key.measures)
        if part
    )


def rounded(number: float, decimals: int = 1) -> str:
    """A number as a letter prints it: halves away from zero, without trailing zeros, never minus zero."""
    exact = Decimal(repr(number)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    text = f"{exact:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def value_text(value: Value, item: Item, mode: str = "") -> str:
    """A value as comparable text, rounded as a letter rounds it: '<2 s', '4+', '20-85 deg', with 'active' before it."""
    match value:
        case None:
            text = ""
        case Grade():
            text = value.text
        case Arc():
            text = f"{rounded(value.from_deg)} to {rounded(value.to_deg)} deg"
        case Quantity():
            decimals = max(item.decimals, 1)
            text = f"{value.comparator}{rounded(value.number, decimals)} {value.unit}"
        case str():
            text = " ".join(value.casefold().split())
    return f"{mode} {text}".strip()


_IN_WORDS = {
    ValueKind.PRESENCE: (Qualifier.SIZE, Qualifier.LENGTH, Qualifier.ANGLE),
    ValueKind.TEST: (Qualifier.ONSET,),
}
"""Numbers that a letter tells in the sentence itself; others stand in brackets, which are remarks."""


def _measures(item: Item, state: str, qualifiers: Mapping[Qualifier, str | float | int]) -> str:
    """The numbers that qualify a finding, as comparable text."""
    if state not in {"present", "positive", "negative"}:
        return ""
    told = [(name, qualifiers.get(name)) for name in _IN_WORDS.get(item.value, ())]
    mass = item.doctor.article is None and item.doctor.place is not Place.SIDE
    if mass or qualifiers.get(Qualifier.COUNT) is not None:
        told = [(name, value) for name, value in told if name is Qualifier.ANGLE or name is Qualifier.ONSET]
    if qualifiers.get(Qualifier.SIZE) is not None:
        told = [(name, value) for name, value in told if name is not Qualifier.LENGTH]  # it stands in a bracket then
    return ", ".join(f"{name.value} {rounded(float(value))}" for name, value in told if value is not None)


def keys_of(facts: Facts) -> Mapping[str, tuple[FactKey, ...]]:
    """The keys of every fact by its id, as a letter's sentences name them."""
    known = catalogue()
    keys: dict[str, tuple[FactKey, ...]] = {}
    for fact in facts.facts:
        item = known.items[fact.item]
        mode = str(fact.qualifier(Qualifier.MODE) or "") if item.is_measured else ""
        told = _measures(item, fact.state, dict(fact.qualifiers))
        value = value_text(fact.value, item, mode)
        keys[fact.id] = (FactKey(fact.item, fact.side, fact.site, fact.state, value, told),)
    for normal in facts.normal:
        keys[normal.id] = tuple(FactKey(f"stage:{normal.stage}", side, None, "normal") for side in each(normal.side))
    for unexamined in facts.unexamined:
        name = unexamined.item or f"stage:{unexamined.stage}"
        keys[unexamined.id] = tuple(
            FactKey(name, side, site, NOT_EXAMINED)
            for side in each(unexamined.side)
            for site in unexamined.sites or (None,)
        )
    return keys


def _of_finding(finding: ReadFinding) -> list[FactKey]:
    item = catalogue().items[finding.item]
    text = ""
    if finding.value is not None and item.value in {ValueKind.MRC, ValueKind.QUANTITY, ValueKind.ARC, ValueKind.TEXT}:
        try:
            value = read_value(finding.value, item, catalogue()).value
        except UnreadValue:
            value = str(finding.value)
        mode = str(finding.qualifiers.get("mode") or "") if item.is_measured else ""
        text = value_text(value, item, mode)
    sites: tuple[str | None, ...] = finding.sites or (None,)
    read = {Qualifier(_snake(name)): value for name, value in finding.qualifiers.items() if _snake(name) in _NAMES}
    told = _measures(item, finding.state, read)
    return [
        FactKey(finding.item, side, site, finding.state, text, told) for side in each(finding.side) for site in sites
    ]


_NAMES = frozenset(name.value for name in Qualifier)


def _snake(name: str) -> str:
    return "".join(f"_{letter.lower()}" if letter.isupper() else letter for letter in name)


def _of_stage(stage: ReadStage, state: str) -> list[FactKey]:
    record = stage.record
    name = str(record["item"]) if "item" in record else f"stage:{record['stage']}"
    sites = record.get("site")
    places = [sites] if isinstance(sites, str) or sites is None else list(sites)
    side = record.get("side")
    return [FactKey(name, one, place, state) for one in each(side) for place in places]


def _told_by(reading: Reading) -> Told:
    """What the reading of one sentence gives."""
    found: set[FactKey] = set()
    for finding in reading.findings:
        found.update(_of_finding(finding))
    for stage in reading.normal:
        found.update(_of_stage(stage, "normal"))
    for stage in reading.not_examined:
        found.update(_of_stage(stage, NOT_EXAMINED))
    return Told(frozenset(found), _strange(reading))


def _tell(texts: Sequence[str], language: str) -> list[Told]:
    """What each sentence gives when it is read by itself."""
    keys = [remembered.key(text, language) for text in texts]
    told = {key: known for key in keys if (known := remembered.get(key)) is not None}
    unread = {key: text for key, text in zip(keys, texts, strict=True) if key not in told}
    readings = note_reader(language).read_lines(unread.values()) if unread else ()
    for key, reading in zip(unread, readings, strict=True):
        made = told[key] = _told_by(reading)
        if not (made.strange or _holds_words(made)):
            remembered.put(key, made)
    return [told[key] for key in keys]


def _holds_words(told: Told) -> bool:
    """Whether a value of it is the clinician's own words, which are not kept beyond their letter."""
    items = catalogue().items
    return any(key.item in items and items[key.item].value is ValueKind.TEXT for key in told.found)


def read_back(sentences: Sequence[tuple[str, tuple[FactKey, ...]]], *, language: str = "en-GB") -> tuple[Mismatch, ...]:
    """The sentences that do not give exactly their facts when they are read, in order; none is the only good answer.

    What stands in brackets is a remark and is not read. The clinician's own words are looked for as they stand.
    """
    items = in_language(catalogue(), language).items
    prepared = [_prepared(text, keys, items) for text, keys in sentences]
    mismatches = []
    told = _tell([text for text, _ in prepared], language)
    for number, ((text, expected), read) in enumerate(zip(prepared, told, strict=True)):
        wanted = set(expected)
        folded = " ".join(text.casefold().split())
        unnamed = tuple(key for key in dict.fromkeys(expected) if not _named(key, folded, items))
        if wanted != read.found or unnamed or read.strange:
            missing = tuple(key for key in dict.fromkeys(expected) if key not in read.found or key in unnamed)
            added = tuple(sorted(read.found - wanted, key=str))
            mismatches.append(Mismatch(number, sentences[number][0], missing, added, read.strange))
    return tuple(mismatches)


_OWN_WORDS = "as told"


def _prepared(text: str, keys: tuple[FactKey, ...], items: Mapping[str, Item]) -> tuple[str, tuple[FactKey, ...]]:
    """A sentence without its remarks, and with a short stand-in for words that the clinician wrote."""
    line = " ".join(text.split())
    told: list[FactKey] = []
    for key in keys:
        item = items.get(key.item)
        if item is not None and item.value is ValueKind.TEXT and key.value:
            at = line.casefold().find(key.value)
            if at >= 0:
                line = f"{line[:at]}{_OWN_WORDS}{line[at + len(key.value) :]}"
            told.append(key._replace(value=_OWN_WORDS) if _OWN_WORDS in line else key)
        else:
            told.append(key)
    return _without_remarks(line), tuple(told)


def _without_remarks(text: str) -> str:
    """The text outside its brackets; brackets that do not close are left alone."""
    if "(" not in text:
        return _closed_up(text)
    kept: list[str] = []
    depth = 0
    for character in text:
        if character == "(":
            depth += 1
        elif character == ")" and depth:
            depth -= 1
        elif not depth:
            kept.append(character)
    return text if depth else _closed_up("".join(kept))


def _closed_up(text: str) -> str:
    """The text without the gaps that a remark leaves behind."""
    return _GAP.sub("", _SPACES.sub(" ", text))


def _named(key: FactKey, folded: str, items: Mapping[str, Item]) -> bool:
    """Whether a sentence calls a finding by its own words in the catalogue, not by a part of them."""
    item = items.get(key.item)
    if item is None:
        return True
    wording = item.doctor
    own = (wording.noun, wording.plural, wording.subject)
    names = (*own, item.name) if key.state == NOT_EXAMINED else own
    return any(_bare_name(name) in folded for name in names if name)


@cache
def _bare_name(name: str) -> str:
    """A name of the catalogue as it is looked for in a sentence."""
    return _without_remarks(name.casefold().removeprefix("the "))


_COUNTS = frozenset(["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"])


def _strange(reading: Reading) -> tuple[str, ...]:
    """The words of a sentence that look clinical and belong to no finding; what stands in brackets is a remark."""
    found: list[str] = []
    for span in reading.spans:
        words = reading.quote(span)
        figures = span.kind == "plain" and _FIGURE.search(_REMARK.sub("", words))
        if span.kind != "unread" and not figures:
            continue
        before = reading.text[: span.start]
        if before.count("(") <= before.count(")") and words.casefold() not in _COUNTS:
            found.append(words.strip())
    return tuple(found)


_FIGURE = re.compile(r"\d")
_REMARK = re.compile(r"\([^()]*\)?")
_SPACES = re.compile(r"  +")
_GAP = re.compile(r"\s+(?=[.,:;]|$)")
