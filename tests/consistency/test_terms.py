"""What the words of a text name, for which side and digit, and whether they assert it."""

from __future__ import annotations

import pytest

from letterkit.consistency.terms import Wording, digits_in, terms, words_of
from letterkit.errors import CatalogueError
from letterkit.findings.models import Encounter


def _wording(text, side=None):
    return Wording(
        Encounter.model_validate(
            {
                "patient": {"name": {"family": "Marlow"}},
                "examination": {},
                "impression": [{"text": text, "side": side}],
            }
        )
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Carpal tunnel syndrome on the right", ["asserted"]),
        ("Carpal-tunnel syndrome", ["asserted"]),
        ("CTS, left", ["asserted"]),
        ("No carpal tunnel syndrome", ["negated"]),
        ("There is no evidence of a carpal tunnel syndrome", ["negated"]),
        ("Carpal tunnel syndrome is unlikely", ["negated"]),
        ("Carpal tunnel syndrome excluded", ["negated"]),
        ("? carpal tunnel syndrome", ["doubtful"]),
        ("Possible carpal tunnel syndrome", ["doubtful"]),
        ("No wasting. Carpal tunnel syndrome", ["asserted"]),
        ("No wasting; carpal tunnel syndrome", ["asserted"]),
        ("No wasting, but carpal tunnel syndrome", ["asserted"]),
        ("Tunnel of the carpus", []),
        ("Neurocts", []),
    ],
)
def test_a_term_is_asserted_negated_or_doubted(text, said):
    assert [mention.said for mention in _wording(text).mentions("carpal_tunnel")] == said


@pytest.mark.parametrize(
    ("text", "side", "sides"),
    [
        ("Right carpal tunnel syndrome. He was left with numbness", None, {"right"}),
        ("Carpal tunnel syndrome, left with weakness on the right", None, {"right"}),
        ("Right carpal tunnel syndrome", None, {"right"}),
        ("Carpal tunnel syndrome, left", None, {"left"}),
        ("Carpal tunnel syndrome", "both", {"left", "right"}),
        ("Bilateral carpal tunnel syndrome", None, {"left", "right"}),
        ("Right carpal tunnel syndrome and left trigger thumb", None, {"right"}),
        ("Left trigger thumb. Right carpal tunnel syndrome", None, {"right"}),
        ("Left trigger thumb. Carpal tunnel syndrome", None, {"left"}),
        ("Left trigger thumb, right wrist pain. Carpal tunnel syndrome", None, set()),
        ("Carpal tunnel syndrome left untreated", None, set()),
        ("Carpal tunnel syndrome", None, set()),
        ("Left carpal tunnel syndrome", "right", {"right"}),
    ],
)
def test_the_side_of_a_term(text, side, sides):
    (mention,) = _wording(text, side).mentions("carpal_tunnel")

    assert mention.sides == sides


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("trigger thumb", {"thumb"}),
        ("index finger", {"index"}),
        ("the index and middle fingers", {"index", "middle"}),
        ("index to ring fingers", {"index", "middle", "ring"}),
        ("thumb to little finger", {"thumb", "index", "middle", "ring", "little"}),
        ("long finger", {"middle"}),
        ("ring MCPJ", {"ring"}),
        ("ring block and little improvement", set()),
        ("index operation", set()),
        ("middle phalanx of the ring finger", {"ring"}),
    ],
)
def test_the_digits_of_a_text(text, digits):
    assert digits_in(words_of(text)) == digits


def test_a_longer_phrase_names_its_own_term_and_the_one_inside_it():
    wording = _wording("Previous right carpal tunnel release")

    assert len(wording.mentions("carpal_tunnel_release")) == 1
    assert len(wording.mentions("carpal_tunnel")) == 1


def test_a_part_limits_where_a_term_is_looked_for():
    assert _wording("Right carpal tunnel release").mentions("carpal_tunnel_release", among=("plan",)) == ()


def test_an_unknown_term_is_refused_by_name():
    with pytest.raises(CatalogueError, match="no_such_term"):
        _wording("Right wrist").mentions("no_such_term")


def test_every_term_has_words_of_more_than_one_letter():
    assert all(len("".join(phrase)) > 1 for term in terms().values() for phrase in term.words)
