"""How long one page takes as DOCX, beside a general-purpose template filler writing the same words in the same run.

The ratio is written into the benchmark's extra_info; no time is asserted, since machines differ.
"""

from __future__ import annotations

import io
import time
from datetime import date
from pathlib import Path
from statistics import median
from typing import Any

import docx
import pytest
from docxtpl import DocxTemplate

from letterkit.letter.model import (
    Block,
    BulletList,
    Cell,
    Heading,
    Letter,
    Lines,
    Paragraph,
    Properties,
    Sentence,
    Table,
    Title,
)
from letterkit.render.docx import renderer

PLAIN = Path(__file__).parents[2] / "templates" / "letterheads" / "plain.docx"
ROUNDS = 30  # of the template filler, for its median

SENDER = ("Harrowmere Hand Clinic", "12 Mill Lane, Harrowmere", "Telephone 01632 960001")
RECIPIENT = ("Dr P Quillfeather", "Larkfield Surgery", "3 Orchard Row, Harrowmere")
IDENTITY = ("ASHDOWN, Marjorie (Mrs)", "Born 14-Jun-1951 (74)  NHS No. 999\u00a0000\u00a00018")
SECTIONS = (
    ("History", ("She has had tingling in the right thumb, index and middle fingers for six months.", "It is worse at night.", "She is right handed.")),
    ("Inspection and palpation", ("There is mild wasting of the right thenar eminence.", "No swelling, no scar and no colour change were found on either side.", "The base of the right thumb is not tender.")),
    ("Special tests", ("The wrist flexion test is positive on the right after 20 seconds and negative on the left.", "Tapping over the right carpal tunnel gives tingling in the middle finger.", "Power of thumb abduction is MRC grade 4 on the right and 5 on the left.")),
    ("Sensation", ("Light touch is reduced over the pulps of the right index and middle fingers.", "Two-point discrimination was not examined.")),
    ("Impression and plan", ("Right carpal tunnel syndrome.", "Night splint for six weeks, then review.")),
)  # fmt: skip
CAPTION = "Strength and movement"
HEADER = ("Measure", "Right", "Left")
ROWS = (
    ("Grip strength, mean of three (kg)", "14.0", "21.3"),
    ("Key pinch (kg)", "4.5", "6.0"),
    ("Thumb opposition, Kapandji score", "9", "10"),
    ("Wrist flexion (degrees)", "60", "70"),
    ("Wrist extension (degrees)", "55", "65"),
)
ACTIONS = ("Please renew the prescription for the splint.", "Please arrange the blood tests of the last letter.")
CLOSING = ("Miss O Tarrant", "Consultant hand surgeon")
MARK = "DRAFT: not yet approved by a clinician"
TITLE = "Clinic letter: hand and wrist"

CONTEXT: dict[str, Any] = {
    "sender": SENDER,
    "title": TITLE,
    "recipient": RECIPIENT,
    "identity": IDENTITY,
    "actions": ACTIONS,
    "sections": [{"name": name, "text": " ".join(sentences)} for name, sentences in SECTIONS],
    "caption": CAPTION,
    "rows": [{"name": name, "right": right, "left": left} for name, right, left in ROWS],
    "closing": CLOSING,
    "continuation": "  ".join(IDENTITY),
    "draft_mark": MARK,
}


def one_page() -> Letter:
    """The letter as a document model."""
    blocks: list[Block] = [
        Lines(SENDER, "sender"),
        Title(TITLE),
        Lines(RECIPIENT, "recipient"),
        Lines(IDENTITY, "identity"),
        Heading(1, "Actions for the practice"),
        BulletList(tuple((Sentence(action),) for action in ACTIONS)),
    ]
    for name, sentences in SECTIONS:
        blocks += [Heading(1, name), Paragraph(tuple(Sentence(text, ("f0",), "finding") for text in sentences))]
    rows = tuple((Cell(name), Cell(right, ("f1",)), Cell(left, ("f2",))) for name, right, left in ROWS)
    blocks += [Table(CAPTION, "", HEADER, rows), Lines(CLOSING, "signature")]
    about = Properties(TITLE, CLOSING[0], "en-GB", date(2026, 3, 5), "Draft")
    return Letter(about, tuple(blocks), "  ".join(IDENTITY), MARK)


def template() -> bytes:
    """The same letter as a template with loops, on the same letterhead."""
    document = docx.Document(str(PLAIN))

    def loop(name: str, text: str, style: str) -> None:
        document.add_paragraph(f"{{%p for line in {name} %}}")
        document.add_paragraph(text, style=style)
        document.add_paragraph("{%p endfor %}")

    loop("sender", "{{ line }}", "Letter Sender")
    document.add_paragraph("{{ title }}", style="Title")
    loop("recipient", "{{ line }}", "Letter Address")
    loop("identity", "{{ line }}", "Letter Identity")
    document.add_paragraph("Actions for the practice", style="Heading 1")
    loop("actions", "{{ line }}", "List Bullet")
    document.add_paragraph("{%p for section in sections %}")
    document.add_paragraph("{{ section.name }}", style="Heading 1")
    document.add_paragraph("{{ section.text }}", style="Letter Body")
    document.add_paragraph("{%p endfor %}")
    document.add_paragraph("{{ caption }}", style="Caption")
    table = document.add_table(4, 3, style="Letter Table")
    for cell, text in zip(table.rows[0].cells, HEADER, strict=True):
        cell.text = text
    table.rows[1].cells[0].text = "{%tr for row in rows %}"
    for cell, text in zip(table.rows[2].cells, ("{{ row.name }}", "{{ row.right }}", "{{ row.left }}"), strict=True):
        cell.text = text
    table.rows[3].cells[0].text = "{%tr endfor %}"
    loop("closing", "{{ line }}", "Letter Signature")
    for part in (document.sections[0].header, document.sections[0].first_page_header):
        for paragraph in part.paragraphs:
            paragraph.text = paragraph.text.replace("{{page}}", "")
    for part in (document.sections[0].footer, document.sections[0].first_page_footer):
        part.paragraphs[0].text = "Page"
    saved = io.BytesIO()
    document.save(saved)
    return saved.getvalue()


def fill(source: bytes) -> bytes:
    """Fill the template, as its library's manual does it; characters of markup escaped, as they must be."""
    filled = DocxTemplate(io.BytesIO(source))
    filled.render(CONTEXT, autoescape=True)
    saved = io.BytesIO()
    filled.save(saved)
    return saved.getvalue()


def _words(data: bytes) -> list[str]:
    words: list[str] = []
    for block in docx.Document(io.BytesIO(data)).iter_inner_content():
        if isinstance(block, docx.table.Table):
            words += [word for row in block.rows for cell in row.cells for word in cell.text.split()]
        else:
            words += block.text.split()
    return words


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_one_page_letter(benchmark: Any) -> None:
    """One page from the document model; the template filler's median and the ratio stand beside it."""
    letter, source, ours = one_page(), template(), renderer()
    assert _words(ours.render(letter)) == _words(fill(source))
    taken: list[float] = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        fill(source)
        taken.append(time.perf_counter() - start)

    benchmark(ours.render, letter)

    own = benchmark.stats.stats.median
    benchmark.extra_info["docxtpl_median_ms"] = round(median(taken) * 1000, 3)
    benchmark.extra_info["letterkit_median_ms"] = round(own * 1000, 3)
    benchmark.extra_info["times_as_fast"] = round(median(taken) / own, 1)
