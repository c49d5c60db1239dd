"""Rules about infection, bites, and hot or swollen joints. They ask whether the plan covers what was recorded."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.consistency.claims import claims, quoted
from letterkit.consistency.durations import duration_days
from letterkit.consistency.joints import same_site
from letterkit.consistency.lookups import abnormals, entries, entry, number, opening, recorded
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY, OPINION
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side

_KANAVEL = (
    "kanavel_flexed_posture", "kanavel_passive_extension_pain", "fusiform_swelling", "flexor_sheath_tenderness",
)  # fmt: skip
_ENOUGH_SIGNS = 2
_KENNEDY = "Kennedy 2017, Hand 12:585-90 (confirmed)"
_HOT_JOINT = "BSR guideline on the hot swollen joint, Rheumatology 2006;45:1039 (confirmed)"
_RECENT_DAYS = 14
_BITES = ("bite_wound", "fight_bite")
_WOUNDS = ("wound", "laceration", "puncture_wound")
_SPREADING = ("cellulitis", "lymphangitis")
_KNUCKLE_SITES = ("dorsum", "hand")
_JOINT_ROWS = ("mcp", "pip", "dip", "ip")
_STIFF = ("pip_movement", "finger_mcp_movement", "dip_movement", "thumb_mcp_movement", "thumb_ip_movement",
          "range_of_movement", "pain_on_movement")  # fmt: skip
PLAN_QUESTION = "Does the plan cover this, under local policy?"


def _by_digit(case: Case) -> dict[tuple[Side | None, str | None], dict[str, Fact]]:
    """The Kanavel signs recorded as present, by side and digit, one a sign."""
    found: dict[tuple[Side | None, str | None], dict[str, Fact]] = {}
    for fact in case.abnormal(*_KANAVEL):
        if case.digit(fact):
            found.setdefault((fact.side, case.digit(fact)), {}).setdefault(fact.item, fact)
    return found


@rule(
    "two-or-more-sheath-signs",
    QueryClass.URGENT,
    asks="{signs}. " + PLAN_QUESTION,
    settle="Confirm the signs, and read the plan again with them in mind.",
    source=_KENNEDY,
)
def two_or_more_sheath_signs(case: Case) -> Iterator[Hit]:
    """Two or more of Kanavel's four signs in one digit are never passed over in silence."""
    asked: set[tuple[Side | None, str | None]] = set()
    for place, signs in _by_digit(case).items():
        if len(signs) >= _ENOUGH_SIGNS:
            asked.add(place)
            yield Hit(tuple(signs.values()), words={"signs": f"{recorded(tuple(signs.values()), case)} in one digit"})
    for count in case.of("kanavel_signs"):
        if (number(count) or 0) >= _ENOUGH_SIGNS and (count.side, case.digit(count)) not in asked:
            yield Hit((count,), words={"signs": recorded((count,), case)})


@rule(
    "bite-or-wound-over-knuckle",
    QueryClass.URGENT,
    asks="{wound} is recorded{told}. " + PLAN_QUESTION,
    settle="Confirm the wound and how it came about, and read the plan again with both in mind.",
    source="NICE NG184, human and animal bites (confirmed)",
)
def bite_or_wound_over_knuckle(case: Case) -> Iterator[Hit]:
    """A bite that broke the skin, or a wound over a knuckle after a punch, may have entered a joint."""
    for bite in case.abnormal(*_BITES):
        yield Hit((bite,), words={"wound": opening(entry(bite, case)), "told": ""})
    punches = case.named("punch", among=HISTORY)
    if not punches:
        return
    for wound in case.abnormal(*_WOUNDS):
        site = case.catalogue.sites[wound.site] if wound.site else None
        if site is not None and (site.row == "mcp" or site.slug in _KNUCKLE_SITES):
            words = {"wound": opening(entry(wound, case)), "told": ", and a blow or tooth is told of in the history"}
            yield Hit((wound,), (punches[0].path,), words)


@rule(
    "spreading-signs-beside-minor-infection",
    QueryClass.URGENT,
    asks="{named}, and {spread}. Are the word and the signs both as intended, and does the plan cover the signs, under "
    "local policy?",
    settle="Correct the wording or the signs, and read the plan again.",
    source="common practice, no source",
)
def spreading_signs_beside_minor_infection(case: Case) -> Iterator[Hit]:
    """Fever or spreading redness does not go with an infection that is called minor."""
    for mention in claims(case, "infection"):
        around = case.wording.mentions("minor", among=OPINION)
        if not any(one.path == mention.path and one.said != "negated" for one in around):
            continue
        spreading = case.abnormal(*_SPREADING)
        fevers = case.named("fever", among=HISTORY)
        if spreading or fevers:
            spread = f"{entries(spreading, case)} stands beside it" if spreading else "the history tells of fever"
            paths = (mention.path, *(one.path for one in fevers[:1]))
            yield Hit(spreading, paths, {"named": quoted(mention), "spread": spread})


@rule(
    "afebrile-as-the-reason",
    QueryClass.UNUSUAL,
    asks="{named}, with the absence of fever beside it. About half of infected joints have no fever; is more meant?",
    settle="Add what else the wording rests on, or leave it as it is.",
    source="septic arthritis, fever in about half, after Margaretten, JAMA 2007 (confirmed)",
)
def afebrile_as_the_reason(case: Case) -> Iterator[Hit]:
    """A normal temperature is weak evidence on its own."""
    for mention in case.wording.mentions("infection", "septic_joint", among=OPINION):
        if mention.said != "negated":
            continue
        calm = [one for one in case.wording.mentions("afebrile", among=OPINION) if one.path == mention.path]
        if calm and not case.wording.mentions("blood_tests", "imaging", among=OPINION):
            yield Hit((), (mention.path,), {"named": quoted(mention)})
            return


@rule(
    "hot-swollen-stiff-single-joint",
    QueryClass.URGENT,
    asks="One hot, swollen and stiff or painful joint is recorded: {found}. " + PLAN_QUESTION,
    settle="Confirm the findings and how long they have lasted, and read the plan again.",
    source=_HOT_JOINT,
)
def hot_swollen_stiff_single_joint(case: Case) -> Iterator[Hit]:
    """A single joint that is hot, swollen and hard to move, for less than two weeks as far as is told."""
    joints: dict[tuple[Side | None, str | None], tuple[Fact, ...]] = {}
    for hot in case.of("skin_temperature"):
        site = case.catalogue.sites[hot.site] if hot.site else None
        if hot.state not in {"warm", "hot"} or site is None or (site.row or site.slug) not in {*_JOINT_ROWS, "wrist"}:
            continue
        swollen = abnormals(same_site(case, hot, "swelling", "synovitis", "effusion"))
        stiff = abnormals(same_site(case, hot, *_STIFF))
        if site.slug == "wrist":
            stiff += case.abnormal("wrist_flexion", "wrist_extension", "wrist_flexion_range", side=hot.side)
        if swollen and stiff:
            joints[hot.side, hot.site] = (hot, *swollen, *stiff)
    if len(joints) == 1 and ((lasted := duration_days(case)) is None or lasted < _RECENT_DAYS):
        facts = next(iter(joints.values()))
        yield Hit(facts, words={"found": entries(facts, case)})
