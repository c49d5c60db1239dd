"""What a clinic's letter templates may name, and the page of documentation made from it.

The two tables are the only place where a value of a template is explained; a test holds them to the values themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import get_args

from letterkit.letter.model import Role
from letterkit.letter.templates import FILTERS, TESTS

# name: what it holds, and how a template places it
LETTER_VALUES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "sender": ("the clinic with its address", "block"),
        "dates": ("clinic date, date of drafting, reference, and who saw the patient", "block"),
        "recipient": ("name, role and address of who receives the letter; empty where not given", "block"),
        "recipient_name": ("the recipient's name alone", "words"),
        "service": ("the recipient's organisation or, without one, the name", "words"),
        "salutation": ("how the recipient is addressed, without 'Dear'", "words"),
        "subject": ("the patient's name, date of birth with age, gender and identifiers", "words"),
        "identity": ("preferred name, address, handedness, occupation, individual requirements", "block"),
        "urgent": ("cautions that call for prompt reading, with the sentence that defers to local policy", "sentences"),
        "cautions": ("the other cautions, with the sentence that defers to local policy", "sentences"),
        "diagnoses": ("the clinician's diagnoses, one an entry", "list"),
        "actions.recipient": ("what the plan asks of the recipient, one an entry", "list"),
        "actions.clinic": ("what the plan leaves to the clinic, one an entry", "list"),
        "actions.patient": ("what the plan leaves to the patient, one an entry", "list"),
        "impression": ("the clinician's impression", "sentences"),
        "reason": ("reason for the visit, and the question asked", "sentences"),
        "is_first_visit": ("whether this is a first visit", "condition"),
        "history": ("what the patient and the record tell", "sentences"),
        "findings.change": ("what changed since an earlier examination, and what its size was held against", "block"),
        "findings.positive": ("what departs from normal, most telling first", "block"),
        "findings.negative": ("what is as expected, most telling first", "block"),
        "findings.normal": ("stages recorded as normal as a whole", "sentences"),
        "findings.measurements": ("the table of measurements; empty where there are few", "block"),
        "findings.sources": ("sources of the expected ranges in that table", "sentences"),
        "findings.unexamined": ("what was not examined, and why", "sentences"),
        "scales.entries": ("the published scales that options.measures chooses, one an entry", "list"),
        "scales.sources": ("sources of those scales, and what their values must not be used for", "sentences"),
        "drawing": ("the drawing of the findings; empty unless options.drawing asks for it", "block"),
        "information": ("information and advice that was given, one an entry", "list"),
        "medication": ("medicines and devices", "sentences"),
        "allergies": ("allergies and adverse reactions, or that none were supplied", "sentences"),
        "missing": ("what the letter standard requires and the record lacks", "sentences"),
        "has_author": ("whether the record names its author", "condition"),
        "signature": ("who completed the record", "block"),
        "copies": ("everybody who receives the letter", "sentences"),
        "is_draft": ("whether nobody has approved the letter", "condition"),
        "approval.statement": ("who approved the letter and when; a final letter must print it", "sentences"),
        "approval.correction": ("which earlier letter this one replaces; a correction must print it", "sentences"),
        "draft_mark": ("the mark of a draft; renderers set it on every page by themselves", "words"),
    }
)
PATIENT_VALUES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "sender": ("the clinic with its address", "block"),
        "dates": ("date of the letter", "block"),
        "recipient": ("the patient's name and address", "block"),
        "salutation": ("how the patient is addressed, without 'Dear'", "words"),
        "subject": ("name, date of birth and identifiers", "words"),
        "opening": ("when and why the patient was seen", "sentences"),
        "findings.found": ("what departs from normal, with trade words explained, one an entry", "list"),
        "findings.normal": ("what is as expected", "block"),
        "findings.rest": ("stages recorded as normal as a whole", "sentences"),
        "findings.unexamined": ("what was not checked, and why", "block"),
        "diagnoses": ("the clinician's diagnoses, with trade words explained, one an entry", "list"),
        "impression": ("the clinician's impression, with trade words explained, one an entry", "list"),
        "actions.patient": ("what the plan leaves to the patient, one an entry", "list"),
        "actions.clinic": ("what the plan leaves to the clinic, one an entry", "list"),
        "actions.recipient": ("what the plan asks of the doctor, one an entry", "list"),
        "recipient_name": ("name of the doctor who receives the letter, or 'your doctor'", "words"),
        "information": ("information and advice that was given, one an entry", "list"),
        "cautions": ("when to seek help, with the sentence that defers to local policy", "block"),
        "needs": ("the needs that were recorded", "sentences"),
        "contact": ("how to reach the clinic", "sentences"),
        "signature": ("who completed the record", "block"),
        "receivers": ("everybody who receives a letter about this visit, one an entry", "list"),
        "is_draft": ("whether nobody has approved the letter", "condition"),
        "approval.statement": ("who approved the letter and when; a final letter must print it", "sentences"),
        "approval.correction": ("which earlier letter this one replaces; a correction must print it", "sentences"),
    }
)
PLACING: Mapping[str, str] = MappingProxyType(
    {
        "block": "on a line of its own",
        "sentences": "on a line, alone or after words of the template",
        "words": "anywhere within a line",
        "list": "entry by entry: `{% for entry in diagnoses %}`, then `- {{ entry }}`",
        "condition": "in `{% if %}`",
    }
)
_HEAD = """\
# Letter templates

Made from `letterkit/letter/template_page.py` by `make docs`; do not edit it here.

A clinic's folder holds templates under the names of those that ship in `templates/`; what it lacks is taken from
there. A template is text with values in it: `{{{{ value }}}}` prints one, `{{% if value %}} ... {{% endif %}}` asks
whether it holds anything, `{{% for entry in value %}} ... {{% endfor %}}` repeats, and
`{{% include "blocks/name.j2" %}}` draws in another template. Filters: {filters}. Tests: {tests}. Nothing else is
allowed: no arithmetic, no calls, and no more than two loops within each other.

One line is one thing:

| a line that begins with | becomes |
|---|---|
| `#` | the title |
| `##` | a section |
| `###` | a sub-section |
| `-` | an entry of a list |
| `@role` | a paragraph with that role: {roles} |
| anything else | a paragraph |

A value that was not recorded is empty, never absent, so `{{% if %}}` can ask for each of them. Nothing a record says
can act as markup.
"""


def _table(values: Mapping[str, tuple[str, str]]) -> list[str]:
    rows = [f"| `{name}` | {told} | {kind} |" for name, (told, kind) in values.items()]
    return ["| value | holds | kind |", "|---|---|---|", *rows]


def templates_page() -> str:
    """The page as Markdown."""
    head = _HEAD.format(
        filters=", ".join(f"`{name}`" for name in sorted(FILTERS)),
        tests=", ".join(f"`{name}`" for name in sorted(TESTS)),
        roles=", ".join(f"`{name}`" for name in get_args(Role)),
    )
    lines = [head, "## Kinds of value", "", "| kind | placed |", "|---|---|"]
    lines += [f"| {kind} | {told} |" for kind, told in PLACING.items()]
    lines += ["", "## Values of a letter to a doctor", "", *_table(LETTER_VALUES)]
    lines += ["", "## Values of the patient's copy", "", *_table(PATIENT_VALUES)]
    return "\n".join(lines) + "\n"
