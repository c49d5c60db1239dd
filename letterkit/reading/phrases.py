"""What one phrase may mean, and the collection of phrases in their usual spellings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from letterkit.reading.placenames import Piece
from letterkit.reading.tokens import split

_CANNOT = ("can't ", "can’t ", "cant ", "can not ", "could not ", "couldn't ", "couldn’t ", "couldnt ")
_HYPHEN = re.compile(r"(?<=\w)-(?=\w)")  # between words: the dash of '+/-' is a sign
_VARIED = ("and", "cannot")  # words beside which a phrase may have other spellings
_PLAIN = re.compile(r"[a-z]{1,40}(?: [a-z]{1,40})*")  # its tokens are its words


@dataclass(frozen=True, slots=True)
class Term:
    """Words for an item, or for several of which the site or the value decides.

    `state` is what the words say at once ('numb': reduced); `pain` marks words that take the movement after them with
    them ('pain on supination'); `near` names sites of which one must be the subject; `look` what to ask.
    """

    items: tuple[str, ...]
    state: str = ""
    adjective: bool = False
    plural: bool = False
    pain: bool = False
    every: bool = False
    near: tuple[str, ...] = ()
    look: str = ""
    strict: bool = False  # words of the letter that mean the item only at its own sites
    head: str = ""
    beside: tuple[str, ...] = ()  # words of which one must stand in the sentence
    site: str = ""  # where the words themselves say where
    stays: bool = False  # words that name the part themselves, whatever place was spoken of before
    side: str = ""  # where they say which side: 'tremor of the outstretched hands'


@dataclass(frozen=True, slots=True)
class StateWord:
    """A word of result: its class, and the state it names in each scale that has it."""

    classes: tuple[str, ...] = ()
    scales: Mapping[str, str] = field(default_factory=dict)
    items: Mapping[str, str] = field(default_factory=dict)  # of items that say a result in words of their own


POSITIVE, NEGATIVE = StateWord(("positive",)), StateWord(("negative",))
INCOMPLETE = StateWord(("reduced",))  # of a movement
THERE = StateWord(("positive", "present"))  # of a finding or a test
NOT_THERE = StateWord(("negative", "absent"))


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    """All that one phrase may mean. `capitals` are the only spellings accepted, where there are any."""

    term: Term | None = None
    piece: Piece | None = None
    state: StateWord | None = None
    cues: tuple[str, ...] = ()
    ambiguous: str = ""
    capitals: frozenset[str] = frozenset()

    def without_term(self) -> Entry:
        """The entry without what it names."""
        if not (self.piece or self.state or self.cues or self.ambiguous or self.capitals):
            return _EMPTY
        return Entry(None, self.piece, self.state, self.cues, self.ambiguous, self.capitals)


_EMPTY = Entry()


def key(phrase: str) -> str:
    """The phrase as it is looked up."""
    folded = phrase.casefold()
    if _PLAIN.fullmatch(folded):
        return folded
    return " ".join(map(_pieces, folded.split()))


@lru_cache(maxsize=20_000)
def _pieces(word: str) -> str:
    return " ".join(split(word))


class Builder:
    """Collects what phrases mean; the first meaning of a kind stays."""

    def __init__(self, spellings: Iterable[tuple[str, str]], abbreviations: frozenset[str]) -> None:
        self.entries: dict[str, Entry] = {}
        self._spellings = [pair for both in spellings for pair in (both, both[::-1])]
        self._spelt = re.compile("|".join(re.escape(one) for one, _ in self._spellings) or r"(?!)")
        self._abbreviations = abbreviations
        firsts = {one.split(" ")[0] for one, _ in self._spellings} | set(_VARIED)
        self._varied = re.compile("|".join(map(re.escape, firsts)))
        self._plain: dict[str, bool] = {}  # by word: whether it has no other spelling wherever it stands

    def _forms(self, phrase: str) -> list[tuple[str, str]]:
        """The usual spellings of a phrase, each with the key that it is looked up by."""
        plain = self._plain
        for word in phrase.split(" "):
            known = plain.get(word)
            if known is None:
                known = plain[word] = _PLAIN.fullmatch(word) is not None and self._varied.search(word) is None
            if not known:
                return [(form, key(form)) for form in self.variants(phrase)]
        return [(phrase, phrase), *([(of := phrase.replace(" of the ", " of "), of)] if " of the " in phrase else ())]

    def variants(self, phrase: str) -> Iterator[str]:
        """The phrase in its usual spellings."""
        folded = phrase.casefold()
        respelt = self._spelt.search(folded) is not None
        joined, cannot = " and " in phrase, "cannot " in phrase
        plain = not (respelt or joined or cannot)
        if plain and "'s" not in phrase and "-" not in phrase and " of the " not in phrase:
            yield phrase
            return
        forms = {phrase}
        if cannot:
            forms |= {phrase.replace("cannot ", form) for form in _CANNOT}
        if " of the " in phrase:
            forms.add(phrase.replace(" of the ", " of "))
        if "-" in phrase:
            forms.add(_HYPHEN.sub(" ", phrase))
        if joined:
            forms.add(phrase.replace(" and ", " & "))
        if respelt:
            for one, other in self._spellings:
                if one in folded:
                    forms |= {form.casefold().replace(one, other) for form in forms}
        for form in tuple(forms):
            if "'s" in form:
                forms |= {form.replace("'s", "’s"), form.replace("'s", "s"), form.replace("'s", "")}
        yield from forms

    def add(self, phrase: str, *, exact: Iterable[str] = (), **meaning: object) -> None:
        """Adds a meaning (`term`, `piece`, `state`, `ambiguous`, `cue`) to the phrase in all its spellings."""
        self._add(self._forms(phrase), meaning, exact)

    def _add(self, forms: Iterable[tuple[str, str]], meaning: Mapping[str, object], exact: Iterable[str]) -> None:
        """Adds a meaning to spellings, each with the key that it is looked up by."""
        fresh: Entry | None = None
        for form, name in forms:
            if not name:
                continue
            known = self.entries.get(name)
            if (known is None or known is _EMPTY) and not exact and name not in self._abbreviations:
                self.entries[name] = fresh = fresh or self._fresh(meaning)
                continue
            entry = known or Entry()
            cue = meaning.get("cue")
            if isinstance(cue, str):
                entry = replace(entry, cues=(*entry.cues, cue)) if cue not in entry.cues else entry
            for kind in ("term", "piece", "ambiguous"):
                if meaning.get(kind) and not getattr(entry, kind):
                    entry = replace(entry, **{kind: meaning[kind]})  # type: ignore[arg-type]
            state = meaning.get("state")
            if isinstance(state, StateWord):
                old = entry.state or StateWord()
                classes = (*old.classes, *(each for each in state.classes if each not in old.classes))
                entry = replace(
                    entry, state=StateWord(classes, {**state.scales, **old.scales}, {**state.items, **old.items})
                )
            if name in self._abbreviations or exact:
                spelt = {form, *exact} - {form.casefold()}
                entry = replace(entry, capitals=entry.capitals | {each.strip() for each in spelt})
            self.entries[name] = entry

    @staticmethod
    def _fresh(meaning: Mapping[str, object]) -> Entry:
        cue = meaning.get("cue")
        return Entry(
            meaning.get("term"), meaning.get("piece"), meaning.get("state"),  # type: ignore[arg-type]  # by their names
            (cue,) if isinstance(cue, str) else (), meaning.get("ambiguous", ""),  # type: ignore[arg-type]
        )  # fmt: skip

    def second(self, phrase: str, slug: str) -> None:
        """Adds an item to the words of another, as what they mean at its own sites."""
        for _, name in self._forms(phrase):
            entry = self.entries.get(name)
            if entry is not None and entry.term is not None and slug not in entry.term.items:
                self.entries[name] = replace(entry, term=replace(entry.term, items=(*entry.term.items, slug)))

    def force(self, phrase: str, term: Term, exact: Iterable[str] = ()) -> None:
        """Adds the meaning in place of one taken from a synonym."""
        forms = self._forms(phrase)
        for _, name in forms:
            known = self.entries.get(name)
            if known is not None and known.term is not None:
                self.entries[name] = known.without_term()
        self._add(forms, {"term": term}, exact)
