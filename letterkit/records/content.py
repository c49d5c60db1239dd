"""What one version of a letter holds, and the letter as JSON and back.

A version keeps the finished letter as a document, not only the findings: a later release of this program words some
things differently, and must not change a letter that has left.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import TypeAdapter, ValidationError

from letterkit.letter.model import Block, Letter
from letterkit.records.errors import RecordsError

_FAST = 1  # level of compression: JSON shrinks to a sixth at the first
_BLOCKS = {kind.__name__.lower(): kind for kind in get_args(Block)}
_READERS: dict[str, TypeAdapter[Any]] = {name: TypeAdapter(kind) for name, kind in _BLOCKS.items()}
_LETTER = TypeAdapter(Letter)


def letter_to_json(letter: Letter) -> dict[str, Any]:
    """A letter as JSON values; `letter_from_json` gives the same letter back."""
    fields: dict[str, Any] = _LETTER.dump_python(letter, mode="json")
    for block, told in zip(letter.blocks, fields["blocks"], strict=True):
        told["block"] = type(block).__name__.lower()
    return fields


def _block(given: Mapping[str, Any]) -> Any:
    fields = dict(given)
    kind = fields.pop("block")
    if kind not in _READERS:
        raise RecordsError(f"letter: a block of kind {kind!r} was made by a later release; upgrade this one")
    return _READERS[kind].validate_python(fields)


def letter_from_json(given: Mapping[str, Any]) -> Letter:
    """The letter that `letter_to_json` was given. Raises RecordsError where a later release made it."""
    try:
        return _LETTER.validate_python({**given, "blocks": tuple(_block(block) for block in given["blocks"])})
    except ValidationError:
        raise RecordsError("letter: it was made by a release that this one cannot read; upgrade this one") from None


@dataclass(frozen=True, slots=True)
class Content:
    """Everything a version of a letter holds.

    `encounter` is the record in its JSON shape; `letter` and `patient_copy` are finished letters as JSON; `statements`
    are the sentences with the findings they state; `queries` and `measures` what was asked and computed; `notices` what
    a foreign record carried beyond the encounter; `approval` that of a final letter. `letter_digest` is the SHA-256 of
    the letter's words.
    """

    encounter: Mapping[str, Any]
    letter: Mapping[str, Any]
    letter_digest: str
    statements: Sequence[Mapping[str, Any]] = ()
    queries: Sequence[Mapping[str, Any]] = ()
    measures: Sequence[Mapping[str, Any]] = ()
    notices: Sequence[Mapping[str, Any]] = ()
    patient_copy: Mapping[str, Any] | None = None
    approval: Mapping[str, Any] | None = None
    release: str = ""

    def to_bytes(self) -> bytes:
        """As JSON text, always the same bytes for the same content."""
        fields = {name: getattr(self, name) for name in self.__slots__}
        return json.dumps(fields, ensure_ascii=True, separators=(",", ":")).encode()

    @classmethod
    def from_bytes(cls, given: bytes) -> Content:
        """The content that `to_bytes` was given."""
        return cls(**json.loads(given))


def digest_of(content: bytes) -> str:
    """The SHA-256 of a content's bytes, in 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def packed(content: bytes) -> bytes:
    """Compressed for keeping."""
    return zlib.compress(content, _FAST)


def unpacked(kept: bytes) -> bytes:
    """As it was before `packed`. Raises RecordsError where the bytes were damaged."""
    try:
        return zlib.decompress(kept)
    except zlib.error:
        raise RecordsError("letter: its stored content is damaged; restore it from a backup") from None
