"""The examination as data: frozen, validated definitions that know nothing of files.

A *site* is a place that can be examined; a *row* is a family of like sites, one a digit (the proximal interphalangeal
joints). An *item* is a thing that is looked for. Its `value` kind says what may be recorded of it.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Slug = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(_[a-z0-9]+)*$")]
Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]


class Definition(BaseModel):
    """Base of all definitions: frozen, closed, strict."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False)


class Stage(StrEnum):
    """Stages of the examination in the order in which they are done."""

    INSPECTION = "inspection"
    PALPATION = "palpation"
    MOVEMENT = "movement"
    FUNCTION = "function"
    NEUROVASCULAR = "neurovascular"
    SPECIAL_TESTS = "special_tests"


class Polarity(StrEnum):
    """What a recorded state says of an item: as expected, departing from it, uncertain, or told without judgement."""

    NORMAL = "normal"
    ABNORMAL = "abnormal"
    EQUIVOCAL = "equivocal"
    NOTED = "noted"


class ValueKind(StrEnum):
    """What may be recorded of an item."""

    PRESENCE = "presence"  # present, absent, equivocal
    TEST = "test"  # positive, negative, equivocal
    STATE = "state"  # one state of the item's scale
    MRC = "mrc"  # Medical Research Council grade 0 to 5, with plus and minus
    QUANTITY = "quantity"  # a number with the item's unit
    ARC = "arc"  # two angles in degrees: most extended and most flexed position
    TEXT = "text"  # the clinician's own words


class Place(StrEnum):
    """How a sentence says where: by the site after a preposition, or by the side alone."""

    SIDE = "side"  # "on the right": the name of the item already says where
    OF = "of"
    AT = "at"
    OVER = "over"
    IN = "in"
    ON = "on"
    ALONG = "along"
    BESIDE = "beside"
    TO = "to"
    AROUND = "around"
    FROM = "from"
    UNDER = "under"
    THROUGH = "through"


class Qualifier(StrEnum):
    """What else may be said of a finding, beside its value; every finding may also carry a note."""

    SEVERITY = "severity"  # mild, moderate, severe
    ONSET = "onset_s"  # seconds until symptoms came
    DISTRIBUTION = "distribution"  # where symptoms were felt, in the clinician's words
    DESCRIPTION = "description"  # the clinician's words about it
    COUNT = "count"
    SIZE = "size_mm"
    LENGTH = "length_cm"
    ANGLE = "angle_deg"
    CORRECTABILITY = "correctability"  # correctable, fixed
    GRADE = "grade"  # with `grading`, the name of the scale
    MODE = "mode"  # active, passive


class Digit(Definition):
    """One of the five digits, thumb first."""

    slug: Slug
    name: Words
    plural: Words
    short: Words  # inside a list: "index, middle and ring fingers"
    order: int
    aliases: tuple[Words, ...] = ()
    us_name: Words | None = None
    patient: Words
    patient_plural: Words


class Row(Definition):
    """A family of like sites, one a digit; its sites are called `<row>_<digit>`."""

    slug: Slug
    kind: Literal["digit", "joint", "bone", "soft_tissue", "nerve_area", "tendon", "region"]
    name: Words
    plural: Words
    digits: tuple[Slug, ...] = Field(min_length=1)
    order: int
    aliases: tuple[Words, ...] = ()
    patient: Words
    patient_plural: Words


class PlainSite(Definition):
    """A site that is not one of a row: a wrist, a palm, a nerve area."""

    slug: Slug
    kind: Literal["region", "joint", "bone", "soft_tissue", "nerve_area", "muscle", "crease", "tendon", "vessel"]
    part_of: tuple[Slug, ...] = ()
    recorded_for: Slug | None = None
    name: Words
    plural: Words
    order: int
    paired: bool = True
    aliases: tuple[Words, ...] = ()
    patient: Words
    patient_plural: Words


class Group(Definition):
    """A collective name that may be used on the way in: 'the fingers', 'radial three digits'."""

    slug: Slug
    sites: tuple[Slug, ...] = Field(min_length=1)
    aliases: tuple[Words, ...] = ()


class Site(Definition):
    """A place that can be examined, as expanded from rows and plain sites."""

    slug: Slug
    kind: str
    row: Slug | None
    digit: Slug | None
    name: Words
    order: int
    paired: bool


class StateDef(Definition):
    """One state of a scale, with its words for a doctor and for a patient (after 'was' or 'were')."""

    slug: Slug
    polarity: Polarity
    doctor: Words
    patient: Words
    aliases: tuple[Words, ...] = ()


class Scale(Definition):
    """A closed list of states that several items share, such as normal, reduced, absent."""

    slug: Slug
    states: tuple[StateDef, ...] = Field(min_length=2)

    @model_validator(mode="after")
    def _has_one_normal(self) -> Self:
        if not any(state.polarity is Polarity.NORMAL for state in self.states):
            raise ValueError(f"scale {self.slug} has no state of polarity normal")
        return self


class Wording(Definition):
    """The words of one item in one register.

    Presence items use `noun` (with `article`, `plural`); all others use `subject` (with `number`). `place` says how
    the site follows. `positive`, `negative` and `equivocal` are whole predicates; a doctor's default is
    'was positive' and so on. `states` overrides the words of a scale's states.
    """

    noun: Words | None = None
    article: Literal["a", "an"] | None = None
    plural: Words | None = None
    subject: Words | None = None
    number: Literal["singular", "plural"] = "singular"
    place: Place = Place.SIDE
    positive: Words | None = None
    negative: Words | None = None
    equivocal: Words | None = None
    states: dict[Slug, Words] = Field(default_factory=dict)


class NormalRange(Definition):
    """What is expected of a number, in the item's unit, with where the figure comes from.

    `tolerance` is how far outside the range a value may lie before it counts as departing from it.
    """

    low: float | None = None
    high: float | None = None
    tolerance: float = 0
    source: Words
    mark: Literal["confirmed", "from memory", "common practice, no source"]


class Item(Definition):
    """One thing that is looked for in the examination."""

    slug: Slug
    stage: Stage
    order: int
    name: Words
    us_name: Words | None = None
    synonyms: tuple[Words, ...] = ()
    ambiguous: tuple[Words, ...] = ()  # short forms with another meaning: never resolved without a question
    aliases: tuple[Slug, ...] = ()  # earlier slugs
    value: ValueKind
    scale: Slug | None = None
    unit: Literal["deg", "kg", "mm", "cm", "s", "%", "score", "g"] | None = None
    minimum: float | None = None
    maximum: float | None = None
    decimals: int = 0
    expected: NormalRange | None = None  # of a quantity, or of the most flexed position of an arc
    expected_from: NormalRange | None = None  # of the most extended position of an arc
    sites: tuple[Slug, ...] = ()  # as expanded: every site slug the item may carry; empty when the name says it all
    paired: bool = True
    qualifiers: frozenset[Qualifier] = frozenset()
    weight: int = Field(ge=1, le=5)
    bears_on: tuple[Slug, ...] = ()
    reassuring: bool = True  # False: the patient is told its negative, but not among what was normal
    trap: Words | None = None  # what a reader of this item gets wrong, for the documentation
    doctor: Wording
    patient: Wording
    source: Words | None = None

    @property
    def is_measured(self) -> bool:
        """Whether the item is told as a number, and so belongs in the table of measurements."""
        return self.value in {ValueKind.QUANTITY, ValueKind.ARC}


class Negative(Definition):
    """A negative a receiving doctor looks for in a presenting problem, with how much it tells.

    `lr` is the likelihood ratio of the negative result (below 1 argues against the condition), where published.
    """

    items: tuple[Slug, ...] = Field(min_length=1)
    argues_against: Words
    lr: float | None = None
    source: Words
    mark: Literal["confirmed", "from memory", "common practice, no source"]


class PresentingProblem(Definition):
    """Why the patient came, as a receiving doctor would class it, with the negatives in order of how much they tell."""

    slug: Slug
    name: Words
    patient: Words
    aliases: tuple[Words, ...] = ()
    negatives: tuple[Negative, ...] = Field(min_length=1)


class Condition(Definition):
    """One condition of a caution's pattern: an item in one of some states, or a number beyond a bound.

    `states` of presence and tests are present, absent, positive, negative. An empty `states` means any abnormal state.
    """

    item: Slug
    states: tuple[Slug, ...] = ()
    above: float | None = None
    below: float | None = None


class Caution(Definition):
    """A fixed text set beside certain findings: what was recorded, and that local policy decides.

    `all` must hold together and `any` gives at least `at_least` more; `same` says whether they must share the side or
    the digit. The text never names a condition, a drug, an urgency category or a time.
    """

    slug: Slug
    urgent: bool
    all: tuple[Condition, ...] = ()
    any: tuple[Condition, ...] = ()
    at_least: int = 1
    same: Literal["nothing", "side", "digit"] = "side"
    doctor: Words
    patient: Words
    source: Words
    mark: Literal["confirmed", "from memory", "common practice, no source"]

    @model_validator(mode="after")
    def _has_a_condition(self) -> Self:
        if not self.all and not self.any:
            raise ValueError(f"caution {self.slug} has no condition")
        return self


class Deferral(Definition):
    """The sentence that leaves the decision to local policy and the responsible clinician; once after the cautions."""

    slug: Literal["urgent", "other"]
    doctor: Words
    patient: Words
