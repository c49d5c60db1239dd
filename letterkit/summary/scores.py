"""The published scales that a record's options choose, worked out from its facts.

Nothing is inferred: a scale whose items were not all recorded gives what is missing. No scale changes what else the
letter says, and none is turned into a diagnosis or an urgency. The arithmetic itself is in the room of measures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.consistency.rule import Case
from letterkit.findings.facts import Facts
from letterkit.findings.models import Encounter, ScaleName
from letterkit.summary import scales_criteria, scales_entries, scales_movement
from letterkit.summary.statement import Score

Scale: TypeAlias = Callable[[Case], Iterator[Score]]

SCALES: Mapping[ScaleName, Scale] = MappingProxyType(
    {
        "total_active_motion": scales_movement.asshs_total,
        "strickland": scales_movement.stricklands_share,
        "extension_deficit": scales_movement.extension_deficit,
        "grip_norms": scales_entries.grip_norms,
        "pinch_norms": scales_entries.pinch_norms,
        "hands_compared": scales_entries.hands_compared,
        "kapandji": scales_movement.kapandjis_score,
        "two_point": scales_entries.two_point_bands,
        "monofilament": scales_entries.monofilament_bands,
        "trigger_grade": scales_entries.trigger_grades,
        "joint_counts": scales_criteria.joint_counts,
        "cts6": scales_criteria.carpal_tunnel_six,
        "hand_osteoarthritis": scales_criteria.hand_osteoarthritis,
        "rheumatoid_joints": scales_criteria.rheumatoid_joints,
    }
)


def scores(encounter: Encounter, facts: Facts, catalogue: Catalogue) -> tuple[Score, ...]:
    """The chosen scales in the order of the options, each once, place by place; empty where none is chosen."""
    chosen = tuple(dict.fromkeys(encounter.options.measures))
    if not chosen:
        return ()
    case = Case(encounter, facts, catalogue)
    return tuple(score for name in chosen for score in SCALES[name](case))
