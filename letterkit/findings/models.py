"""The encounter: what a clinic knows of one visit. FHIR's names where FHIR has the concept, in camel case.

Everything but the findings and a name may be missing; what the outpatient letter standard makes mandatory and is
missing is said to be missing in the letter. Unknown fields are refused.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    field_validator,
    model_validator,
)
from pydantic.alias_generators import to_camel
from pydantic_core import PydanticCustomError

from letterkit.catalogue.model import Stage
from letterkit.findings.identifiers import NHS_NUMBER_SYSTEM, nhs_number_fault
from letterkit.findings.sides import Sides, parse_sides
from letterkit.findings.text import LONGEST_LINE, LONGEST_TEXT, printable

_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def _day(value: Any) -> Any:
    """A day is given as a date or as YYYY-MM-DD; a bare number is not a date."""
    written = isinstance(value, str) and _ISO_DAY.fullmatch(value.strip())
    if isinstance(value, datetime) or not (written or isinstance(value, date)):
        raise PydanticCustomError("date_type", "not a date")
    return value


Day = Annotated[date, BeforeValidator(_day)]
ScaleName = Literal[
    "total_active_motion", "strickland", "extension_deficit", "grip_norms", "pinch_norms", "hands_compared", "kapandji",
    "two_point", "monofilament", "trigger_grade", "joint_counts", "cts6", "hand_osteoarthritis", "rheumatoid_joints",
]  # fmt: skip

Text = Annotated[
    str,
    StringConstraints(min_length=1, max_length=LONGEST_TEXT, strip_whitespace=True),
    AfterValidator(printable),
]
Line = Annotated[
    str,
    StringConstraints(min_length=1, max_length=LONGEST_LINE, strip_whitespace=True, pattern=r"^[^\r\n\t]*$"),
    AfterValidator(printable),
]


class Record(BaseModel):
    """Base of all parts of an encounter: frozen, closed, quiet about values in its errors."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        hide_input_in_errors=True,
        alias_generator=to_camel,
        populate_by_name=True,
        str_strip_whitespace=True,
        coerce_numbers_to_str=False,
    )


class HumanName(Record):
    """A person's name in parts, or as one text where the parts are not known."""

    family: Line | None = None
    given: tuple[Line, ...] = ()
    prefix: tuple[Line, ...] = ()
    text: Line | None = None

    @model_validator(mode="after")
    def _has_a_name(self) -> Self:
        if not self.family and not self.text:
            raise ValueError("give a family name, or the whole name as text")
        return self


class Address(Record):
    """A postal address, line by line."""

    line: tuple[Line, ...] = ()
    city: Line | None = None
    district: Line | None = None
    postal_code: Line | None = None
    country: Line | None = None


class Identifier(Record):
    """An identifier with who assigned it. NHS numbers are verified by their check digit."""

    system: Line | None = None
    value: Line
    assigner: Line | None = None

    @model_validator(mode="after")
    def _verified(self) -> Self:
        if self.is_nhs_number and (fault := nhs_number_fault(self.value)):
            raise ValueError(fault)
        return self

    @property
    def is_nhs_number(self) -> bool:
        """Whether the system says that this is an NHS number."""
        return self.system == NHS_NUMBER_SYSTEM or (self.system or "").casefold().replace(" ", "") == "nhsnumber"


class Patient(Record):
    """The person examined."""

    name: HumanName
    preferred_name: Line | None = None
    birth_date: Day | None = None
    gender: Literal["male", "female", "other", "unknown"] | None = None
    identifier: tuple[Identifier, ...] = ()
    address: Address | None = None
    handedness: Literal["right", "left", "both", "unknown"] | None = None
    occupation: Line | None = None
    communication_needs: tuple[Line, ...] = ()


class Recipient(Record):
    """A person or practice that receives the letter or a copy of it."""

    name: Line
    salutation: Line | None = None
    role: Line | None = None
    organization: Line | None = None
    address: Address | None = None


class Author(Record):
    """The clinician who examined the patient and answers for the letter."""

    name: Line
    role: Line | None = None
    qualification: Line | None = None
    identifier: Identifier | None = None
    telecom: Line | None = None


class Clinic(Record):
    """Where the patient was seen."""

    name: Line
    specialty: Line | None = None
    organization: Line | None = None
    address: Address | None = None
    telecom: Line | None = None


class Visit(Record):
    """The contact itself. `responsible` is the responsible professional where that is not the author."""

    date: Day
    kind: Literal["new", "follow-up", "discharge", "other"] = "new"
    method: Literal["face to face", "telephone", "video"] | None = None
    responsible: Line | None = None
    accompanied_by: Line | None = None


class Reason(Record):
    """Why the patient came: in words, and as one of the presenting problems of the catalogue."""

    text: Text | None = None
    problem: Line | None = None
    side: Sides | None = None
    question: Text | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class Symptom(Record):
    """A symptom that a published scale asks for, as the patient tells it of one hand or both."""

    name: Literal["median_numbness", "night_numbness", "hand_pain"]
    side: Sides
    present: bool

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class History(Record):
    """What the patient or the record tells, never a finding of this examination."""

    presenting: Text | None = None
    past: tuple[Text, ...] = ()
    since_last_contact: Text | None = None
    concerns: Text | None = None
    symptoms: tuple[Symptom, ...] = ()


class Allergy(Record):
    """Something the patient reacts to."""

    agent: Line
    reaction: Line | None = None


class Finding(Record):
    """One line of the examination as it was recorded.

    `item` is a slug, name or synonym of the catalogue; `site` a site, several, or words such as 'index to little MCP
    joints'; `value` what the item's kind allows. The rest qualifies it.
    """

    item: Line
    side: Sides | None = None
    site: Line | tuple[Line, ...] | None = None
    value: Any = None
    severity: Literal["mild", "moderate", "severe"] | None = None
    onset_s: float | None = Field(default=None, ge=0, le=600)
    distribution: Line | None = None
    description: Line | None = None
    count: int | None = Field(default=None, ge=1, le=99)
    size_mm: float | None = Field(default=None, gt=0, le=300)
    length_cm: float | None = Field(default=None, gt=0, le=60)
    angle_deg: float | None = Field(default=None, ge=0, le=180)
    correctability: Literal["correctable", "fixed"] | None = None
    grade: Line | None = None
    grading: Line | None = None
    mode: Literal["active", "passive"] | None = None
    note: Line | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class StageNormal(Record):
    """A stage recorded as normal by exception: it says nothing of any single item."""

    stage: Stage
    side: Sides | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class NotExamined(Record):
    """A stage or an item that was not examined, with the reason where it was given."""

    stage: Stage | None = None
    item: Line | None = None
    side: Sides | None = None
    site: Line | tuple[Line, ...] | None = None
    reason: Line | None = None
    declined: bool = False

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.stage is None) == (self.item is None):
            raise ValueError("give either a stage or an item that was not examined")
        return self


class Examination(Record):
    """What was found, what was normal by exception, and what was not examined."""

    findings: tuple[Finding, ...] = Field(default=(), max_length=500)
    normal: tuple[StageNormal, ...] = ()
    not_examined: tuple[NotExamined, ...] = ()


class Earlier(Record):
    """A measurement or grade of an earlier date, for comparison."""

    date: Day
    item: Line
    side: Sides | None = None
    site: Line | tuple[Line, ...] | None = None
    value: Any
    mode: Literal["active", "passive"] | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class Statement(Record):
    """The clinician's own words in impression or diagnosis, with the side where it applies."""

    text: Text
    side: Sides | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class Action(Record):
    """One line of the plan in the clinician's own words, and who is to do it."""

    text: Text
    actor: Literal["recipient", "clinic", "patient"] = "clinic"
    side: Sides | None = None

    @field_validator("side", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return parse_sides(value)


class Answer(Record):
    """The clinician's answer to one query: the record was corrected, or stays as it is for a reason.

    `rule` is the slug of the query's rule; `findings` the positions of the findings it points at, where only these are
    meant; `by` who answered.
    """

    rule: Line
    findings: tuple[Annotated[int, Field(ge=0)], ...] = ()
    answer: Literal["corrected", "kept"]
    reason: Text | None = None
    by: Line | None = None

    @model_validator(mode="after")
    def _kept_for_a_reason(self) -> Self:
        if self.answer == "kept" and self.reason is None:
            raise ValueError("a record that is kept as it is needs the reason")
        return self


class Options(Record):
    """How this letter is to be drafted."""

    language: Literal["en-GB", "en-US"] = "en-GB"
    large_print: bool = False  # of the patient's copy
    measures: tuple[ScaleName, ...] = ()  # published scales to work out and show; none unless chosen
    letter: Literal["new", "follow-up", "discharge", "urgent-referral"] | None = None  # else by the kind of visit
    drawing: bool = False  # of both hands, with what was found marked


class Encounter(Record):
    """One visit of one patient, from which one letter is drafted."""

    reference: Line | None = None
    patient: Patient
    recipient: Recipient | None = None
    copies: tuple[Recipient, ...] = ()
    author: Author | None = None
    clinic: Clinic | None = None
    gp_practice: Recipient | None = None
    visit: Visit | None = None
    drafted: Day | None = None
    reason: Reason | None = None
    history: History | None = None
    medication: tuple[Line, ...] | None = None
    allergies: tuple[Allergy, ...] | Literal["none known"] | None = None
    examination: Examination
    earlier: tuple[Earlier, ...] = ()
    diagnoses: tuple[Statement, ...] = ()
    impression: tuple[Statement, ...] = ()
    plan: tuple[Action, ...] = ()
    information_given: tuple[Text, ...] = ()
    answers: tuple[Answer, ...] = ()
    options: Options = Options()
