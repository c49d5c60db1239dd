"""What a column of a sheet can hold, in a person's words, and a person's choice as a name that the mapping takes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from typing import Any

from letterkit.bulk.columns import Field, ItemColumn, Target, fields, naming, part_words, target_words
from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, Qualifier
from letterkit.service.pages.examination import STAGES

_GROUPS = {"patient": "Patient", "recipient": "Recipient", "history": "History", "reason": "Why the patient came"}
_VISIT = {"reference", "visit", "author", "clinic", "copies"}
SIDES = (("", "said in the cell"), ("right", "right"), ("left", "left"), ("both", "both"))
_OF = {
    Qualifier.SEVERITY: "severity", Qualifier.ONSET: "onsetS", Qualifier.DISTRIBUTION: "distribution",
    Qualifier.DESCRIPTION: "description", Qualifier.COUNT: "count", Qualifier.SIZE: "sizeMm",
    Qualifier.LENGTH: "lengthCm", Qualifier.ANGLE: "angleDeg", Qualifier.CORRECTABILITY: "correctability",
    Qualifier.GRADE: "grade",
}  # fmt: skip
_MODES = ("active", "passive")


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _of(item: Item) -> list[tuple[str, str]]:
    """What of an item a column may hold."""
    modes = _MODES if Qualifier.MODE in item.qualifiers else ()
    parts = [*(part for qualifier, part in _OF.items() if qualifier in item.qualifiers), "note"]
    return [
        ("", "the result"), *((f"mode:{mode}", part_words(mode)) for mode in modes),
        *((part, part_words(part)) for part in parts),
    ]  # fmt: skip


@cache
def known_targets() -> tuple[bytes, str]:
    """Everything a column can hold, as JSON for the page, with its entity tag."""
    known = catalogue()
    groups: dict[str, list[list[str]]] = {}
    for field in fields().values():
        top = field.path.partition(".")[0]
        group = "Visit and clinic" if top in _VISIT else _GROUPS.get(top, "The letter itself")
        groups.setdefault(group, []).append([f"f:{field.path}", target_words(field)])
    items: dict[str, list[dict[str, Any]]] = {name: [] for name in STAGES.values()}
    for item in known.items.values():
        sites = [[site, known.sites[site].name] for site in item.sites] if len(item.sites) > 1 else []
        items[STAGES[item.stage]].append(
            {"value": f"i:{item.slug}", "name": _upper(item.name), "sites": sites, "paired": item.paired,
             "of": _of(item)}
        )  # fmt: skip
    for entries in items.values():
        entries.sort(key=lambda each: str(each["name"]).casefold())
    content = json.dumps({"fields": groups, "items": items, "sides": SIDES}, ensure_ascii=False).encode()
    return content, f'"{hashlib.sha256(content).hexdigest()[:16]}"'


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person chose for a column; as the page sends it."""

    holds: str
    site: str = ""
    side: str = ""
    of: str = ""

    @classmethod
    def of_target(cls, target: Target) -> Choice:
        """The choice that a target stands for."""
        if isinstance(target, Field):
            return cls(f"f:{target.path}")
        of = target.qualifier or (f"mode:{target.mode}" if target.mode else "")
        return cls(f"i:{target.item}", target.site if isinstance(target.site, str) else "", target.side or "", of)

    def name(self) -> str:
        """The choice as a name that the mapping takes. Raises ValueError, saying what to do, where there is none."""
        kind, _, slug = self.holds.partition(":")
        if kind == "f" and slug in fields():
            return slug
        item = catalogue().items.get(slug) if kind == "i" else None
        if item is None:
            raise ValueError("choose what it holds from the list")
        if len(item.sites) > 1 and self.site not in item.sites:
            raise ValueError(f"choose the place of {item.name}")
        mode = self.of.removeprefix("mode:") if self.of.startswith("mode:") else None
        side = next((each for each in ("right", "left", "both") if each == self.side), None) if item.paired else None
        site = self.site if len(item.sites) > 1 else None
        name = naming(ItemColumn(item.slug, side, site, mode, self.of if self.of and not mode else None))
        if name is None:
            raise ValueError(f"{item.name} cannot be chosen in this way; choose another part of it")
        return name
