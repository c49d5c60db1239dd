"""Rules about inflamed joints and what the clinician has named or planned for them."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.consistency.claims import claims, quoted
from letterkit.consistency.infection import PLAN_QUESTION
from letterkit.consistency.lookups import accounted_for, joint, listed, recorded
from letterkit.consistency.rule import Case, Hit, QueryClass, rule

_SMALL_JOINTS = frozenset({"mcp", "pip"})
_KNOWN = ("rheumatology", "antirheumatic_drug", "rheumatoid_arthritis", "psoriatic_arthritis", "gout", "osteoarthritis",
          "septic_joint")  # fmt: skip
_SKIN = {
    "skin": ("psoriatic_plaques", "palmoplantar_pustulosis", "rash"),
    "nails": ("nail_pitting", "onycholysis", "subungual_hyperkeratosis", "nail_dystrophy", "nail_ridging"),
    "scalp": ("scalp_psoriasis",),
}


@rule(
    "synovitis-without-a-word-in-the-plan",
    QueryClass.URGENT,
    asks="{synovitis}, and neither the opinion nor the plan takes it up. " + PLAN_QUESTION,
    settle="Confirm the joints, and read the plan again with them in mind, or say that it is known.",
    source="NICE QS33, statement 1 (confirmed)",
)
def synovitis_without_a_word_in_the_plan(case: Case) -> Iterator[Hit]:
    """Soft swelling of small joints, or of more than one joint, is taken up somewhere in the letter."""
    found = case.abnormal("synovitis")
    encounter = case.encounter
    if not found or not (encounter.plan or encounter.impression or encounter.diagnoses):
        return
    small = any(joint(case, fact) in _SMALL_JOINTS for fact in found)
    if not small and len({(fact.side, fact.site) for fact in found}) == 1:
        return
    clinic = encounter.clinic
    if case.mentioned(*_KNOWN) or (clinic and "rheumatolog" in f"{clinic.name} {clinic.specialty or ''}".casefold()):
        return
    yield Hit(found, words={"synovitis": recorded(found, case)})


@rule(
    "arthritis-score-from-hand-alone",
    QueryClass.INCOMPLETE,
    asks="{named}, and the blood test and the other joints that the score or criteria need are not recorded.",
    settle="Add what the score or criteria were worked out from, or where they come from.",
    source="DAS28 and the 2010 ACR/EULAR criteria (confirmed)",
)
def arthritis_score_from_hand_alone(case: Case) -> Iterator[Hit]:
    """The score and the criteria need more than an examination of the hand."""
    named = claims(case, "joint_score")
    if named and not case.mentioned("blood_tests"):
        yield Hit((), (named[0].path,), {"named": quoted(named[0])})


@rule(
    "psoriatic-named-without-skin-and-nails",
    QueryClass.INCOMPLETE,
    asks="{named}. Not recorded: {missing}. A reader may look for them.",
    settle="Record skin, nails and scalp, or say that they were not examined.",
    source="CASPAR criteria (confirmed)",
)
def psoriatic_named_without_skin_and_nails(case: Case) -> Iterator[Hit]:
    """Skin, nails and scalp carry much of the weight when the name is psoriatic."""
    named = claims(case, "psoriatic_arthritis")
    if not named:
        return
    missing = [name for name, items in _SKIN.items() if not accounted_for(case, *items)]
    if missing:
        yield Hit((), (named[0].path,), {"named": quoted(named[0]), "missing": listed(missing)})
