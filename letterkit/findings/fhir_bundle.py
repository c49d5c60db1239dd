"""A FHIR Bundle as it is read: its resources, what they refer to, and which of their fields nobody has read yet.

Every object is read through an `Element`, which remembers the fields that were taken. What is left at the end is
reported, so nothing that a Bundle carries is dropped in silence.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

from letterkit.errors import InvalidInput, Problem

MAX_DEPTH = 32
MAX_NODES = 300_000
MAX_ENTRIES = 2_000
_TYPES = ("collection", "document", "message", "searchset")
_ID = re.compile(r"[A-Za-z0-9\-.]{1,64}")
_TYPE = re.compile(r"[A-Z][A-Za-z]{2,63}")
# What only identifies a resource, or repeats its fields in words that were generated from them.
_SILENT = frozenset({"resourceType", "id", "language", "contained"})
_SILENT_META = frozenset({"versionId", "lastUpdated", "source", "profile"})

NoticeKind: TypeAlias = Literal["not held", "to settle", "left out"]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the reader of a Bundle is told.

    `not held`: the encounter has no place for it. `left out`: its status says that it is no finding. `to settle`: it
    was taken as it stands, or could not be, and the clinician should look.
    """

    path: str
    kind: NoticeKind
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.kind}: {self.message}"


def refused(path: str, message: str) -> InvalidInput:
    """The error of one fault."""
    return InvalidInput((Problem(path, message),))


class Element:
    """One JSON object of a resource: where it stands, and which of its fields have been read."""

    __slots__ = ("_children", "_data", "_left_out", "_used", "path")

    def __init__(self, data: Mapping[str, Any], path: str) -> None:
        self.path = path
        self._data = data
        self._used: set[str] = set()
        self._children: dict[str, list[Element]] = {}
        self._left_out = False

    def __contains__(self, key: str) -> bool:
        return key in self._data

    def names(self) -> tuple[str, ...]:
        """The names of its fields."""
        return tuple(self._data)

    def skip(self, *keys: str) -> None:
        """Takes fields that say nothing the encounter would hold."""
        self._used.update(keys)

    def label(self, key: str) -> None:
        """Takes a reference that has been followed, or need not be; what stands in it beside is still reported."""
        reference = self.object(key)
        if reference is not None:
            reference.skip("reference", "type", "display", "identifier")

    def leave(self) -> None:
        """Says that the whole object has been reported, so that its fields are not reported one by one."""
        self._left_out = True

    def peek(self, key: str) -> Any:
        """A field's value, not taken."""
        return self._data.get(key)

    def word(self, key: str) -> str | None:
        """A field of text, not taken. Raises `InvalidInput` where it is something else."""
        value = self._data.get(key)
        if value is not None and not isinstance(value, str):
            raise refused(f"{self.path}.{key}", "not a text; FHIR has a string here")
        return value

    def take(self, key: str) -> Any:
        """A field's value as it stands, or None."""
        self._used.add(key)
        return self._data.get(key)

    def text(self, key: str) -> str | None:
        """A field of text with single spaces, or None where it is absent or blank."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, str):
            raise refused(f"{self.path}.{key}", "not a text; FHIR has a string here")
        return " ".join(value.split()) or None

    def objects(self, key: str) -> list[Element]:
        """The objects of a list; the same ones at each call."""
        if key not in self._children:
            value = self._data.get(key, [])
            self._used.add(key)
            if not isinstance(value, Sequence) or isinstance(value, str):
                raise refused(f"{self.path}.{key}", "not a list; FHIR has a list of objects here")
            if not all(isinstance(each, Mapping) for each in value):
                raise refused(f"{self.path}.{key}", "holds something that is not an object")
            self._children[key] = [Element(each, f"{self.path}.{key}[{at}]") for at, each in enumerate(value)]
        return self._children[key]

    def object(self, key: str) -> Element | None:
        """An object, or None where it is absent; the same one at each call."""
        if key not in self._children:
            value = self._data.get(key)
            self._used.add(key)
            if value is None:
                return None
            if not isinstance(value, Mapping):
                raise refused(f"{self.path}.{key}", "not an object")
            self._children[key] = [Element(value, f"{self.path}.{key}")]
        return self._children[key][0]

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self.take(key)
        if value is None:
            return ()
        if not isinstance(value, Sequence) or isinstance(value, str) or not all(isinstance(x, str) for x in value):
            raise refused(f"{self.path}.{key}", "not a list of texts")
        return tuple(text for each in value if (text := " ".join(each.split())))

    @property
    def is_left(self) -> bool:
        """Whether the whole object was reported and not read."""
        return self._left_out

    @property
    def untouched(self) -> bool:
        """Whether nothing of it has been taken, and it has not been reported."""
        return not self._used and not self._children and not self._left_out

    def unread(self) -> Iterator[str]:
        """The paths of the fields that nobody has taken."""
        if self._left_out:
            return
        for key in self._data:
            if key == "meta" and isinstance(self._data[key], Mapping):
                yield from (f"{self.path}.meta.{name}" for name in self._data[key] if name not in _SILENT_META)
            elif key == "text" and "resourceType" in self._data:
                if not isinstance(self._data[key], Mapping) or self._data[key].get("status") not in {
                    "generated", "empty"
                }:  # fmt: skip
                    yield f"{self.path}.text"
            elif key in self._children:
                for child in self._children[key]:
                    yield from [child.path] if child.untouched else child.unread()
            elif key not in self._used and key not in _SILENT:
                yield f"{self.path}.{key}"


@dataclass(frozen=True, slots=True)
class Resource:
    """One resource of the Bundle with what it contains."""

    kind: str
    name: str  # "Observation/grip-left", for messages
    full_url: str | None
    element: Element
    contained: Mapping[str, Resource] = field(default_factory=dict)


def _resource(data: Mapping[str, Any], full_url: str | None, path: str, inside: str = "") -> Resource:
    kind = data.get("resourceType")
    if not isinstance(kind, str) or not _TYPE.fullmatch(kind):
        raise refused(path, "has no resourceType; every resource of a Bundle names its type")
    identity = data.get("id")
    if identity is not None and (not isinstance(identity, str) or not _ID.fullmatch(identity)):
        raise refused(f"{path}.id", "not an id of FHIR; allowed: up to 64 letters, digits, hyphens and points")
    name = f"{inside}{kind}/{identity}" if identity else f"{inside}{kind}"
    where = f"{path} {name}" if not inside else name
    contained: dict[str, Resource] = {}
    if not inside:
        for at, each in enumerate(Element(data, where).objects("contained")):
            made = _resource(each._data, None, f"{where}.contained[{at}]", f"{where}.contained ")  # noqa: SLF001 - own
            identity = made.element.word("id")
            if identity is None or identity in contained:
                raise refused(f"{where}.contained[{at}]", "needs an id of its own, so that it can be referred to")
            contained[identity] = made
    return Resource(kind, name, full_url, Element(data, where), contained)


def _check_size(data: Mapping[str, Any]) -> None:
    """Refuses what no Bundle of one visit comes near, without recursion."""
    nodes = 0
    level: list[Any] = [data]
    for _ in range(MAX_DEPTH):
        below: list[Any] = []
        for each in level:
            inner = each.values() if isinstance(each, Mapping) else each
            nodes += len(each)
            below += [value for value in inner if isinstance(value, (Mapping, list, tuple))]
            if isinstance(each, Mapping) and each.get("modifierExtension"):
                raise refused(
                    "Bundle", "holds a modifierExtension, which may turn a meaning round; none is understood here"
                )
        if nodes > MAX_NODES:
            raise refused("Bundle", f"holds more than {MAX_NODES:,} values; give one visit of one patient")
        if not below:
            return
        level = below
    raise refused("Bundle", f"nested more than {MAX_DEPTH} levels deep")


class Bundle:
    """The resources of a Bundle in their order, found by what refers to them. Raises `InvalidInput`."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        _check_size(data)
        self.head = Element(data, "Bundle")
        if self.head.take("resourceType") != "Bundle":
            raise refused("Bundle.resourceType", "not a Bundle")
        if (kind := self.head.text("type")) not in _TYPES:
            given = "missing" if kind is None else "not a type whose entries are a record of one visit"
            raise refused("Bundle.type", f"{given}; allowed: {', '.join(_TYPES)}")
        if self.head.peek("implicitRules"):
            raise refused("Bundle.implicitRules", "rules that are not understood here; leave them out")
        if any(link.text("relation") == "next" for link in self.head.objects("link")):
            raise refused("Bundle.link", "this is one page of several; give all entries in one Bundle")
        for link in self.head.objects("link"):
            link.skip("url")
        self.head.skip("timestamp", "total")
        self.resources = tuple(self._entries())
        self._by_url: dict[str, Resource] = {}
        self._by_name: dict[str, Resource] = {}
        for at, resource in enumerate(self.resources):
            names = ((self._by_url, resource.full_url), (self._by_name, resource.name))
            for index, key in names:
                if key and (index is self._by_url or "/" in key) and index.setdefault(key, resource) is not resource:
                    raise refused(f"Bundle.entry[{at}]", f"{resource.name} stands twice in the Bundle; give each once")

    def _entries(self) -> Iterator[Resource]:
        entries = self.head.objects("entry")
        if len(entries) > MAX_ENTRIES:
            raise refused(
                "Bundle.entry", f"{len(entries):,} entries; at most {MAX_ENTRIES:,} are read, one visit at a time"
            )
        for at, entry in enumerate(entries):
            search = entry.object("search")
            if search is not None:
                search.skip("mode", "score")
            full_url = entry.text("fullUrl")
            data = entry.take("resource")
            if not isinstance(data, Mapping):
                raise refused(f"Bundle.entry[{at}]", "has no resource")
            resource = _resource(data, full_url, f"entry[{at}]")
            if resource.element.peek("implicitRules"):
                raise refused(
                    f"{resource.element.path}.implicitRules", "rules that are not understood here; leave them out"
                )
            yield resource

    def of(self, kind: str) -> tuple[Resource, ...]:
        """The resources of one type, in their order."""
        return tuple(each for each in self.resources if each.kind == kind)

    def find(self, reference: str, owner: Resource) -> Resource | None:
        """What a literal reference of `owner` leads to inside the Bundle, or None."""
        if reference.startswith("#"):
            return owner.contained.get(reference[1:])
        plain = reference.split("/_history/", maxsplit=1)[0]
        return self._by_url.get(plain) or self._by_name.get(plain)

    def follow(self, element: Element, owner: Resource) -> Resource | None:
        """What a Reference object leads to; its text beside the reference is taken as a label."""
        reference = element.text("reference")
        found = self.find(reference, owner) if reference else None
        if found:
            element.skip("display", "type", "identifier")
        return found
