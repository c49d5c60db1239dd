"""Words of the clinician's free text that the rules look for: conditions, operations, sides and digits.

The text is matched word by word against `data/terms.toml`, never guessed at: what does not stand there is not seen.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from typing import Literal, TypeAlias, get_args

from letterkit.errors import CatalogueError
from letterkit.findings.models import Encounter
from letterkit.findings.sides import Side, Sides, each

Part = Literal["reason", "presenting", "past", "diagnoses", "impression", "plan", "information"]
Said = Literal["asserted", "negated", "doubtful"]
Kind = Literal["condition", "operation", "person", "event"]
Tokens: TypeAlias = tuple[str, ...]

PARTS: tuple[Part, ...] = get_args(Part)
OPINION: tuple[Part, ...] = ("impression", "diagnoses")
HISTORY: tuple[Part, ...] = ("reason", "presenting", "past")

_TOKEN = re.compile(r"[a-z0-9]+(?:'[a-z]+)?|[.;:,?!/\n&+-]")
_STOPS = frozenset(".;:!\n") | {"but", "however", "although", "though", "except", "apart"}
_CLAUSE = _STOPS | {",", "and", "with", "plus"}
_NEGATIONS = frozenset({"no", "not", "nor", "without", "denies", "denied", "never", "nil", "excludes", "excluded",
                        "excluding", "unlikely", "against", "absence"})  # fmt: skip
_AFTER = frozenset({"excluded", "unlikely", "absent", "negative"})
_DOUBTS = frozenset({"?", "possible", "possibly", "query", "suspected", "probable", "might", "may", "could", "versus"})
_TURNING = _NEGATIONS | _AFTER | _DOUBTS
_REACH = 6  # words a negation reaches forward
_DIGITS = frozenset({"thumb", "index", "middle", "ring", "little", "long"})
_DIGIT_NAMES = _DIGITS | {"thumbs"}
_DIGIT_NOUNS = frozenset({"finger", "fingers", "digit", "digits", "ray", "rays", "mcp", "mcpj", "mcps", "pip", "pipj",
                          "pips", "dip", "dipj", "dips", "pulp", "fingertip", "trigger", "metacarpal"})  # fmt: skip
_JOINERS = frozenset({"and", "or", ",", "/", "&", "+", "-", "to"})
_HAND_ORDER = ("thumb", "index", "middle", "ring", "little")
# "left with a scar", "left school", "all right": not sides.
_NOT_LEFT_BEFORE = frozenset({"with", "school", "work", "alone", "untreated", "open", "him", "her", "them", "over"})
_NOT_RIGHT_AFTER = frozenset({"all", "quite"})


@dataclass(frozen=True, slots=True)
class Term:
    """One thing people name in several words; `sided` says that a reader needs to know the side."""

    slug: str
    kind: Kind
    sided: bool
    words: tuple[Tokens, ...]


def tokens_of(text: str) -> Tokens:
    """The words and stops of a text, folded: 'De Quervain's, left' gives de, quervain, ',', left."""
    folded = text.casefold().replace("’", "'").replace("‘", "'")
    return tuple(token.removesuffix("'s") for token in _TOKEN.findall(folded))


def words_of(text: str) -> Tokens:
    """The same without hyphens, so that 'carpal-tunnel' and 'carpal tunnel' are one."""
    folded = text.casefold().replace("’", "'").replace("‘", "'").replace("-", " ")
    found = _TOKEN.findall(folded)
    return tuple([token.removesuffix("'s") for token in found] if "'s" in folded else found)


@cache
def terms() -> Mapping[str, Term]:
    """Every term by slug. Raises CatalogueError where two terms share a phrase."""
    source = resources.files("letterkit.consistency").joinpath("data", "terms.toml").read_text(encoding="utf-8")
    made: dict[str, Term] = {}
    owner: dict[Tokens, str] = {}
    for row in tomllib.loads(source)["term"]:
        phrases = tuple(dict.fromkeys(words_of(phrase) for phrase in row["words"]))
        for phrase in phrases:
            if owner.setdefault(phrase, row["slug"]) != row["slug"]:
                raise CatalogueError(f"terms.toml: {' '.join(phrase)!r} names {owner[phrase]} and {row['slug']}")
        sided = row.get("sided", row["kind"] in {"condition", "operation"})
        made[row["slug"]] = Term(row["slug"], row["kind"], sided, phrases)
    return made


@cache
def _index() -> Mapping[str, tuple[tuple[int, Mapping[Tokens, str]], ...]]:
    """Phrases by their first word and then by their length, longest first."""
    index: dict[str, dict[int, dict[Tokens, str]]] = {}
    for term in terms().values():
        for phrase in term.words:
            index.setdefault(phrase[0], {}).setdefault(len(phrase), {})[phrase] = term.slug
    return {first: tuple(sorted(found.items(), reverse=True)) for first, found in index.items()}


@dataclass(frozen=True)
class Passage:
    """One text of the record with its place and the side given beside it."""

    part: Part
    path: str
    side: Sides | None
    text: str
    tokens: Tokens

    def bounds(self, at: int, stops: frozenset[str]) -> tuple[int, int]:
        """First and last position (exclusive) of the stretch around `at` that runs between stops."""
        first = at
        while first and self.tokens[first - 1] not in stops:
            first -= 1
        last = at
        while last < len(self.tokens) and self.tokens[last] not in stops:
            last += 1
        return first, last

    @cached_property
    def sides(self) -> frozenset[Side]:
        """The sides given beside the text or, failing that, named in it."""
        return _GIVEN[self.side] or _sides(self.tokens)

    @cached_property
    def digits(self) -> frozenset[str]:
        """The digits named anywhere in the text."""
        return digits_in(self.tokens)


@dataclass(frozen=True)
class Mention:
    """One place where a text names a term, and whether it asserts, negates or doubts it."""

    term: str
    said: Said
    passage: Passage
    at: int

    @property
    def path(self) -> str:
        """The place of the record."""
        return self.passage.path

    @cached_property
    def sides(self) -> frozenset[Side]:
        """The sides given beside the text, else named in its clause or its sentence, else the text's only one."""
        if self.passage.side:
            return _GIVEN[self.passage.side]
        if len(whole := self.passage.sides) <= 1:
            return whole
        for stops in (_CLAUSE, _STOPS):
            first, last = self.passage.bounds(self.at, stops)
            if found := _sides(self.passage.tokens[first:last]):
                return found
        return frozenset()

    @cached_property
    def digits(self) -> frozenset[str]:
        """The digits named in its sentence."""
        first, last = self.passage.bounds(self.at, _STOPS)
        return digits_in(self.passage.tokens[first:last])


_SIDE_WORDS = frozenset({"left", "right", "both", "bilateral", "bilaterally"})


_GIVEN: Mapping[Sides | None, frozenset[Side]] = {
    side: frozenset(one for one in each(side) if one) for side in (None, *get_args(Sides))
}


def _sides(tokens: Tokens) -> frozenset[Side]:
    found: set[Side] = set()
    if _SIDE_WORDS.isdisjoint(tokens):
        return frozenset()
    for at, token in enumerate(tokens):
        if token == "left":  # noqa: S105 - a side, not a secret
            if at + 1 == len(tokens) or tokens[at + 1] not in _NOT_LEFT_BEFORE:
                found.add("left")
        elif token == "right":  # noqa: S105 - the same
            if not at or tokens[at - 1] not in _NOT_RIGHT_AFTER:
                found.add("right")
        elif token in {"both", "bilateral", "bilaterally"}:
            return frozenset(("left", "right"))
    return frozenset(found)


def digits_in(tokens: Tokens) -> frozenset[str]:
    """The digits named, by their slugs: 'index and middle fingers', 'ring to little finger', 'thumbs'.

    A name that is also another word (index, middle, ring, little) counts only with 'finger' or a joint after it.
    """
    if _DIGIT_NAMES.isdisjoint(tokens):  # as most are
        return frozenset()
    found: list[str] = []
    pending: list[str] = []
    for at, token in enumerate(tokens):
        name = "thumb" if token == "thumbs" else "middle" if token == "long" else token  # noqa: S105 - digits
        spans = bool(pending) and tokens[at - 1] == "to"
        if name == "thumb" and not spans:
            found.append(name)
            pending = [name]
        elif token in _DIGITS or name == "thumb":
            pending = [*pending, ".."] if spans else pending
            pending.append(name)
        elif token in _DIGIT_NOUNS and pending:
            found += _spread(pending)
        elif token not in _JOINERS and token not in _DIGIT_NOUNS:
            pending = []
    return frozenset(found)


def _spread(names: Iterable[str]) -> Iterator[str]:
    last = ""
    ranged = False
    for name in names:
        if name == "..":
            ranged = True
            continue
        if ranged:
            first, end = sorted((_HAND_ORDER.index(last), _HAND_ORDER.index(name)))
            yield from _HAND_ORDER[first : end + 1]
        yield name
        last, ranged = name, False


def _said(tokens: Tokens, at: int, length: int) -> Said:
    """Whether the words around a phrase negate it (up to six words before, one or two after) or doubt it."""
    if _TURNING.isdisjoint(tokens[max(0, at - _REACH) : at + length + 3]):  # as most are
        return "asserted"
    doubtful = False
    for back in range(at - 1, max(-1, at - 1 - _REACH), -1):
        token = tokens[back]
        if token in _STOPS:
            break
        if token in _NEGATIONS:
            return "negated"
        doubtful = doubtful or token in _DOUBTS
    after = tokens[at + length : at + length + 3]
    if any(token in _AFTER for token in after[: next((n for n, t in enumerate(after) if t in _STOPS), 3)]):
        return "negated"
    if after[:1] == ("?",):
        doubtful = True
    return "doubtful" if doubtful else "asserted"


def passages(encounter: Encounter) -> Iterator[Passage]:
    """The texts of an encounter that the terms are looked for in, in the order of the letter."""
    return (Passage(part, path, side, text, words_of(text)) for part, path, text, side in _texts(encounter) if text)


def _texts(encounter: Encounter) -> Iterator[tuple[Part, str, str | None, Sides | None]]:
    reason, history = encounter.reason, encounter.history
    if reason is not None:
        yield "reason", "reason.text", reason.text, reason.side
        yield "reason", "reason.question", reason.question, reason.side
    if history is not None:
        yield "presenting", "history.presenting", history.presenting, None
        yield "presenting", "history.sinceLastContact", history.since_last_contact, None
        yield "presenting", "history.concerns", history.concerns, None
        for index, past in enumerate(history.past):
            yield "past", f"history.past[{index}]", past, None
    for index, statement in enumerate(encounter.diagnoses):
        yield "diagnoses", f"diagnoses[{index}]", statement.text, statement.side
    for index, statement in enumerate(encounter.impression):
        yield "impression", f"impression[{index}]", statement.text, statement.side
    for index, action in enumerate(encounter.plan):
        yield "plan", f"plan[{index}]", action.text, action.side
    for index, told in enumerate(encounter.information_given):
        yield "information", f"informationGiven[{index}]", told, None


@cache
def _checked(slugs: tuple[str, ...]) -> frozenset[str]:
    """The slugs as a set. Raises CatalogueError for one that names no term."""
    for slug in slugs:
        if slug not in terms():
            raise CatalogueError(f"terms.toml: there is no term {slug!r}")
    return frozenset(slugs)


class Wording:
    """The texts of one encounter and where they name each term. Built once for a record."""

    def __init__(self, encounter: Encounter) -> None:
        self.passages: tuple[Passage, ...] = tuple(passages(encounter))
        self._mentions: dict[str, list[Mention]] = {}
        index = _index()
        for passage in self.passages:
            tokens = passage.tokens
            for at in [at for at, token in enumerate(tokens) if token in index]:
                for length, phrases in index[tokens[at]]:
                    if slug := phrases.get(tokens[at : at + length]):
                        mention = Mention(slug, _said(tokens, at, length), passage, at)
                        self._mentions.setdefault(slug, []).append(mention)

    def mentions(self, *slugs: str, among: tuple[Part, ...] = PARTS) -> tuple[Mention, ...]:
        """Every mention of these terms in these parts, negated and doubtful ones included."""
        wanted = _checked(slugs)
        if wanted.isdisjoint(self._mentions):  # as most are
            return ()
        return tuple(
            [
                mention
                for slug, found in self._mentions.items()
                if slug in wanted
                for mention in found
                if mention.passage.part in among
            ]
        )

    def named(self, *slugs: str, among: tuple[Part, ...] = PARTS) -> tuple[Mention, ...]:
        """The mentions that assert the term."""
        found = self.mentions(*slugs, among=among)
        return tuple([mention for mention in found if mention.said == "asserted"]) if found else found
