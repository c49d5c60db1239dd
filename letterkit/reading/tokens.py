"""Tokens of a note: one regular expression, linear on any text, that loses no character.

General tokenizers keep `0/90`, `4+/5`, `MCPJ(IF` and `Tinel's+` whole and slow down on unbroken brackets; notes are
made of just that. Here words, numbers, runs of white space and single other characters are tokens.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from itertools import accumulate, compress
from operator import not_, sub
from typing import TYPE_CHECKING

from letterkit.reading.words import words

if TYPE_CHECKING:
    from spacy.tokens import Doc
    from spacy.vocab import Vocab

_SOLID = r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+(?:\.\d+)?"
_TOKEN = re.compile(rf"{_SOLID}|\s+|.", re.DOTALL)
_SHORTEST = 3  # letters of a word right behind 'w/'
_LONGEST = 40  # letters; a longer run is no word of medicine and is kept in pieces


def split(text: str) -> list[str]:
    """The pieces of `text`, white space included; joined they are the text again."""
    pieces: list[str] = []
    for piece in _TOKEN.findall(text):
        if len(piece) <= _LONGEST:
            pieces.append(piece)
        else:
            pieces += [piece[at : at + _LONGEST] for at in range(0, len(piece), _LONGEST)]
    return pieces


def _in_full(pieces: list[str], first: list[int], last: list[int], text: str) -> tuple[list[str], list[int], list[int]]:
    """'Struggles w jars', 'pain w/ grip', 'tender w/o swelling' with the words 'with' and 'without'."""
    words: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    at = 0
    while at < len(pieces):
        word, taken = _with(pieces, first, last, text, at) if pieces[at] in {"w", "W"} else (pieces[at], 1)
        words.append(word)
        starts.append(first[at])
        ends.append(last[at + taken - 1])
        at += taken
    return words, starts, ends


def _with(pieces: list[str], first: list[int], last: list[int], text: str, at: int) -> tuple[str, int]:
    """The word for the 'w' at `at`, and of how many pieces: 'w', 'w/', 'w/o'; and no 'w/c', no 'W' by itself."""
    if text[first[at] - 1 : first[at]].strip():
        return pieces[at], 1
    if pieces[at + 1 : at + 2] == ["/"] and last[at] == first[at + 1]:
        after = pieces[at + 2] if at + 2 < len(pieces) and last[at + 1] == first[at + 2] else ""
        if after.casefold() in {"o", "out"}:
            return "without", 3
        return ("with", 2) if not after or len(after) >= _SHORTEST else (pieces[at], 1)
    return ("with", 1) if pieces[at] == "w" and text[last[at] : last[at] + 1].isspace() else (pieces[at], 1)


@cache
def _contracted() -> Mapping[str, str]:
    """'isnt', 'Isnt' and 'isn’t' as 'isn't': what is denied without its apostrophe, or with a printed one."""
    forms: dict[str, str] = {}
    for word in words().sets["contracted"]:
        for typed in (word.replace("'", ""), word.replace("'", "’")):
            forms |= {typed: word, typed.capitalize(): word, typed.upper(): word}
    return forms


class NoteTokenizer:
    """spaCy's tokenizer protocol over `split`: a document of the words and signs of a text, without its white space.

    No phrase holds white space, and to put a document's text together again costs as much as to read it: `user_data`
    keeps the text and, under `pieces`, the tokens with their first and last characters.
    """

    def __init__(self, vocab: Vocab) -> None:
        self.vocab = vocab
        self._contracted = _contracted()

    def __call__(self, text: str) -> Doc:
        """The document of `text`."""
        from spacy.tokens import Doc  # noqa: PLC0415 - spaCy is heavy and only needed once a note is read

        found = _TOKEN.findall(text)
        if len(max(found, key=len, default="")) > _LONGEST:
            found = split(text)
        ends = list(accumulate(map(len, found)))
        solid = list(map(not_, map(str.isspace, found)))
        pieces, last = list(compress(found, solid)), list(compress(ends, solid))
        first = list(map(sub, last, map(len, pieces)))
        if "w" in pieces or "W" in pieces:
            pieces, first, last = _in_full(pieces, first, last, text)
        if not self._contracted.keys().isdisjoint(pieces):
            pieces = [self._contracted.get(piece, piece) for piece in pieces]
        return Doc(self.vocab, words=pieces, user_data={"text": text, "pieces": (pieces, first, last)})
