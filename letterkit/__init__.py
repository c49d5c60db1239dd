"""Turns recorded findings of a hand and wrist examination into a draft clinic letter.

`draft` makes a letter, `check` asks about a record. Both are imported on first use, so that importing the package is
quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from letterkit.pipeline import check, draft

__all__ = ["check", "draft"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name in __all__:
        from letterkit import pipeline

        return getattr(pipeline, name)
    raise AttributeError(f"module 'letterkit' has no attribute {name!r}")
