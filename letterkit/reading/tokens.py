"""Tokens of a note: one regular expression, linear on any text, that loses no character.

General tokenizers keep `0/90`, `4+/5`, `MCPJ(IF` and `Tinel's+` whole and slow down on unbroken brackets; notes are
made of just that. Here words, numbers, runs of white space and single other characters are tokens.
"""

from __future__ import annotations

import re
from itertools import accumulate
from operator import add
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.tokens import Doc
    from spacy.vocab import Vocab

_SOLID = r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+(?:\.\d+)?"
_TOKEN = re.compile(rf"{_SOLID}|\s+|.", re.DOTALL)
_SPACED = re.compile(rf"({_SOLID}|\S)( ?)")
_BREAK = re.compile(r"^\s|\s\s|[^\S ]")  # white space that is more than one space behind a word
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

        if _BREAK.search(text) is None:
            found = _SPACED.findall(text)
            words = [word for word, _ in found]
            if len(max(words, key=len, default="")) <= _LONGEST:
                return self._spaced(Doc, text, words, [space for _, space in found])
        words = []
        spaces: list[bool] = []
        pieces: list[str] = []
        starts: list[int] = []
        ends: list[int] = []
        at = 0
        bare = False  # whether the word before is none of white space and has no space behind it yet
        for piece in split(text):
            end = at + len(piece)
            if not piece.isspace():
                pieces.append(piece)
                starts.append(at)
                ends.append(end)
                bare = True
            elif bare and piece == " ":
                spaces[-1] = True
                bare = False
                at = end
                continue
            else:
                bare = False
            words.append(piece)
            spaces.append(False)
            at = end
        return Doc(self.vocab, words=words, spaces=spaces, user_data={"text": text, "pieces": (pieces, starts, ends)})

    def _spaced(self, make: type[Doc], text: str, words: list[str], gaps: list[str]) -> Doc:
        """The document of a line whose words stand apart by single spaces, or by none: nearly every sentence is one."""
        lengths = list(map(len, words))
        starts = list(accumulate(map(add, lengths, map(len, gaps)), initial=0))[:-1]
        ends = list(map(add, starts, lengths))
        return make(
            self.vocab, words=words, spaces=list(map(bool, gaps)),
            user_data={"text": text, "pieces": (words, starts, ends)},
        )  # fmt: skip
