"""Words that members of a list share: 'thenar or hypothenar wasting', 'radial and ulnar sides of the wrist'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import NAMES_SIDE, Mark, value_of
from letterkit.reading.phrases import Term
from letterkit.reading.placenames import CARRIERS
from letterkit.reading.predication import is_told_of_a_part
from letterkit.reading.texts import Texts
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_MOVEMENTS = frozenset({"flexion", "extension", "abduction", "adduction", "pronation", "supination", "opposition"})
_SIDEWAYS = frozenset({"radial", "ulnar"})
_JERKS = ("jerks", "reflexes")
_TAPPED = ("jerk", "reflex")
_TWO = frozenset({"and", "or"})


def _is_other(found: Term, member: Term) -> bool:
    """'vascular' and 'vascular deficit' are one item, and only the second says a state."""
    return found.items != member.items or (bool(found.state) and not member.state)


def _moves(mark: Mark) -> bool:
    """Whether a term is a movement, or what somebody can or cannot do: 'extension', 'cannot straighten'."""
    last = mark.text.rpartition(" ")[2]
    return last in _MOVEMENTS or last in words().sets["base_verbs"]


def _is_weak(marks: Sequence[Mark], index: int) -> bool:
    """'Weakness of the triceps and the triceps reflex was lost': whether a muscle is one whose power is told."""
    passed = {"filler", "side", "joiner", "term", "severity", "certain"}
    led = next((mark for mark in reversed(marks[:index]) if mark.kind not in passed), None)
    return led is not None and (led.text.startswith("weakness") or "power" in led.hints)


class SharedHeads:
    """Gives the members of a list the words that only the last of them says."""

    def __init__(self, catalogue: Catalogue, vocabulary: Vocabulary) -> None:
        self._catalogue = catalogue
        self._vocabulary = vocabulary

    def read(self, marks: list[Mark], texts: Texts) -> list[Mark]:
        """'thenar or hypothenar wasting': the head of the last member is that of the members before it."""
        led = marks if texts.isdisjoint(words().sets["led"] | _SIDEWAYS) else self._led(marks)
        return self._shared(led) if "joiner" in texts.kinds else led

    def _shared(self, marks: list[Mark]) -> list[Mark]:
        """'Wrist and elbow flexion': the members of a list before the word that they share, each with that word."""
        dropped: set[int] = set()
        for index, mark in enumerate(marks):
            if mark.kind == "piece" and mark.piece is not None and mark.piece.kind in {"row", "site"}:
                self._shared_place(marks, index)
            if mark.kind != "term" or mark.term is None:
                continue
            head = mark.text.rsplit(" ", 1)[-1]
            at = self._after_members(marks, index)
            while at >= 2 and marks[at - 1].kind == "joiner" and marks[at - 1].text != "with":  # noqa: PLR2004 - a joiner and a member
                if marks[at - 2].kind == "joiner" and at >= 3:  # noqa: PLR2004 - ', and'
                    at -= 1
                    continue
                member = marks[at - 2]
                if member.piece and member.piece.kind == "elsewhere":
                    at -= 2
                    continue
                if self._is_placed(marks, at - 2) or (member.kind == "term" and is_told_of_a_part(marks, member)):
                    break  # 'subluxes at the elbow and Tinel's is positive': where the first is found
                named = f"{member.text} {head}"
                muscles = not self._is_carrier(member) and self._is_muscle(named)
                if member.kind not in {"piece", "term"} and not muscles and not self._is_named(member, head):
                    break
                if (
                    at == index
                    and marks[at - 1].text == "comma"
                    and not (member.piece and member.piece.kind == "nerve")
                    and not muscles
                    and not self._is_named(member, head)
                ):
                    break
                if self._is_of_its_own(member, mark, head) or (head.startswith(_TAPPED) and _is_weak(marks, at - 2)):
                    break
                if member.kind == "term" and member.term and not member.term.items:
                    at -= 2
                    continue
                found = self._found(member, head)
                if found is None:
                    break
                foot = self._has_foot(marks, index)  # its own pulse is told beside ours, and left out
                dropped |= {index - 1, index} if foot else set()
                end = mark.end if foot else member.end
                marks[at - 2] = Mark("term", member.start, end, term=found, text=f"{member.text} {head}")
                self._count_single(marks, (at - 2, index))
                at -= 2
        return [mark for index, mark in enumerate(marks) if index not in dropped] if dropped else marks

    def _is_of_its_own(self, member: Mark, last: Mark, head: str) -> bool:
        """'No lump or tenderness', 'elbow flexion and wrist extension': two findings, each with all of its words."""
        if member.kind != "term":
            return False
        if last.text == head and value_of(member, self._catalogue) is ValueKind.PRESENCE:
            return True
        return {head, member.text.rsplit(" ", 1)[-1]} <= _MOVEMENTS

    def _led(self, marks: list[Mark]) -> list[Mark]:
        """The marks with what shares its first word, or its last, with the one beside it."""
        return [self._deviation(marks, at) or self._shared_lead(marks, at) or mark for at, mark in enumerate(marks)]

    def _shared_lead(self, marks: Sequence[Mark], index: int) -> Mark | None:
        """'Thenar weakness or wasting': the second has the first word of the one before it."""
        mark = marks[index]
        if mark.text not in words().sets["led"] or index < 2 or marks[index - 1].text not in {"and", "or"}:  # noqa: PLR2004 - a member before it
            return None
        lead, _, head = marks[index - 2].text.rpartition(" ")
        entry = self._vocabulary.phrases.get(f"{lead} {mark.text}")
        if head not in words().sets["led"] or entry is None or entry.term is None:
            return None
        return replace(mark, term=entry.term, state=entry.state, text=f"{lead} {mark.text}")

    def _deviation(self, marks: Sequence[Mark], index: int) -> Mark | None:
        """'20 degrees of radial and 35 degrees of ulnar deviation': the first is a deviation too."""
        mark = marks[index]
        if mark.text not in _SIDEWAYS:
            return None
        ahead = [each.text for each in marks[index + 1 : index + 6] if each.kind == "term"]
        if ahead[:1] not in (["ulnar deviation"], ["radial deviation"]):
            return None
        if (
            not index
            or marks[index - 1].text != "of"
            or not any(each.kind == "value" for each in marks[index : index + 6])
        ):
            return None
        name = f"{mark.text} deviation"
        return Mark("term", mark.start, mark.end, term=self._vocabulary.phrases[name].term, text=name)

    def _found(self, member: Mark, head: str) -> Term | None:
        """What a member means with the head of the list."""
        for form in (head, head.removesuffix("es"), head.removesuffix("s")):
            entry = self._vocabulary.phrases.get(f"{member.text} {form}")
            if entry and entry.term and (member.term is None or _is_other(entry.term, member.term)):
                return entry.term
        return None

    def _is_placed(self, marks: Sequence[Mark], index: int) -> bool:
        """Whether 'at the', 'over the' or 'can straighten the' stands before a part, no member of a list of names."""
        if any(mark.kind == "compared" for mark in marks[max(0, index - 3) : index]):
            return True  # 'compared with the other thumb, and extension is full'
        at = next((at for at in range(index - 1, -1, -1) if marks[at].kind not in {"filler", "side"}), index)
        if marks[index].kind == "piece" and marks[at].kind == "term" and _moves(marks[at]):
            return True  # 'he can fully straighten the elbow, and flexion is limited'
        if marks[index].kind == "piece" and self._is_there(marks, index):
            return True  # 'lump dorsum left wrist and Tinel's positive'
        before = [mark.text for mark in marks[max(0, index - 3) : index] if mark.kind != "side"][-2:]
        return marks[index].kind == "piece" and before[-1:] == ["the"] and before[0] in words().sets["where"]

    def _is_there(self, marks: Sequence[Mark], index: int) -> bool:
        """Whether a finding stands before the place at `index`, with nothing else between."""
        led = next((mark for mark in reversed(marks[:index]) if mark.kind not in NAMES_SIDE), None)
        adjoins = index > 0 and marks[index - 1].kind in NAMES_SIDE
        return adjoins and led is not None and value_of(led, self._catalogue) is ValueKind.PRESENCE

    @staticmethod
    def _count_single(marks: list[Mark], at: Sequence[int]) -> None:
        """'Radial and ulnar pulses' are several because there are two of them, and not of two sides."""
        for each in at:
            term = marks[each].term
            if term is not None and term.plural:
                marks[each] = replace(marks[each], term=replace(term, plural=False))

    def _shared_place(self, marks: list[Mark], index: int) -> None:
        """'radial and ulnar sides', 'dorsal ulnar and palmar cutaneous nerve areas': the last words belong to both."""
        before = marks[max(0, index - 3) : index]
        if any(each.kind == "joiner" for each in before) and any(
            each.piece is not None and each.piece.kind == "nerve" for each in before
        ):
            self._count_places(marks, (index,))  # 'in the median, radial and ulnar distributions'
        words = marks[index].text.split()
        # The longest first: of 'ulnar sides of the left wrist' the radial side takes the left with it.
        heads = [" ".join(words[start:]) for start in range(1, len(words))] or words
        at = index
        while at >= 2 and marks[at - 1].kind == "joiner" and marks[at - 1].text != "with":  # noqa: PLR2004 - a joiner and a member
            if marks[at - 2].kind == "joiner" and at > 2:  # noqa: PLR2004 - ', and'
                at -= 1
                continue
            member = marks[at - 2]
            if member.kind not in {"piece", "word", "filler"} or marks[index].text.startswith(member.text):
                return
            known = ((f"{member.text} {head}", self._vocabulary.phrases.get(f"{member.text} {head}")) for head in heads)
            text, entry = next(((text, entry) for text, entry in known if entry and entry.piece), ("", None))
            if entry is None:
                return
            marks[at - 2] = Mark("piece", member.start, member.end, piece=entry.piece, text=text)
            self._count_places(marks, (at - 2, index))
            at -= 2

    @staticmethod
    def _count_places(marks: list[Mark], at: Sequence[int]) -> None:
        """'The median and ulnar territories' are several because there are two of them, and not of two sides."""
        for each in at:
            piece = marks[each].piece
            if piece is not None and piece.plural:
                marks[each] = replace(marks[each], piece=replace(piece, plural=False))

    def _after_members(self, marks: Sequence[Mark], index: int) -> int:
        """Where the members before a head end: 'radial and dorsalis pedis pulses' has one that is not of the hand."""
        if self._has_foot(marks, index):
            return index - 1
        at = index
        head = marks[index].text.rsplit(" ", 1)[-1]
        if head not in words().sets["heads_of_named"]:
            return at
        while at and (marks[at - 1].kind == "side" or marks[at - 1].text == "the"):
            at -= 1
        if at == index or head.endswith(_JERKS):  # 'the right biceps and the left triceps jerks'
            return at
        return at if self._is_led_alike(marks, at) else index

    @staticmethod
    def _is_led_alike(marks: Sequence[Mark], at: int) -> bool:
        """'The radial and the ulnar pulse': both have an article or a side; not 'wasting of the biceps and the ...'."""
        if at < 3 or marks[at - 1].text not in _TWO or marks[at - 2].kind == "joiner":  # noqa: PLR2004 - 'the', a member and a joiner
            return False
        led = at - 3
        if marks[led].kind != "side" and marks[led].text != "the":
            return False
        led -= marks[led].kind == "side"  # 'the right radial'
        led -= led >= 0 and marks[led].text == "the"
        return led < 0 or marks[led].text not in words().sets["where"]

    @staticmethod
    def _has_foot(marks: Sequence[Mark], index: int) -> bool:
        """Whether a part of another limb stands right before a head: 'dorsalis pedis pulses'."""
        before = marks[index - 1].piece if index else None
        return before is not None and before.kind == "elsewhere"

    def _is_named(self, member: Mark, head: str) -> bool:
        """'brachial, radial and ulnar pulses': a word that means something with the head of the list."""
        if member.kind != "word":
            return False
        forms = (head.removesuffix("s"), head.removesuffix("es"))  # 'supinator and triceps reflexes'
        known = (self._vocabulary.phrases.get(f"{member.text} {form}") for form in forms)
        return any(entry is not None and entry.term is not None for entry in known)

    @staticmethod
    def _is_carrier(mark: Mark) -> bool:
        return mark.piece is not None and bool(CARRIERS & set(mark.piece.slugs))

    def _is_muscle(self, name: str) -> bool:
        """'flexor and extensor muscles', 'thenar, hypothenar and ... strength': groups of muscles in one list."""
        entry = self._vocabulary.phrases.get(name)
        items = entry.term.items if entry is not None and entry.term is not None else ()
        return bool(items) and self._catalogue.items[items[0]].value is ValueKind.MRC
