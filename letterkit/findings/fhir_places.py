"""Where an Observation was made: its site and its side, from every form in which a sender may have given them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from letterkit.catalogue import Catalogue
from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item
from letterkit.findings.fhir_bundle import Bundle, Element, Resource, refused
from letterkit.findings.fhir_codes import (
    Concept,
    Profile,
    SideSource,
    agreed_side,
    coding,
    concept,
    side_in_words,
    sides_in,
    site_is_unused,
    site_of,
    words_unread,
)
from letterkit.findings.fhir_values import Notices, value_key
from letterkit.findings.sides import Sides

_SIDE_NAMES = {"side", "laterality"}
_FORMS = (
    "a side's code beside the site's, an extension of the bodySite, a BodyStructure, or a component of code 'side'; "
    "letterkit never guesses a side"
)


@dataclass(frozen=True, slots=True)
class Context:
    """What the reading of one resource needs to know of the rest of the Bundle."""

    bundle: Bundle
    profile: Profile
    catalogue: Catalogue
    notices: Notices
    visit: date | None = None
    last_day: date | None = None
    encounter: Resource | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """What an Observation says of where: concepts that may name a site, and every side with its source."""

    path: str
    sites: tuple[Concept, ...] = ()
    sides: tuple[SideSource, ...] = ()
    given: bool = field(default=False)  # whether a body site was given at all

    def side(self, item: Item, context: Context, *, needed: bool = True) -> Sides | None:
        """The side of an item. Raises `InvalidInput` for a paired item without one, and for sides that disagree."""
        side = agreed_side(self.sides, self.path)
        if item.paired:
            if side is None and needed:
                raise refused(
                    f"{self.path}.bodySite", f"no side; {item.slug} needs left, right or both, given by {_FORMS}"
                )
            return side
        if side is not None:
            context.notices.add(self.path, "not held", f"a side; {item.slug} is recorded without one")
        return None

    def site(self, item: Item, context: Context) -> str | tuple[str, ...] | None:
        """The site of an item as an encounter takes it; None where none was given."""
        found = [
            site for each in self.sites if (site := site_of(each, item, context.profile, context.catalogue)) is not None
        ]
        for each in self.sites:
            if found and words_unread(each, item, context.catalogue):
                context.notices.add(each.path, "not held", f"words beside the site that are no site of {item.slug}")
            if site_is_unused(each, item):
                context.notices.add(each.path, "not held", f"a site; {item.slug} is recorded without one")
        slugs = {(each,) if isinstance(each, str) else each for each in found}
        if len(slugs) > 1:
            raise refused(self.path, f"names different sites for {item.slug}; give one")
        return found[0] if found else None


def is_laterality(code: Concept) -> bool:
    """Whether the code of a component asks for the side."""
    return (
        codes().laterality_attribute.code in code.codes_of("snomed")
        or "side" in code.codes_of("part")
        or (not code.codings and code.text.casefold() in _SIDE_NAMES)
    )


def side_value(element: Element, context: Context) -> SideSource:
    """The side that a component or an extension holds as its value. Raises `InvalidInput` where it holds none."""
    key = value_key(element)
    if key and key.endswith("CodeableConcept"):
        given = concept(element.object(key))
    elif key and key.endswith("Coding") and (inner := element.object(key)) is not None:
        given = Concept(inner.path, (coding(inner),))
    elif key and key.endswith(("String", "Code")):
        given = Concept(f"{element.path}.{key}", text=element.text(key) or "")
    else:
        raise refused(element.path, "holds no side; allowed: left, right, both, as code or word")
    sources = list(sides_in(given, context.profile, context.catalogue))
    side = agreed_side(sources, element.path)
    if side is None:
        raise refused(
            element.path, "holds no side that is known; allowed: left, right, both, as SNOMED CT code or word"
        )
    return SideSource(side, element.path)


def _structures(owner: Element, context: Context, resource: Resource) -> Iterator[Resource]:
    for extension in owner.objects("extension"):
        if extension.word("url") in context.profile.body_structure_urls:
            extension.skip("url")
            reference = extension.object("valueReference")
            found = context.bundle.follow(reference, resource) if reference else None
            if found is None or found.kind != "BodyStructure":
                raise refused(
                    extension.path, "refers to no BodyStructure of the Bundle; include it, or give the side here"
                )
            yield found


def extended_sides(owner: Element, context: Context) -> Iterator[SideSource]:
    """The sides that extensions of the profile's URLs hold."""
    for extension in owner.objects("extension"):
        if extension.word("url") in context.profile.laterality_urls:
            extension.skip("url")
            yield side_value(extension, context)


def place_of(resource: Resource, code: Concept, context: Context) -> Place:
    """Where an Observation was made, from its body site, extensions, BodyStructure, code and side component."""
    element = resource.element
    sites: list[Concept] = []
    sides: list[SideSource] = []
    owners = [element]
    if (body := element.object("bodySite")) is not None:
        owners.append(body)
        sites.append(concept(body))
    for owner in owners:
        sides += extended_sides(owner, context)
        for structure in _structures(owner, context, resource):
            structure.element.label("patient")
            if (location := structure.element.object("location")) is not None:
                sites.append(concept(location))
            for qualifier in structure.element.objects("locationQualifier"):
                sides += sides_in(concept(qualifier), context.profile, context.catalogue)
    for component in element.objects("component"):
        if is_laterality(concept(component.object("code"))):
            sides.append(side_value(component, context))
    for site in sites:
        sides += sides_in(site, context.profile, context.catalogue)
    sides += [SideSource(side, code.path) for words in code.words if (side := side_in_words(words)) is not None]
    return Place(element.path, tuple(sites), tuple(sides), bool(sites))
