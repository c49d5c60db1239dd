"""The published tables of this room, read once from its data folder."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The table `name` as parsed; callers turn it into frozen rows and do not change it."""
    return tomllib.loads(files("letterkit.measures").joinpath("data", f"{name}.toml").read_text(encoding="utf-8"))
