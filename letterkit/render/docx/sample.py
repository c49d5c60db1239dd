"""An invented letter that shows every style of a letterhead on its pages."""

from __future__ import annotations

from datetime import date

from letterkit.letter.model import (
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

_IDENTITY = "SAMPLE, Person (Mx)  Born 01-Jan-1970  NHS\u00a0No. 999\u00a0000\u00a00018"
_FILLER = (
    "This paragraph stands where findings would. It fills the page, so that the head of the second page can be seen "
    "with the identity of the patient, the draft mark and the number of the page."
)


def _paragraph(text: str) -> Paragraph:
    return Paragraph((Sentence(text),))


def sample_letter() -> Letter:
    """A draft of two pages with each kind of block; nobody in it exists, and it states no finding."""
    return Letter(
        properties=Properties("Sample of a letterhead", "Letterhead check", "en-GB", date(2026, 1, 1), "Draft"),
        blocks=(
            Title("Sample of a letterhead"),
            Lines(("Name of the clinic, specialty, hospital", "Street, town, postcode  Telephone"), "sender"),
            Lines(("Clinic date 01-Jan-2026   Drafted 01-Jan-2026",), "dates"),
            Lines(("Name of the recipient, role, practice", "Street, town, postcode"), "recipient"),
            Paragraph((Sentence("Dear colleague,"),), "salutation"),
            Paragraph((Sentence(_IDENTITY),), "subject"),
            Lines(("Address, handedness and occupation",), "identity"),
            Paragraph((Sentence("A caution stands apart from the text around it."),), "caution"),
            Heading(1, "A section"),
            BulletList(((Sentence("An entry of a list."),), (Sentence("A second entry."),))),
            Heading(2, "A sub-section"),
            *[_paragraph(_FILLER) for _ in range(14)],
            Table(
                "Caption of a table",
                "A sample table with one row: the name of a measurement, and a value for each side.",
                ("Measurement", "Right", "Left"),
                ((Cell("Name of a measurement (unit)"), Cell("0"), Cell("0")),),
            ),
            Paragraph((Sentence("Small print below a table."),), "small"),
            Paragraph((Sentence("A note."),), "note"),
            Heading(1, "Person completing record"),
            Lines(("Name, qualification, role", "Telephone"), "signature"),
        ),
        continuation=_IDENTITY,
        draft_mark="SAMPLE - not a letter about anybody",
    )
