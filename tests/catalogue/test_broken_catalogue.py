"""A broken catalogue is refused at load, with file, entry and reason."""

from __future__ import annotations

import shutil
from importlib import resources
from pathlib import Path

import pytest

from letterkit.catalogue import load
from letterkit.catalogue.model import Stage
from letterkit.errors import CatalogueError

DATA = Path(str(resources.files("letterkit.catalogue") / "data"))


def block(**changes: str) -> str:
    """One more item, its lines changed, added or (with an empty text) left out."""
    lines = {
        "slug": '"sample"', "name": '"sample"', "value": '"presence"', "weight": "3",
        "doctor": '{ noun = "sample", place = "side" }', "patient": '{ noun = "sample", place = "side" }',
    } | changes  # fmt: skip
    return "\n[[item]]\n" + "\n".join(f"{key} = {value}" for key, value in lines.items() if value) + "\n"


TEST_WORDS = {
    "value": '"test"',
    "doctor": '{ subject = "sample" }',
    "patient": '{ subject = "sample", positive = "hurt", negative = "did not hurt" }',
}
QUANTITY = {"value": '"quantity"', "doctor": '{ subject = "sample" }', "patient": '{ subject = "sample" }'}
STATE = {"value": '"state"', "doctor": '{ subject = "sample" }', "patient": '{ subject = "sample" }'}

# file, text added to it, what the message holds
ADDED = {
    "TOML that does not parse": ("palpation.toml", "\n[[item]\n", ["palpation.toml", "not readable as TOML"]),
    "duplicate slug in one file": ("palpation.toml", block() + block(), ["palpation.toml", "item sample", "defined twice"]),
    "duplicate slug in two files": (
        "special_tests.toml", block(slug='"swelling"'), ["special_tests.toml", "swelling", "defined in inspection.toml too"],
    ),
    "synonym of two items": (
        "palpation.toml", block(synonyms='["Phalen"]', slug='"phalen_alike"', name='"phalen alike"'),
        ["special_tests.toml", "phalen_test", "'phalen'", "also means phalen_alike", "ambiguous"],
    ),
    "synonym of two items in another case": (
        "palpation.toml", block(synonyms='["THENAR WASTING"]'), ["palpation.toml", "sample", "'thenar wasting'", "thenar_wasting"],
    ),
    "ambiguous term that is plain elsewhere": (
        "palpation.toml", block(ambiguous='["thenar wasting"]'), ["palpation.toml", "sample", "'thenar wasting'", "thenar_wasting"],
    ),
    "unknown site": (
        "palpation.toml", block(sites='["wirst"]'), ["palpation.toml", "item sample", "'wirst'", "did you mean wrist"],
    ),
    "unknown scale": ("palpation.toml", block(**STATE, scale='"sensaton"'), ["palpation.toml", "sample", "'sensaton'", "sensation"]),
    "state of words that the scale lacks": (
        "palpation.toml", block(**STATE | {"doctor": '{ subject = "sample", states = { fine = "fine" } }'}, scale='"sensation"'),
        ["palpation.toml", "sample", "states", "'fine'"],
    ),
    "state item without a scale": ("palpation.toml", block(**STATE), ["palpation.toml", "sample", "no scale"]),
    "presence item with a scale": ("palpation.toml", block(scale='"sensation"'), ["palpation.toml", "sample", "only a state item"]),
    "unknown problem": (
        "palpation.toml", block(bears_on='["numb_hands"]'), ["palpation.toml", "sample", "bears_on", "'numb_hands'", "numb_hand"],
    ),
    "missing wording for a doctor": ("palpation.toml", block(doctor=""), ["palpation.toml", "sample", "doctor"]),
    "missing wording for a patient": ("palpation.toml", block(patient=""), ["palpation.toml", "sample", "patient"]),
    "presence item without a noun": (
        "palpation.toml", block(doctor='{ subject = "sample" }'), ["palpation.toml", "sample", "doctor.noun is missing"],
    ),
    "test without a subject": (
        "palpation.toml", block(**TEST_WORDS | {"doctor": '{ noun = "sample" }'}), ["sample", "doctor.subject is missing"],
    ),
    "test without words for a patient": (
        "palpation.toml", block(**TEST_WORDS | {"patient": '{ subject = "sample" }'}), ["sample", "patient.positive"],
    ),
    "place without sites": (
        "palpation.toml", block(doctor='{ noun = "sample", place = "over" }'), ["sample", "doctor.place is over", "no sites"],
    ),
    "quantity without bounds": ("movement.toml", block(**QUANTITY, unit='"kg"'), ["movement.toml", "sample", "unit, minimum and maximum"]),
    "quantity without a unit": ("movement.toml", block(**QUANTITY, minimum="0", maximum="9"), ["sample", "unit, minimum and maximum"]),
    "arc without bounds": (
        "movement.toml", block(**QUANTITY | {"value": '"arc"'}, unit='"deg"'), ["movement.toml", "sample", "minimum and maximum in degrees"],
    ),
    "unit nobody knows": ("movement.toml", block(**QUANTITY, unit='"lb"', minimum="0", maximum="9"), ["sample", "unit", "kg"]),
    "kind of value nobody knows": ("movement.toml", block(value='"number"'), ["sample", "value", "presence"]),
    "field nobody knows": ("movement.toml", block(colour='"red"'), ["sample", "colour", "not permitted"]),
    "weight out of range": ("movement.toml", block(weight="6"), ["sample", "weight", "less than or equal to 5"]),
    "slug that is no slug": ("movement.toml", block(slug='"Bad Slug"'), ["movement.toml", "Bad Slug", "slug"]),
    "item without a slug is named by its number": ("function.toml", block(slug=""), ["function.toml", "item number ", "slug"]),
    "two items with one noun and no site": (
        "palpation.toml", block(doctor='{ noun = "thenar wasting", place = "side" }'),
        ["palpation.toml", "sample", "'thenar wasting'", "thenar_wasting", "other words or other sites"],
    ),
    "two items with one noun at a shared site": (
        "palpation.toml",
        block(doctor='{ noun = "tenderness", place = "over" }', sites='["a1", "snuffbox"]'),
        ["palpation.toml", "sample", "'tenderness'", "a1_pulley_tenderness"],
    ),
    "two states with one subject and one word in common": (
        "palpation.toml",
        block(**STATE | {"doctor": '{ subject = "the composite fist" }'}, scale='"full_reduced"'),
        ["sample", "'the composite fist'", "composite_fist"],
    ),
    "a test with the subject of a state": (
        "special_tests.toml", block(**TEST_WORDS | {"doctor": '{ subject = "the composite fist" }'}), ["sample", "composite_fist"],
    ),
    "two powers of one muscle": (
        "special_tests.toml", block(**STATE | {"value": '"mrc"', "doctor": '{ subject = "abductor pollicis brevis" }'}),
        ["sample", "'power of abductor pollicis brevis'", "apb_power"],
    ),
    "problem that names no item": (
        "problems.toml",
        ('\n[[problem]]\nslug = "sample"\nname = "sample"\npatient = "sample"\nnegatives = [{ items = ["phalens_test"], '
        'argues_against = "x", source = "x", mark = "from memory" }]\n'),
        ["problems.toml", "problem sample", "'phalens_test'", "phalen_test"],
    ),
    "problem without negatives": (
        "problems.toml", '\n[[problem]]\nslug = "sample"\nname = "sample"\npatient = "sample"\nnegatives = []\n',
        ["problems.toml", "problem sample", "negatives"],
    ),
    "problem with another's name": (
        "problems.toml",
        ('\n[[problem]]\nslug = "sample"\nname = "Numb_Hand"\npatient = "sample"\nnegatives = [{ items = ["phalen_test"], '
        'argues_against = "x", source = "x", mark = "from memory" }]\n'),
        ["problems.toml", "problem sample", "'numb_hand'", "also means numb_hand"],
    ),
    "caution without a condition": (
        "cautions.toml",
        '\n[[caution]]\nslug = "sample"\nurgent = false\ndoctor = "x"\npatient = "x"\nsource = "x"\nmark = "from memory"\n',
        ["cautions.toml", "caution sample", "has no condition"],
    ),
    "caution of an unknown item": (
        "cautions.toml",
        ('\n[[caution]]\nslug = "sample"\nurgent = false\nany = [{ item = "puss" }]\ndoctor = "x"\npatient = "x"\nsource = "x"\n'
        'mark = "from memory"\n'),
        ["cautions.toml", "caution sample", "'puss'", "pus"],
    ),
    "scale without a normal state": (
        "scales.toml",
        ('\n[[scale]]\nslug = "sample"\nstates = [{ slug = "a", polarity = "abnormal", doctor = "a", patient = "a" }, '
        '{ slug = "b", polarity = "abnormal", doctor = "b", patient = "b" }]\n'),
        ["scales.toml", "scale sample", "no state of polarity normal"],
    ),
    "row of an unknown digit": (
        "sites.toml",
        ('\n[[row]]\nslug = "sample"\nkind = "joint"\nname = "sample"\nplural = "samples"\ndigits = ["pinky"]\norder = 1\n'
        'patient = "x"\npatient_plural = "x"\n'),
        ["sites.toml", "row sample", "'pinky'"],
    ),
    "site in an unknown whole": (
        "sites.toml", ('\n[[site]]\nslug = "sample"\nkind = "region"\npart_of = ["wrst"]\nname = "sample"\nplural = "samples"\n'
        'order = 999\npatient = "your sample"\npatient_plural = "your samples"\n'),
        ["sites.toml", "site sample", "'wrst'", "wrist"],
    ),
    "group of an unknown site": (
        "sites.toml", '\n[[group]]\nslug = "sample"\nsites = ["indx"]\n', ["sites.toml", "group sample", "'indx'", "index"],
    ),
    "site defined twice": (
        "sites.toml",
        '\n[[site]]\nslug = "index"\nkind = "region"\nname = "x"\nplural = "x"\norder = 1\npatient = "x"\npatient_plural = "x"\n',
        ["sites.toml", "site index", "defined twice"],
    ),
}  # fmt: skip


@pytest.fixture
def data(tmp_path):
    for file in DATA.glob("*.toml"):
        shutil.copy(file, tmp_path)
    return tmp_path


def test_an_unchanged_copy_loads(data):
    assert "phalen_test" in load(data).items


def test_the_sample_item_alone_is_sound(data):
    with (data / "palpation.toml").open("a", encoding="utf-8") as file:
        file.write(block())

    assert load(data).items["sample"].name == "sample"


@pytest.mark.parametrize(("file", "text", "told"), ADDED.values(), ids=ADDED)
def test_a_broken_entry_is_refused_by_name(data, file, text, told):
    with (data / file).open("a", encoding="utf-8") as opened:
        opened.write(text)

    with pytest.raises(CatalogueError) as caught:
        load(data)

    message = str(caught.value)
    assert [part for part in told if part not in message] == [], message
    assert "\n" not in message


def test_items_with_one_noun_at_different_sites_are_told_apart(data):
    with (data / "palpation.toml").open("a", encoding="utf-8") as file:
        file.write(block(doctor='{ noun = "thenar wasting", place = "over" }', sites='["snuffbox"]'))

    assert "sample" in load(data).items


def test_states_with_one_subject_and_no_word_in_common_are_told_apart():
    catalogue = load(DATA)

    assert catalogue.items["lump_plane"].doctor.subject == catalogue.items["lump_mobility"].doctor.subject


@pytest.mark.parametrize("file", ["sites", "scales", "problems", "cautions", *(stage.value for stage in Stage)])
def test_a_missing_file_is_named(data, file):
    (data / f"{file}.toml").unlink()

    with pytest.raises(CatalogueError, match=rf"{file}\.toml: cannot be read"):
        load(data)


def test_a_file_that_is_not_utf_8_is_named(data):
    (data / "function.toml").write_bytes("# Ødegård".encode("latin-1"))

    with pytest.raises(CatalogueError, match=r"function\.toml: not UTF-8 text"):
        load(data)


@pytest.mark.parametrize("slug", ["urgent", "other"])
def test_cautions_without_the_sentence_that_defers_are_refused(data, slug):
    path = data / "cautions.toml"
    path.write_text(
        path.read_text("utf-8").replace(f'[[deferral]]\nslug = "{slug}"', '[[deferral]]\nslug = "later"'), "utf-8"
    )

    with pytest.raises(CatalogueError, match=r"cautions\.toml: deferral later: slug"):
        load(data)
