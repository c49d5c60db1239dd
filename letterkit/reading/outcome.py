"""The result of one statement for one item: the state and the value that its words and numbers give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier, Scale, ValueKind
from letterkit.reading.measured import arc, power, quantity
from letterkit.reading.predication import Said
from letterkit.reading.said import LOW, NORMAL, Outcome, amounts_of, classes_of, own_words
from letterkit.reading.values import Amount
from letterkit.reading.words import words

_IN_TURN = (
    "absent", "unable", "painful", "reduced", "increased", "abnormal", "equivocal", "negative", "normal", "full",
    "able", "stable", "present", "positive", "equal",
)  # fmt: skip
_PULSES = {"0": "absent", "1": "reduced", "2": "present", "3": "present", "4": "present"}  # from 0 to 4, 2 usual
ONLY_A_QUALITY = "only a quality of it is said"
_MEASURES = {"deg": "degrees", "kg": "kg", "mm": "mm", "cm": "cm", "lb": "lb"}
_QUALITIES = frozenset(
    {"fine", "complete", "full", "intact", "stable", "strong", "solid", "good", "brisk", "symmetric", "symmetrical"}
)  # 'fine tremor'
_OF_TESTS = frozenset(
    {"strength", "coordination", "tone", "reflex", "sensation"}
)  # 'testing was impossible' is no result
_MAY_BE_MISSING = {
    "pulse",
    "sensation",
    "full_reduced",
    "reflex",
    "palmar_flush",
    "capillary_refill",
    "finger_jerk",
    "perfusion",
}
_NEVER_STABLE = frozenset({"full_reduced", "sensation", "pulse", "capillary_refill"})  # 'the left thumb is stable'
_ONLY_AS_SAID = frozenset({"lump_consistency", "lump_edge", "lump_plane", "lump_mobility"})  # a normal lump is not soft
_AS_OTHER = "it is only said to be as the other side is"
_PREFERRED = {
    "normal": ("normal", "intact", "full", "present", "able", "stable", "usual", "soft", "pink"),
    "full": ("full", "normal", "intact", "able"),
    "able": ("able", "full", "normal"),
    "stable": ("stable",),
    "equal": ("normal", "full", "intact", "present", "equal"),
    "present": ("present", "normal", "intact"),
    "reduced": ("reduced", "weak", "impaired", "delayed", "with_difficulty", "slow", "decrement"),
    "increased": ("increased", "brisk", "heightened"),
    "abnormal": ("abnormal", "impaired", "altered", "irregular"),
    "absent": ("absent", "lost", "unable", "not_possible", "none"),
    "negative": ("absent", "stable", "unable"),
    "positive": ("present", "lax"),
    "unable": ("unable", "absent", "not_possible", "impaired"),
    "painful": ("with_pain", "painful"),
    "equivocal": ("equivocal",),
}  # fmt: skip


def _binary(item: Item, said: Sequence[Said], negated: bool, maybe: bool) -> Outcome | None:  # noqa: FBT001 - facts of the clause
    yes, no = ("present", "absent") if item.value is ValueKind.PRESENCE else ("positive", "negative")
    if item.value is ValueKind.PRESENCE:
        said = [each for each in said if not (each.before and each.mark and each.mark.text in _QUALITIES)]
        said = [each for each in said if not (each.mark and each.mark.text in words().sets["of_a_part"])]
    classes, unclear, some = classes_of(said)
    if (own := own_words(item, said)) and not negated:
        return Outcome(own, own)
    if unclear:
        return None
    if not negated and _is_zero(item, said):
        return Outcome(no, no)
    if maybe or "equivocal" in classes:
        return Outcome("equivocal", "equivocal", ("uncertain in the note",) if maybe else ())
    down = bool(classes & {"negative", "absent"})
    up = bool(classes & {"positive", "present", "painful"})
    calm = bool(classes & NORMAL)
    if negated:
        if down or (up and item.value is ValueKind.TEST and "positive" not in classes and "present" not in classes):
            return None  # a double negation
        return Outcome(no, no)
    if down or up:
        return None if down and up else Outcome(no, no) if down else Outcome(yes, yes)
    if item.value is ValueKind.TEST and _is_lively(said):
        return Outcome(yes, yes, ("called brisk",))  # 'Hoffmann's was brisk': the sign is there
    if item.value is ValueKind.TEST and calm != ("abnormal" in classes):
        return Outcome(no, no, ("called normal",)) if calm else Outcome(yes, yes, ("called abnormal",))
    if calm:
        return None
    if item.value is ValueKind.PRESENCE and (not some or classes <= {"abnormal", "increased"} or not classes):
        return _quality(said, (yes, no), plain=not (some and not classes))
    return None


def _without_remark(item: Item, said: Sequence[Said]) -> Sequence[Said]:
    """'Phalen's was noted and unremarkable': that a test was noted is no result where it is called normal as well."""
    if item.value is not ValueKind.TEST or len(said) < 2:  # noqa: PLR2004 - a remark and a result
        return said
    remarked = words().sets["remarked"]
    others = [each for each in said if not (each.mark and each.mark.text in remarked)]
    if len(others) == len(said) or not others:
        return said
    calm = all(each.mark and each.mark.state and set(each.mark.state.classes) & NORMAL for each in others)
    return others if calm else said


def _is_zero(item: Item, said: Sequence[Said]) -> bool:
    """'PIPJ contracture 45, MCPJ 0': an angle of nothing."""
    amounts = [each for each in amounts_of(said) if each.unit in {"", "deg"} and each.kind in {"amount", "bare"}]
    if item.value is not ValueKind.PRESENCE or Qualifier.ANGLE not in item.qualifiers:
        return False
    return bool(amounts) and all(each.numbers == (0.0,) and not each.comparator for each in amounts)


def _quality(said: Sequence[Said], states: tuple[str, str], *, plain: bool) -> Outcome | None:
    """What a finding is that has a quality only: 'swelling of firm consistency' is there, 'the arm is clear' is not."""
    yes, no = states
    if any(each.mark is not None and each.mark.text in words().sets["spared"] for each in said):
        return Outcome(no, no, ("only called clear",))
    if plain or _is_measured(said):
        return Outcome(yes, yes)
    return Outcome(yes, yes, (ONLY_A_QUALITY,)) if _is_quality(said) else None


def _is_lively(said: Sequence[Said]) -> bool:
    """'Hoffmann's was brisk': a word that praises a function, and of a sign says that it is there."""
    return any(each.mark is not None and each.mark.text in words().sets["lively"] and not each.negated for each in said)


def _is_quality(said: Sequence[Said]) -> bool:
    """'Swelling of firm consistency': what has a quality is there, if nothing else is said of it."""
    marks = [each.mark for each in said if each.mark is not None]
    return all(
        mark.kind == "state" and mark.state is not None and not mark.state.classes for mark in marks
    ) and not any(each.negated for each in said)


def _is_measured(said: Sequence[Said]) -> bool:
    """'The lump was 5 mm wide and firm': what has a size is there."""
    return any(each.kind == "size" or each.unit in {"mm", "cm"} for each in amounts_of(said))


def _scaled(item: Item, said: Sequence[Said], negated: bool, catalogue: Catalogue) -> Outcome | None:  # noqa: FBT001
    assert item.scale is not None
    scale = catalogue.scales[item.scale]
    if (own := own_words(item, said)) and not negated:
        return Outcome(own, own)
    for amount in amounts_of(said):
        if graded := _graded(amount, scale):
            return graded
    tested = scale.slug in _OF_TESTS and any(
        each.mark and each.mark.text in words().sets["no_results"] for each in said
    )
    classes, unclear, some = classes_of(said)
    felt = scale.slug == "nerve_function" and any(each.mark and "palpable" in each.mark.text for each in said)
    if tested or felt:
        return None  # a nerve that can be felt
    if negated and _is_denied_delay(item, said):
        return Outcome(normal_of(scale), normal_of(scale))  # 'no delayed refill'
    if negated:
        return _none_of(scale, classes, some=some)
    exact = {
        each.mark.state.scales[item.scale]
        for each in said
        if each.mark is not None
        and each.mark.state is not None
        and not each.negated
        and item.scale in each.mark.state.scales
    }
    if unclear or len(exact) > 1:
        return None
    if exact:
        slug = exact.pop()
        return Outcome(slug, slug, (*_unused(said), *_single_plus(said, scale, slug)))
    if scale.slug in _ONLY_AS_SAID:
        return None
    found = _by_class(scale, classes, said)
    return replace(found, looks=(*found.looks, *_unused(said))) if found is not None else None


def _unused(said: Sequence[Said]) -> tuple[str, ...]:
    """'Extension deficit of 30 degrees': a measure that a state has no room for."""
    amounts = amounts_of(said)
    told = [f"{' to '.join(f'{n:g}' for n in each.numbers)} {_MEASURES[each.unit]}" for each in amounts if (
        each.unit in _MEASURES and each.numbers
    )]  # fmt: skip
    told += [f"{each.grade}/5" for each in amounts if each.kind == "grade" and each.grade != "5"]
    return tuple(f"{each} is not recorded" for each in told)


def _single_plus(said: Sequence[Said], scale: Scale, slug: str) -> tuple[str, ...]:
    """'Triceps +': in some clinics a usual reflex, in others a weak one."""
    if scale.slug not in {"reflex", "pulse"} or not any(
        each.mark and each.mark.text in {"+", "less +"} for each in said
    ):
        return ()
    return (f"a single plus is read as {slug}",)


def _graded(amount: Amount, scale: Scale) -> Outcome | None:
    """A number that is a state of its scale: a reflex grade, a filament's marking, a pulse of 2+."""
    if scale.slug == "reflex":
        return _reflex(amount)
    if scale.slug == "monofilament" and amount.numbers:
        wanted = f"{amount.numbers[0]:g}"
        named = next((each.slug for each in scale.states if wanted in each.aliases), None)
        looks = (f"{amount.other}: which marking that is depends on the set",) if amount.other else ()
        return Outcome(named, named, looks) if named else None
    if scale.slug == "pulse" and amount.kind in {"signed", "pair"} and amount.grade[:1] in _PULSES:
        state = _PULSES[amount.grade[0]]
        looks = () if amount.grade[0] in "02" else (f"a pulse of {amount.grade} is read as {state}",)
        return Outcome(state, state, looks)
    if scale.slug == "pulse" and amount.kind == "bare" and not amount.unit and list(amount.numbers) == [0]:
        return Outcome("absent", "absent")  # 'ulnar 0'
    return None


def _none_of(scale: Scale, classes: set[str], *, some: bool) -> Outcome | None:
    """'No radial pulse' is its absence, 'no loss of sensation' its presence; other negations settle nothing."""
    if scale.slug in _MAY_BE_MISSING and (not some or classes == {"present"}):  # 'no pulse could be felt'
        slugs = [state.slug for state in scale.states]
        lost = next((slug for slug in _PREFERRED["absent"] if slug in slugs), None)
        return Outcome(lost, lost) if lost else None
    if classes & (LOW | {"absent"}) and not classes & NORMAL:
        return Outcome(normal_of(scale), normal_of(scale))
    return None


def _is_denied_delay(item: Item, said: Sequence[Said]) -> bool:
    """'No delayed capillary refill': the delay is denied, and not the refill."""
    states = [each.mark.state for each in said if each.mark is not None and each.mark.state is not None]
    return any(state.scales.get(item.scale or "") == "delayed" for state in states)


def normal_of(scale: Scale) -> str:
    """The normal state of a scale."""
    return next(state.slug for state in scale.states if state.polarity is Polarity.NORMAL)


def _by_class(scale: Scale, classes: set[str], said: Sequence[Said] = ()) -> Outcome | None:
    """The state that a word of result means in this scale, by the class of the word."""
    slugs = [state.slug for state in scale.states]
    if scale.slug in {"temperature", "wound", "sutures"}:
        return None  # 'the skin was normal' says how it looks, and no wound that is called normal is healed
    if scale.slug == "stability" and any(each.mark and each.mark.text in {"none", "nil"} for each in said):
        return None  # 'a firm end point on the right, none on the left'
    if scale.slug == "normal_abnormal" and classes == {"present"}:
        return None  # 'neurological examination found a weak grip': what it found comes after
    if {"unable", "full"} <= classes:  # 'unable to flex them completely'
        classes = {"reduced"}
    found = None
    for kind in (kind for kind in _IN_TURN if kind in classes):
        found = next((slug for slug in _PREFERRED[kind] if slug in slugs), None)
        if found is None and kind in NORMAL and not (kind == "stable" and scale.slug in _NEVER_STABLE):
            found = normal_of(scale)
        if found is not None:
            break
    remarked = classes == {"present"} and any(each.mark and each.mark.text in words().sets["remarked"] for each in said)
    if found is None or (remarked and found == "normal"):
        return None  # 'the right grip was noted'
    compared = any(each.mark is not None and each.mark.text.endswith(words().affixes["as_other"]) for each in said)
    if found != "equal" and (compared or classes == {"equal"}):
        return Outcome(found, found, (_AS_OTHER if compared else "only called equal",))
    return Outcome(found, found)


def _reflex(amount: Amount) -> Outcome | None:
    """A reflex grade: 2 is normal, trace to 1 and 3 to 4 are told with the grade and shown to the clinician."""
    grade = amount.grade or (f"{amount.numbers[0]:g}" if amount.kind == "bare" and amount.numbers else "")
    if grade.rstrip("+-") not in {"0", "1", "2", "3", "4"}:
        return None  # '33' is no grade of a reflex
    state = {"0": "absent", "1": "reduced", "2": "normal", "3": "brisk", "4": "brisk"}[grade[0]]
    looks = () if grade[0] in "02" else (f"a reflex grade of {grade} is read as {state}",)
    return Outcome(state, state, looks, note=f"grade {grade}")


def _words(said: Sequence[Said], negated: bool) -> Outcome | None:  # noqa: FBT001
    """The clinician's own words after 'recorded as:', or that all was normal."""
    told = next((each.mark.text for each in said if each.mark is not None and each.mark.kind == "told"), "")
    if told:
        return Outcome("described", told)
    classes, unclear, _ = classes_of(said)
    if unclear or negated or not classes & {"normal"}:
        return None
    return Outcome("normal", "normal")


def outcome(item: Item, said: Sequence[Said], catalogue: Catalogue, *, negated: bool, maybe: bool) -> Outcome | None:
    """What `said` gives for `item`; None where it gives nothing safe."""
    match item.value:
        case ValueKind.PRESENCE | ValueKind.TEST:
            return _binary(item, _without_remark(item, said), negated, maybe)
        case ValueKind.STATE:
            found = _scaled(item, said, negated, catalogue)
        case ValueKind.MRC:
            found = power(said, negated)
        case ValueKind.QUANTITY:
            found = quantity(item, said)
        case ValueKind.ARC:
            found = arc(item, said)
        case ValueKind.TEXT:
            return _words(said, negated)
    if found is not None and maybe:
        return Outcome(found.state, found.value, (*found.looks, "uncertain in the note"), found.side, found.note)
    return found
