"""Meanings that a whole sentence settles: nerves that were tested, a trace of a reflex, numbers of right and left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, beside, items_of, value_of
from letterkit.reading.nerve_parts import nerves_in_parts, short_nerves
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.places import DIGITS
from letterkit.reading.shorthand import ORDERS, order_of
from letterkit.reading.texts import Texts
from letterkit.reading.values import AS_PAIR, Amount
from letterkit.reading.words import words

_TRACE = StateWord(scales={"reflex": "reduced"})
_BARE = frozenset({"flexion", "extension", "radial deviation", "ulnar deviation", "dorsiflexion", "palmar flexion"})
_SKINS = frozenset({"skin", "overlying skin"})
_HURTS = frozenset({"painful", "pain"})
_PRESSED = frozenset({"palpated", "palpating", "pressed", "palpation"})
_FELT_ALONE = frozenset(
    {"pinprick", "pin", "light touch", "vibration", "proprioception", "position sense", "touch", "pp", "lt"}
)
_FELT = frozenset({"to", "temperature", "vibration", "touch", "light touch", "position", "proprioception"})
_SKIN = {
    "intact": "skin intact", "unbroken": "skin intact", "normal": "skin normal", "unremarkable": "skin normal",
    "closed": "skin intact", "not broken": "skin intact", "not breached": "skin intact", "healthy": "skin normal",
}  # fmt: skip
COLOURS = frozenset({"colour", "color"})
GONE = frozenset({"absent", "lost", "missing", "gone", "is gone", "was gone", "has gone"})
_ON = frozenset({"when", "while", "with"})
_NEAR_BY = 10  # marks between a pain and what brings it on
_JOINTS = frozenset({"wrist", "elbow"})
_CARRIES = frozenset({"hand", "hands", "arm", "wrist"})  # parts that a line about nerves begins with
_MUSCLES = frozenset({"flexors", "extensors"})
_OF_THE_ARM = frozenset({"axillary", "musculocutaneous"})
_SENSED = frozenset(f"{nerve} sensation" for nerve in ("median", "ulnar", "radial"))
_NERVES = {
    "median": "median", "ulnar": "ulnar", "radial": "radial", "anterior interosseous": "anterior interosseous",
    "posterior interosseous": "posterior interosseous", "axillary": "axillary", "musculocutaneous": "musculocutaneous",
}  # fmt: skip


def _is_reflex(mark: Mark) -> bool:
    slugs = mark.term.items if mark.term is not None else ()
    return "reflex" in mark.hints or any(slug.endswith(("_reflex", "_reflexes")) for slug in slugs)


def _speaks_of_sensation(marks: Sequence[Mark]) -> bool:
    return any(
        mark.term is not None and bool({"light_touch", "pinprick_sensation"} & set(mark.term.items)) for mark in marks
    )


def traces(marks: list[Mark], texts: Texts, topic: Sequence[Mark]) -> list[Mark]:
    """'trace in the triceps': a grade, where reflexes are spoken of."""
    if "trace" not in texts and not ("severity" in texts.kinds and any([mark.word == "trace" for mark in marks])):  # noqa: C419
        return marks
    if not any(_is_reflex(mark) for mark in (*marks, *topic)):
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        if mark.word == "trace":
            made.append(Mark("state", mark.start, mark.end, state=_TRACE, text="trace"))
        elif not (made and made[-1].text == "trace" and mark.text == "positive"):
            made.append(mark)
    return made


def _not_tender(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Tender 5th MC neck, 4th MC NT': behind a place, where something is tender, and so no test that was not done."""
    made = list(marks)
    for index, mark in enumerate(marks):
        placed = index > 0 and marks[index - 1].kind in {"piece", "side"}
        told = any(slug.endswith("tenderness") for each in marks[:index] for slug in items_of(each)[:1])
        if mark.text == "nt" and mark.kind == "ambiguous" and placed and told:
            made[index] = Mark("term", mark.start, mark.end, term=phrases["nontender"].term, text="nontender")
    return made


def pressed(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Pain when the wrist is palpated', 'painful over the elbow to palpation': tenderness."""
    if "ambiguous" in texts.kinds:
        marks = _not_tender(marks, phrases)
    if texts.isdisjoint(_PRESSED) and " palpation\n" not in texts.lines:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in {"pain", "painful", "discomfort"}:
            continue
        for at in range(index + 1, min(len(marks), index + _NEAR_BY)):
            after = marks[at]
            if after.text in _PRESSED or (after.kind == "filler" and after.text.endswith(" palpation")):
                made[index] = Mark("term", mark.start, mark.end, term=phrases["tenderness"].term, text="tenderness")
                made[at] = Mark("filler", after.start, after.end, text="palpated")
                break
            if after.kind not in {"filler", "side", "piece", "severity", "certain"} and after.text not in _ON:
                break
    for index, mark in enumerate(marks):
        if mark.text != "palpation" or mark.kind == "term":
            continue
        near = range(index + 1, min(len(marks), index + _NEAR_BY))
        hurts = next((each for each in near if marks[each].text in _HURTS), None)
        if hurts is not None and not any(each.kind in {"term", "joiner"} for each in marks[index + 1 : hurts]):
            pain = marks[hurts]  # 'palpation of the snuffbox was painful', '... found neither pain nor swelling'
            made[hurts] = Mark("term", pain.start, pain.end, term=phrases["tenderness"].term, text="tenderness")
    return made


def skins(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'The skin over the wrist is intact': no break in it; 'normal': how it looks, and no temperature."""
    if texts.isdisjoint(_SKINS):
        return marks
    at = next((index for index, mark in enumerate(marks) if mark.text in _SKINS), len(marks))
    made = list(marks)
    for index in range(at + 1, min(len(marks), at + _NEAR_BY)):
        mark = marks[index]
        if mark.kind == "state" and mark.text in _SKIN:
            skin, name = marks[at], _SKIN[mark.text]
            made[at] = Mark("term", skin.start, skin.end, term=phrases[name].term, text=name)
            made[index] = Mark("filler", mark.start, mark.end, text=mark.text)
            break
        if mark.kind not in {"filler", "side", "piece", "certain"}:
            break
    return made


def parts_gone(marks: Sequence[Mark], topic: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'The nail of the right thumb has been lost', 'the left little finger is absent': the part itself is not there."""
    made = list(marks)
    part, apart = "", False
    if any(mark.kind == "term" for mark in topic):
        return made  # 'Swelling: right index absent'
    for index, mark in enumerate(marks):
        slugs = mark.piece.slugs if mark.kind == "piece" and mark.piece is not None else ()
        if slugs and slugs[0].startswith("nail") and slugs[0] != "nailfold":
            part = "nail loss"
        elif slugs and not part and set(slugs) <= set(DIGITS):
            part = "digit absent"
        verb = index > 0 and marks[index - 1].text in {"is", "was", "are", "were", "been"}
        if mark.kind == "term" and mark.text == "missing" and verb:
            part, apart = "", True  # 'the thumb was missing and the right index finger was absent'
            continue
        if mark.text in GONE and (verb or mark.text.startswith(("is", "was", "has"))):
            if part and part != "nail loss" and mark.text != "absent":
                part = "missing" if apart else ""  # 'the thumb was missing, ..., and the ring finger had been lost'
            to_what = index + 1 < len(marks) and marks[index + 1].text in {"to", "for"}  # 'is absent to pin'
            if part and not to_what:
                made[index] = Mark("term", mark.start, mark.end, term=phrases[part].term, text=part)
                part, apart = "", True
                continue
            break
        if mark.kind not in {"filler", "side", "piece", "certain", "joiner"} and not (apart and mark.kind == "word"):
            break
    return made


def pains(
    marks: list[Mark], texts: Texts, topic: Sequence[Mark], phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """'Sensation to pain, vibration and position': there pain is what is felt of a pin, and no finding."""
    if "pain" not in texts:
        return marks
    perceived = any(mark.text.startswith("perceived") for mark in marks)  # 'pain perceived on both sides'
    if not (perceived or _speaks_of_sensation((*marks, *topic))):
        return list(marks)
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        near = {each.text for each in (*marks[max(0, index - 1) : index], *marks[index + 1 : index + 3])}
        if mark.text == "pain" and (near & _FELT or any(text.startswith("perceived") for text in near)):
            mark = Mark("term", mark.start, mark.end, term=phrases["pinprick"].term, text="pinprick")  # noqa: PLW2901
        made.append(mark)
    return made


def temperatures(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Pinprick and temperature are normal': what is felt, and not how warm the skin is."""
    told = any(mark.text in _FELT_ALONE for mark in marks)
    alone = any(
        before is not None and before.text == "to" and mark.text == "temperature" for before, mark, _ in beside(marks)
    )
    if not (told or alone) or (any(mark.text.startswith("sens") for mark in marks) and not alone):
        return marks  # 'sensation to touch, temperature and vibration' is read as such
    name = "temperature sensation"
    return [
        Mark("term", mark.start, mark.end, term=phrases[name].term, text=name) if mark.text == "temperature" else mark
        for mark in marks
    ]


def skin_colours(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Colour of the left fingers normal': of the skin, where no nail or fingertip is spoken of."""
    parts = [mark for mark in marks if mark.kind == "piece" and mark.piece is not None]
    if not parts or any("nail" in mark.text or "pulp" in mark.text or "tip" in mark.text for mark in marks):
        return marks
    name = "skin colour"
    return [
        Mark("term", mark.start, mark.end, term=phrases[name].term, text=name) if mark.text in COLOURS else mark
        for mark in marks
    ]


def nerves(
    marks: list[Mark], texts: Texts, topic: Sequence[Mark], phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """'Median, ulnar and radial nerves intact': what the nerves do, where nothing else of theirs is named."""
    if "\nain" in texts.lines:
        pin = Mark("term", 0, 0, term=phrases["pin motor"].term, text="pin motor")
        marks = [replace(pin, start=mark.start, end=mark.end) if mark.text == "pin" else mark for mark in marks]
    if "n" in texts and "state" in texts.kinds:
        marks = short_nerves(marks, phrases)
    texts = texts.now(marks)
    if texts.isdisjoint(_OF_THE_ARM) and "nerve" not in [mark.piece.kind for mark in texts.placed if mark.piece]:
        return marks
    named = [mark for mark in marks if _names_a_nerve(mark)]
    if not named:
        return marks
    if any(mark.kind == "term" and mark.text in _SENSED for mark in marks):
        return _of_sensation(marks, phrases)
    motor = [mark for mark in marks if mark.term is not None and mark.term.items[:1] and _is_nerve(mark.term.items[0])]
    called = bool(motor) or any(mark.text.endswith(("nerve", "nerves")) for mark in named)
    look = ""
    if not called and not topic and _are_called_intact(marks, named):
        called, look = True, "what of the nerves was tested is not said"
    others = any(mark.kind == "term" and mark not in motor and "power" not in mark.hints for mark in marks)
    if called and others and not motor and not _speaks_of_sensation(topic):
        return nerves_in_parts(marks, _NERVES, phrases)
    if not called or others or _speaks_of_sensation(topic) or _is_of_a_harm(marks, named):
        return list(marks)
    if not any(mark.kind == "state" for mark in marks):
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        base = mark.text.removesuffix(" nerves").removesuffix(" nerve")
        if mark in named and base in _NERVES:
            entry = phrases[f"{_NERVES[base]} nerve function"]
            made.append(Mark("term", mark.start, mark.end, term=entry.term, text=f"{base} nerve function", look=look))
        else:
            made.append(mark)
    return made


def _names_a_nerve(mark: Mark) -> bool:
    """A nerve by its name alone: 'ulnar', 'the ulnar nerve'; two of them are a place or a word elsewhere."""
    if mark.kind == "piece" and mark.piece is not None and mark.piece.kind == "nerve":
        return True
    return mark.text in _OF_THE_ARM and mark.kind in {"piece", "word"}


def _are_called_intact(marks: Sequence[Mark], named: Sequence[Mark]) -> bool:
    """'R: median + ulnar intact': nothing but two nerves, the median among them, and that they are well."""
    well = all(mark.state is not None and "normal" in mark.state.classes for mark in marks if mark.kind == "state")
    parts = [mark for mark in marks if mark.kind == "piece" and mark not in named and mark.text not in _CARRIES]
    kinds = {mark.kind for mark in marks} <= {"side", "piece", "joiner", "filler", "state"}
    several = len(named) > 1 and any(mark.text == "median" for mark in named)
    return kinds and well and several and not parts


def _is_nerve(slug: str) -> bool:
    return slug.endswith("_nerve_function")


def _is_of_a_harm(marks: Sequence[Mark], named: Sequence[Mark]) -> bool:
    """'Complete ulnar nerve transection', 'the nerve was fully divided': what befell it is no praise of its work."""
    whole = {"full", "complete", "fully", "completely", "entirely", "stable"}
    for index, mark in enumerate(marks):
        after = marks[index + 1] if index + 1 < len(marks) else None
        strange = after is not None and after.kind == "word" and after.text not in words().plain
        if (mark in named and strange) or (mark.kind == "state" and mark.text in whole):
            return True
    return False


def _of_sensation(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Median sensation down, ulnar and radial intact': the nerves after the comma are told of with the same head."""
    made: list[Mark] = []
    told = False
    for index, mark in enumerate(marks):
        told = told or (mark.kind == "term" and mark.text in _SENSED)
        after = marks[index + 1] if index + 1 < len(marks) else None
        lead = next((each for each in reversed(marks[:index]) if each.text != "the"), None)
        begins = told and lead is not None and lead.kind in {"joiner", "break"}
        goes_on = after is not None and (after.kind in {"state", "joiner"} or after.text in {"is", "was"})
        name = f"{mark.text.removeprefix('superficial ')} sensation"
        entry = phrases.get(name)
        if mark.kind == "piece" and name in _SENSED and begins and goes_on and entry is not None:
            made.append(Mark("term", mark.start, mark.end, term=entry.term, text=name))
        else:
            made.append(mark)
    return made


def pairs(marks: Sequence[Mark], above: tuple[str, str] | None = None) -> list[Mark]:
    """'Grip R/L 70/65 lb': two numbers in the order that was said, here or in the heading above."""
    order = order_of(marks) or (above if above is not None and _all_pairs(marks) else None)
    if order is None:
        return _lengths(marks)
    marks = _two_measures(marks, order)
    made: list[Mark] = []
    for mark, after in zip(marks, [*marks[1:], None], strict=True):
        amount = mark.amount
        if mark.kind == "side" and mark.word in ORDERS:
            continue
        if amount is not None and amount.kind == "arc" and len(amount.numbers) == 2:  # noqa: PLR2004 - right and left
            made += _split(mark, amount, order)
            if after is not None and after.kind == "term":  # 'sup 40/80 pron 70/75'
                made.append(Mark("joiner", mark.end, mark.end, text="comma"))
        else:
            made.append(mark)
    has_pair = any(mark.kind == "value" and mark.amount and mark.amount.kind == "arc" for mark in marks)
    return made if has_pair else list(marks)


def _all_pairs(marks: Sequence[Mark]) -> bool:
    """'Wrist flexion 62/74, extension 50/60', 'Pinch 8/6 kg': under an order of sides, each with a pair of figures.

    'Flexion 0-60' is how far it goes.
    """
    told = [mark for mark in marks if mark.kind in {"term", "value"}]
    pairs = list(zip(told[::2], told[1::2], strict=False))
    return bool(pairs) and len(told) % 2 == 0 and all(_is_pair_of(term, value) for term, value in pairs)


def _is_pair_of(term: Mark, value: Mark) -> bool:
    """Whether two figures can be those of two sides: of one movement, or of a grip."""
    amount = value.amount
    if term.kind != "term" or amount is None or amount.kind != "arc" or not amount.numbers[0]:
        return False
    sets = words().sets
    moved = term.text in _BARE or term.text.split(" ")[-1] in sets["bare_movements"] | sets["typed_movements"] | _BARE
    return moved or term.text.endswith("deviation") or amount.unit == "kg"


def _two_measures(marks: Sequence[Mark], order: tuple[str, str]) -> Sequence[Mark]:
    """'Grip right/left: 48 lb/70 lb': each number with its unit, in the order of the sides."""
    for index in range(len(marks) - 2):
        first, slash, second = marks[index : index + 3]
        units = [each.amount.unit for each in (first, second) if each.amount is not None]
        if len(units) == 2 and units[0] == units[1] and units[0] and slash.text == "slash":  # noqa: PLR2004 - a pair
            sides = [
                Mark("side", each.start, each.start, text=side, word=side)
                for each, side in zip((first, second), order, strict=True)
            ]
            comma = Mark("joiner", slash.start, slash.end, text="comma")
            kept = [mark for mark in marks[:index] if not (mark.kind == "side" and mark.word in ORDERS)]
            return [*kept, sides[0], first, comma, sides[1], second, *marks[index + 3 :]]
    return marks


def _lengths(marks: Sequence[Mark]) -> list[Mark]:
    """'31 cm/30 cm' without a side: two lengths with a slash between them are those of right and left."""
    made = list(marks)
    if any(mark.kind == "side" for mark in marks):
        return made
    for index in range(len(marks) - 2):
        first, slash, second = marks[index : index + 3]
        pair = [each.amount for each in (first, second) if each.amount is not None and each.amount.unit == "cm"]
        if len(pair) == 2 and slash.text == "slash" and slash.end - slash.start == 1:  # noqa: PLR2004 - right and left
            look = AS_PAIR
            made = [
                *marks[:index],
                Mark("side", first.start, first.start, text="right", word="right", look=look),
                first,
            ]
            made += [Mark("joiner", slash.start, slash.end, text="comma")]
            made += [Mark("side", second.start, second.start, text="left", word="left", look=look), *marks[index + 2 :]]
            return made
    return made


def _split(mark: Mark, amount: Amount, order: tuple[str, str]) -> list[Mark]:
    parts: list[Mark] = []
    for side, number in zip(order, amount.numbers, strict=True):
        parts.append(Mark("side", mark.start, mark.start, text=side, word=side))
        single = replace(amount, kind="amount" if amount.unit else "bare", numbers=(number,))
        parts.append(Mark("value", mark.start, mark.end, amount=single))
        parts.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return parts[:-1]


def colours_what_follows(marks: Sequence[Mark], index: int, catalogue: Catalogue) -> bool:
    """'A pink scaly plaque': the colour of what was found, and not of the skin; 'a pale swollen hand' is."""
    term = marks[index].term
    if marks[index].kind != "term" or term is None:
        return False
    if term.items != ("skin_colour",) and marks[index].text != "tense":
        return False
    for mark in marks[index + 1 : index + 5]:
        if mark.kind == "term" and mark.term is not None:
            return value_of(mark, catalogue) is ValueKind.PRESENCE and not mark.term.adjective
        if mark.kind not in {"word", "certain", "severity", "state"}:
            return False
    return False


def _is_range(mark: Mark) -> bool:
    return mark.term is not None and mark.term.items[:1] == ("range_of_movement",)


def _muscles(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Elbow flexors 4/5, extensors 5/5': muscles of the joint that those before are of."""
    made: list[Mark] = []
    joint = ""
    for mark in marks:
        first, _, rest = mark.text.partition(" ")
        entry = phrases.get(f"{joint} {mark.text}") if joint and mark.kind == "word" and mark.text in _MUSCLES else None
        if mark.kind == "term":
            joint = first if rest in _MUSCLES else ""
        elif mark.kind in {"piece", "break"}:
            joint = ""
        named = entry is not None and entry.term is not None
        made.append(replace(mark, kind="term", term=entry.term) if named and entry is not None else mark)
    return made


def movements(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Wrist flexion 60 and extension 45', 'wrist extensors 3/5, flexors 5/5': both are of the joint named first."""
    if not texts.isdisjoint(_MUSCLES):
        marks = _muscles(marks, phrases)
    if "\nwrist" not in texts.lines and "\nelbow" not in texts.lines:
        return marks
    if not any([mark.kind == "term" and mark.text.startswith(tuple(_JOINTS)) for mark in marks]):  # noqa: C419
        return marks
    made: list[Mark] = []
    joint = ""
    for index, mark in enumerate(marks):
        one = mark
        short = index + 1 < len(marks) and marks[index + 1].text == "incomplete"
        first, _, rest = mark.text.partition(" ")
        amount = marks[index + 1].amount if index + 1 < len(marks) else None
        if mark.kind == "piece":
            joint = ""
        if mark.kind == "term" and first in _JOINTS and (rest in _BARE or _is_range(mark)):
            ahead = marks[index + 2].text if index + 2 < len(marks) else ""
            if _is_range(mark) and amount is not None and amount.kind in {"bare", "amount"} and ahead in _BARE:
                one = Mark("filler", mark.start, mark.end, text="motion")  # 'wrist motion 60 degrees extension'
            joint = first  # 'wrist flexion 60 and extension 45', 'wrist ROM: flexion 60'
        elif mark.kind == "term" and mark.text in _BARE and joint and short:
            made.append(Mark("piece", mark.start, mark.start, piece=phrases[joint].piece, text=joint))
        elif mark.kind == "term" and mark.text in _BARE and joint:
            entry = phrases.get(f"{joint} {mark.text}")
            if entry is not None and entry.term is not None:
                one = Mark("term", mark.start, mark.end, term=entry.term, text=f"{joint} {mark.text}", state=mark.state)
        made.append(one)
    return made
