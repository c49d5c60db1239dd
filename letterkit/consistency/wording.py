"""Rules about safe writing: forms in the clinician's own words that readers mistake."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Literal, TypeAlias

from letterkit.consistency.lookups import listed
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.models import Encounter

_How = Literal["word", "phrase", "sign"]


@dataclass(frozen=True, slots=True)
class Form:
    """A form that is mistaken, and what is written instead."""

    rule: str
    how: _How
    written: str
    instead: str
    after_number: bool
    not_after: frozenset[str]


@dataclass(frozen=True, slots=True)
class Slip:
    """A form found in one text of the record."""

    rule: str
    path: str
    written: str
    instead: str


def _load() -> tuple[Form, ...]:
    source = resources.files("letterkit.consistency").joinpath("data", "wording.toml").read_text(encoding="utf-8")
    return tuple(
        Form(
            row["rule"], row["how"], written, row["instead"], row.get("after") == "number",
            frozenset(row.get("not_after", ())),
        )
        for row in tomllib.loads(source)["wording"]
        for written in row["written"]
    )  # fmt: skip


FORMS = _load()
_WORDS: Mapping[str, Form] = {form.written: form for form in FORMS if form.how == "word"}
_LONGEST = max(map(len, _WORDS)) + 1  # with a full stop after it
_SIGNS = tuple(form for form in FORMS if form.how == "sign")
_PHRASES = tuple(
    (form.written.casefold(), re.compile(rf"(?<!\w){re.escape(form.written.casefold())}(?!\w)"), form)
    for form in FORMS
    if form.how == "phrase"
)
_TRAILING_ZERO = re.compile(r"(?<![\d.])\d+\.0+(?![\d.])")
_NO_ZERO = re.compile(r"\.(?<![\w.]\.)\d+")
_ARROWS = re.compile(r"[-=]+>|<[-=]+")
_ORDINAL = r"(?:1st|2nd|3rd|4th|5th|first|second|third|fourth|fifth)"
_NUMBERED = re.compile(
    rf"(?<!\w)(?:{_ORDINAL} (?:fingers?|digits?)|(?:fingers?|digits?) [1-5])(?![\w.])", re.IGNORECASE
)
# What such a form holds in small letters: a text without any of these need not be searched.
_NUMBERED_PARTS = (
    *(f"{first} {noun}" for first in ("st", "nd", "rd", "th") for noun in ("finger", "digit")),
    *(f"{noun} {number}" for noun in ("finger", "fingers", "digit", "digits") for number in "12345"),
)
_SHORT_DIGIT = re.compile(r"D(?<!\wD)(?<!vitamin D)(?<!Vitamin D)[1-5](?!\w)")
_STRIPPED = "()[]{},;:!?\"'“”‘’"
_SPACED = re.compile(r"[<>&+=±()\[\]]")
# Stretches without a space, a stop or a sign: where none of a text begins a form, no word of it is one.
_STRETCH = re.compile(r"[^\s.()\[\]{},;:!?\"'“”‘’<>&+=±]+")
_BEGINNINGS = frozenset(_STRETCH.findall(written)[0] for written in _WORDS)


_Phrase: TypeAlias = tuple[str, re.Pattern[str], Form]
_Found: TypeAlias = tuple[str, str, str]


def texts(encounter: Encounter) -> Iterator[tuple[str, str]]:
    """Every text of the clinician with its place: opinion, plan, history, medication, and the words of findings."""
    reason, history = encounter.reason, encounter.history
    if reason is not None:
        yield from (("reason.text", reason.text or ""), ("reason.question", reason.question or ""))
    if history is not None:
        yield "history.presenting", history.presenting or ""
        yield "history.sinceLastContact", history.since_last_contact or ""
        yield "history.concerns", history.concerns or ""
        yield from ((f"history.past[{index}]", text) for index, text in enumerate(history.past))
    yield from ((f"medication[{index}]", text) for index, text in enumerate(encounter.medication or ()))
    if not isinstance(encounter.allergies, str):
        for index, allergy in enumerate(encounter.allergies or ()):
            yield f"allergies[{index}]", f"{allergy.agent} {allergy.reaction or ''}"
    for index, finding in enumerate(encounter.examination.findings):
        for name in ("note", "description", "distribution"):
            if text := getattr(finding, name):
                yield f"examination.findings[{index}].{name}", text
    for index, unexamined in enumerate(encounter.examination.not_examined):
        yield f"examination.notExamined[{index}].reason", unexamined.reason or ""
    yield from ((f"diagnoses[{index}].text", each.text) for index, each in enumerate(encounter.diagnoses))
    yield from ((f"impression[{index}].text", each.text) for index, each in enumerate(encounter.impression))
    yield from ((f"plan[{index}].text", each.text) for index, each in enumerate(encounter.plan))
    yield from ((f"informationGiven[{index}]", text) for index, text in enumerate(encounter.information_given))


def _words(text: str) -> Iterator[tuple[str, Form]]:
    before = ""
    for raw in _SPACED.sub(" ", text).split():
        word = raw.strip(_STRIPPED)
        if len(word) > _LONGEST:
            before = word
            continue
        plain = word if word in _WORDS else word.rstrip(".")
        form = _WORDS.get(plain)
        if form and before.rstrip(".") not in form.not_after:
            number = before[-1:].isdigit()
            # After a number L is litres, and U or cc a unit.
            if number if form.after_number else not (number and plain == "L"):
                yield plain, form
        before = word


def slips(text: str, signs: Sequence[Form] = _SIGNS, phrases: Sequence[_Phrase] = _PHRASES) -> Iterator[_Found]:
    """Rule, form and what is written instead, for each form of one text that readers mistake.

    `signs` and `phrases` are those to look for, where it is known that others are not there.
    """
    for word, form in _words(text):
        yield form.rule, word, form.instead
    for form in signs:
        if form.written in text and (form.written not in "<>" or form.written in _ARROWS.sub("", text)):
            yield form.rule, form.written, form.instead
    folded = text.casefold()
    for phrase, pattern, form in phrases:
        if phrase in folded and pattern.search(folded):
            yield form.rule, form.written, form.instead
    yield from _numbers(text, folded)


def _numbers(text: str, folded: str) -> Iterator[tuple[str, str, str]]:
    if ".0" in text:
        yield from (("trailing-zero", found, found[: found.index(".")]) for found in _TRAILING_ZERO.findall(text))
    if "." in text:
        yield from (("no-zero-before-the-point", found, f"0{found}") for found in _NO_ZERO.findall(text))
    numbered = _NUMBERED.findall(text) if any(part in folded for part in _NUMBERED_PARTS) else []
    for found in (*numbered, *(_SHORT_DIGIT.findall(text) if "D" in text else ())):
        yield "digit-by-number", found, "thumb, index, middle, ring or little finger"


def _scan(case: Case) -> Mapping[str, tuple[Slip, ...]]:
    found: dict[str, list[Slip]] = {}
    told = [(path, text) for path, text in texts(case.encounter) if text]
    whole = "\n".join(text for _, text in told)
    folded = whole.casefold()
    signs = [form for form in _SIGNS if form.written in whole]
    phrases = [each for each in _PHRASES if each[0] in folded]
    worded = not _BEGINNINGS.isdisjoint(_STRETCH.findall(whole))
    if not (worded or signs or phrases or any(_numbers(whole, folded))):  # as in most records
        return {}
    for path, text in told:
        for name, written, instead in slips(text, signs, phrases):
            found.setdefault(name, []).append(Slip(name, path, written, instead))
    return {name: tuple(slips) for name, slips in found.items()}


def _hits(case: Case, name: str) -> Iterator[Hit]:
    """One hit a text and replacement, with all the forms it holds."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for slip in case.once(_scan).get(name, ()):
        grouped.setdefault((slip.path, slip.instead), []).append(f"'{slip.written}'")
    for (path, instead), written in grouped.items():
        yield Hit((), (path,), {"written": listed(list(dict.fromkeys(written))), "instead": instead})


@rule(
    "side-abbreviated",
    QueryClass.UNUSUAL,
    asks="A side seems to be written as {written}. Could it be written in full: {instead}?",
    settle="Write the side in full, or keep the text if no side is meant.",
    source="Royal College of Surgeons of England, Good Surgical Practice (confirmed)",
)
def side_abbreviated(case: Case) -> Iterator[Hit]:
    """Single letters for a side are misread, and then it is the other hand."""
    yield from _hits(case, "side-abbreviated")


@rule(
    "digit-by-number",
    QueryClass.UNUSUAL,
    asks="A digit is numbered: {written}. Could it be named: {instead}?",
    settle="Name the digit.",
    source="Royal College of Surgeons of England, Good Surgical Practice (confirmed)",
)
def digit_by_number(case: Case) -> Iterator[Hit]:
    """Some count the thumb and some do not, so the third finger is the middle one to some and the ring to others."""
    yield from _hits(case, "digit-by-number")


@rule(
    "trailing-zero",
    QueryClass.UNUSUAL,
    asks="{written} has a nought after the point, and is read as ten times as much where the point is missed. Could it "
    "be {instead}?",
    settle="Write the number without the nought, or keep it where the precision of a measurement matters.",
    source="Institute for Safe Medication Practices (confirmed)",
)
def trailing_zero(case: Case) -> Iterator[Hit]:
    """A point is easily lost, and then 1.0 is read as 10."""
    yield from _hits(case, "trailing-zero")


@rule(
    "no-zero-before-the-point",
    QueryClass.UNUSUAL,
    asks="{written} has no nought before the point, and is read as a larger number where the point is missed. Could it "
    "be {instead}?",
    settle="Write a nought before the point.",
    source="Institute for Safe Medication Practices (confirmed)",
)
def no_zero_before_the_point(case: Case) -> Iterator[Hit]:
    """A point at the head of a number is easily lost, and then .5 is read as 5."""
    yield from _hits(case, "no-zero-before-the-point")


@rule(
    "sign-for-a-word",
    QueryClass.UNUSUAL,
    asks="The text uses {written}, which is misread. Could it be written in words: {instead}?",
    settle="Write it in words, or keep it where it cannot be mistaken.",
    source="Institute for Safe Medication Practices (confirmed)",
)
def sign_for_a_word(case: Case) -> Iterator[Hit]:
    """Signs are turned round, or taken for a figure or a letter."""
    yield from _hits(case, "sign-for-a-word")


@rule(
    "unsafe-abbreviation",
    QueryClass.UNUSUAL,
    asks="The text has {written}, an abbreviation with a record of harm. Could it be {instead}?",
    settle="Write it in full.",
    source="Institute for Safe Medication Practices (confirmed)",
)
def unsafe_abbreviation(case: Case) -> Iterator[Hit]:
    """These short forms have been read as another dose, time or place often enough to be listed."""
    yield from _hits(case, "unsafe-abbreviation")


@rule(
    "ambiguous-abbreviation",
    QueryClass.UNUSUAL,
    asks="The text has {written}, which has more than one meaning. Which is meant: {instead}?",
    settle="Write it in full.",
    source="NHS Common User Interface, abbreviations (confirmed); hand terms common practice, no source",
)
def ambiguous_abbreviation(case: Case) -> Iterator[Hit]:
    """The reader may work in another specialty, where the same letters mean something else."""
    yield from _hits(case, "ambiguous-abbreviation")


@rule(
    "reference-instead-of-a-finding",
    QueryClass.UNUSUAL,
    asks="The text says {written} instead of what was found. Could it say {instead}?",
    settle="Write what was found.",
    source="common practice, no source",
)
def reference_instead_of_a_finding(case: Case) -> Iterator[Hit]:
    """The reader may not have the other letter, and cannot tell whether the part was examined again."""
    yield from _hits(case, "reference-instead-of-a-finding")
