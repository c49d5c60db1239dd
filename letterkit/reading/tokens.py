"""Tokens of a note: one regular expression, linear on any text, that loses no character.

General tokenizers keep `0/90`, `4+/5`, `MCPJ(IF` and `Tinel's+` whole and slow down on unbroken brackets; notes are
made of just that. Here words, numbers, runs of white space and single other characters are tokens.
"""

from __future__ import annotations

import re
from itertools import accumulate, compress
from operator import add
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.tokens import Doc
    from spacy.vocab import Vocab

_SOLID = r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+(?:\.\d+)?"
_TOKEN = re.compile(rf"{_SOLID}|\s+|.", re.DOTALL)
_SPACED = re.compile(rf"({_SOLID}|\S)( (?!\s))?|(\s+)")  # a word with the single space behind it, or white space
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


class NoteTokenizer:
    """spaCy's tokenizer protocol over `split`; `Doc.text` is the text given, character for character."""

    def __init__(self, vocab: Vocab) -> None:
        self.vocab = vocab

    def __call__(self, text: str) -> Doc:
        """The document of `text`; a single space after a word is its trailing space, other white space a token.

        `user_data` keeps the text and, under `pieces`, the tokens that are no white space with their first and last
        characters: to put a document's text together again costs as much as to read it.
        """
        from spacy.tokens import Doc  # noqa: PLC0415 - spaCy is heavy and only needed once a note is read

        solids, gaps, whites = zip(*_SPACED.findall(text), strict=True) if text else ((), (), ())
        words = list(map(add, solids, whites))
        if len(max(words, key=len, default="")) > _LONGEST:
            return self._in_pieces(Doc, text)
        every = list(accumulate(map(add, map(len, words), map(len, gaps)), initial=0))
        pieces, starts = list(filter(None, solids)), list(compress(every, solids))
        ends = list(map(add, starts, map(len, pieces)))
        return Doc(
            self.vocab, words=words, spaces=list(map(bool, gaps)),
            user_data={"text": text, "pieces": (pieces, starts, ends)},
        )  # fmt: skip

    def _in_pieces(self, make: type[Doc], text: str) -> Doc:
        """The document of a text with runs of letters so long that they are kept in pieces, without trailing spaces."""
        words = split(text)
        ends = list(accumulate(map(len, words)))
        solid = [index for index, word in enumerate(words) if not word.isspace()]
        pieces = [words[index] for index in solid]
        return make(
            self.vocab, words=words, spaces=[False] * len(words),
            user_data={
                "text": text,
                "pieces": (pieces, [ends[index] - len(words[index]) for index in solid], [ends[at] for at in solid]),
            },
        )  # fmt: skip
