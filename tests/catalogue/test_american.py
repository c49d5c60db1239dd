"""American English: trade names, digits and spelling; slugs and what is recorded stay the same."""

from __future__ import annotations

import pytest
from made_records import drafted, found, record, sentences

from letterkit import check
from letterkit.catalogue import catalogue
from letterkit.catalogue.american import american, in_language
from letterkit.errors import InvalidInput

US = {"options": {"language": "en-US"}}

# finding, British sentence, American sentence
WORDS = {
    "oedema": (
        found("oedema", site="hand"), "There was oedema of the right hand.", "There was edema of the right hand.",
    ),
    "haematoma": (
        found("subungual_haematoma", site="thumb"),
        "There was a subungual haematoma of the right thumb.", "There was a subungual hematoma of the right thumb.",
    ),
    "colour": (
        found("skin_colour", "pale", site="hand"),
        "Skin colour of the right hand was pale.", "Skin color of the right hand was pale.",
    ),
    "middle finger": (
        found("triggering", site="middle"),
        "There was triggering of the right middle finger.", "There was triggering of the right long finger.",
    ),
    "little finger": (
        found("triggering", site="little"),
        "There was triggering of the right little finger.", "There was triggering of the right small finger.",
    ),
    "a joint of the middle finger": (
        found("swelling", site="middle PIP"),
        "There was swelling of the proximal interphalangeal joint of the right middle finger.",
        "There was swelling of the proximal interphalangeal joint of the right long finger.",
    ),
    "a range to the little finger": (
        found("triggering", site="middle to little"),
        "There was triggering of the right middle to little fingers.",
        "There was triggering of the right long to small fingers.",
    ),
    "range of movement": (
        found("range_of_movement", "reduced", site="thumb"),
        "Range of movement of the right thumb was reduced.", "Range of motion of the right thumb was reduced.",
    ),
    "decompression scar": (
        found("carpal_tunnel_scar"),
        "There was a carpal tunnel decompression scar on the right.", "There was a carpal tunnel release scar on the right.",
    ),
    "rest tremor": (
        found("rest_tremor", site="hand"),
        "There was a rest tremor of the right hand.", "There was a resting tremor of the right hand.",
    ),
    "fixed flexion deformity": (
        found("fixed_flexion_deformity", site="ring PIP"),
        "There was a fixed flexion deformity at the proximal interphalangeal joint of the right ring finger.",
        "There was a flexion contracture at the proximal interphalangeal joint of the right ring finger.",
    ),
    "a tap": (
        found("turning_tap", "unable"),
        "Turning a tap was not possible on the right.", "Turning a faucet was not possible on the right.",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("finding", "british", "american_words"), WORDS.values(), ids=WORDS)
def test_a_letter_speaks_the_language_asked_for(finding, british, american_words):
    assert sentences(finding) == [british]
    assert sentences(finding, **US) == [american_words]


@pytest.mark.parametrize("language", ["en-GB", "en-US"])
def test_lf_is_asked_about_in_either_language(language):
    """The little finger in Britain, the long (middle) finger in America: never guessed."""
    with pytest.raises(InvalidInput, match=r"findings\[0\]\.site: LF is the little finger in Britain and the long"):
        drafted(found("triggering", site="LF"), options={"language": language})


@pytest.mark.parametrize(
    ("term", "site"), [("long finger", "middle"), ("small finger", "little"), ("middle", "middle")]
)
def test_american_names_of_digits_are_read_in_a_british_record(term, site):
    assert [fact.site for fact in drafted(found("triggering", site=term)).facts.facts] == [site]


def test_only_words_differ():
    british, us = catalogue(), american(catalogue())
    for name in ("digits", "rows", "sites", "scales", "items", "problems", "cautions"):
        assert list(getattr(british, name)) == list(getattr(us, name))
    changed = {
        field
        for slug, item in british.items.items()
        for field in type(item).model_fields
        if getattr(item, field) != getattr(us.items[slug], field)
    }
    assert changed == {"name", "doctor", "patient"}


def test_the_british_catalogue_is_left_alone():
    assert in_language(catalogue(), "en-GB") is catalogue()
    american(catalogue())
    assert catalogue().digits["middle"].name == "middle finger"


def test_the_queries_are_the_same():
    findings = [found("thenar_wasting"), found("thenar_wasting", "absent")]
    assert [query.rule for query in check(record(*findings))] == [
        query.rule for query in check(record(*findings, **US))
    ]


NAMES = {
    "supinator_reflex": "The brachioradialis reflex was absent on the right.",
    "endoscopic_carpal_tunnel_scar": "There was an endoscopic carpal tunnel release scar on the right.",
}


@pytest.mark.parametrize("slug", NAMES)
def test_the_american_trade_name_is_told(slug):
    item = catalogue().items[slug]
    value = "absent" if item.scale else "present"
    finding = found(slug, value, site="thumb" if item.sites else None)
    assert sentences(finding, **US) == [NAMES[slug]]
