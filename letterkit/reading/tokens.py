"""Tokens of a note: one regular expression, linear on any text, that loses no character.

General tokenizers keep `0/90`, `4+/5`, `MCPJ(IF` and `Tinel's+` whole and slow down on unbroken brackets; notes are
made of just that. Here words, numbers, runs of white space and single other characters are tokens.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.tokens import Doc
    from spacy.vocab import Vocab

_TOKEN = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+(?:\.\d+)?|\s+|.", re.DOTALL)
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

        words: list[str] = []
        spaces: list[bool] = []
        pieces: list[str] = []
        starts: list[int] = []
        ends: list[int] = []
        at = 0
        for piece in split(text):
            end = at + len(piece)
            if not piece.isspace():
                pieces.append(piece)
                starts.append(at)
                ends.append(end)
            elif piece == " " and words and not spaces[-1] and not words[-1].isspace():
                spaces[-1] = True
                at = end
                continue
            words.append(piece)
            spaces.append(False)
            at = end
        return Doc(self.vocab, words=words, spaces=spaces, user_data={"text": text, "pieces": (pieces, starts, ends)})
