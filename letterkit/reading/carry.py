"""What a sentence inherits: the place of a heading, the place and side named last, the terms of a label."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.context import Setting
from letterkit.reading.marks import NAMES_SIDE, Mark, items_of, side_of
from letterkit.reading.places import OPPOSITE, Place, Places, unsided
from letterkit.reading.predication import Predication
from letterkit.reading.respective import sides_told
from letterkit.reading.segments import Segment
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_FROM_HISTORY = "the side is that of the history"
_BOTH_BEFORE = "both sides are those of the sentence before"
_THE_ONLY_ONE = "the side is the only one that the note names"
_REFLEXES = "the side is that of the sentence before, which is of something else than reflexes"
_COMPARED = "the other side is spoken of in between"
_ALL_LIMBS = "this may be said of all limbs"
_BOTH_LOOKED_AT = "both sides were spoken of before the one"
_PAIRED = frozenset({"hand", "wrist", "elbow", "forearm", "arm", "upper_limb", "thumb"})
_TOGETHER = ("neurological_status", "vascular_status")
_NOT_CARRIED = frozenset({"neck", "ear"})
_ONE_LIMB = frozenset({"upper extremity", "upper limb", "arm", "distally", "distal"})
_ELSEWHERE = Places((), (), elsewhere=True)


def _kinds(marks: Sequence[Mark]) -> set[str]:
    """On what scales the terms of a sentence are recorded."""
    known = catalogue().items
    slugs = [slug for mark in marks if mark.kind == "term" and mark.term is not None for slug in mark.term.items[:1]]
    return {known[slug].scale or known[slug].value.value for slug in slugs}


def _names_a_part(texts: Texts) -> bool:
    """Whether a sentence is about one part of the hand or arm, and not about the person or a whole limb."""
    pieces = [mark.piece for mark in texts.placed if mark.piece is not None and mark.kind == "piece"]
    if any(piece.plural for piece in pieces) and _names_many_first(texts.marks):
        return False
    return any(piece.kind != "elsewhere" and not piece.plural and "upper_limb" not in piece.slugs for piece in pieces)


def _names_many_first(marks: Sequence[Mark]) -> bool:
    """'Pitting of the nails, swelling of the left wrist': what has many places is not of the side named behind it."""
    end = next((at for at, mark in enumerate(marks) if mark.kind in NAMES_SIDE and side_of(mark)), len(marks))
    many = [at for at, mark in enumerate(marks[:end]) if mark.kind == "piece" and mark.piece and mark.piece.plural]
    ours = [at for at in many if (piece := marks[at].piece) is not None and piece.kind != "elsewhere"]
    return end < len(marks) and bool(ours) and any(mark.kind == "term" for mark in marks[ours[0] : end])


def _tells_nerves_and_vessels(texts: Texts) -> bool:
    """'Neurovascularly intact', 'NVI': the nerves and vessels in one statement."""
    if "neurovascular" in texts.lines:
        return True
    return _TOGETHER[0] in texts.items and any(
        mark.term is not None and mark.term.items == _TOGETHER for mark in texts.terms
    )


def _is_of_one_limb(texts: Texts, setting: Setting, *, named: bool) -> bool:
    """'Neurovascularly intact', 'APB strength is 4/5': what is looked at in the limb that the note is about.

    Where the history names that limb a nerve, a pulse or a test is of it too; where only the examination has `named` a
    side, a nerve or a test.
    """
    if _tells_nerves_and_vessels(texts) or _are_all(texts, "hand_muscles"):
        return True
    if not (setting.history_side or (setting.only_side and named)):
        return False
    there = words().carried["vessels"] if setting.history_side else frozenset[str]()
    terms = [mark.term for mark in texts.terms if mark.term is not None and mark.term.items]
    return bool(terms) and all(not term.plural and _is_looked_at_there(term.items[0], there) for term in terms)


def _are_all(texts: Texts, name: str) -> bool:
    """Whether all that a sentence tells of is in that list of items."""
    return "term" in texts.kinds and texts.items <= words().carried[name]


def _is_of_the_neck(texts: Texts) -> bool:
    """'R: no wasting.' and below it 'Neck full range, Spurlings negative': of no hand."""
    named = not texts.sides and not texts.isdisjoint(words().sets["neck"])
    return named and "term" in texts.kinds and texts.items <= words().sets["of_the_neck"]


def _is_looked_at_there(slug: str, there: frozenset[str]) -> bool:
    """Tinel's sign, a nerve, pain when a joint moves: looked at where it hurts, and not from head to toe."""
    carried = words().carried
    item = catalogue().items[slug]
    if item.stage is Stage.SPECIAL_TESTS and item.paired and slug not in carried["whole"]:
        return True
    return slug in carried["hand_muscles"] | there or slug.endswith("_nerve_function")


def _are_of_its_digit(here: Places, behind: Places) -> bool:
    """'The left middle finger droops. The PIP joint moves. The DIP does not.': all of them joints of that finger."""
    rows = bool(here.places) and all(each.row and not each.site and not each.side for each in here.places)
    sites = catalogue().sites
    digits = {sites[each.site].digit if sites[each.site].row else "" for each in behind.places if each.site}
    return rows and len(digits) == 1 and "" not in digits and not here.elsewhere


def is_of_digits(places: Places) -> bool:
    """'The MCP joints are swollen. Periungual erythema is present.': whether only fingers or their joints are named."""
    sites = catalogue().sites
    return bool(places.places) and all(
        each.row or (each.site is not None and bool(sites[each.site].row)) for each in places.places
    )  # fmt: skip


def _is_of_all_limbs(texts: Texts) -> bool:
    """'Reflexes are 2+ at the biceps and 1+ at the ankles': of the whole person, where no side is named."""
    legs = not texts.isdisjoint(words().legs)
    return legs and "term" in texts.kinds and not any(side_of(mark) for mark in texts.marks)


def _are_reflexes(texts: Texts) -> bool:
    """'Biceps reflex 2+': reflexes are looked for in all limbs, and not where it hurts; 'biceps reflexes' says both."""
    named = "reflex" in texts.lines or "jerk" in texts.lines
    terms = [mark.term for mark in texts.terms if mark.term is not None and mark.term.items]
    if not named or not terms or any(term.items[0].endswith("_reflex") and term.plural for term in terms):
        return False
    return all(item.endswith(("_reflex", "_reflexes", "_power")) for item in texts.items)


def _sided(places: Places, side: str | None, *looks: str) -> Places:
    """The same sites, with another side."""
    made = tuple(Place(side, each.site, each.row) for each in places.places)
    return Places(tuple(dict.fromkeys(made)), (*places.look, *looks), places.elsewhere)


@dataclass(slots=True)
class Carried:
    """What holds until something ends it: `base` from a heading, `here` from the sentence before, terms of a label."""

    base: Places | None = None
    here: Places | None = None
    over: Places | None = None  # the part that a heading or label named last: what 'R:' and 'L:' under it are of
    topic: list[Mark] = field(default_factory=list)
    topic_line: int = -1  # the line whose label the topic is; -1 where it is that of a heading
    line: int = -1
    side: bool = False  # whether the examination has named a side
    side_named: str = ""  # the side named last, or "both"
    headed: bool = False  # whether `base` heads more than its own line
    bare: bool = False  # whether nothing has been said since that heading
    spoken: list[Mark] = field(default_factory=list)  # the terms of the sentence before, on the same line
    told: Predication | None = None  # what that sentence said of them
    said: list[Mark] = field(default_factory=list)  # the marks and the terms of all since a side was named
    said_line: int = -1  # its line
    spoken_end: int = 0  # where that sentence ended
    order: tuple[str, str] | None = None  # of the sides in pairs of values: 'Power R/L'
    order_above: tuple[str, str] | None = None  # as a line of its own gave it: what a label below it does not end
    in_turn: tuple[str, ...] = ()  # right and left as the last sentence that names any side names them
    digits: set[str] = field(default_factory=set)  # named one by one since the examination began
    pair: bool = False  # whether both sides were spoken of, and one alone in no more than one sentence since
    told_of_one: bool = False  # whether that sentence has been
    limbs: bool = False  # under 'Extremities:' one limb is named for one sentence, and all are meant again

    def heads(self, named: Places) -> None:
        """Takes note of the place that a heading or label names."""
        self.base = named
        if named.has_site:
            self.over = named

    def turns(self, label: Sequence[Mark]) -> None:
        """'R: 2PD 8 mm index', below it 'L: no wasting': a label that names a side alone is of no finger said above."""
        here = self.here
        if not label or here is None or here is self.base or any(mark.kind not in {"side", "filler"} for mark in label):
            return
        if self.over is not None or is_of_digits(here):  # no 'Right: wrist swollen. Left: no swelling.'
            self.here = unsided(self.over) if self.over is not None else None

    def around(self, segment: Segment, setting: Setting, texts: Texts) -> Places | None:
        """The place that a sentence takes for granted."""
        if setting.elsewhere or (_is_of_the_neck(texts) and not segment.side):
            return _ELSEWHERE if setting.elsewhere else None
        if segment.side:
            sited = self.base is not None and self.base.has_site
            return _sided(self.base, segment.side) if sited and self.base else Places((Place(segment.side),))
        around = self.here or self.base
        if around is not None and _are_all(texts, "nailfolds") and is_of_digits(around):
            return Places((Place(around.side),), around.look) if around.side else None
        if around is not None and around is not self.base and self._is_told_anew(around, setting, texts):
            around = self.base
        if around is not None and around is not self.base and around.side in OPPOSITE and not around.elsewhere:
            of_part = around.has_site and all(each.site != "upper_limb" for each in around.places)
            if _is_of_all_limbs(texts):
                around = self.base
            elif of_part and _are_reflexes(texts):  # 'The left thumb is numb. Biceps 2+.'
                around = Places((Place(around.side),), (*around.look, _REFLEXES))
        if around is not None and around.elsewhere and "distally" in texts:
            around = Places(around.places, around.look)
        nervous = setting.staged and setting.stage is Stage.NEUROVASCULAR  # under 'Sensory:' the whole body is told of
        whole = nervous or self._is_stock(texts) or (self._is_of_the_person(texts) and not _are_all(texts, "felt"))
        offered = setting.history_side if not (self.side or whole) else None
        why = _FROM_HISTORY
        sited = around is not None and around is not self.base and around.has_site and not around.side
        if (
            not offered
            and (around is None or not around.elsewhere)
            and (sited or _names_a_part(texts) or _is_of_one_limb(texts, setting, named=self._is_about_one_side()))
        ):
            offered, why = setting.only_side, _THE_ONLY_ONE
        if around is not None and around.elsewhere and _names_a_part(texts) and setting.only_side:
            return Places((Place(setting.only_side),), (_THE_ONLY_ONE,))  # 'RIGHT SHOULDER: ... The hand is warm.'
        if offered and around is None:
            return Places((Place(offered),), (why,))
        if offered and around is not None and not around.elsewhere and not any(each.side for each in around.places):
            return _sided(around, offered, why) if around.places else Places((Place(offered),), (why,))
        return around

    def _is_about_one_side(self) -> bool:
        """Whether the examination has named a side, and the sentence before was not of both."""
        return self.side and self.side_named != "both"

    def _is_told_anew(self, around: Places, setting: Setting, texts: Texts) -> bool:
        """Whether the sentence is about the person, or one of both sides, and not about where the one before was."""
        if self._is_of_the_person(texts) and not self._is_of_the_hurt_limb(setting, around, texts):
            return True
        return _BOTH_BEFORE in around.look and self._has_own_subject(around, texts)

    @staticmethod
    def _has_own_subject(around: Places, texts: Texts) -> bool:
        """'... both wrists. Phalen's test is positive.': a test or a function of its own, without a side.

        What is said of both whole limbs goes on ('... in both arms. Triceps 4/5'), and so does what is merely there.
        """
        if any(each.site == "upper_limb" for each in around.places):
            return _names_a_part(texts)  # 'reflexes symmetric in both arms. Tender over the lateral epicondyle.'
        terms = [mark.term for mark in texts.terms if mark.term is not None and mark.term.items]
        known = catalogue().items
        if all(term.items[0] in words().carried["moved"] for term in terms):
            return False  # 'swelling of both wrists. Range of motion is limited.'
        return bool(terms) and all(known[term.items[0]].value is not ValueKind.PRESENCE for term in terms)

    def _is_of_the_person(self, texts: Texts) -> bool:
        """'There is no clonus or drift': a sentence of its own about the whole person, after one about one side."""
        if self.base is not None and any(each.side for each in self.base.places):
            return False
        if not texts.isdisjoint(_ONE_LIMB):
            return False  # 'upper extremity strength is normal', 'sensation is intact distally': of the limb spoken of
        if _tells_nerves_and_vessels(texts):
            return False  # together they are looked at in the limb spoken of
        if texts.terms and all(mark.term is not None and mark.term.side == "both" for mark in texts.terms):
            return True  # 'The right wrist is swollen. No tremor of the outstretched hands.'
        return _are_all(texts, "whole")

    def _is_of_the_hurt_limb(self, setting: Setting, around: Places, texts: Texts) -> bool:
        """'A cut of the left thumb. Sensation is intact.': of the limb spoken of, unless nerves are the subject."""
        if setting.stage is Stage.NEUROVASCULAR or around.side not in {"left", "right"} or around.elsewhere:
            return False
        return _are_all(texts, "felt")

    def _is_stock(self, texts: Texts) -> bool:
        """'No clubbing, cyanosis or oedema': the line that is said of everybody, and of no side."""
        found = texts.items
        if not found or not texts.kinds.isdisjoint(NAMES_SIDE):
            return False
        if not found <= words().carried["whole"] | words().carried["stock"]:
            return False
        return self.limbs or bool(found & {"clubbing", "cyanosis"})

    def doubted(self, around: Places | None, texts: Texts) -> Places | None:
        """'Both hands were examined. The left grip is weak. There is no wasting.': that may be of both, and is shown.

        A part told of as one is that of the side spoken of: 'no tenderness of the wrist'.
        """
        if around is None or around.side not in OPPOSITE or around.elsewhere:
            return around
        lines = self.limbs and "negator" in texts.kinds and texts.items != {"radial_pulse"}
        if lines and self.base is not around and self._is_stock(texts):
            return Places(around.places, (*around.look, _ALL_LIMBS))  # 'Extremities: left arm fistula. No oedema.'
        if not self.pair:
            return around
        if "negator" not in texts.kinds or "term" not in texts.kinds or texts.sides or _names_a_part(texts):
            return around
        return Places(around.places, (*around.look, _BOTH_LOOKED_AT))

    def _takes_sides(self, texts: Texts) -> None:
        """Takes note of a sentence that speaks of both sides, or of one of them."""
        named = [mark for mark in (*texts.sides, *texts.placed) if mark.word != "either"]  # of what else, may be
        sides = {side for mark in named if (side := side_of(mark))}
        one = bool(sides & OPPOSITE.keys())
        pieces = [mark.piece for mark in texts.placed if mark.piece is not None]
        many = bool(pieces) and pieces[0].plural and not pieces[0].side and {*pieces[0].slugs} <= _PAIRED
        many = many or any(mark.term.side == "both" for mark in texts.terms if mark.term is not None)
        if many or ("both" in sides and not one):  # but 'both tendons of the left thumb'
            self.pair, self.told_of_one = True, one
        elif one:
            self.pair, self.told_of_one = self.pair and not self.told_of_one, True

    def anew(self, line: int) -> Carried:
        """Under a new heading: nothing, but for 'Right: Phalen's positive, Tinel's negative. Left: both negative'."""
        if line != self.said_line:
            return Carried(line=line)
        return Carried(line=line, said=self.said, said_line=line, spoken_end=self.spoken_end)

    def kept(self, line: int) -> Carried:
        """What still holds under the heading of the next stage: the place that heads the examination."""
        if self.base is not None and self.base.has_site and line == self.line:
            kept = Carried(self.base, self.base, line=line, side=self.side, headed=self.headed, bare=self.bare)
        elif not self.headed or self.base is None:
            kept = Carried(line=line, side=self.side)
        else:
            kept = Carried(self.base, self.base, line=line, side=self.side, headed=True, bare=self.bare)
        kept.order = kept.order_above = self.order_above
        kept.over = self.over if kept.base is not None else None
        return kept

    def ends(self, marks: Sequence[Mark], texts: Texts, line: int) -> None:
        """Takes note of a sentence that was read: what it heads, and of which sides it spoke."""
        self._heads(marks, line)
        self.in_turn = sides_told(texts, self.in_turn)
        self._takes_sides(texts)

    def _heads(self, marks: Sequence[Mark], line: int) -> None:
        """'Coordination - R slow; L normal': a dash after the first term heads as a colon does."""
        if len(marks) > 1 and marks[0].kind == "term" and marks[1].text in {"-", "–", "—"}:
            self.topic, self.topic_line = [marks[0]], line
        elif 0 <= self.topic_line == line - 1 and self._names_another(marks):
            self.topic = []
        elif self.topic_line == line and not any(mark is each for mark in marks for each in self.topic):
            named = _kinds(marks)
            if named and not named & _kinds(self.topic):
                self.topic = []  # 'Sens: intact. Biceps reflex absent. L arm normal.': no more of sensation

    def _names_another(self, marks: Sequence[Mark]) -> bool:
        """'Tinel's: right positive', below it 'Phalen's negative right. Left positive.': the last is of Phalen's."""
        topic = {items_of(mark) for mark in self.topic}
        return any(mark.kind == "term" and items_of(mark) not in topic for mark in marks)

    def topic_of(self, line: int, marks: Sequence[Mark], texts: Texts) -> list[Mark]:
        """The terms that a sentence without any may be of, as the second of 'Tinel's: right positive. Left negative'.

        A label ends with its line, unless the next one begins with a side; a heading holds until the next.
        """
        if not self.topic:
            return []
        pieces = [mark.piece for mark in texts.placed if mark.piece is not None]
        if any(piece.kind == "elsewhere" or not _NOT_CARRIED.isdisjoint(piece.slugs) for piece in pieces):
            return []  # 'Grip: 22 kg. Shoulder and neck are normal.'
        if self._is_of_another(texts):
            return []
        if not words().sets["of_the_head"].isdisjoint(texts):
            return []  # 'Neuro exam: mental status normal. CN normal.'
        goes_on = line == self.topic_line + 1 and bool(marks) and marks[0].kind == "side"
        return self.topic if self.topic_line in {-1, line} or goes_on else []

    def _is_of_another(self, texts: Texts) -> bool:
        """'FDP - cannot flex. RDN reduced': a nerve that is felt; 'Splint off: lag 5. PIPJ full': of no splint."""
        items = {slug for mark in self.topic for slug in items_of(mark)}
        if items == {"aids_and_dressings"}:
            return True
        sets = words().sets
        return not sets["digital_nerves"].isdisjoint(texts) and items.isdisjoint(sets["felt_by_nerves"])

    def after(self, line: int, label: Sequence[Mark], here: Places | None, named: Places | None) -> None:
        """Takes note of a sentence: its label, what the label names, and the place named last."""
        if any(mark.kind == "term" for mark in label):
            self.topic = [mark for mark in label if mark.kind == "term"]
            self.topic_line = line
        elif named is not None:
            self.heads(named)
        behind = self.here or self.base
        if here is not None and here.places and all(each.site in _NOT_CARRIED for each in here.places):
            here = None  # 'Examination of the neck is normal.': the hand is spoken of again
        if here is None or not (here.places or here.elsewhere) or (here.elsewhere and self.limbs):
            self.here = behind
        elif here.elsewhere:
            self.here = Places((Place(behind.side),), here.look, elsewhere=True) if behind and behind.side else here
        elif self.base is not None and self.base.has_site:
            side = here.side if here.side in {"left", "right"} else self.base.side
            self.side = self.side or side is not None
            self.here = _sided(self.base, side)
        else:
            self.here = self._narrowed(here, behind)

    def after_comparison(self, how: str) -> None:
        """Takes note that the other side was set beside that spoken of, which `how` sure it is is spoken of no longer.

        What a heading names holds on.
        """
        here = self.here or self.base
        if here is None or here.side not in OPPOSITE or here.elsewhere or (here is self.base and self.headed):
            return
        if how == "maybe" or here is self.base:
            self.here = _sided(here, here.side, _COMPARED)
        else:
            made = unsided(here)
            self.here = made if made.places else None

    def _narrowed(self, here: Places, behind: Places | None) -> Places | None:
        """What of the place named last may be carried: one side and one site, never a list of sites or both sides."""
        if not here.has_site and behind is not None and behind.has_site:
            here = Places(
                tuple(Place(here.side or each.side, each.site, each.row) for each in behind.places), here.look
            )
        if behind is not None and _are_of_its_digit(here, behind):
            return behind
        sides = {each.side for each in here.places}
        if sides == {None} and behind is not None and behind.side:
            here = _sided(here, behind.side)
        elif sides == {"both"} and here.has_site and not here.elsewhere:
            here = Places(here.places, (*here.look, _BOTH_BEFORE))
        elif sides == {"both"} or len(sides) > 1:
            sites = tuple(Place(None, each.site, each.row) for each in here.places if each.site or each.row)
            here = Places(tuple(dict.fromkeys(sites)), here.look)
        self.side = self.side or any(each.side for each in here.places)
        if len({each.site or each.row for each in here.places}) > 1:
            here = Places(tuple(dict.fromkeys(Place(each.side) for each in here.places if each.side)), here.look)
        return here if here.places else None
