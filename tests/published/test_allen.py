"""Modified Allen test: flush within 6 s with the wrist slightly flexed (confirmed)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.allen import CONVENTION, CONVENTION_S, TEXTS_UP_TO_S, allen_test
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("flush_s", "beyond"),
    [pytest.param(8, True, id="worked: 8 s"), pytest.param(4, False, id="worked: 4 s"), (6, False), (6.1, True)],
)
def test_flush(flush_s, beyond):
    result = required(allen_test(flush_s, artery_released="ulnar", wrist_extension_deg=-10))

    assert (result.value.artery_released, result.value.beyond_normal) == ("ulnar", beyond)


@pytest.mark.parametrize(("extension_deg", "computable"), [(None, True), (20, True), (20.5, False), (45, False)])
def test_extended_wrist_gives_no_result(extension_deg, computable):
    outcome = allen_test(8, artery_released="radial", wrist_extension_deg=extension_deg)

    assert isinstance(outcome, NotComputable) is not computable


def test_other_cuts():
    """Conventional 5 to 7 s (from memory); texts allow up to 15 s (confirmed)."""
    assert (CONVENTION_S.low, CONVENTION_S.high, CONVENTION.mark, TEXTS_UP_TO_S) == (5, 7, "from memory", 15)


def test_missing():
    assert allen_test(None, artery_released="ulnar").missing == ("flush_s",)


@pytest.mark.parametrize(("flush_s", "artery"), [(-1, "ulnar"), (5, "brachial")])
def test_refused(flush_s, artery):
    with pytest.raises(InvalidValue, match="Allowed"):
        allen_test(flush_s, artery_released=artery)
