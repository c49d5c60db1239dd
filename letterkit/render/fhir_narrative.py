"""Blocks of a letter as the XHTML narrative of a FHIR section: no script, no form, no link, nothing fetched."""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

from letterkit.letter.model import Block, BulletList, Heading, Lines, Paragraph, Picture, Sentence, Table, Title
from letterkit.render.words import check_shape, escape

_NAMESPACE = "http://www.w3.org/1999/xhtml"


def _text(text: str) -> str:
    return "<br/>".join(escape(text).splitlines())


def _sentences(sentences: Iterable[Sentence]) -> str:
    return " ".join(_text(sentence.text) for sentence in sentences if sentence.text)


def _table(table: Table) -> str:
    check_shape(table)
    caption = f"<caption>{_text(table.caption)}</caption>" if table.caption else ""
    header = "".join(f"<th>{_text(name)}</th>" for name in table.header)
    rows = "".join(f"<tr>{''.join(f'<td>{_text(cell.text)}</td>' for cell in row)}</tr>" for row in table.rows)
    described = f"<p>{_text(table.description)}</p>" if table.description else ""
    return f"{described}<table>{caption}<thead><tr>{header}</tr></thead><tbody>{rows}</tbody></table>"


def _block(block: Block) -> str:
    match block:
        case Title():
            return f"<h1>{_text(block.text)}</h1>"
        case Heading():
            return f"<h{block.level + 1}>{_text(block.text)}</h{block.level + 1}>"
        case Paragraph():
            return f"<p>{_sentences(block.sentences)}</p>"
        case Lines():
            return f"<p>{'<br/>'.join(_text(line) for line in block.lines)}</p>"
        case BulletList():
            tag = "ol" if block.ordered else "ul"
            entries = "".join(f"<li>{_sentences(entry)}</li>" for entry in block.entries)
            return f"<{tag}>{entries}</{tag}>"
        case Table():
            return _table(block)
        case Picture():
            return f"<p>{_text(block.alt)}</p>"  # a narrative fetches nothing, and not every reader draws SVG
        case _ as never:
            assert_never(never)


def narrative(blocks: Iterable[Block], language: str) -> dict[str, str]:
    """The narrative of some blocks; raises InvalidValue for a text that no XML can hold."""
    inner = "".join(_block(block) for block in blocks)
    div = f'<div xmlns="{_NAMESPACE}" lang="{language}" xml:lang="{language}">{inner}</div>'
    return {"status": "generated", "div": div}
