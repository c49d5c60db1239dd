"""The read-back of a whole letter: its sentences about findings and the cells of its table of measurements."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from letterkit.findings.facts import Facts
from letterkit.letter.model import BulletList, Letter, Paragraph, Sentence, Table
from letterkit.reading.readback import FactKey, Mismatch, keys_of, read_back

_LABEL = re.compile(r"^(?P<what>.*?)(?: \((?P<unit>[^()]*)\))?$", re.DOTALL)
_SIDES = {"right": "on the right", "left": "on the left"}


def _sentences(letter: Letter) -> Iterator[Sentence]:
    for block in letter.blocks:
        if isinstance(block, Paragraph):
            yield from block.sentences
        elif isinstance(block, BulletList):
            for entry in block.entries:
                yield from entry


def _cells(table: Table) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each cell with facts as the line a reader of the table sees: what, on which side, the value and its unit."""
    for row in table.rows:
        label = _LABEL.match(row[0].text)
        assert label is not None
        for column, cell in zip(table.header, row, strict=True):
            if cell.facts:
                side = _SIDES.get(column.casefold(), "")
                unit = label["unit"] or ""
                told = cell.text if unit in cell.text else f"{cell.text} {unit}"
                yield f"{label['what']} {side}".rstrip() + f": {told}.", cell.facts


def _stated(letter: Letter) -> Iterator[tuple[str, tuple[str, ...]]]:
    for sentence in _sentences(letter):
        if sentence.origin == "finding":
            yield sentence.text, sentence.facts
    for block in letter.blocks:
        if isinstance(block, Table):
            yield from _cells(block)


def read_letter_back(letter: Letter, facts: Facts) -> tuple[Mismatch, ...]:
    """The sentences and cells of a letter that do not give back the facts they state, and facts nothing states.

    A fact of the examination that no sentence and no cell states is a mismatch of its own, without a text.
    """
    keys = keys_of(facts)
    stated = [(text, _keys(found, keys)) for text, found in _stated(letter)]
    told = {fact for _, found in _stated(letter) for fact in found}
    lost = tuple(key for fact in keys if fact not in told for key in keys[fact])
    mismatches = read_back(stated, language=letter.properties.language)
    return (*mismatches, Mismatch(len(stated), "", lost, ())) if lost else mismatches


def _keys(found: Iterable[str], keys: Mapping[str, tuple[FactKey, ...]]) -> tuple[FactKey, ...]:
    return tuple(key for fact in found for key in keys.get(fact, ()))
