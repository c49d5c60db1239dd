"""The drawing of both hands: what is marked, on which hand, in shapes and words, and in every format."""

from __future__ import annotations

import io
import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import get_args

import docx
import pikepdf
import pytest
from lxml import etree
from pdf_text import structure

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Polarity
from letterkit.findings.models import Encounter
from letterkit.letter.model import Picture
from letterkit.pipeline import draft
from letterkit.render import renderer
from letterkit.render.hand_marks import KINDS, Kind
from letterkit.render.hand_shapes import BOTTOM, TOP, WIDTH, spot
from letterkit.render.hands import _PLACED, _mirrored, draw_hands
from letterkit.render.pixels import png

SVG = "{http://www.w3.org/2000/svg}"
CASES = sorted((Path(__file__).parents[2] / "demo_cases").glob("*.json"))


def _draft(*findings, drawing=True, **more):
    record = {"patient": {"name": {"family": "Marlow"}}, "examination": {"findings": list(findings)},
              "drafted": "2026-03-05", "options": {"drawing": drawing}}  # fmt: skip
    return draft(record | more)


def _drawn(*findings) -> Picture:
    picture = _draft(*findings).drawing
    assert picture is not None
    return picture


def _marks(picture: Picture) -> dict[str, list[float]]:
    """The places across the page of each numbered mark on the hands, by number."""
    found: dict[str, list[float]] = {}
    for text in etree.fromstring(picture.svg.encode()).iter(f"{SVG}text"):
        if text.get("text-anchor") == "middle":
            found.setdefault(text.text or "", []).append(float(text.get("x")))
    # The key's own mark stands at the edge of its column.
    return {number: [x for x in places if x not in {11.0, 246.0}] for number, places in found.items()}


def _shown_words(picture: Picture) -> str:
    return " ".join(text.text or "" for text in etree.fromstring(picture.svg.encode()).iter(f"{SVG}text"))


TRIGGER = {"item": "triggering", "side": "right", "site": "ring", "value": "present"}


@pytest.mark.parametrize(("side", "low", "high"), [("left", 0, 235), ("right", 235, 470)])
def test_a_finding_is_marked_on_its_own_hand_and_nowhere_else(side, low, high):
    picture = _drawn({**TRIGGER, "side": side})
    marks = _marks(picture)

    assert list(marks) == ["1"]
    assert len(marks["1"]) == 1
    assert all(low < x < high for x in marks["1"])
    other = "right" if side == "left" else "left"
    assert f"Marked on the {side} hand: 1, triggering of the {side} ring finger." in picture.alt
    assert f"Nothing is marked on the {other} hand." in picture.alt


def test_a_finding_on_both_sides_is_marked_on_both_hands():
    picture = _drawn({**TRIGGER, "side": "both"})

    assert [len(places) for places in _marks(picture).values()] == [1, 1]
    assert "1, triggering of the left ring finger" in picture.alt
    assert "2, triggering of the right ring finger" in picture.alt


def test_places_that_say_the_same_share_a_number():
    marks = _marks(_drawn({"item": "swelling", "side": "right", "site": "index to little MCP", "value": "present"}))

    assert {number: len(places) for number, places in marks.items()} == {"1": 4}


def test_only_positives_are_marked():
    assert _draft({**TRIGGER, "value": "absent"}).drawing is None
    assert _draft({"item": "jaundice", "value": "present"}).drawing is None
    assert _draft(TRIGGER, drawing=False).drawing is None


def test_the_views_are_those_the_findings_need():
    nail = {"item": "clubbing", "side": "right", "value": "present"}
    palm = {"item": "dupuytren_nodule", "side": "right", "site": "ring ray", "value": "present"}
    assert "seen from the palm," in _drawn(palm).alt
    assert (
        "seen from the back," in _drawn({"item": "swelling", "side": "right", "site": "wrist", "value": "present"}).alt
    )
    both = _drawn(palm, {"item": "nail_pitting", "side": "right", "site": "ring", "value": "present"})
    assert "seen from the back and the palm," in both.alt
    assert "Right hand, palm" in _shown_words(both)
    assert _draft(nail).drawing is None  # its name gives no single place


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_the_picture_the_description_and_the_alternative_text_say_the_same(case):
    drafted = draft(case.read_bytes())
    picture = draw_hands(drafted.facts, catalogue())
    if picture is None:
        return
    root = etree.fromstring(picture.svg.encode())
    assert root.findtext(f"{SVG}desc") == picture.alt
    assert root.findtext(f"{SVG}title")
    shown = " ".join(_shown_words(picture).split()).casefold()
    for told in re.findall(r"\d+, (.*?)(?:; (?=\d+, )|\.(?= Marked| Nothing|$))", picture.alt):
        assert " ".join(told.split()).casefold() in shown, told


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_every_mark_names_the_side_of_its_hand(case):
    picture = draw_hands(draft(case.read_bytes()).facts, catalogue())
    if picture is None:
        return
    for side, told in re.findall(r"Marked on the (left|right) hand: (.*?)\.(?= Marked| Nothing|$)", picture.alt):
        other = "left" if side == "right" else "right"
        for entry in re.split(r"; (?=\d+, )", told):
            assert re.search(rf"\b{side}\b", entry), entry
            assert not re.search(rf"\b({other}|both|either)\b", entry), entry


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_every_mark_stands_inside_the_drawing(case):
    picture = draw_hands(draft(case.read_bytes()).facts, catalogue())
    if picture is None:
        return
    root = etree.fromstring(picture.svg.encode())
    for text in root.iter(f"{SVG}text"):
        assert 0 <= float(text.get("x")) <= 470
        assert 0 <= float(text.get("y")) <= float(root.get("height"))


def test_no_fact_is_marked_that_was_not_recorded_as_positive():
    """As many numbers as groups of abnormal facts, and none of a normal one."""
    drafted = draft(CASES[0].read_bytes())
    normal = replace(drafted.facts, facts=tuple(f for f in drafted.facts.facts if f.polarity is Polarity.NORMAL))
    assert draw_hands(normal, catalogue()) is None


def test_every_place_of_the_hand_lies_on_the_field():
    known = catalogue()
    placed = {site.slug: found for site in known.sites.values()
              if (found := spot(site.slug, site.row, site.digit)) is not None}  # fmt: skip
    for slug, found in placed.items():
        assert 0 < found.point[0] < WIDTH, slug
        assert TOP < found.point[1] < BOTTOM, slug
    for row in ("mcp", "pip", "dip", "pulp", "nail"):
        for digit in ("index", "middle", "ring", "little"):
            assert f"{row}_{digit}" in placed
    assert "elbow" not in placed
    assert "neck" not in placed


def test_digits_stand_in_their_order_from_the_thumb():
    across = [spot(f"{row}_{digit}", row, digit).point[0]
              for row, digit in (("ip", "thumb"), ("pip", "index"), ("pip", "middle"), ("pip", "ring"), ("pip", "little"))]  # fmt: skip
    assert across == sorted(across)


def test_the_thumbs_of_the_backs_point_to_each_other_and_of_the_palms_apart():
    assert _mirrored("left", "back")
    assert not _mirrored("right", "back")
    assert _mirrored("right", "palm")
    assert not _mirrored("left", "palm")


def test_the_table_of_placed_items_names_items_and_sites_that_exist():
    known = catalogue()
    assert set(_PLACED) <= set(known.items)
    assert set(_PLACED.values()) <= set(known.sites)


def _luminance(shade: str) -> float:
    parts = [int(shade[index : index + 2], 16) / 255 for index in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_kinds_differ_in_shape_and_their_numbers_can_be_read():
    """Contrast by WCAG 2.2, 1.4.6: at least 7:1 for the number on its mark (from memory)."""
    assert set(KINDS) == set(get_args(Kind))
    assert len({look.shape for look in KINDS.values()}) == len(KINDS)
    for look in KINDS.values():
        assert 1.05 / (_luminance(look.shade) + 0.05) >= 7, look


def test_the_drawing_fetches_nothing_and_holds_no_script():
    svg = _drawn(TRIGGER).svg
    assert not re.search(r"<(script|image|use|a|foreignObject|style)\b|href|javascript|@import", svg)
    assert set(re.findall(r"url\((.*?)\)", svg)) <= {f"#hatch-{kind}" for kind in KINDS}


def test_words_of_the_record_cannot_act_as_markup():
    drafted = _draft({**TRIGGER, "note": "<script>alert(1)</script>"})
    assert drafted.drawing is not None
    assert "<script" not in drafted.drawing.svg


def test_the_same_findings_give_the_same_drawing():
    assert _drawn(TRIGGER) == _drawn(TRIGGER)


def test_american_words_stand_in_an_american_letter():
    record = {"options": {"drawing": True, "language": "en-US"}}
    picture = _draft({"item": "triggering", "side": "right", "site": "middle", "value": "present"}, **record).drawing
    assert picture is not None
    assert "right long finger" in picture.alt


# In the letter


@pytest.fixture(scope="module")
def illustrated():
    return _draft(TRIGGER, {"item": "thenar_wasting", "side": "left", "value": "present", "severity": "mild"})


def test_a_letter_has_no_drawing_unless_it_is_asked_for():
    assert Encounter.model_validate({"patient": {"name": {"family": "M"}}, "examination": {}}).options.drawing is False
    letter = _draft(TRIGGER, drawing=False).letter
    assert not [block for block in letter.blocks if isinstance(block, Picture)]


def test_text_prints_what_the_drawing_shows(illustrated):
    assert illustrated.drawing.alt in " ".join(illustrated.render("text").decode().split())


def test_a_web_page_holds_the_drawing_itself(illustrated):
    page = illustrated.render("html").decode()
    assert illustrated.drawing.svg in page
    assert 'aria-labelledby="hands-title hands-description"' in page


def test_a_pdf_holds_the_drawing_with_its_alternative_text(illustrated):
    with pikepdf.open(io.BytesIO(illustrated.render("pdf"))) as pdf:
        figures = [node for tag, node in structure(pdf.Root.StructTreeRoot) if tag == "/Figure"]
        assert [str(figure.Alt) for figure in figures] == [illustrated.drawing.alt]


def test_a_word_document_holds_the_drawing_twice_with_its_alternative_text(illustrated):
    data = illustrated.render("docx")
    document = docx.Document(io.BytesIO(data))
    (shape,) = document.inline_shapes
    assert shape._inline.docPr.get("descr") == illustrated.drawing.alt
    section = document.sections[0]
    assert shape.width <= section.page_width - section.left_margin - section.right_margin
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.read("word/media/letter_drawing0.svg").decode() == illustrated.drawing.svg
        assert archive.read("word/media/letter_drawing0.png") == png(illustrated.drawing.svg)
        assert archive.read("word/media/letter_drawing0.png").startswith(b"\x89PNG")
        types = archive.read("[Content_Types].xml").decode()
        relations = archive.read("word/_rels/document.xml.rels").decode()
        names = archive.namelist()
    assert types.count('PartName="/word/media/letter_drawing0.') == 2
    for target in re.findall(r'Target="(media/[^"]+)"', relations):
        assert f"word/{target}" in names
    assert data == illustrated.render("docx")


def test_a_document_without_a_drawing_has_no_media():
    with zipfile.ZipFile(io.BytesIO(_draft(TRIGGER, drawing=False).render("docx"))) as archive:
        assert not [name for name in archive.namelist() if "media" in name]


def test_a_tall_drawing_stays_on_one_page_of_a_word_document(with_blocks):
    tall = Picture('<svg xmlns="http://www.w3.org/2000/svg" width="470" height="1400"/>', "Tall.")
    document = docx.Document(io.BytesIO(renderer("docx").render(with_blocks(tall))))
    assert document.inline_shapes[0].height.pt <= 640
    assert document.inline_shapes[0].height / document.inline_shapes[0].width == pytest.approx(1400 / 470, rel=1e-3)


def test_the_drawing_takes_no_finding_out_of_the_text():
    record = json.loads(CASES[0].read_text())
    plain = draft(record)
    record.setdefault("options", {})["drawing"] = True
    assert draft(record).sentences() == plain.sentences()
