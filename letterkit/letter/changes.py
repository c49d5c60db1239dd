"""What changed since an earlier examination, as paragraphs of the letter."""

from __future__ import annotations

from letterkit.catalogue import Catalogue
from letterkit.letter.model import Paragraph, Sentence
from letterkit.prose.change import change_sentences, threshold_sources
from letterkit.prose.words import amount
from letterkit.summary.statement import Summary

_SENTENCES_A_PARAGRAPH = 6  # more is hard to scan


def change_paragraphs(summary: Summary, catalogue: Catalogue) -> tuple[Paragraph, ...]:
    """What changed, in a paragraph for each kind of change, and what its size was held against."""
    told = [
        Paragraph(
            tuple(Sentence(each.text, each.facts, "change") for each in some[start : start + _SENTENCES_A_PARAGRAPH])
        )
        for some in change_sentences(summary.changes, catalogue)
        for start in range(0, len(some), _SENTENCES_A_PARAGRAPH)
    ]
    limits = threshold_sources(summary.changes)
    if limits:
        sources = "; ".join(
            f"{limit.source}, {amount(limit.size, 'deg') if limit.error else f'{limit.size:g} points'}"
            for limit in limits
        )
        told.append(Paragraph((Sentence(f"Changes were held against: {sources}.", origin="change"),), "small"))
    return tuple(told)
