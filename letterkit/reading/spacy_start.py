"""spaCy without the parts that a blank pipeline has no use for: half of its start.

`import spacy` also brings its command line (typer, httpx, requests, rich), a YAML library for project files, progress
bars of training and the old pydantic beside the new one: 0.6 s of 1.2, at each start of a command that reads one letter
back. While spaCy is imported here for the first time, stand-ins take the place of those; afterwards they are gone, and
who asks for the real thing later gets it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from threading import Lock
from types import ModuleType
from typing import Any

_LATER: dict[str, tuple[str, ...]] = {
    "spacy.cli": (),
    "spacy.cli.info": ("info",),
    "srsly._yaml_api": ("read_yaml", "write_yaml", "yaml_dumps", "yaml_loads", "is_yaml_serializable"),
    "packaging.requirements": ("Requirement",),
    "tqdm": ("tqdm",),
}
"""Modules that are left out with the functions that spaCy takes from them by name."""
_WITHOUT = "pydantic.v1"  # asked for only to see whether it is there
_starting = Lock()


def _later(module: str, name: str) -> Callable[..., Any]:
    """The function of that name, imported when it is called."""

    def call(*words: Any, **options: Any) -> Any:
        return getattr(import_module(module), name)(*words, **options)

    return call


@contextmanager
def _left_out() -> Iterator[None]:
    stand_ins: dict[str, ModuleType | None] = {}
    for module, names in _LATER.items():
        stand_in = ModuleType(module)
        stand_in.__path__ = []
        vars(stand_in).update({name: _later(module, name) for name in names})
        stand_ins[module] = stand_in
    stand_ins[_WITHOUT] = None
    placed = {name: stand_in for name, stand_in in stand_ins.items() if name not in sys.modules}
    sys.modules.update(placed)  # type: ignore[arg-type]  # None is how a module is said not to be there
    try:
        yield
    finally:
        for name in placed:
            sys.modules.pop(name, None)


def start_spacy() -> None:
    """Imports spaCy, if nobody has."""
    with _starting:
        if "spacy" not in sys.modules:
            with _left_out():
                import_module("spacy")
