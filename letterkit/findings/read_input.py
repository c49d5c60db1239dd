"""An encounter from JSON or a mapping, with every fault named by its path, what was given and what is allowed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from letterkit.errors import InvalidInput, Problem
from letterkit.findings.models import Encounter

_SHOWN = 60
_KINDS = {
    "tuple_type": "a list: write [...]",
    "model_type": "an object: write {...}",
    "model_attributes_type": "an object: write {...}",
    "string_type": "text: put it in quotation marks",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
}


def _path(parts: Sequence[int | str]) -> str:
    text = ""
    for part in parts:
        if isinstance(part, int):
            text += f"[{part}]"
        elif not part.startswith(("function-", "literal[", "tuple[", "constrained-str")):
            text += f".{part}" if text else part
    return text


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type):
        return [annotation] if issubclass(annotation, BaseModel) else []
    return [model for part in get_args(annotation) for model in _models_in(part)]


def _names_at(parts: Sequence[int | str]) -> list[str]:
    """The field names known at the place that `parts` leads to."""
    models: list[type[BaseModel]] = [Encounter]
    for part in parts:
        if isinstance(part, int):
            continue
        inner: list[type[BaseModel]] = []
        for model in models:
            for name, field in model.model_fields.items():
                if part in {name, field.alias}:
                    inner += _models_in(field.annotation)
        models = inner or models
    return sorted({field.alias or name for model in models for name, field in model.model_fields.items()})


def _given(error: Mapping[str, Any]) -> str:
    """What was given, short enough for one line; the message goes back to whoever sent it and nowhere else."""
    text = repr(error.get("input"))
    return text if len(text) <= _SHOWN else f"{text[: _SHOWN - 3]}..."


def _describe(error: Mapping[str, Any]) -> Problem:
    parts: tuple[int | str, ...] = tuple(error["loc"])
    kind, message = error["type"], str(error["msg"])
    if kind == "extra_forbidden":
        known = _names_at(parts[:-1])
        near = get_close_matches(str(parts[-1]), known, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(known)}"
        return Problem(_path(parts), f"unknown field; {hint}")
    if kind == "missing":
        return Problem(_path(parts), "missing; this field is needed")
    if kind == "value_error":
        message = message.removeprefix("Value error, ")
    elif kind in {"literal_error", "enum"}:
        message = f"{_given(error)} is not allowed; allowed: {error['ctx']['expected']}"
    elif kind.startswith("date"):
        message = f"{_given(error)} is not a date; give it as YYYY-MM-DD"
    elif kind in _KINDS:
        message = f"{_given(error)} is not {_KINDS[kind]}"
    elif kind == "string_pattern_mismatch":
        message = "holds a line break or tab; give it on one line"
    else:
        message = f"{message[0].lower()}{message[1:]}, given {_given(error)}"
    return Problem(_path(parts), message)


def _one_a_place(errors: Sequence[Any]) -> list[Any]:
    """Of the several complaints about a field that takes one of two shapes, those about the shape that was meant."""
    deeper = {_path(error["loc"]).rsplit("[", 1)[0] for error in errors if "[" in _path(error["loc"])}
    return [error for error in errors if error["type"] != "literal_error" or _path(error["loc"]) not in deeper]


def read_encounter(data: Mapping[str, Any]) -> Encounter:
    """The encounter in `data`. Raises `InvalidInput` with every fault found."""
    try:
        return Encounter.model_validate(data)
    except ValidationError as error:
        problems = [_describe(each) for each in _one_a_place(error.errors(include_url=False))]
        raise InvalidInput(tuple(dict.fromkeys(problems))) from None


def _no_constants(name: str) -> float:
    raise ValueError(f"{name} is not a number of JSON")


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in pairs:
        if key in result:
            raise ValueError(f"the field {key!r} stands twice in one object")
        result[key] = value
    return result


def parse_json(text: str | bytes) -> dict[str, Any]:
    """The object in JSON text. Raises `InvalidInput` with line and column where it is not JSON, or no object."""
    try:
        data = json.loads(text, parse_constant=_no_constants, object_pairs_hook=_no_duplicates)
    except json.JSONDecodeError as error:
        raise InvalidInput((
            Problem("", f"not JSON: {error.msg} at line {error.lineno}, column {error.colno}"),
        )) from None  # fmt: skip
    except UnicodeDecodeError:
        raise InvalidInput((Problem("", "not UTF-8 text; save the file as UTF-8"),)) from None
    except RecursionError:
        raise InvalidInput((Problem("", "nested too deeply to be an encounter"),)) from None
    except ValueError as error:
        reason = "a number has too many digits" if "int_max_str_digits" in str(error) else error
        raise InvalidInput((Problem("", f"not JSON: {reason}"),)) from None
    if not isinstance(data, dict):
        raise InvalidInput((Problem("", "an encounter is a JSON object: it begins with {"),))
    return data


def parse_encounter(text: str | bytes) -> Encounter:
    """The encounter in JSON text. Raises `InvalidInput` as `parse_json` and `read_encounter` do."""
    return read_encounter(parse_json(text))
