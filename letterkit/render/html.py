"""A letter as one self-contained, accessible web page: no script, nothing fetched, every sentence with its facts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import assert_never

from letterkit.errors import InvalidInput, Problem
from letterkit.letter.model import (
    Block,
    BulletList,
    Cell,
    Heading,
    Letter,
    Lines,
    Paragraph,
    Picture,
    Sentence,
    Table,
    Title,
)
from letterkit.letter.remarks import HEADING as QUERIES
from letterkit.letter.remarks import marked, told
from letterkit.render.words import check_shape, escape

# Colours are at least 7:1 on white or on their own ground. Sizes are relative, so the reader's own size holds.
_CSS = """
body{margin:0 auto;padding:1.5rem;max-width:48rem;color:#1a1a1a;background:#fff;
font:1rem/1.45 Arial,Helvetica,sans-serif}
h1{font-size:1.4rem;margin:.4rem 0 .6rem;color:#1f3550}
h2{font-size:1.15rem;margin:1.1rem 0 .3rem;color:#1f3550}
h3,h4{font-size:1rem;margin:.9rem 0 .2rem;color:#1f3550}
p,ul,ol{margin:.3rem 0 .6rem}
.sender,.small{font-size:.9rem}
.subject,.identity{font-weight:bold}
.note{font-style:italic}
.caution{border-left:.3rem solid #8a3b00;background:#fdf3ea;padding:.4rem .7rem}
.signature{margin-top:1rem}
.draft-mark{border:2px solid #8a1c1c;color:#8a1c1c;font-weight:bold;padding:.3rem .7rem;text-align:center}
table{border-collapse:collapse;margin:.5rem 0 .9rem}
caption{text-align:left;font-weight:bold;padding-bottom:.3rem}
th,td{border-bottom:1px solid #8b95a1;padding:.25rem .9rem .25rem .4rem;text-align:left;vertical-align:top}
thead th{border-bottom:2px solid #1f3550}
tbody th{font-weight:normal}
figure{margin:.8rem 0}
figure svg{max-width:100%;height:auto}
.described{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
aside{border:1px solid #8b95a1;margin-top:1.5rem;padding:.2rem .9rem}
aside li{margin-bottom:.8rem}
aside p{margin:.1rem 0}
aside p+p{font-size:.9rem}
.queried:target{outline:2px solid #1f3550}
.running{border-top:1px solid #8b95a1;margin-top:1.5rem;padding-top:.4rem;font-size:.9rem}
@media print{body{max-width:none;padding:0}tr,.caution{break-inside:avoid}h2,h3,h4{break-after:avoid}
aside{break-before:page}}
"""


_LARGE_PRINT = "html{font-size:150%}\n"  # 18 point where the reader's own size is the usual 12


def _facts(facts: Sequence[str]) -> str:
    return f' data-facts="{escape(" ".join(facts))}"' if facts else ""


def _text(text: str) -> str:
    return "<br>".join(escape(text).splitlines())


def _sentences(sentences: Iterable[Sentence]) -> str:
    return " ".join(
        [
            f"<span{_facts(sentence.facts)}>{_text(sentence.text)}</span>" if sentence.facts else _text(sentence.text)
            for sentence in sentences
            if sentence.text
        ]
    )


def _cells(row: Sequence[Cell]) -> str:
    name, *values = row
    return f'<th scope="row"{_facts(name.facts)}>{_text(name.text)}</th>' + "".join(
        [f"<td{_facts(cell.facts)}>{_text(cell.text)}</td>" for cell in values]
    )


def _table(table: Table, number: int) -> str:
    check_shape(table)
    header = "".join([f'<th scope="col">{_text(name)}</th>' for name in table.header])
    rows = "".join([f"<tr>{_cells(row)}</tr>\n" for row in table.rows])
    described = caption = ""
    label = ""
    if table.description:
        label = f' aria-describedby="described-{number}"'
        described = f'<p class="described" id="described-{number}">{_text(table.description)}</p>\n'
    if table.caption:
        caption = f"<caption>{_text(table.caption)}</caption>\n"
    return f"{described}<table{label}>\n{caption}<thead><tr>{header}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n"


def _block(block: Block, number: int) -> str:
    match block:
        case Title():
            return f"<h1>{_text(block.text)}</h1>\n"
        case Heading():
            # The title is the page's h1, so the sections of the letter begin at h2.
            return f"<h{block.level + 1}>{_text(block.text)}</h{block.level + 1}>\n"
        case Paragraph():
            return f'<p class="{block.role}">{_sentences(block.sentences)}</p>\n'
        case Lines():
            return f'<p class="{block.role}">{"<br>".join([_text(line) for line in block.lines])}</p>\n'
        case BulletList():
            tag = "ol" if block.ordered else "ul"
            entries = "".join([f"<li>{_sentences(entry)}</li>\n" for entry in block.entries])
            return f"<{tag}>\n{entries}</{tag}>\n"
        case Table():
            return _table(block, number)
        case Picture():
            # The graphic carries its own title and description; it is of our making and holds no script.
            return f"<figure>{block.svg}</figure>\n"
        case _ as never:
            assert_never(never)


def _opening(blocks: Sequence[Block]) -> int:
    """Count the blocks down to the title: they make the page's header."""
    return next((index for index, block in enumerate(blocks, start=1) if isinstance(block, Title)), 0)


def _written(blocks: Sequence[Block]) -> list[str]:
    return [_block(block, number) for number, block in enumerate(blocks)]


def _with_queries(letter: Letter) -> tuple[list[str], str]:
    """The blocks of a draft, the words that queries are about with an id, and the list of queries linked to them."""
    noted = marked(letter)
    written = noted.put(
        _written(noted.blocks),
        lambda spot: f'<span class="queried" id="query-{spot[0] + 1}-words">',
        lambda _: "</span>",
    )
    words = {number: f"#query-{spot[0] + 1}-words" for spot in noted.spots for number in spot}
    entries = []
    for number, remark in enumerate(letter.remarks):
        question, *rest = [f"<p>{_text(line)}</p>\n" for line in told(remark)]
        link = (
            f'<p><a href="{words[number]}">Words of the letter that query {number + 1} is about</a></p>\n'
            if number in words
            else ""
        )
        entries.append(f'<li id="query-{number + 1}">\n{question}{link}{"".join(rest)}</li>\n')
    aside = (
        f'<aside aria-labelledby="queries">\n<h2 id="queries">{QUERIES}</h2>\n<ol>\n{"".join(entries)}</ol>\n</aside>\n'
    )
    return written, aside


@dataclass(frozen=True, slots=True)
class HtmlRenderer:
    """Sets a letter as one page with landmarks, real headings and table headers."""

    media_type: str = "text/html; charset=utf-8"
    suffix: str = ".html"

    def render(self, letter: Letter) -> bytes:
        """Give the page as UTF-8; the draft mark, if there is one, stands at its top and at its foot."""
        aside = ""
        if letter.remarks:
            written, aside = _with_queries(letter)
        else:
            written = _written(letter.blocks)
        opening = _opening(letter.blocks)
        mark = ""
        if letter.draft_mark is not None:
            mark = f'<p class="draft-mark">{_text(letter.draft_mark)}</p>\n'
        about = letter.properties
        header = mark + "".join(written[:opening])
        large = _LARGE_PRINT if about.large_print else ""
        page = (
            f'<!DOCTYPE html>\n<html lang="{about.language}">\n<head>\n<meta charset="utf-8">\n'
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f'<meta name="author" content="{escape(about.author)}">\n'
            f"<title>{escape(about.title)}</title>\n<style>{_CSS}{large}</style>\n</head>\n<body>\n"
            + (f"<header>\n{header}</header>\n" if header else "")
            + f"<main>\n{''.join(written[opening:])}</main>\n{aside}"
            f'<footer>\n<p class="running">{_text(letter.continuation)}</p>\n{mark}</footer>\n</body>\n</html>\n'
        )
        return page.encode()


def renderer(letterhead: Path | None = None) -> HtmlRenderer:
    """Give the renderer of web pages; it has no letterhead, and refuses one rather than leaving it out in silence."""
    if letterhead is not None:
        raise InvalidInput((Problem("letterhead", "only DOCX letters take one; leave it out"),))
    return HtmlRenderer()
