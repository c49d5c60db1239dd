"""The codes of published standards that the package reads and writes, from `data/codes.toml`, validated once."""

from __future__ import annotations

import tomllib
from functools import cache, cached_property
from importlib import resources
from typing import Literal, TypeAlias

from pydantic import Field, ValidationError

from letterkit.catalogue.model import Definition, Words
from letterkit.errors import CatalogueError

Mark: TypeAlias = Literal["confirmed", "from memory", "common practice, no source"]
DocumentState: TypeAlias = Literal["draft", "approved", "corrected", "withdrawn"]


class _Sourced(Definition):
    source: Words
    mark: Mark


class SideCode(_Sourced):
    """A SNOMED CT code that says which side."""

    code: Words
    side: Literal["left", "right", "both"]
    display: Words


class AttributeCode(_Sourced):
    """The SNOMED CT attribute of laterality."""

    code: Words


class StateCode(_Sourced):
    """A SNOMED CT code that says what was found."""

    code: Words
    state: Literal["present", "absent", "positive", "negative"]
    display: Words


class InterpretationCode(_Sourced):
    """A code of v3-ObservationInterpretation; one that `judges` says only how a state of a scale is to be taken."""

    code: Words
    state: Literal["present", "absent", "positive", "negative", "equivocal", "normal", "abnormal"]
    judges: bool = False


class AbsentReason(_Sourced):
    """A code of data-absent-reason with what it means for the examination."""

    code: Words
    means: Literal["not examined", "declined", "with reason"]


class Participation(_Sourced):
    """A code of v3-ParticipationType with the part it means in a letter."""

    code: Words
    role: Literal["author", "responsible", "accompanying"]


class UnitCode(_Sourced):
    """A UCUM code, the catalogue's unit it is read as, and the factor where the two differ."""

    code: Words
    unit: Literal["deg", "kg", "mm", "cm", "s", "%", "score", "g"]
    factor: float = Field(default=1, gt=0)
    converted: bool = False


class DocumentType(_Sourced):
    """One coding of what kind of document the letter is; `system` names one of the systems."""

    system: Words
    code: Words
    display: Words


class DocumentStatus(_Sourced):
    """How a state of the letter is said in FHIR and in HL7 v2."""

    state: DocumentState
    composition: Literal["preliminary", "final", "amended", "entered-in-error"]
    document: Literal["preliminary", "final", "amended", "entered-in-error"]
    completion: Literal["DI", "DO", "IP", "IN", "PA", "AU", "LA"]


class Sections(_Sourced):
    """The section codes of an outpatient letter by heading; `headings` lead to the standard's headings."""

    codes: dict[str, str]
    headings: dict[str, str]


class Codes(Definition):
    """Every code, and look-ups by code."""

    systems: dict[str, str]
    side: tuple[SideCode, ...]
    laterality_attribute: AttributeCode
    state: tuple[StateCode, ...]
    interpretation: tuple[InterpretationCode, ...]
    absent_reason: tuple[AbsentReason, ...]
    participation: tuple[Participation, ...]
    unit: tuple[UnitCode, ...]
    document_type: tuple[DocumentType, ...]
    document_status: tuple[DocumentStatus, ...]
    sections: Sections

    @cached_property
    def sides(self) -> dict[str, Literal["left", "right", "both"]]:
        """SNOMED CT code -> side."""
        return {each.code: each.side for each in self.side}

    @cached_property
    def states(self) -> dict[str, str]:
        """SNOMED CT code -> what was found."""
        return {each.code: each.state for each in self.state}

    @cached_property
    def interpretations(self) -> dict[str, InterpretationCode]:
        """Interpretation code -> its entry."""
        return {each.code: each for each in self.interpretation}

    @cached_property
    def absent_reasons(self) -> dict[str, str]:
        """Code of data-absent-reason -> what it means here."""
        return {each.code: each.means for each in self.absent_reason}

    @cached_property
    def participations(self) -> dict[str, str]:
        """Code of v3-ParticipationType -> the part in a letter."""
        return {each.code: each.role for each in self.participation}

    @cached_property
    def units(self) -> dict[str, UnitCode]:
        """UCUM code -> its entry."""
        return {each.code: each for each in self.unit}

    def status(self, state: DocumentState) -> DocumentStatus:
        """How that state of a letter is said."""
        return next(each for each in self.document_status if each.state == state)

    def section(self, heading: str) -> str | None:
        """The SNOMED CT code of the section that a heading opens, or None where the standard has none."""
        return self.sections.codes.get(self.sections.headings.get(heading, heading))


@cache
def codes() -> Codes:
    """The codes that ship with the package, loaded once a process. Raises `CatalogueError` naming a broken entry."""
    text = resources.files("letterkit.catalogue").joinpath("data/codes.toml").read_text(encoding="utf-8")
    try:
        return Codes.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, ValidationError) as error:
        raise CatalogueError(f"codes.toml: {error}") from error
