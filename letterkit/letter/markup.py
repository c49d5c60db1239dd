"""From what a template printed to the nodes of a letter.

One line is one thing. `#`, `##` and `###` open the title, a section and a sub-section; `-` an entry of a list; `@role`
a paragraph with that role; any other line a paragraph. A line that holds a single block stands for the block. Tokens
stand for values, so nothing a record says can be taken for markup.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

from letterkit.errors import LetterheadError
from letterkit.letter.model import (
    Block,
    BulletList,
    Heading,
    Lines,
    Paragraph,
    Picture,
    Role,
    Sentence,
    Table,
    Title,
)
from letterkit.letter.templates import CLOSE, OPEN, Values

_TOKEN = re.compile(f"{OPEN}(\\d+){CLOSE}")
_ROLE = re.compile(r"^@(?P<role>\w+)(\s+|$)")
_ROLES: Mapping[str, Role] = {role: role for role in get_args(Role)}
_BLOCKS = (Title, Heading, Paragraph, Lines, BulletList, Table, Picture)


def _pieces(line: str, values: Values) -> list[Any]:
    """Literal texts and values of a line, in order."""
    split: list[Any] = _TOKEN.split(line)  # a text, a number, a text, ...
    split[1::2] = [values[int(number)] for number in split[1::2]]
    return [piece for piece in split if piece != ""]


def _sentences(line: str, values: Values, name: str) -> tuple[Sentence, ...]:
    """A line as sentences: sentences that were given keep their provenance, words around them are the template's."""
    if OPEN not in line:
        return (Sentence(line.strip()),) if line.strip() else ()
    found: list[Sentence] = []
    words = ""
    for piece in _pieces(line, values):
        given: tuple[Any, ...] = piece if isinstance(piece, tuple) else (piece,)
        for each in given:
            if isinstance(each, Sentence):
                if words.strip():
                    found.append(Sentence(words.strip()))
                words = ""
                found.append(each)
            elif isinstance(each, (str, int)):
                words += str(each)
            else:
                raise LetterheadError(f"template {name}: a {type(each).__name__.lower()} stands inside a line; "
                                      "give it a line of its own")  # fmt: skip
    if words.strip():
        found.append(Sentence(words.strip()))
    return tuple(found)


def _plain(line: str, values: Values, name: str) -> str:
    return " ".join([sentence.text for sentence in _sentences(line, values, name)]) if OPEN in line else line.strip()


def _own_blocks(line: str, values: Values) -> tuple[Block, ...] | None:
    """The blocks a line stands for, where it is nothing but one token of blocks."""
    match = _TOKEN.fullmatch(line) if line[0] == OPEN else None
    if match is None:
        return None
    value = values[int(match[1])]
    if isinstance(value, _BLOCKS):
        return (value,)
    if isinstance(value, tuple) and value and all(isinstance(each, _BLOCKS) for each in value):
        return value
    return None


def _heading(line: str, level: int, values: Values, name: str) -> Title | Heading:
    marks, _, words = line.partition(" ")
    text = _plain(words, values, name)
    match marks:
        case "#":
            return Title(text)
        case "##":
            return Heading(1, text)
        case "###" if level:
            return Heading(2, text)
        case "###":
            raise LetterheadError(f"template {name}: the sub-section {text!r} stands before any section")
        case _:
            raise LetterheadError(f"template {name}: {marks} is no heading; use #, ## or ###")


def _paragraph(line: str, values: Values, name: str) -> Paragraph | None:
    """The paragraph of a line, or None where its values are all empty."""
    role: Role = "body"
    if match := _ROLE.match(line):
        given = _ROLES.get(match["role"])
        if given is None:
            raise LetterheadError(f"template {name}: @{match['role']} is no role; known: {', '.join(_ROLES)}")
        role, line = given, line[match.end() :]
    sentences = _sentences(line, values, name)
    return Paragraph(sentences, role) if sentences else None


def parse(text: str, values: Values, name: str) -> tuple[Block, ...]:
    """The blocks of a letter. Raises `LetterheadError` for a role or a level of heading that does not exist."""
    blocks: list[Block] = []
    entries: list[tuple[Sentence, ...]] = []
    level = 0
    for line in [*(each.strip() for each in text.splitlines()), ""]:
        if line.startswith("- "):
            if sentences := _sentences(line[2:], values, name):
                entries.append(sentences)
            continue
        if entries and line != "":
            blocks.append(BulletList(tuple(entries)))
            entries = []
        if not line:
            continue
        if own := _own_blocks(line, values):
            blocks += own
        elif line.startswith("#"):
            heading = _heading(line, level, values, name)
            level = heading.level if isinstance(heading, Heading) else 0
            blocks.append(heading)
        elif paragraph := _paragraph(line, values, name):
            blocks.append(paragraph)
    if entries:
        blocks.append(BulletList(tuple(entries)))
    return tuple(blocks)
