"""The sandbox in which a clinic's letter templates run, and where templates are found.

A template can place and repeat what it is given, and nothing else: the sandbox of Jinja2 keeps it from attributes and
files, and an allow-list of syntax keeps it from running away, which the sandbox alone does not. There are no calls, no
arithmetic and no loops deeper than two, so time and size are bounded by what the encounter holds.

What a template prints is not text but a token that stands for the value, so no word of a record can act as markup.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeAlias

from jinja2 import (
    BaseLoader,
    FileSystemLoader,
    StrictUndefined,
    TemplateError,
    TemplateNotFound,
    TemplateRuntimeError,
    UndefinedError,
    nodes,
)
from jinja2.sandbox import ImmutableSandboxedEnvironment

from letterkit.errors import LetterheadError
from letterkit.findings.text import printable

OPEN, CLOSE = "\ue000", "\ue001"

_ALLOWED = (
    nodes.Template, nodes.Output, nodes.TemplateData, nodes.Name, nodes.Const, nodes.If, nodes.For, nodes.Getattr,
    nodes.Include, nodes.Not, nodes.And, nodes.Or, nodes.Compare, nodes.Operand, nodes.Test, nodes.Filter,
    nodes.CondExpr,
)  # fmt: skip
FILTERS = frozenset({"first", "last", "length", "default"})
TESTS = frozenset({"defined", "undefined", "none"})
_INSIDE = frozenset({"self", "super", "caller", "varargs", "kwargs"})  # names that Jinja2 brings by itself
_DEEPEST_LOOP = 2
_LONGEST_TEMPLATE = 100_000
_MOST_INCLUDES = 40

Values: TypeAlias = list[Any]


def _fault(name: str, line: int, what: str, remedy: str) -> LetterheadError:
    return LetterheadError(f"template {name}, line {line}: {what}; {remedy}")


def _check(name: str, node: nodes.Node, loops: int = 0) -> None:
    if not isinstance(node, _ALLOWED):
        raise _fault(
            name, node.lineno, f"{type(node).__name__.lower()} is not allowed in a letter template",
            "use only {{ value }}, if, for and include",
        )  # fmt: skip
    if isinstance(node, nodes.Name) and node.name in _INSIDE:
        raise _fault(name, node.lineno, f"{node.name} is not a value of a letter", "name one of those in the manual")
    if isinstance(node, nodes.Filter) and node.name not in FILTERS:
        raise _fault(
            name, node.lineno, f"the filter {node.name} is not allowed", f"allowed: {', '.join(sorted(FILTERS))}"
        )
    if isinstance(node, nodes.Test) and node.name not in TESTS:
        raise _fault(name, node.lineno, f"the test {node.name} is not allowed", f"allowed: {', '.join(sorted(TESTS))}")
    if isinstance(node, nodes.For):
        loops += 1
        if loops > _DEEPEST_LOOP or node.recursive:
            raise _fault(name, node.lineno, "loops are nested too deeply", "two are enough for a list of lists")
    if isinstance(node, nodes.Include) and not isinstance(node.template, nodes.Const):
        raise _fault(name, node.lineno, "an include needs a fixed name", 'write {% include "blocks/name.j2" %}')
    for child in node.iter_child_nodes():
        _check(name, child, loops)


class _CheckedLoader(BaseLoader):
    """Hands out templates of a folder after checking their syntax; refuses includes that lead back to themselves."""

    def __init__(self, folders: tuple[Path, ...]) -> None:
        self._files = FileSystemLoader([str(folder) for folder in folders])

    def get_source(self, environment: Any, template: str) -> tuple[str, str | None, Any]:
        try:
            source, file, fresh = self._files.get_source(environment, template)
        except UnicodeDecodeError:
            raise LetterheadError(f"template {template}: not UTF-8 text; save the file as UTF-8") from None
        if len(source) > _LONGEST_TEMPLATE:
            raise LetterheadError(f"template {template}: longer than {_LONGEST_TEMPLATE:,} characters; shorten it")
        if OPEN in source or CLOSE in source:
            raise LetterheadError(f"template {template}: holds a private-use character; remove it")
        try:
            printable(source)
        except ValueError as error:
            raise LetterheadError(f"template {template}: {error}") from None
        _check(template, environment.parse(source, template), 0)
        return source, file, fresh


def _includes(environment: ImmutableSandboxedEnvironment, name: str, path: tuple[str, ...]) -> int:
    """How many templates `name` draws in; refuses a circle, which would never end."""
    if name in path:
        raise LetterheadError(f"template {name}: includes itself by way of {' and '.join(path)}; break the circle")
    assert environment.loader is not None
    source, _, _ = environment.loader.get_source(environment, name)
    total = 1
    for node in environment.parse(source, name).find_all(nodes.Include):
        assert isinstance(node.template, nodes.Const)
        total += _includes(environment, node.template.value, (*path, name))
        if total > _MOST_INCLUDES:
            raise LetterheadError(f"template {name}: draws in more than {_MOST_INCLUDES} others; simplify it")
    return total


def shipped_templates() -> Path:
    """The folder of the templates that ship with the package."""
    inside = resources.files("letterkit") / "templates"
    if inside.is_dir():
        return Path(str(inside))
    return Path(__file__).resolve().parents[2] / "templates"


def has_template(folder: Path, name: str) -> bool:
    """Whether a clinic's folder holds a template of that name."""
    return (folder / name).is_file()


class _Environment(ImmutableSandboxedEnvironment):
    """The sandbox, which need not look for what is internal in values of ours: they show what they were given."""

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        if isinstance(obj, (_Record, _Printed)):
            return not attr.startswith("_")
        return super().is_safe_attribute(obj, attr, value)


@lru_cache(maxsize=16)
def _environment(folder: Path | None) -> ImmutableSandboxedEnvironment:
    folders = (shipped_templates(),) if folder is None else (folder, shipped_templates())
    environment = _Environment(
        loader=_CheckedLoader(folders),
        autoescape=False,  # nothing is printed but tokens, see `_Printed`
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    environment.globals.clear()
    return environment


@lru_cache(maxsize=64)
def _template(folder: Path | None, name: str) -> Any:
    environment = _environment(folder)
    try:
        _includes(environment, name, ())
        return environment.get_template(name)
    except TemplateNotFound as error:
        raise LetterheadError(f"template {error.name}: not found in {folder or 'the shipped templates'}") from None
    except TemplateError as error:
        line = getattr(error, "lineno", None)
        raise LetterheadError(f"template {name}{f', line {line}' if line else ''}: {error.message}") from None


def run(name: str, context: Mapping[str, Any], folder: Path | None = None) -> tuple[str, Values]:
    """The template's text with a token in place of each value, and the values by token number.

    Raises `LetterheadError` naming template and line where it asks for something it is not given.
    """
    template = _template(folder, name)
    values: Values = []
    try:
        # The finalize hook of an environment cannot know which letter it is in; every value of the context is wrapped
        # instead, so that printing it leaves a token behind.
        text = template.render({key: wrap(value, values) for key, value in context.items()})
    except UndefinedError as error:
        known = f"known: {', '.join(sorted(context))}"
        raise LetterheadError(f"template {_place(error, name)}: {error.message}; {known}") from None
    except TemplateError as error:
        raise LetterheadError(f"template {_place(error, name)}: {error.message}") from None
    return text, values


def _place(error: BaseException, name: str) -> str:
    """The template and line that an error while running came from, as far as Jinja2 tells."""
    place = name
    trace = error.__traceback__
    while trace is not None:
        file = trace.tb_frame.f_code.co_filename
        if file.endswith(Path(name).suffix) and not file.endswith(".py"):
            folder = Path(file).parent.name
            place = f"{folder}/{Path(file).name}, line {trace.tb_lineno}"
        trace = trace.tb_next
    return place


class _Printed:
    """A value that prints as its token; a template can see nothing else of it."""

    __slots__ = ("_value", "_values")

    def __init__(self, value: Any, values: Values) -> None:
        self._value = value
        self._values = values

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        raise TemplateRuntimeError(f"this value has no field {name!r}; print it as it is")

    def __str__(self) -> str:
        self._values.append(self._value)
        return f"{OPEN}{len(self._values) - 1}{CLOSE}"

    def __bool__(self) -> bool:
        return bool(self._value)

    def __len__(self) -> int:
        return len(self._value)

    def __eq__(self, other: object) -> bool:
        return bool(self._value == (other._value if isinstance(other, _Printed) else other))

    def __hash__(self) -> int:
        return hash(self._value)

    def __iter__(self) -> Any:
        return iter([wrap(each, self._values) for each in self._value])


class _Record:
    """A record whose fields a template may name; printing the record itself is a fault."""

    __slots__ = ("_fields", "_values")

    def __init__(self, fields: Mapping[str, Any], values: Values) -> None:
        self._fields = fields
        self._values = values

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        if name not in self._fields:
            raise TemplateRuntimeError(f"there is no field {name!r}; known: {', '.join(self._fields)}")
        return wrap(self._fields[name], self._values)

    def __str__(self) -> str:
        raise TemplateRuntimeError(f"a record cannot be printed; name one of its fields: {', '.join(self._fields)}")

    def __bool__(self) -> bool:
        return any(self._fields.values())


def wrap(value: Any, values: Values) -> Any:
    """`value` for a template: a mapping becomes a record of fields, everything else prints as its token."""
    return _Record(value, values) if isinstance(value, Mapping) else _Printed(value, values)
