"""Close misspellings of clinical words, corrected only where no phrase claims the word and never into a look-alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from functools import cache

from letterkit.reading.making import Span, Tokens
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_SHORTEST = 7  # letters; shorter words are too often other words
_LONG = 11  # from here on two slips are allowed
_MOST = 200  # words looked at in one note; a longer list is no note


def _bare(word: str) -> str:
    """The word without a possessive ending."""
    return word.removesuffix("'s").removesuffix("’s")


def _singular(word: str) -> str:
    """The word without the ending of a plural; 'tenderness' is none, so that 'tendernes' is a slip."""
    return word if word.endswith("ss") else word.removesuffix("s")


@cache
def _slips() -> Mapping[str, str]:
    """Short words as they are mistyped, each with the word meant: 'swolen' is 'swollen'."""
    return dict(slip.split(" ") for slip in words().sets["slips"])


def _slips_in(tokens: Tokens, claimed: AbstractSet[int], vocabulary: Vocabulary) -> Iterator[Span]:
    """Spans of the slips of a note: 'PIPJ swolen'."""
    for index, word in enumerate(tokens.lowers):
        meant = _slips().get(word)
        entry = vocabulary.phrases.get(meant) if meant is not None and index not in claimed else None
        if meant is not None and entry is not None and entry.term is not None:
            yield Span(index, index + 1, entry, word, meant)


def corrected(tokens: Tokens, claimed: AbstractSet[int], vocabulary: Vocabulary) -> list[Span]:
    """Spans of words one slip away from exactly one clinical word, read as the phrase of that word.

    `claimed` are the tokens of the phrases found.
    """
    unread = set(tokens.lowers) - vocabulary.plain - vocabulary.clinical
    slips = list(_slips_in(tokens, claimed, vocabulary)) if not unread.isdisjoint(_slips()) else []
    unread = {word for word in unread if len(word) >= _SHORTEST}  # asked first: few words of a note are left
    if not unread:
        return slips
    unknown = [
        index for index in sorted(set(range(len(tokens.lowers))) - claimed)
        if tokens.lowers[index] in unread
        and (bare := _bare(tokens.lowers[index])).isalpha() and bare not in vocabulary.plain
    ][:_MOST]  # fmt: skip
    if not unknown:
        return slips
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only where something is unknown
    from rapidfuzz.process import extract  # noqa: PLC0415

    found = slips
    for index in unknown:
        word = _bare(tokens.lowers[index])
        allowed = 2 if len(word) >= _LONG else 1
        lengths = range(len(word) - allowed, len(word) + allowed + 1)
        known = [each for length in lengths for each in vocabulary.by_shape.get((word[0], length), ())]
        alike = extract(word, known, scorer=OSA.distance, processor=None, score_cutoff=allowed, limit=None)
        near = [known[at] for at in sorted(at for _, _, at in alike)]
        plain = {each.rstrip("s") for each in near}
        if len(plain) == 1 and not any(_singular(word) == _singular(each) for each in near):
            entry = vocabulary.phrases.get(near[0])
            if entry is not None and entry.term is not None:
                found.append(Span(index, index + 1, entry, tokens.lowers[index], near[0]))
    return found
