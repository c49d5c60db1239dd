"""Turns recorded findings of a hand and wrist examination into a draft clinic letter.

`draft` makes a letter, `check` asks about a record, `read` reads a pasted note. Each is imported on first use, so that
importing the package is quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from letterkit.pipeline import check, draft
    from letterkit.reading.read import read

__all__ = ["check", "draft", "read"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name == "read":
        from letterkit.reading.read import read as reader

        return reader
    if name in __all__:
        from letterkit import pipeline

        return getattr(pipeline, name)
    raise AttributeError(f"module 'letterkit' has no attribute {name!r}")
