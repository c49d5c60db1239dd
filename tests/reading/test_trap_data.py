"""The short forms that are asked about, as data: loaded, frozen, and refused with their place when broken."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from letterkit.catalogue.traps import load_traps, traps
from letterkit.errors import CatalogueError

BROKEN = [
    ("[[trap]]\nterm = 'X'\nkind = 'side'\nreadings = []\naction = 'query'", "traps.toml: trap X: readings"),
    (
        "[[trap]]\nterm = 'X'\nkind = 'colour'\nreadings = [{means = 'a', when = 'b'}]\naction = 'query'",
        "traps.toml: trap X: kind",
    ),
    ("[[look_alike]]\nterms = ['A']", "traps.toml: look_alike number 1: terms"),
    ("[[spelling", "traps.toml: not readable"),
]


def test_every_kind_of_trap_is_there():
    assert traps().traps
    assert traps().statements
    assert traps().look_alikes
    assert traps().spellings


def test_a_trap_tells_what_to_ask():
    trap = next(trap for trap in traps().traps if trap.term == "CTD")

    assert "carpal tunnel decompression or connective tissue disease" in trap.question()


def test_a_trap_is_frozen():
    with pytest.raises(ValidationError, match="frozen"):
        traps().traps[0].term = "other"


@pytest.mark.parametrize(("data", "message"), BROKEN)
def test_broken_data_names_its_place(tmp_path, data, message):
    (tmp_path / "traps.toml").write_text(data, encoding="utf-8")

    with pytest.raises(CatalogueError, match=message.replace(":", r"\:")):
        load_traps(tmp_path)
