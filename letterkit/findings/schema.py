"""The published JSON Schema (2020-12) of an encounter: the models' own, with what each item of the catalogue allows."""

from __future__ import annotations

from typing import Any

from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.model import Item, Qualifier, ValueKind
from letterkit.findings.models import Encounter
from letterkit.findings.text import LONGEST_LINE

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def _value(item: Item, known: Catalogue) -> dict[str, Any]:
    match item.value:
        case ValueKind.PRESENCE:
            graded = ["mild", "moderate", "severe"] if Qualifier.SEVERITY in item.qualifiers else []
            return {"enum": ["present", "absent", "equivocal", *graded, True, False]}
        case ValueKind.TEST:
            return {"enum": ["positive", "negative", "equivocal", True, False]}
        case ValueKind.STATE:
            assert item.scale is not None
            return {"enum": [state.slug for state in known.scales[item.scale].states]}
        case ValueKind.MRC:
            return {"anyOf": [{"type": "integer", "minimum": 0, "maximum": 5},
                              {"type": "string", "pattern": "^([01]|[234][+-]?|5-?)(/5)?$"}]}  # fmt: skip
        case ValueKind.QUANTITY:
            number = {"type": "number", "minimum": item.minimum, "maximum": item.maximum}
            return {
                "anyOf": [
                    number,
                    {"type": "array", "items": number, "minItems": 1},
                    {
                        "type": "object",
                        "properties": {
                            "value": number,
                            "unit": {"const": item.unit},
                            "comparator": {"enum": ["<", "<=", ">", ">="]},
                        },
                        "required": ["value"],
                        "additionalProperties": False,
                    },
                ]
            }
        case ValueKind.ARC:
            angle = {"type": "number", "minimum": item.minimum, "maximum": item.maximum}
            return {
                "type": "object",
                "properties": {"from": angle, "to": angle},
                "required": ["from", "to"],
                "additionalProperties": False,
            }
        case ValueKind.TEXT:
            return {"type": "string", "minLength": 1, "maxLength": LONGEST_LINE}


def _by_value(known: Catalogue) -> list[dict[str, Any]]:
    """One condition for all items that allow the same values."""
    groups: dict[str, tuple[list[str], dict[str, Any]]] = {}
    for item in known.items.values():
        allowed = _value(item, known)
        groups.setdefault(repr(allowed), ([], allowed))[0].append(item.slug)
    return [
        {
            "if": {"properties": {"item": {"enum": slugs}}, "required": ["item"]},
            "then": {"properties": {"value": allowed}, "required": ["value"]},
        }
        for slugs, allowed in groups.values()
    ]


def _by_side(known: Catalogue) -> list[dict[str, Any]]:
    """Paired items need a side, the others have none."""
    paired = [item.slug for item in known.items.values() if item.paired]
    single = [item.slug for item in known.items.values() if not item.paired]
    return [
        {"if": {"properties": {"item": {"enum": paired}}}, "then": {"required": ["side"]}},
        {"if": {"properties": {"item": {"enum": single}}}, "then": {"properties": {"side": {"type": "null"}}}},
    ]


def encounter_schema() -> dict[str, Any]:
    """The schema. Items are given by slug; the program also takes every name and synonym of the catalogue."""
    known = catalogue()
    schema = Encounter.model_json_schema(by_alias=True, mode="validation")
    finding = schema["$defs"]["Finding"]
    finding["properties"]["item"] = {
        "type": "string",
        "anyOf": [{"enum": list(known.items)}, {"description": "or any name or synonym of the catalogue"}],
    }
    finding["properties"]["site"]["description"] = f"A site or several; slugs: {', '.join(known.sites)}"
    finding["allOf"] = [*_by_value(known), *_by_side(known)]
    schema["$defs"]["Earlier"]["allOf"] = finding["allOf"]
    schema["$defs"]["NotExamined"]["oneOf"] = [
        {"required": ["stage"], "properties": {"item": {"type": "null"}}},
        {"required": ["item"], "properties": {"stage": {"type": "null"}}},
    ]
    schema["$defs"]["Answer"].update(
        {
            "if": {"properties": {"answer": {"const": "kept"}}},
            "then": {"required": ["reason"]},
        }
    )
    reason = schema["$defs"]["Reason"]["properties"]["problem"]
    reason["description"] = f"One of: {', '.join(known.problems)}"
    return {"$schema": DIALECT, **schema, "title": "letterkit encounter"}
