"""Places of a note: digits, joints and sites in all usual notations, each with the side that was said of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.reading.marks import Mark
from letterkit.reading.placenames import CARRIERS, Piece
from letterkit.reading.places import Place, Places, lies_in
from letterkit.reading.predication import NUMBERS

_PREPOSITIONS = frozenset(
    {"of", "in", "on", "over", "at", "to", "along", "around", "beside", "under", "from", "through"}
)
_OF_THE_HAND = frozenset({
    "palm", "dorsum", "thenar_eminence", "hypothenar_eminence", "first_web", "cmc_thumb", "palmar_crease",
    "palmar_triangle", "first_dorsal_interosseous",
})  # fmt: skip
_SURFACES = (["dorsum"], ["palm"])  # of the hand, unless a finger is named
_HALVES = frozenset({"radial_side", "ulnar_side"})
_RANGE = frozenset({"to", "-", "–", "through"})
_ONE_A_DIGIT = frozenset({"nail", "pulp"})  # rows of which a digit has one


@dataclass(slots=True)
class _Phrase:
    """One noun phrase of a place in the making."""

    side: str | None = None
    rows: list[str] = field(default_factory=list)
    digits: list[str] = field(default_factory=list)
    sites: list[str] = field(default_factory=list)
    digits_first: bool = False
    plural: bool = False
    late: bool = False  # its side was said after it
    joints: bool = False  # its joints in the plural: 'index DIP joints'
    several: bool = False  # digits in the plural: 'fingers'
    inherited: bool = False  # its side is that of the phrase before, until one is said of it
    borrowed: bool = False  # its joints are those of the phrase before, until others are named
    beyond: bool = False  # its side was said of another part of the body: 'the left knee and the right wrist'
    begun: list[int] = field(default_factory=list)  # sites before which 'and the' began a place of its own

    @property
    def empty(self) -> bool:
        return not (self.rows or self.digits or self.sites)


@cache
def _digits(catalogue: Catalogue) -> list[str]:
    """The digits in the order of the trade, thumb first."""
    return sorted(catalogue.digits, key=lambda slug: catalogue.digits[slug].order)


class _Reader:
    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._order = _digits(catalogue)
        self.phrases: list[_Phrase] = [_Phrase()]
        self.look: list[str] = []
        self.singles: set[str] = set()  # rows named in the plural of which a digit has one: 'the nails'
        self.elsewhere = False
        self._range = False
        self._joined = self._comma = False
        self._of = False
        self._whole = False
        self._preposition = ""
        self._article = False
        self._bare = False  # whether a side without its part was named last

    def read(self, marks: Sequence[Mark]) -> None:
        for index, mark in enumerate(marks):
            match mark.kind:
                case "side":
                    self._side(mark, marks[index + 1 :])
                case "piece":
                    self._piece(mark, marks, index)
                case "value":
                    self._number(mark, marks[index - 1] if index else None)
                case "joiner":
                    self._joined = True
                    self._comma = mark.text == "comma"
                    continue
                case "word" if mark.text in NUMBERS and self._follows_first(marks, index):
                    self._first_digits(NUMBERS[mark.text])
                case _:
                    self._range = self._range or (
                        mark.text in _RANGE and not self._joined and not self.phrases[-1].empty
                    )
                    self._of = self._of or mark.text == "of"
                    self._preposition = mark.text if mark.text in _PREPOSITIONS else self._preposition
                    self._whole = self._whole or mark.text in {"all", "each", "any"}
                    self._article = self._joined and mark.text == "the"
                    continue
            self._joined = self._article = False
            self._bare = mark.kind == "side"
            if mark.kind != "side":
                self._of = False
                self._preposition = ""

    def _follows_first(self, marks: Sequence[Mark], index: int) -> bool:
        """'the first three digits': a count between 'first' and the digits."""
        before, after = marks[max(0, index - 1) : index], marks[index + 1 : index + 2]
        return (
            bool(before and after)
            and before[0].piece is not None
            and before[0].piece.kind == "ordinal"
            and before[0].piece.order == 1
            and after[0].piece is not None
            and after[0].piece.kind == "digits"
        )

    def _first_digits(self, count: int) -> None:
        phrase = self.phrases[-1]
        phrase.digits = [slug for slug in phrase.digits if slug != self._order[0]] + self._order[:count]
        self.look.append("the digits are counted from the thumb")

    def _new(self, side: str | None = None, rows: Iterable[str] = (), *, inherited: bool = False) -> _Phrase:
        self.phrases.append(_Phrase(side, list(rows), inherited=inherited and side is not None))
        return self.phrases[-1]

    def _goes_on(self) -> bool:
        """Whether 'and of the left ...' goes on with the joints named before; another preposition begins anew."""
        return self._preposition in {"", "of"}

    def _is_of_each_hand(self, phrase: _Phrase, ahead: Mark, mark: Mark) -> bool:
        """'The thumb of the right and of the left hand': the same digits and joints of the other hand."""
        other = {phrase.side, mark.text} == {"left", "right"} and self._joined and self._preposition == "of"
        hand = ahead.kind == "piece" and ahead.piece is not None and ahead.piece.slugs == ("hand",)
        return other and hand and not phrase.sites and phrase.late and self._bare

    def _next_phrase(self, phrase: _Phrase, rows: Iterable[str] = ()) -> _Phrase:
        """A new phrase with the side of the one before, if that was said before its sites."""
        return self._new(None if phrase.late else phrase.side, rows, inherited=True)

    def _side(self, mark: Mark, rest: Sequence[Mark]) -> None:
        if mark.look:
            self.look.append(mark.look)
        phrase = self.phrases[-1]
        ahead = next((each for each in rest if each.kind in {"piece", "side", "value", "joiner"}), None)
        leads = ahead is not None and ahead.kind == "piece" and (self._joined or not self._is_carrier(ahead))
        begun = self._joined and phrase.side is not None  # 'the PIP joints of both hands and the left elbow'
        pieces = [each for each in rest if each.kind == "piece"]
        if self._joined and self._comma and phrase.side is None and len(pieces) == 1 and self._is_carrier(pieces[0]):
            phrase.side, self._joined = mark.text, False  # 'all digits, right hand'
        elif phrase.empty:
            apart = phrase.side in {None, mark.text} or phrase.beyond
            phrase.side, phrase.beyond = mark.text if apart else "both", False
        elif ahead is not None and self._is_of_each_hand(phrase, ahead, mark):
            self._new(mark.text, phrase.rows).digits += phrase.digits
        elif leads and (phrase.side or self._joined) and (phrase.digits or not phrase.rows or begun):
            inherited = phrase.rows if phrase.digits and not phrase.digits_first and self._goes_on() else ()
            self._new(mark.text, inherited).borrowed = bool(inherited)
        elif leads or phrase.inherited:
            phrase.side = mark.text
            phrase.inherited = False
        elif self._of and len(phrase.sites) > 1 and not phrase.late and phrase.side not in {None, mark.text}:
            self._part(phrase, mark.text)
        else:
            for each in self.phrases:
                if each.side is None:
                    each.side, each.late = mark.text, True
                elif each.late and each.side != mark.text and self._joined:
                    each.side = "both"
            if not any(each.late for each in self.phrases):
                phrase.side = phrase.side if phrase.side == mark.text else "both" if self._joined else phrase.side

    def _part(self, phrase: _Phrase, side: str) -> None:
        """'the right forearm and the thenar eminence of the left hand': the last is of the left."""
        at = phrase.begun[-1] if phrase.begun else 1
        if len(phrase.begun) != 1:
            self.look.append("two sides are named, and which place each belongs to is not quite clear")
        later = phrase.sites[at:]
        del phrase.sites[at:]
        self._new(side).sites.extend(later)

    def _is_carrier(self, mark: Mark) -> bool:
        piece = mark.piece
        return bool(piece and piece.kind == "site" and piece.slugs[0] in CARRIERS and not self.phrases[-1].empty)

    def _piece(self, mark: Mark, marks: Sequence[Mark], index: int) -> None:
        piece = mark.piece
        assert piece is not None
        if mark.look:
            self.look.append(mark.look)
        if piece.kind == "elsewhere":
            self.elsewhere = True
            self.phrases[-1].beyond = self.phrases[-1].empty
            if self._of and self.phrases[-1].sites:  # 'the dorsum of the feet'
                self.phrases[-1].sites.clear()
            if (self.phrases[-1].empty and any(not each.empty for each in self.phrases[:-1])) or self._joined_on(
                marks, index
            ):
                self.phrases[-1].side = None
            return
        phrase = self.phrases[-1]
        if self._is_part_of(piece, phrase):
            phrase.sites.clear()
        match piece.kind:
            case "digit" | "digits" | "ordinal":
                self._digits(phrase, mark, marks, index)
            case "row":
                self._row(phrase, piece.slugs[0])
                self.singles |= _ONE_A_DIGIT.intersection(piece.slugs if piece.plural else ())
                before = marks[index - 1].piece if index else None
                self.phrases[-1].joints = piece.plural and before is not None and before.kind == "digit"
            case _:
                self._site(phrase, mark)
        if piece.side:
            self.phrases[-1].side = piece.side
            for each in self.phrases[:-1]:
                if each.side is None:  # 'over the fingers and the dorsum of both hands'
                    each.side, each.late = piece.side, True
        alone = piece.kind != "digit" or len(self.phrases[-1].digits) == 1
        if piece.plural and piece.kind not in {"digits", "row"} and alone:
            self.phrases[-1].plural = True

    def _is_part_of(self, piece: Piece, phrase: _Phrase) -> bool:
        """'In the right hand the index finger', 'in the left arm, the elbow': the hand only says the side."""
        if self._of or self._preposition or (self._joined and not (self._comma and self._article)):
            return False  # 'itching of the left hand, of the dorsum'
        if phrase.sites == ["hand"]:
            return piece.kind in {"digit", "digits", "row"} or bool(_OF_THE_HAND & set(piece.slugs))
        return phrase.sites == ["upper_limb"] and piece.kind != "elsewhere" and "upper_limb" not in piece.slugs

    def _joined_on(self, marks: Sequence[Mark], index: int) -> bool:
        """Whether more places follow the other part of the body, which has its side to itself."""
        return (
            self.phrases[-1].empty
            and any(
                each.kind == "piece" and each.piece and each.piece.kind != "elsewhere" for each in marks[index + 1 :]
            )
            and any(each.kind == "joiner" and each.text == "comma" for each in marks[index + 1 :])
        )

    def _digits(self, phrase: _Phrase, mark: Mark, marks: Sequence[Mark], index: int) -> None:
        piece = mark.piece
        assert piece is not None
        if piece.kind == "digits" and self._whole and not piece.slugs and (self._joined or not phrase.digits):
            if phrase.digits or phrase.sites:
                phrase = self._next_phrase(phrase)
            slugs = self._order if mark.text == "digit" else self._order[1:]
            phrase.digits += slugs
            self._whole = False
            return
        anew = self._joined and self._whole  # 'and of all four fingers of the left hand'
        if piece.kind == "digits" and ((phrase.digits and not anew) or not piece.slugs):
            return  # 'finger' after 'ring', or a word that names no digit by itself
        if piece.kind == "ordinal" and not any(
            each.piece and each.piece.kind in {"digits", "row", "digit"}
            for each in (*marks[index + 1 : index + 10], *marks[max(0, index - 4) : index])
        ):
            return  # 'the distal third': no digit
        if (
            piece.kind == "ordinal"
            and any(
                each.kind == "piece" and each.text in {"finger", "fingers"} for each in marks[index + 1 : index + 8]
            )
            and piece.order != len(self._order)
        ):
            self.look.append(f"{mark.text!r} finger is read with the thumb as the first")
        if self._range and phrase.digits:
            first, last = sorted((self._order.index(phrase.digits[-1]), self._order.index(piece.slugs[-1])))
            phrase.digits += [slug for slug in self._order[first : last + 1] if slug not in phrase.digits]
            self._range = False
            return
        self._range = False
        if self._of and phrase.sites and all(site.endswith("_area") for site in phrase.sites):
            phrase.sites.clear()  # 'the ulnar nerve area of a little finger': that part of the area
        if self._of and not self._joined and phrase.sites[-1:] in _SURFACES:
            phrase.sites.pop()  # 'the dorsum of the index finger', 'the palmar surface of the thumb'
        if (
            phrase.sites
            or (phrase.digits and phrase.rows and phrase.digits_first)
            or (self._joined and (phrase.late or (not self._goes_on() and not phrase.empty)))
        ):
            inherited = phrase.rows if phrase.late and not phrase.digits_first and self._goes_on() else ()
            phrase = self._next_phrase(phrase, inherited)
        if not phrase.digits and not phrase.rows:
            phrase.digits_first = True
        phrase.digits += [slug for slug in piece.slugs if slug not in phrase.digits]
        phrase.several = phrase.several or (piece.kind == "digits" and piece.plural)

    def _row(self, phrase: _Phrase, row: str) -> None:
        if self._range and phrase.rows == [row] and phrase.digits:
            return  # 'MCP 2 through MCP 4'
        self._range = False
        self._give_back(phrase)
        if not self._joined and phrase.digits and phrase.rows and _HALVES.issuperset(phrase.rows):
            phrase.rows = [row]  # 'the ulnar side of the thumb MCP joint': of the joint
            return
        if self._of and not self._joined and phrase.sites[-1:] in _SURFACES:
            phrase.sites.pop()  # 'the dorsum of the middle phalanx'
        late = self._joined and (phrase.late or bool(phrase.digits and not phrase.rows))
        if late or phrase.sites or (phrase.rows and phrase.digits and (not phrase.digits_first or not self._joined)):
            phrase = self._next_phrase(phrase)
        if row not in phrase.rows:
            phrase.rows.append(row)

    @staticmethod
    def _give_back(phrase: _Phrase) -> None:
        """'The right MCP 2, left PIP 3', '... and of the left wrist': other joints, and not those named before."""
        if phrase.borrowed and not phrase.digits:
            phrase.rows.clear()
            phrase.borrowed = False

    def _site(self, phrase: _Phrase, mark: Mark) -> None:
        piece = mark.piece
        assert piece is not None
        if piece.slugs[:1] in (("wrist",), ("elbow",)):
            self._give_back(phrase)
        if self._is_carrier(mark) and not self._joined and (self._of or phrase.digits or phrase.rows):
            if piece.plural and phrase.side is None:
                phrase.side = "both"
            return
        if self._is_whole_of(piece, phrase):
            phrase.side = phrase.side or ("both" if piece.plural else None)
            return
        apart = bool(piece.side and phrase.sites and phrase.side and phrase.side != piece.side)
        if apart or phrase.rows or phrase.digits or (phrase.late and self._joined):
            phrase = self._next_phrase(phrase)
        if self._article and phrase.sites:
            phrase.begun.append(len(phrase.sites))
        phrase.sites += [slug for slug in piece.slugs if slug not in phrase.sites]

    def _is_whole_of(self, piece: Piece, phrase: _Phrase) -> bool:
        """'Over the lunate in the left wrist', 'the thenar eminence, right hand': the whole only says the side."""
        led = not self._joined and self._preposition in {"", "of", "in", "on", "at"}
        plain = piece.kind == "site" and len(piece.slugs) == 1 and not piece.side
        return (
            led
            and plain
            and bool(phrase.sites)
            and not (phrase.rows or phrase.digits)
            and all(lies_in(Place(None, site), piece.slugs[0]) for site in phrase.sites)
        )

    def _number(self, mark: Mark, before: Mark | None) -> None:
        """'MCPs 2-3', 'digits 2 and 4': digits by number after a row or the word digit, and not all of them."""
        assert mark.amount is not None
        phrase = self.phrases[-1]
        if before is not None and before.piece is not None and before.piece.kind == "digits" and not self._whole:
            phrase.digits = [slug for slug in phrase.digits if slug not in before.piece.slugs]
        numbers = [int(number) for number in mark.amount.numbers]
        if mark.amount.kind == "pair":
            numbers = [int(mark.amount.grade[0]), int(mark.amount.other[0])]
        if mark.amount.kind == "grade":
            numbers = [int(mark.amount.grade[0]), len(self._order)]  # 'digits 4/5'
        slugs = [self._order[number - 1] for number in numbers if 1 <= number <= len(self._order)]
        if self._range and phrase.digits and phrase.rows and len(slugs) == 1:
            first, last = sorted(map(self._order.index, (phrase.digits[-1], *slugs)))
            slugs = self._order[first : last + 1]
        self._range = False
        if mark.amount.kind == "arc" and len(slugs) == 2:  # noqa: PLR2004 - a range
            first, last = sorted((self._order.index(slugs[0]), self._order.index(slugs[1])))
            slugs = self._order[first : last + 1]
        phrase.digits += [slug for slug in slugs if slug not in phrase.digits]

    def _carry_on(self) -> None:
        """'the base of the thumbs bilaterally and the PIP joints': a side goes on until another one is named."""
        for before, phrase in pairwise(self.phrases):
            late = before.late and before.side in {"left", "right", "both"}
            if late and not phrase.side and not phrase.empty and not phrase.plural:
                phrase.side = before.side
                phrase.late = True
                self.look.append("the side is that of the place before")

    def places(self) -> Iterable[Place]:
        self._carry_on()
        both = any(phrase.plural and not phrase.side for phrase in self.phrases)
        for phrase in self.phrases:
            one = len(self.phrases) == len(phrase.rows) == len(phrase.digits) == 1 and not phrase.sites
            phrase.plural = phrase.plural or (phrase.joints and one)  # 'her index DIP joints'
            side = phrase.side or ("both" if phrase.plural or (both and phrase.several) else None)
            for row in phrase.rows:
                digits = phrase.digits or (self._catalogue.rows[row].digits if self._whole else ())
                slugs = [f"{row}_{digit}" for digit in digits]
                if not slugs and row == "ip":
                    slugs = ["ip_thumb"]
                known = [slug for slug in slugs if slug in self._catalogue.sites]
                if row == "dip" and "dip_thumb" in slugs:
                    known = [*known, "ip_thumb"]
                yield from (Place(side, slug) for slug in known)
                if not known and row in _HALVES and any(each.sites for each in self.phrases):
                    continue  # 'the ulnar side of the palm': no half of a digit
                if not known:
                    yield Place(side or ("both" if both else None), None, row, row in self.singles)
            if not phrase.rows:
                yield from (Place(side, digit) for digit in phrase.digits)
            yield from (Place(side, site, plural=phrase.plural) for site in phrase.sites)
            if phrase.empty and phrase.side:
                yield Place(phrase.side)


def parse(marks: Sequence[Mark], catalogue: Catalogue) -> Places:
    """The places that pieces, sides, numbers and the words between them name together."""
    if len(marks) == 1 and marks[0].kind == "side" and marks[0].text:  # 'on the right': half of all
        return Places((Place(marks[0].text),), (marks[0].look,) if marks[0].look else ())
    reader = _Reader(catalogue)
    reader.read(marks)
    places = tuple(dict.fromkeys(reader.places()))  # before its looks are asked for
    elsewhere = reader.elsewhere and not any(place.site or place.row for place in places)
    return Places(places, tuple(dict.fromkeys(reader.look)), elsewhere)
