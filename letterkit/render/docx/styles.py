"""The styles and list numberings a letter is set in: those of the letterhead where it has them, ours where not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from lxml.etree import _Element as Element

from letterkit.render.docx.ooxml import made, w

INK = "1F3550"  # dark blue, 12:1 on white (WCAG 2.2 asks 4.5:1 of text)
RULE = "8B95A1"  # grey of table rules, 3:1 on white, as WCAG asks of lines that carry meaning
_CAUTION = "8A3B00"  # brown of the line beside a caution, 7:1
_DRAFT = "8A1C1C"  # red of the draft mark, 9:1


@dataclass(frozen=True, slots=True)
class _Style:
    name: str  # as the word processor stores it: built-in names in its own case
    id: str
    paragraph: str = ""
    run: str = ""
    kind: Literal["paragraph", "table"] = "paragraph"
    more: str = ""  # what a table style holds besides


def _spacing(before: int, after: int) -> str:
    return f'<w:spacing w:before="{before}" w:after="{after}"/>'


def _heading(level: int, before: int, size: int, more: str = "") -> _Style:
    return _Style(
        f"heading {level}",
        f"Heading{level}",
        f'<w:keepNext/><w:keepLines/>{_spacing(before, 30)}<w:outlineLvl w:val="{level - 1}"/>',
        f'<w:b/>{more}<w:color w:val="{INK}"/><w:sz w:val="{size}"/><w:szCs w:val="{size}"/>',
    )


_SIZE_SMALL = '<w:sz w:val="18"/><w:szCs w:val="18"/>'
_SIZE_TABLE = '<w:sz w:val="19"/><w:szCs w:val="19"/>'

# Sizes are in half-points and spaces in twentieths of a point. A normal letter shall fit one page: spaces are small,
# and each kind of text has its own, so that no empty paragraph is needed.
_STYLES = (
    _Style(
        "Title",
        "Title",
        f"<w:keepNext/>{_spacing(0, 100)}",
        f'<w:b/><w:color w:val="{INK}"/><w:sz w:val="30"/><w:szCs w:val="30"/>',
    ),
    _heading(1, 100, 23),
    _heading(2, 50, 21),
    _heading(3, 50, 21, "<w:i/>"),
    _Style("List Bullet", "ListBullet", f"{_spacing(0, 70)}<w:contextualSpacing/>"),
    _Style("List Number", "ListNumber", f"{_spacing(0, 70)}<w:contextualSpacing/>"),
    _Style("caption", "Caption", f"<w:keepNext/>{_spacing(100, 60)}", f"<w:b/>{_SIZE_TABLE}"),
    _Style("Letter Body", "LetterBody", _spacing(0, 70)),
    _Style("Letter Salutation", "LetterSalutation", _spacing(60, 60)),
    _Style("Letter Subject", "LetterSubject", f"<w:keepNext/>{_spacing(40, 40)}", "<w:b/>"),
    _Style("Letter Note", "LetterNote", _spacing(0, 100), "<w:i/>"),
    _Style(
        "Letter Caution",
        "LetterCaution",
        f'<w:keepLines/><w:pBdr><w:left w:val="single" w:sz="24" w:space="6" w:color="{_CAUTION}"/></w:pBdr>'
        f'{_spacing(60, 100)}<w:ind w:left="170"/>',
    ),
    _Style("Letter Signature", "LetterSignature", f"<w:keepLines/>{_spacing(120, 60)}"),
    _Style("Letter Small", "LetterSmall", _spacing(60, 60), _SIZE_SMALL),
    _Style("Letter Sender", "LetterSender", f"<w:keepLines/>{_spacing(0, 80)}", _SIZE_TABLE),
    _Style("Letter Address", "LetterAddress", f"<w:keepLines/>{_spacing(0, 80)}"),
    _Style("Letter Identity", "LetterIdentity", f"<w:keepLines/>{_spacing(0, 60)}", "<w:b/>"),
    _Style("Letter Dates", "LetterDates", f"<w:keepLines/>{_spacing(0, 100)}", _SIZE_TABLE),
    _Style("Letter Cell", "LetterCell", _spacing(10, 10), _SIZE_TABLE),
    _Style(
        "Letter Continuation",
        "LetterContinuation",
        f'<w:pBdr><w:bottom w:val="single" w:sz="4" w:space="3" w:color="{RULE}"/></w:pBdr>{_spacing(0, 120)}',
        _SIZE_SMALL,
    ),
    _Style(
        "Letter Draft Mark",
        "LetterDraftMark",
        f'{_spacing(0, 80)}<w:jc w:val="center"/>',
        f'<w:b/><w:color w:val="{_DRAFT}"/>{_SIZE_TABLE}',
    ),
    _Style("Letter Page", "LetterPage", f'{_spacing(60, 0)}<w:jc w:val="right"/>', _SIZE_SMALL),
    _Style(
        "Letter Table",
        "LetterTable",
        kind="table",
        more=(
            "<w:tblPr><w:tblBorders>"
            f'<w:bottom w:val="single" w:sz="4" w:space="0" w:color="{RULE}"/>'
            f'<w:insideH w:val="single" w:sz="4" w:space="0" w:color="{RULE}"/></w:tblBorders>'
            '<w:tblCellMar><w:left w:w="70" w:type="dxa"/><w:right w:w="140" w:type="dxa"/></w:tblCellMar></w:tblPr>'
            '<w:tblStylePr w:type="firstRow"><w:rPr><w:b/></w:rPr><w:tcPr><w:tcBorders>'
            f'<w:bottom w:val="single" w:sz="8" w:space="0" w:color="{INK}"/>'
            "</w:tcBorders></w:tcPr></w:tblStylePr>"
        ),
    ),
)
STYLE_NAMES = tuple(style.name for style in _STYLES)

NUMBERED_LISTS = 64  # each numbered list of a letter needs a numbering of its own, and these are made beforehand
_INDENT = '<w:pPr><w:ind w:left="340" w:hanging="340"/></w:pPr>'
EMPTY_STYLES = "<w:styles/>"
EMPTY_NUMBERING = "<w:numbering/>"


def _find(root: Element, kind: str, name: str) -> Element | None:
    for style in root.iterfind(w("style")):
        named = style.find(w("name"))
        if (
            style.get(w("type")) == kind
            and named is not None
            and named.get(w("val"), "").casefold() == name.casefold()
            and style.get(w("styleId"))
        ):
            return style
    return None


def _default(root: Element, kind: str) -> str | None:
    for style in root.iterfind(w("style")):
        if style.get(w("type")) == kind and style.get(w("default")) in {"1", "true", "on"}:
            return style.get(w("styleId"))
    return None


def _base(root: Element) -> str:
    """Give the id of the style all paragraphs start from, made if the letterhead has none."""
    found = _default(root, "paragraph")
    if found is None and (normal := _find(root, "paragraph", "Normal")) is not None:
        found = normal.get(w("styleId"))
    if found is None:
        found = "Normal"
        root.append(
            made(
                '<w:style w:type="paragraph" w:default="1" w:styleId="Normal"><w:name w:val="Normal"/><w:qFormat/>'
                '<w:rPr><w:rFonts w:ascii="Arial" w:hAnsi="Arial" w:eastAsia="Arial" w:cs="Arial"/>'
                '<w:sz w:val="22"/><w:szCs w:val="22"/></w:rPr></w:style>'
            )
        )
    return found


def _definition(style: _Style, style_id: str, base: str | None) -> Element:
    based = f'<w:basedOn w:val="{base}"/>' if base else ""
    custom = ' w:customStyle="1"' if style.name.startswith("Letter ") else ""
    paragraph = f"<w:pPr>{style.paragraph}</w:pPr>" if style.paragraph else ""
    run = f"<w:rPr>{style.run}</w:rPr>" if style.run else ""
    return made(
        f'<w:style w:type="{style.kind}"{custom} w:styleId="{style_id}"><w:name w:val="{style.name}"/>{based}'
        f"<w:qFormat/>{paragraph}{run}{style.more}</w:style>"
    )


def own_styles(root: Element) -> tuple[str, ...]:
    """Give the names of the letter's styles that a styles part has already, in the order of `STYLE_NAMES`."""
    return tuple(style.name for style in _STYLES if _find(root, style.kind, style.name) is not None)


def complete_styles(root: Element) -> dict[str, str]:
    """Add to a styles part what a letter needs and it lacks; give the style id for each of `STYLE_NAMES`.

    A style is recognised by its name, as the word processor shows it: its id differs between languages.
    """
    base = _base(root)
    used = {style.get(w("styleId")) for style in root.iterfind(w("style"))}
    ids: dict[str, str] = {}
    for style in _STYLES:
        found = _find(root, style.kind, style.name)
        if found is None:
            style_id = style.id
            while style_id in used:
                style_id += "Letter"
            used.add(style_id)
            root.append(_definition(style, style_id, base if style.kind == "paragraph" else _default(root, "table")))
            ids[style.name] = style_id
        else:
            ids[style.name] = found.get(w("styleId"), "")
    return ids


def set_language(root: Element, ids: Iterable[str], language: str) -> None:
    """Make a language that of the whole document, in the defaults of its styles part."""
    defaults = root.find(w("docDefaults"))
    if defaults is None:
        defaults = made("<w:docDefaults/>")
        root.insert(0, defaults)
    holder = defaults
    for name in ("rPrDefault", "rPr"):
        child = holder.find(w(name))
        if child is None:
            child = made(f"<w:{name}/>")
            holder.insert(0, child)
        holder = child
    # A style the letter uses must not speak another language than the letter; the letterhead's own texts may.
    styles = {style.get(w("styleId")): style for style in root.iterfind(w("style"))}
    pending = list(ids)
    seen: set[str | None] = set()
    while pending:
        style = styles.get(pending.pop())
        if style is None or style.get(w("styleId")) in seen:
            continue
        seen.add(style.get(w("styleId")))
        for lang in style.findall(f"{w('rPr')}/{w('lang')}"):
            lang.attrib.pop(w("val"), "")
        if (based := style.find(w("basedOn"))) is not None:
            pending.append(based.get(w("val"), ""))
    lang_element = holder.find(w("lang"))
    if lang_element is None:
        lang_element = made("<w:lang/>")
        holder.append(lang_element)
    lang_element.set(w("val"), language)


_LARGE_PRINT = 32  # half-points: 16 point, the least for large print (from memory)
_NORMAL_PRINT = 22


def enlarge(root: Element, ids: Iterable[str]) -> None:
    """Make large print of the styles with these ids, of those they are based on, and of the document's defaults."""
    run = root.find(f"{w('docDefaults')}/{w('rPrDefault')}/{w('rPr')}")
    assert run is not None  # the language is set first, and makes the defaults
    for name in ("sz", "szCs"):
        if run.find(w(name)) is None:
            _insert_before(run, ("lang",), made(f'<w:{name} w:val="{_NORMAL_PRINT}"/>'))
    _scale(run)
    styles = {style.get(w("styleId")): style for style in root.iterfind(w("style"))}
    pending = list(ids)
    seen: set[str | None] = set()
    while pending:
        style = styles.get(pending.pop())
        if style is None or style.get(w("styleId")) in seen:
            continue
        seen.add(style.get(w("styleId")))
        if (own := style.find(w("rPr"))) is not None:
            _scale(own)
        if (based := style.find(w("basedOn"))) is not None:
            pending.append(based.get(w("val"), ""))


def _scale(run: Element) -> None:
    for name in ("sz", "szCs"):
        size = run.find(w(name))
        if size is not None and (given := size.get(w("val"), "")).isdigit():
            size.set(w("val"), str(max(_LARGE_PRINT, round(int(given) * _LARGE_PRINT / _NORMAL_PRINT))))


def _style_numbering(styles: Element, style_id: str) -> str | None:
    for style in styles.iterfind(w("style")):
        if style.get(w("styleId")) == style_id:
            number = style.find(f"{w('pPr')}/{w('numPr')}/{w('numId')}")
            value = None if number is None else number.get(w("val"))
            return None if value == "0" else value
    return None


def _next(root: Element, element: str, attribute: str) -> int:
    given = [each.get(w(attribute), "") for each in root.iterfind(w(element))]
    return max((int(value) for value in given if value.isdigit()), default=0) + 1


def _insert_before(root: Element, followers: tuple[str, ...], element: Element) -> None:
    for index, child in enumerate(root):
        if child.tag in {w(name) for name in followers}:
            root.insert(index, element)
            return
    root.append(element)


def _abstract(root: Element, number_format: str, text: str) -> str:
    abstract = str(_next(root, "abstractNum", "abstractNumId"))
    _insert_before(
        root,
        ("num", "numIdMacAtCleanup"),
        made(
            f'<w:abstractNum w:abstractNumId="{abstract}"><w:multiLevelType w:val="singleLevel"/><w:lvl w:ilvl="0">'
            f'<w:start w:val="1"/><w:numFmt w:val="{number_format}"/><w:lvlText w:val="{text}"/><w:lvlJc w:val="left"/>'
            f"{_INDENT}</w:lvl></w:abstractNum>"
        ),
    )
    return abstract


def _number(root: Element, abstract: str, *, restart: bool) -> str:
    number = str(_next(root, "num", "numId"))
    start = '<w:lvlOverride w:ilvl="0"><w:startOverride w:val="1"/></w:lvlOverride>' if restart else ""
    _insert_before(
        root,
        ("numIdMacAtCleanup",),
        made(f'<w:num w:numId="{number}"><w:abstractNumId w:val="{abstract}"/>{start}</w:num>'),
    )
    return number


def complete_numbering(root: Element, styles: Element, ids: Mapping[str, str]) -> tuple[str, tuple[str, ...]]:
    """Add the lists of a letter to a numbering part; give the bullets' number and one for each numbered list.

    Where the letterhead's own list style has a look, bullets and numbers take it.
    """
    known = {number.get(w("numId")): number for number in root.iterfind(w("num"))}
    bullet = _style_numbering(styles, ids["List Bullet"])
    if bullet not in known or bullet is None:
        bullet = _number(root, _abstract(root, "bullet", "•"), restart=False)
    own = known.get(_style_numbering(styles, ids["List Number"]))
    named = None if own is None else own.find(w("abstractNumId"))
    abstract = None if named is None else named.get(w("val"))
    if abstract is None:
        abstract = _abstract(root, "decimal", "%1.")
    return bullet, tuple(_number(root, abstract, restart=True) for _ in range(NUMBERED_LISTS))
