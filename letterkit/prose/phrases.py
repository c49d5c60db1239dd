"""Phrases of the clinical register that clauses share: noun phrases, places, verbs, numbers and what follows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, Stage
from letterkit.findings.values import Arc, Grade, Quantity
from letterkit.prose.places import Where, side_phrase, site_phrase, where
from letterkit.prose.words import amount, count_word, listed, long_date, rounded, with_article
from letterkit.summary.statement import Part

Shape: TypeAlias = Literal["there", "subject", "place", "no"]
_SEEN = {Stage.INSPECTION: "seen", Stage.PALPATION: "felt"}


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to say a statement; `text` has no full stop yet."""

    shape: Shape
    text: str


def items_of(part: Part, catalogue: Catalogue) -> list[Item]:
    """The items of a part, in its order."""
    return [catalogue.items[slug] for slug in part.items]


def qualifier_of(part: Part, name: Qualifier) -> str | float | int | None:
    """The value of one qualifier of a part, or None."""
    return next((value for key, value in part.qualifiers if key is name), None)


def at_place(part: Part, item: Item, catalogue: Catalogue, *, negated: bool = False) -> str:
    """Where the part holds, as the item's wording says it; empty where neither side nor site applies."""
    places = where(part.places, catalogue)
    if item.doctor.place is Place.SIDE:
        return side_phrase(places.sides, negated=negated)
    return site_phrase(places, item.doctor.place.value, catalogue, negated=negated)


def joined(*parts: str) -> str:
    """Words with single spaces between; empty ones left out."""
    return " ".join(part for part in parts if part)


def noun_phrase(item: Item, part: Part, places: Where) -> tuple[str, bool]:
    """The finding as a noun phrase with its qualifiers, and whether it is plural."""
    wording = item.doctor
    noun = wording.noun or item.name
    count = qualifier_of(part, Qualifier.COUNT)
    several = (isinstance(count, int) and count > 1) or (count is None and max(places.count, len(places.sides)) > 1)
    plural = wording.plural is not None and (several or wording.article is None)
    size = _size(part)
    # A size stands before a thing that can be counted, as it is dictated; after a substance it is told as a measure.
    before = [size] if size and wording.article else []
    before += [str(value) for name in (Qualifier.SEVERITY, Qualifier.CORRECTABILITY)
               if (value := qualifier_of(part, name)) is not None]  # fmt: skip
    words = " ".join([*before, (wording.plural or noun) if plural else noun])
    if isinstance(count, int) and wording.plural:
        words = f"{count_word(count)} {words}"
    elif wording.article and not plural:
        words = with_article(words)
    if size and not wording.article:
        words += f" measuring {size}"
    return words + _measures(part), plural


def _size(part: Part) -> str:
    size, length = qualifier_of(part, Qualifier.SIZE), qualifier_of(part, Qualifier.LENGTH)
    told = [amount(float(size), "mm")] if size is not None else []
    told += [amount(float(length), "cm")] if length is not None else []
    return " by ".join(told)


def _measures(part: Part) -> str:
    text = ""
    if (angle := qualifier_of(part, Qualifier.ANGLE)) is not None:
        text += f" of {amount(float(angle), 'deg')}"
    if (grade := qualifier_of(part, Qualifier.GRADE)) is not None:
        scale, _, value = str(grade).rpartition(" ")
        text += f" ({scale} grade {value})"
    return text


def after_place(part: Part) -> str:
    """What follows the place: the clinician's description, when symptoms came and where they were felt."""
    text = ""
    if (onset := qualifier_of(part, Qualifier.ONSET)) is not None:
        text += f" after {amount(float(onset), 's')}"
    if (distribution := qualifier_of(part, Qualifier.DISTRIBUTION)) is not None:
        text += f" (felt in {distribution})"
    if (description := qualifier_of(part, Qualifier.DESCRIPTION)) is not None:
        text += f" ({description})"
    return f"{text} ({part.note})" if part.note else text


def verb_of_finding(items: Sequence[Item], at: str, *, negated: bool = False) -> str:
    """The verb of finding: seen or felt by stage; the patient's pain is neither."""
    sore = any(word in (item.doctor.noun or "") for item in items for word in ("pain", "tender"))
    if items[0].doctor.place is Place.OF and at and not negated:
        return "present"
    return "noted" if sore else _SEEN.get(items[0].stage, "found")


def denied_plural(item: Item) -> bool:
    """After 'no', what a place may hold several of takes the plural: 'no nodules', but 'no contracture'."""
    return item.doctor.plural is not None and Qualifier.COUNT in item.qualifiers


def absent_nouns(items: Sequence[Item]) -> list[str]:
    """The nouns that follow a 'no', each in the number that English takes there."""
    return [(item.doctor.plural if denied_plural(item) else item.doctor.noun) or item.name for item in items]


def result_words(item: Item, state: str, verb: str) -> str:
    """The predicate of a test's result: the item's own words, or 'was positive'."""
    custom = {"positive": item.doctor.positive, "negative": item.doctor.negative, "equivocal": item.doctor.equivocal}
    return custom.get(state) or f"{verb} {state}"


def subjects(items: Sequence[Item]) -> tuple[str, str]:
    """The subjects as a list, and the verb that agrees with it."""
    words = listed(list(dict.fromkeys(item.doctor.subject or item.name for item in items)))
    plural = len({item.doctor.subject for item in items}) > 1 or items[0].doctor.number == "plural"
    return words, "were" if plural else "was"


def state_words(item: Item, state: str, catalogue: Catalogue) -> str:
    """The words of a state: the item's own, or those of its scale."""
    if state in item.doctor.states:
        return item.doctor.states[state]
    assert item.scale is not None
    return next(each.doctor for each in catalogue.scales[item.scale].states if each.slug == state)


def grade_words(value: object) -> str:
    """A power grade in words: 'grade 4 plus out of 5'."""
    assert isinstance(value, Grade)
    return f"grade {value.text.replace('-', ' minus').replace('+', ' plus')} out of 5"


def number_words(part: Part, item: Item) -> str:
    """A measured value in words, with its trials and the latest earlier figure."""
    if isinstance(part.value, Quantity):
        text = amount(part.value.number, part.value.unit, part.value.comparator, max(item.decimals, 1))
        if len(part.value.trials) > 1:
            trials = listed([rounded(trial, 1) for trial in part.value.trials])
            text += f" (mean of {count_word(len(part.value.trials))} trials: {trials})"
        return text + _previously(part, item)
    assert isinstance(part.value, Arc)
    return arc_words(part.value) + _previously(part, item)


def _previously(part: Part, item: Item) -> str:
    """The latest earlier figure of the same place beside today's, where a part is about one place."""
    if not part.before:
        return ""
    before = part.before[-1]
    day = long_date(date.fromisoformat(before.date))
    if isinstance(before.value, Quantity):
        value = before.value
        return f" (previously {amount(value.number, value.unit, value.comparator, max(item.decimals, 1))} on {day})"
    return f" (previously {arc_words(before.value)} on {day})" if isinstance(before.value, Arc) else ""


def arc_words(arc: Arc) -> str:
    """An arc in words: 'from 20 to 85 degrees', with hyperextension said as such."""
    end = amount(arc.to_deg, "deg")
    if arc.from_deg < 0:
        return f"from {amount(-arc.from_deg, 'deg')} of hyperextension to {end} of flexion"
    return f"from {rounded(arc.from_deg, 1)} to {end}"
