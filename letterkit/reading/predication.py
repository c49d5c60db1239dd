"""What is said of what, as it is put together from one sentence: terms, results, places, and what waits for a term."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field

from letterkit.reading.marks import Mark
from letterkit.reading.places import Places, lies_in
from letterkit.reading.words import words

VERBS = frozenset({
    "is", "was", "are", "were", "has", "have", "had", "shows", "show", "showed", "reveals", "revealed", "demonstrates",
    "demonstrated", "appears", "appeared", "there", "there was", "there is", "there were", "there are", "found", "it",
    "seems", "patient", "she", "he", "been", "exhibits", "elicited", "noted", "the patient",
    "having", "showing", "displays", "displayed", "bears",
})  # fmt: skip
BE = frozenset({"is", "was", "are", "were"})
_ALSO = frozenset({"and", "comma"})
_FEW = frozenset({"a", "an", "some", "the"})
THERE_IS = frozenset({"there is", "there was", "there are", "there were"})
MODIFIERS = frozenset({"severity", "certain", "filler", "correctable", "fixed", "active_mode", "passive_mode", "word"})
OF_WHAT = frozenset({"strength of", "strength in", "power of", "power in", "strength for", "power for"})
HEADS = frozenset({
    "motor examination", "motor exam", "sensory examination", "sensory exam", "sensory testing", "sensation testing",
    "sensory", "sensory function", "neurological examination", "neurologic examination", "neurological exam",
    "neurologic exam", "neuro exam", "vascular exam", "vascular examination",
})  # fmt: skip  # what is examined, before what is found of it
INCLUDING = frozenset({"including", "includes", "include", "incl", "namely"})
NUMBERS = {"two": 2, "three": 3, "four": 4}  # of several digits, in words
COUNTS = frozenset({*NUMBERS, "five"})
DIGIT_NUMBERS = 5


class Cut:
    """Where a tail turns from one place and result to the next."""


CUT = Cut()


@dataclass(slots=True)
class Said:
    """One result in the tail of a predication: a state or a value, whether it was negated, and where."""

    mark: Mark | None
    negated: bool = False
    mode: str = ""  # active or passive, where it was said of this value
    before: bool = False  # whether it stood before its term
    bracketed: bool = False  # whether it stood in brackets of its own
    joined: bool = False  # whether a comma or an 'and' stood before it


@dataclass(slots=True)
class Predication:
    """Terms of one kind with all that was said of them."""

    terms: list[Mark] = field(default_factory=list)
    negated: bool = False
    before: list[Said] = field(default_factory=list, init=False)
    tail: list[Said | Places | Cut] = field(default_factory=list, init=False)
    places: Places | None = None  # said before the terms, or carried from earlier in the sentence
    carried: bool = False
    maybe: bool = False
    unexamined: bool = False
    declined: bool = False
    opinion: bool = False
    severity: str = ""
    mode: str = ""
    fixed: str = ""
    hints: set[str] = field(default_factory=set)
    looks: list[str] = field(default_factory=list)
    motions: list[str] = field(default_factory=list, init=False)  # what 'pain on' was felt on
    without: list[Places] = field(default_factory=list, init=False)  # places an exception names
    apart: list[Places] = field(default_factory=list, init=False)  # and those of which it has a result of its own
    excepted: bool = False  # whether it is told as an exception from what stands before it
    used: list[Mark] = field(default_factory=list)
    commas: bool = False  # whether its last term was added after a bare comma
    listing: bool = False  # its result came before its terms, of which more may follow
    part_left_out: bool = False  # 'tenderness of the left': it is of the part that was named last
    unplaced: bool = False  # whether it is told of a place that is not known
    twin_places: Places | None = None
    twin: Predication | None = None  # an adjective before the noun, at the same place

    def pains_on_nothing(self) -> bool:
        """Whether 'pain on' stands without the movement that it is on."""
        words = [mark.text for mark in self.terms if mark.term is not None and mark.term.pain]
        return (
            bool(words)
            and not self.motions
            and words[0].endswith((" on", " with", " upon", " during", " of", "painful"))
        )


def term_is_adjective(mark: Mark) -> bool:
    """Whether the term is a word such as 'tender'."""
    return mark.term is not None and mark.term.adjective


def _before(marks: Sequence[Mark], term: Mark) -> int:
    """Where the verb stands that says the term, with no more than 'a', 'slight' or a side between; -1 if nowhere."""
    at = bisect_left(marks, term.start, key=lambda each: each.start) - 1
    while at > 0 and (marks[at].kind in {"severity", "certain", "side"} or marks[at].text in _FEW):
        at -= 1
    return at


def _is_a_state(mark: Mark) -> bool:
    """'Cold and mottled': a word of result that is a finding by itself."""
    return mark.kind == "term" and mark.state is not None


def is_told_of_a_part(marks: Sequence[Mark], term: Mark) -> bool:
    """Whether a verb says the term of a part: 'the left thumb was missing', 'the wrist was red and swollen'."""
    at = _before(marks, term)
    while at > 0 and marks[at].text in _ALSO and (term_is_adjective(marks[at - 1]) or _is_a_state(marks[at - 1])):
        at = _before(marks, marks[at - 1])
    return at > 0 and marks[at].text in BE and marks[at - 1].kind == "piece"


def acts(term: Mark) -> bool:
    """Whether a name has its own verb, which says that it is so: 'subluxes', 'ulnar nerve is thickened'."""
    told = term.text.split(" ")
    return told[-1] in words().sets["acting"] or not BE.isdisjoint(told[1:-1])


def is_called_so(marks: Sequence[Mark], term: Mark) -> bool:
    """Whether its own verb says it, or one before it of a muscle or a nerve: 'the FDI is wasted'."""
    if acts(term):
        return True
    at = _before(marks, term)
    return at > 0 and term_is_adjective(term) and marks[at].text in BE and marks[at - 1].kind in {"term", "word"}


def is_asserted(marks: Sequence[Mark], term: Mark) -> bool:
    """Whether a verb says that it is there: 'the wrist showed slight swelling', 'there is swelling'."""
    at = _before(marks, term)
    return at >= 0 and (marks[at].text in words().sets["owns"] | THERE_IS or is_told_of_a_part(marks, term))


@dataclass(slots=True)
class Pending:
    """What came before a term and waits for it."""

    negator: Mark | None = None
    said: list[Said] = field(default_factory=list, init=False)
    places: Places | None = None
    maybe: bool = False
    unexamined: bool = False
    severity: str = ""
    mode: str = ""
    fixed: str = ""
    hints: set[str] = field(default_factory=set, init=False)
    looks: list[str] = field(default_factory=list)
    used: list[Mark] = field(default_factory=list, init=False)

    @property
    def empty(self) -> bool:
        """Whether nothing waits that a term would take."""
        return not (self.negator or self.said or self.places or self.maybe)

    @property
    def only_maybe(self) -> bool:
        """Whether a doubt is all that waits."""
        return self.maybe and not (self.negator or self.said or self.places)


def is_side_of(parts: Places | None, places: Places) -> bool:
    """'MCPs 2 and 3 swollen on both hands': the whole hand behind parts of it only says their side."""
    whole = places.places[0] if len(places.places) == 1 else None
    return (
        whole is not None and parts is not None and parts.has_site and whole.side in {"left", "right", "both"}
        and all(not each.side and lies_in(each, whole.site or "") for each in parts.places)
    )  # fmt: skip


def is_whole(now: Predication, places: Places) -> bool:
    """'Swelling of the index finger was noted in the left hand': of a place said before, the whole with its side."""
    part, said = now.tail[-2:] if len(now.tail) > 1 else (None, None)
    state = said.mark.state if isinstance(said, Said) and said.mark is not None else None
    if not isinstance(part, Places) or not part.has_site or state is None or "present" not in state.classes:
        return False
    return is_side_of(part, places)
