"""Phrases of the clinical register that clauses share: noun phrases, places, verbs, numbers and what follows them."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, Stage
from letterkit.findings.values import Arc, Grade, Quantity
from letterkit.prose.places import Where, side_phrase, site_phrase, where
from letterkit.prose.words import amount, count_word, listed, rounded, with_article
from letterkit.summary.statement import Part, PlaceRef

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
    return _at(part.places, item.doctor.place, catalogue, negated=negated)


@lru_cache(maxsize=4096)  # the words of places, which say nothing of a patient and come again in every letter
def _at(refs: tuple[PlaceRef, ...], place: Place, catalogue: Catalogue, *, negated: bool) -> str:
    places = where(refs, catalogue)
    if place is Place.SIDE:
        return side_phrase(places.sides, negated=negated)
    return site_phrase(places, place.value, catalogue, negated=negated)


def joined(*parts: str) -> str:
    """Words with single spaces between; empty ones left out."""
    return " ".join(part for part in parts if part)


_TOLD_BY_NOUN = frozenset(
    {Qualifier.SEVERITY, Qualifier.CORRECTABILITY, Qualifier.SIZE, Qualifier.LENGTH, Qualifier.ANGLE, Qualifier.GRADE}
)


def noun_phrase(item: Item, part: Part, places: Where) -> tuple[str, bool]:
    """The finding as a noun phrase with its qualifiers, and whether it is plural."""
    wording = item.doctor
    noun = wording.noun or item.name
    count = qualifier_of(part, Qualifier.COUNT)
    spread = max(places.count, len(places.sides)) > 1
    several = (isinstance(count, int) and count > 1) or spread
    plural = wording.plural is not None and (several or (wording.article is None and count is None))
    size = _size(part)
    # A size stands before a thing that can be counted, as it is dictated; after a substance it is told as a measure.
    first = size if wording.article and count is None else ""
    before = [first] if first else []
    before += [str(value) for name in (Qualifier.SEVERITY, Qualifier.CORRECTABILITY)
               if (value := qualifier_of(part, name)) is not None]  # fmt: skip
    words = " ".join([*before, (wording.plural or noun) if plural else noun])
    if isinstance(count, int) and wording.plural and not spread:
        words = f"{count_word(count)} {words}"
    elif wording.article and not plural:
        words = with_article(words)
    if size and not first and not _size_after_place(item, part):
        words += f" measuring {size}"
    return words + _measures(part), plural


def _size_after_place(item: Item, part: Part) -> bool:
    """Whether a size follows the place in a bracket: 'swelling of the right wrist (18 mm)'."""
    counted = qualifier_of(part, Qualifier.COUNT) is not None
    return counted or (item.doctor.article is None and item.doctor.place is not Place.SIDE)


def told_by_noun(item: Item, part: Part) -> AbstractSet[Qualifier]:
    """The qualifiers that the noun phrase of an item tells; a count at several places follows them: 'two each'."""
    counted = item.doctor.plural and len(part.places) == 1
    told = _TOLD_BY_NOUN | {Qualifier.COUNT} if counted else _TOLD_BY_NOUN
    if _size_after_place(item, part):
        return told - {Qualifier.SIZE, Qualifier.LENGTH}
    return told - {Qualifier.LENGTH} if qualifier_of(part, Qualifier.SIZE) is not None else told


def possible(item: Item, places: Where) -> tuple[str, bool]:
    """An uncertain finding as a noun phrase, 'a possible effusion', and whether it is plural."""
    wording = item.doctor
    noun = wording.noun or item.name
    plural = wording.plural is not None and (wording.article is None or max(places.count, len(places.sides)) > 1)
    words = f"possible {wording.plural if plural else noun}"
    return (with_article(words) if wording.article and not plural else words), plural


def _size(part: Part) -> str:
    """The size in words or, where there is none, the length; with both, the length follows in a bracket."""
    if (size := qualifier_of(part, Qualifier.SIZE)) is not None:
        return amount(float(size), "mm")
    length = qualifier_of(part, Qualifier.LENGTH)
    return amount(float(length), "cm") if length is not None else ""


def _measures(part: Part) -> str:
    text = ""
    if (angle := qualifier_of(part, Qualifier.ANGLE)) is not None:
        text += f" of {amount(float(angle), 'deg')}"
    if (grade := qualifier_of(part, Qualifier.GRADE)) is not None:
        scale, _, value = str(grade).rpartition(" ")
        text += f" ({scale} grade {value})"
    return text


def after_place(part: Part, told: AbstractSet[Qualifier] = frozenset()) -> str:
    """What follows the place: when and where symptoms came, every qualifier not told before, and the note."""
    text = ""
    if (onset := qualifier_of(part, Qualifier.ONSET)) is not None:
        text += f" after {amount(float(onset), 's')}"
    spread = len(part.places) > 1
    brackets = [
        _bracket(name, value, spread=spread) for name, value in part.qualifiers if name not in {Qualifier.ONSET, *told}
    ]
    if part.note:
        brackets.append(part.note)
    return f"{text} ({'; '.join(brackets)})" if brackets else text


def _bracket(name: Qualifier, value: str | float, *, spread: bool) -> str:
    """A qualifier that no other word of the sentence tells; `spread` says that it holds at each of several places."""
    match name:
        case Qualifier.DISTRIBUTION:
            return f"felt in {value}"
        case Qualifier.COUNT:
            return f"{count_word(int(value))} {'each' if spread else 'in number'}"
        case Qualifier.SIZE:
            return amount(float(value), "mm")
        case Qualifier.LENGTH:
            return amount(float(value), "cm")
        case Qualifier.ANGLE:
            return amount(float(value), "deg")
        case Qualifier.GRADE:
            scale, _, grade = str(value).rpartition(" ")
            return f"{scale} grade {grade}"
        case Qualifier.MODE:
            return f"on {value} movement"
        case _:
            return str(value)


def verb_of_finding(items: Sequence[Item], at: str, *, negated: bool = False) -> str:
    """The verb of finding: seen or felt by stage; the patient's pain is neither."""
    sore = any(word in (item.doctor.noun or "") for item in items for word in ("pain", "tender"))
    if any("absence" in (item.doctor.noun or "") for item in items):
        return "noted"  # an absence is not 'present'
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
    """A measured value in words, with the single trials where it is their mean."""
    if isinstance(part.value, Quantity):
        text = amount(part.value.number, part.value.unit, part.value.comparator, max(item.decimals, 1))
        if len(part.value.trials) > 1:
            trials = listed([rounded(trial, 1) for trial in part.value.trials])
            text += f" (mean of {count_word(len(part.value.trials))} trials: {trials})"
        return text
    assert isinstance(part.value, Arc)
    return arc_words(part.value)


def arc_words(arc: Arc) -> str:
    """An arc in words: 'from 20 to 85 degrees', with hyperextension said as such."""
    if arc.to_deg < 0:
        return (
            f"from {amount(-arc.from_deg, 'deg')} of hyperextension to {amount(-arc.to_deg, 'deg')} of hyperextension"
        )
    end = amount(arc.to_deg, "deg")
    if arc.from_deg < 0:
        return f"from {amount(-arc.from_deg, 'deg')} of hyperextension to {end} of flexion"
    return f"from {rounded(arc.from_deg, 1)} to {end}"
