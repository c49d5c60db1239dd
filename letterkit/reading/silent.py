"""Words that say nothing of their own beside what they stand with: 'a little swelling', 'throughout the right side'."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE
from letterkit.reading.settle import colours_what_follows
from letterkit.reading.words import words

_NEAR = frozenset({"near", "nearly", "almost"})  # of a result a doubt, of a place where it is
_NODES = (("axillary_nodes",), ("epitrochlear_nodes",))
_ONE_MORE = frozenset({"a", "another"})
_PLACES = frozenset({"side", "piece", "filler"})
_PARTS = frozenset({"side", "piece", "term"})
_ANSWERS = frozenset({"positive", "negative", "absent", "normal"})
_BESIDE_GAIT = 7  # marks between a gait and a word of it
_OF_GAIT = frozenset({"filler", "word", "severity", "certain", "state", "joiner"})
_SIZES = frozenset({"little", "small", "long"})
_PACES = frozenset({"slow", "fast", "rapid", "regular", "irregular"})
SILENT = (
    _SIZES | _PACES | {"shoulder", "shoulders", "tense", "painful", "bony hard", "clear", "both", "either", "range"}
)
_SMALL = frozenset({"a", "an", "with", "there was", "there is", "very"})


def _counts_unknown(both: Mark, after: Sequence[Mark]) -> bool:
    """Whether 'both' stands right before a plural that is not known, and is of no two sides."""
    noun = after[0] if after else None
    return noun is not None and noun.kind == "word" and noun.text.endswith("s") and noun.start - both.end == 1


class SilentWords:
    """Tells which marks are passed over."""

    _catalogue: Catalogue

    def _is_passed_over(
        self, made: Sequence[Mark], marks: Sequence[Mark], index: int, ahead: Mark | None
    ) -> bool:  # fmt: skip
        """Whether a mark says nothing of its own because of what stands beside it."""
        mark = marks[index]
        if mark.kind == "maybe" and mark.text in _NEAR:
            return not (index + 1 < len(marks) and marks[index + 1].kind in {"state", "term", "value"})
        if mark.word in words().sets["throughout"] and self._is_of_one_side(made):
            return True  # 'LUE 5/5 throughout'
        if mark.text in {"shoulder", "shoulders"} and any(each.text == "shoulder strength" for each in made[-4:]):
            return True
        if mark.kind == "term" and mark.text in words().rash_colours and self._is_of_a_rash(marks, index):
            return True  # 'erythematous papules': how the rash looks, shown as unread
        if colours_what_follows(marks, index, self._catalogue) or self._is_of_the_gait(marks, index):
            return True
        if mark.kind == "term" and mark.text == "painful":
            return ahead is not None and ahead.kind == "term" and self._is_there(ahead)  # 'painful swelling'
        if mark.kind == "side" and mark.word in words().sets["throughout"] and ahead is not None:
            led = marks[index + 1].text in words().sets["determiners"]
            piece = ahead.piece if ahead.kind == "piece" else None
            part = piece is not None and (not piece.plural or (piece.kind in {"digits", "row"} and not piece.side))
            one = led and (part or ahead.text in {"limb", "extremity"})
            if ahead.kind == "side" or one:
                return True  # 'throughout the right side', 'throughout the limb', '... the digits'
        noun = marks[index + 2] if ahead is not None and ahead.kind == "side" and index + 2 < len(marks) else ahead
        if noun is not None and noun.kind == "term" and self._tells_how(mark, noun):
            return True
        if mark.text == "clear" and ahead is not None and ahead.kind == "term" and self._is_there(ahead):
            return True  # 'clear vesicles'
        sided = ahead is not None and ahead.kind == "side" and ahead.text in OPPOSITE
        stands_for_them = marks[index + 1 : index + 2] and marks[index + 1].text in BE  # see `of_them`
        sided = sided and not (stands_for_them or (made and made[-1].text == "and"))  # '..., and both on the left'
        unknown = _counts_unknown(mark, marks[index + 1 : index + 2])  # 'full in both planes', 'both arteries ok'
        if mark.word == "both" and (sided or unknown or self._counts_subjects(made, ahead)):
            return True  # 'Tinel's positive and Phalen's negative, both on the left'
        if mark.kind == "side" and mark.text == "both" and mark.cues[:1] == ("both",):
            return (mark.word == "both" and self._counts_terms(marks, index)) or self._says_nothing(marks, index, ahead)
        return self._says_nothing(marks, index, ahead)

    def _says_nothing(self, marks: Sequence[Mark], index: int, ahead: Mark | None) -> bool:
        """'range of', before 'motion of the elbow'; 'a little swelling'; 'either' without a place."""
        mark = marks[index]
        if mark.text == "range":
            near = marks[index + 1 : index + 3]
            return any(each.kind == "term" and each.text.startswith(("motion", "movement")) for each in near)
        if mark.text in _SIZES and mark.kind == "piece":
            return self._is_small(marks, index)
        if mark.piece is not None and mark.piece.kind == "ordinal" and index and marks[index - 1].text in _ONE_MORE:
            named = ahead is not None and ahead.kind in {"piece", "side"}
            return not named or marks[index + 1].text == "one"  # 'a second one over the thumb'
        if mark.kind != "side" or mark.word != "either" or not (ahead is None or ahead.piece is None):
            return False
        sides = {each.text for each in marks[:index] if each.kind == "side"}
        return ahead is not None or sides != OPPOSITE.keys()  # '..., and no redness over either'

    @staticmethod
    def _tells_how(mark: Mark, noun: Mark) -> bool:
        """'No enlarged axillary nodes', 'one tender epitrochlear node', 'a bony hard mass': no finding of its own."""
        if mark.text in _PACES:
            return "tremor" in noun.text  # 'a slow rest tremor'
        if mark.text == "bony hard":
            return noun.text in words().sets["bony_lumps"]
        if mark.kind != "term" or mark.text not in words().sets["of_nodes"]:
            return False
        return mark.text == "enlarged" or items_of(noun)[:1] in _NODES  # and 'enlarged right axillary nodes'

    @staticmethod
    def _remarked_as(marks: Sequence[Mark], index: int) -> str:
        """'Phalen's was noted to be negative', 'was found negative': its result is what comes, and not 'noted'.

        Gives what the word is then: mere filling, or in 'was not found to be positive' what denies the result.
        """
        sets, mark = words().sets, marks[index]
        if mark.text not in sets["remarked_as"] and mark.text not in sets["not_remarked_as"]:
            return ""
        at = index + 1
        while at < len(marks) and (marks[at].kind == "certain" or marks[at].text in sets["remarks_lead"]):
            at += 1
        result = marks[at].state if at < len(marks) and marks[at].kind == "state" else None
        led = any(each.kind == "filler" for each in marks[index + 1 : at])
        if result is None:
            return ""
        if mark.text in sets["not_remarked_as"]:
            return "negator" if led and result.classes else ""
        told = set(result.classes) - {"present"}
        after = marks[at + 1].kind if at + 1 < len(marks) else ""
        plain = not told.isdisjoint(_ANSWERS) and after not in _PARTS  # and no 'swelling noted, full movement'
        return "filler" if (led and told) or plain else ""

    @staticmethod
    def _is_of_one_side(made: Sequence[Mark]) -> bool:
        """Whether the words just before name one side, and nothing parts them from what comes."""
        for at in range(len(made) - 1, max(-1, len(made) - 9), -1):
            mark = made[at]
            if mark.kind in {"joiner", "break"} and not all(each.kind in _PLACES for each in made[:at]):
                return False  # but 'in the right arm, power is reduced throughout'
            side = mark.text if mark.kind == "side" else mark.piece.side if mark.piece is not None else None
            if side in {"left", "right"}:
                return True
        return False

    @staticmethod
    def _is_of_a_rash(marks: Sequence[Mark], index: int) -> bool:
        for mark in marks[index + 1 : index + 5]:
            if mark.kind == "term" and mark.term is not None:
                return bool(words().rashes & set(mark.term.items))
            if mark.kind not in {"word", "certain", "severity"} and not (mark.kind == "state" and mark.state):
                return False
        return False

    @staticmethod
    def _is_of_the_gait(marks: Sequence[Mark], index: int) -> bool:
        """'The gait is spastic', 'gait is slow and stiff', 'a stiff, wide-based gait': how somebody walks or speaks."""
        gaits = words().sets["gaits"]
        if marks[index].kind != "term" or marks[index].text not in words().sets["ways_of_walking"]:
            return False
        parted = False
        for mark in reversed(marks[max(0, index - _BESIDE_GAIT) : index]):
            if mark.text in gaits:
                after = next((each for each in marks[index + 1 :] if each.kind not in {"filler", "certain"}), None)
                return not parted or after is None or after.kind not in _PARTS  # 'gait normal, stiff left hand'
            if mark.kind not in _OF_GAIT and mark.text not in words().sets["ways_of_walking"]:
                break
            parted = parted or mark.kind == "joiner"
        for mark, after in pairwise(marks[index : index + _BESIDE_GAIT]):
            if after.text in gaits:
                return mark.kind != "joiner"  # but 'he is stiff and gait is slow'
            if after.kind not in _OF_GAIT - {"filler"} and after.text not in words().sets["ways_of_walking"]:
                break
        return False

    def _is_of_a_finding(self, marks: Sequence[Mark], index: int) -> bool:
        """'Two small intact blisters', 'a burn, small intact blisters': how large it is, behind no other finger."""
        led = next((mark for mark in reversed(marks[max(0, index - 2) : index]) if mark.kind != "joiner"), None)
        finger = led is not None and led.piece is not None and led.piece.kind in {"digit", "digits"}
        if led is not None and (finger or led.kind == "side" or led.text == "the"):
            return False
        at = index + 1
        while at < len(marks) and marks[at].kind == "state":
            at += 1
        return at > index + 1 and at < len(marks) and self._is_there(marks[at])

    def _is_small(self, marks: Sequence[Mark], index: int) -> bool:
        """'a small little area', 'little swelling': a size, and no finger."""
        before = marks[index - 1] if index else None
        after = marks[index + 1] if index + 1 < len(marks) else None
        if marks[index].text == "long":  # 'a scar 3 cm long'
            return before is not None and before.amount is not None and bool(before.amount.unit)
        plain = after is not None and (
            after.kind in {"certain", "severity"}
            or (after.kind == "state" and after.state is not None and not after.state.classes)
        )
        if marks[index].text == "small" and after is not None and after.text in words().sets["small_parts"]:
            return True  # 'the small joints of the hands'
        if after is not None and after.kind == "piece" and after.piece is not None and after.piece.kind == "elsewhere":
            return True  # 'a small knee effusion'
        if marks[index].text == "little" and after is not None and after.text in words().sets["little_so"]:
            return True  # 'hard, little movable'
        if marks[index].word == "small" and plain:
            return True  # 'swelling of the wrist, small subcutaneous nodules'
        if marks[index].word == "small" and self._is_of_a_finding(marks, index):
            return True  # 'a burn with two small intact blisters'
        if before is not None and before.kind in {"side", "piece", "joiner", "value"}:
            return False
        if before is not None and (before.text in _SMALL or before.kind == "severity"):
            return True
        return after is not None and after.kind in {"term", "word", "severity"}

    @staticmethod
    def _counts_terms(marks: Sequence[Mark], index: int) -> bool:
        """'both Phalen's and Durkan's tests': two tests, not two sides."""
        after = [each.kind if each.kind != "joiner" else each.text for each in marks[index + 1 : index + 4]]
        return after[:3] == ["term", "and", "term"]

    @staticmethod
    def _counts_subjects(made: Sequence[Mark], ahead: Mark | None) -> bool:
        """'Tinel's sign at the elbow and the flexion test were both negative': two tests, not two sides."""
        if not made or made[-1].text not in BE or ahead is None or ahead.kind != "state":
            return False
        terms = [at for at, mark in enumerate(made) if mark.kind == "term"]
        return len(terms) > 1 and any(mark.text == "and" for mark in made[terms[-2] : terms[-1]])

    def _is_there(self, mark: Mark) -> bool:
        return value_of(mark, self._catalogue) is ValueKind.PRESENCE
