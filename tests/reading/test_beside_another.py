"""What a clause says does not change because another clause stands beside it in the sentence.

Nothing certain is read of the two together that neither says alone. Each clause of `CLAUSES` names its place or its side
itself; those of `UNPLACED` take both from the sentence, so that of them only what is found is compared.
"""

from __future__ import annotations

import pytest

from letterkit.reading.read import read

CLAUSES = (
    "There was numbness over the left thumb", "The left thumb was numb", "There was hypoesthesia of the left ring finger",
    "There was weakness of the left triceps", "The left triceps was weak", "APB was 4/5 on the left",
    "Power of the left wrist extensors was normal", "There was wasting of the left thenar eminence",
    "The left hand was cold", "The left index was pale", "The left wrist was swollen", "There was no swelling of the left wrist",
    "The left wrist was not tender", "There was pain on movement of the left wrist", "The left elbow was stiff",
    "There is a scar on the left palm", "There is a lump on the dorsum of the left wrist", "The left hand looks normal",
    "Tinel's sign was positive at the left wrist", "Phalen's test was negative on the left",
    "Finkelstein's test was negative on the left", "Froment's sign was present on the left",
    "Grip strength was 20 kg on the left", "Grip on the left was weak", "Wrist flexion was 40 degrees on the left",
    "Left wrist extension was reduced", "Range of movement of the left elbow was full", "He makes a full fist on the left",
    "The left ring finger triggers", "Light touch was normal in the left index", "Light touch was reduced in the left little finger",
    "Two-point discrimination was 8 mm in the left ring finger", "The left biceps reflex was absent",
    "The left triceps reflex was lost", "The left triceps jerk was 2+", "The left radial pulse was absent",
    "The left radial pulse was palpable", "Capillary refill of the left index was 2 seconds",
)  # fmt: skip
ALSO = (
    "The left hand shows wasting", "The left thumb has a scar", "The left wrist is painful",
    "The left radial pulse could not be felt", "The left wrist was deformed", "The left first dorsal interosseous is wasted",
    "There is clawing of the left ring and little fingers", "Left grip 20 kg", "Left APB 4/5", "The left arm drifts",
    "The left index finger cannot be flexed", "He cannot extend the left wrist", "The left elbow lacks extension",
    "The left thenar muscles are wasted", "He is unable to oppose the left thumb", "The left scar is tender",
    "Left biceps reflex absent", "The left hand is swollen and tender", "The left ulnar nerve is thickened",
    "There is neither swelling nor redness of the left wrist", "Swelling and redness of the left wrist were absent",
    "No wasting or weakness on the left", "The left index has normal sensation", "The left ulnar nerve subluxes",
    "He has reduced sensation in the left little finger", "Crepitus was felt at the left wrist",
    "The left triceps was not weak", "The left hand has no wasting", "The left thumb locks",
)  # fmt: skip
UNPLACED = (
    "the triceps reflex was absent", "the biceps jerk was 2+", "there was no tremor", "grip was weak",
    "grip strength was 15 kg", "Phalen's test was positive", "the radial pulse was absent", "capillary refill was normal",
    "APB was 3/5", "the wrist was tender", "the elbow was not swollen", "no redness was seen", "the fingers were stiff",
    "wrist extension was 50 degrees", "the triceps was weak", "he could not make a fist", "Froment's sign was negative",
    "Allen's test was normal", "the scar was tender",
)  # fmt: skip
# as a clinic types them, without a verb
TERSE = (
    "left thumb numb", "left triceps weak", "left hand cold", "left thenar wasting", "left wrist swollen",
    "no swelling of the left wrist", "left wrist nontender", "Tinel's positive at the left wrist", "Phalen's negative left",
    "left grip 20 kg", "left grip weak", "left wrist flexion 40", "left wrist extension reduced",
    "light touch normal left index", "light touch reduced left little finger", "left biceps jerk absent",
    "left triceps jerk 2+", "left APB 4/5", "left radial pulse absent", "left radial pulse 2+", "cap refill left index 2 s",
    "left ring finger triggers", "scar left palm", "full fist left", "left elbow ROM full", "no wasting left",
    "left wrist painful", "Finkelstein's negative left", "lump dorsum left wrist", "left wrist extensors 5/5",
    "left elbow stiff", "Froment's positive left", "no tremor left", "left index pale", "left FDI wasted",
    "left ulnar nerve thickened", "left 1st CMC grind positive", "left thumb unstable", "left EPL 3/5",
)  # fmt: skip
TERSE_UNPLACED = (
    "triceps jerk absent", "biceps jerk 2+", "no tremor", "grip weak", "grip 15 kg", "Phalen's positive",
    "radial pulse absent", "cap refill normal", "APB 3/5", "elbow not swollen", "no redness", "fingers stiff",
    "wrist extension 50", "triceps weak", "Froment's negative", "Allen's normal", "pinprick absent thumb",
    "numb little finger", "no wasting", "ROM full",
)  # fmt: skip
TERSE_JOINS = (", ", " and ", " - ")
JOINS = (" and ", ", and ", ", ", "; ", ", while ", ", but ", ". ")


def _facts(text: str) -> dict[tuple[str, ...], str]:
    return {
        (each.item, str(each.side), *each.sites, each.state, str(each.value)): each.sure for each in read(text).findings
    }


def _lowered(clause: str) -> str:
    first = clause.split(" ", 1)[0]
    return clause if first.isupper() or first.endswith("'s") else clause[0].lower() + clause[1:]


ALONE = {clause: _facts(f"{clause}.") for one in CLAUSES for clause in (one, one.replace("left", "right"))}


@pytest.mark.parametrize("first", CLAUSES)
def test_two_clauses_say_no_more_than_each(first):
    for second in (each.replace("left", "right") for each in CLAUSES):
        for join in JOINS:
            text = f"{first}{join}{second if join == '. ' else _lowered(second)}."
            known = ALONE[first].keys() | ALONE[second].keys()
            added = {fact for fact, sure in _facts(text).items() if sure == "certain"} - known
            assert not added, text


def _found(text: str) -> dict[tuple[str, ...], str]:
    return {(each.item, each.state, str(each.value)): each.sure for each in read(text).findings}


@pytest.mark.parametrize("first", [*CLAUSES, *ALSO])
def test_nor_where_the_second_takes_its_place_from_the_first(first):
    for second in UNPLACED:
        known = _found(f"{first}.").keys() | _found(f"{second[0].upper()}{second[1:]}.").keys()
        for join in (" and ", ", and ", ", ", ", but "):
            text = f"{first}{join}{second}."
            added = {fact for fact, sure in _found(text).items() if sure == "certain"} - known
            assert not added, text


def test_each_clause_alone_says_one_thing():
    assert {clause: len(facts) for clause, facts in ALONE.items() if len(facts) != 1} == {}


def _raised(clause: str) -> str:
    return clause[0].upper() + clause[1:]


def _joined(first: str, join: str, second: str) -> str:
    return f"{_raised(first)}{join}{second}."


@pytest.mark.parametrize("first", TERSE)
def test_nor_where_findings_are_told_without_a_verb(first):
    before = _facts(f"{_raised(first)}.").keys()
    for second in (each.replace("left", "right") for each in TERSE):
        known = before | _facts(f"{_raised(second)}.").keys()
        for join in TERSE_JOINS:
            text = _joined(first, join, second)
            added = {fact for fact, sure in _facts(text).items() if sure == "certain"} - known
            assert not added, text


@pytest.mark.parametrize("first", TERSE)
def test_nor_where_the_second_of_them_names_no_side(first):
    before = _found(f"{_raised(first)}.").keys()
    for second in TERSE_UNPLACED:
        known = before | _found(f"{_raised(second)}.").keys()
        for join in TERSE_JOINS:
            text = _joined(first, join, second)
            added = {fact for fact, sure in _found(text).items() if sure == "certain"} - known
            assert not added, text
