"""Kapandji opposition score, Ann Chir Main 1986 (confirmed; 0 from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.kapandji import NORMAL_FROM, kapandji_landmark, kapandji_score
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("score", "landmark", "mark"),
    [
        pytest.param(*row, id=f"Kapandji 1986 ({row[2]}) {row[0]}")
        for row in (
            (0, "none", "from memory"),
            (1, "index_second_phalanx_radial_side", "confirmed"),
            (2, "index_third_phalanx_radial_side", "confirmed"),
            (3, "index_tip", "confirmed"),
            (4, "middle_tip", "confirmed"),
            (5, "ring_tip", "confirmed"),
            (6, "little_tip", "confirmed"),
            (7, "little_dip_crease", "confirmed"),
            (8, "little_pip_crease", "confirmed"),
            (9, "little_proximal_crease", "confirmed"),
            (10, "distal_palmar_crease", "confirmed"),
        )
    ],
)
def test_score(score, landmark, mark):
    result = required(kapandji_score(landmark))

    assert (result.value, result.source.mark) == (score, mark)
    assert kapandji_landmark(score) == landmark


def test_normal_from_memory():
    assert NORMAL_FROM == 9


def test_missing_landmark():
    outcome = kapandji_score(None)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == ("reached",)


def test_crawling_thumb_does_not_score():
    assert isinstance(kapandji_score("little_tip", early_stages_possible=False), NotComputable)
    assert required(kapandji_score("little_tip", early_stages_possible=True)).value == 6


@pytest.mark.parametrize("score", [-1, 11, 6.5])
def test_score_off_the_scale_is_refused(score):
    with pytest.raises(InvalidValue, match="0 to 10"):
        kapandji_landmark(score)


def test_unknown_landmark_is_refused():
    with pytest.raises(InvalidValue, match="Allowed: none"):
        kapandji_score("elbow")
