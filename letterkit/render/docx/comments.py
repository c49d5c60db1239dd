"""The queries of a draft as comments of the Word document, each at the words it is about.

A comment is no text of the letter: whoever takes the comments out of the file has the letter itself.
"""

from __future__ import annotations

from letterkit.letter.model import Letter
from letterkit.letter.remarks import marked, told
from letterkit.render.docx.body import Body, inline
from letterkit.render.docx.ooxml import DECLARATION, W_NS

AUTHOR = "letterkit"
INITIALS = "lk"

_RUN = '<w:r><w:t xml:space="preserve">'
_RUN_END = "</w:t></w:r>"


def _opening(numbers: tuple[int, ...]) -> str:
    starts = "".join([f'<w:commentRangeStart w:id="{number}"/>' for number in numbers])
    return f"{_RUN_END}{starts}{_RUN}"


def _closing(numbers: tuple[int, ...]) -> str:
    ends = "".join([f'<w:commentRangeEnd w:id="{number}"/>' for number in numbers])
    references = "".join([f'<w:r><w:commentReference w:id="{number}"/></w:r>' for number in numbers])
    return f"{_RUN_END}{ends}{references}{_RUN}"


def commented(letter: Letter, body: Body) -> str:
    """Give the content of the document's body with an anchor for the comment of each remark."""
    noted = marked(letter)
    (content,) = noted.put([body.set(noted.blocks)], _opening, _closing)
    if noted.unplaced:
        content += f"<w:p>{_RUN}{_opening(noted.unplaced)}{_closing(noted.unplaced)}{_RUN_END}</w:p>"
    return content.replace(_RUN + _RUN_END, "")


def comments_part(letter: Letter) -> str:
    """Give the part with the comments: number n of the letter's remarks has the id n; dated as the letter."""
    day = f"{letter.properties.created.isoformat()}T00:00:00Z"
    comments = []
    for number, remark in enumerate(letter.remarks):
        question, *rest = told(remark)
        paragraphs = [f"<w:p><w:r><w:annotationRef/></w:r>{_RUN}{inline(question)}{_RUN_END}</w:p>"]
        paragraphs += [f"<w:p>{_RUN}{inline(line)}{_RUN_END}</w:p>" for line in rest]
        comments.append(
            f'<w:comment w:id="{number}" w:author="{AUTHOR}" w:date="{day}" w:initials="{INITIALS}">'
            f"{''.join(paragraphs)}</w:comment>"
        )
    return f'{DECLARATION}<w:comments xmlns:w="{W_NS}">{"".join(comments)}</w:comments>'
