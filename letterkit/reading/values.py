"""Numbers of a note: grades of power, angles and arcs, amounts with their units, pairs of right and left."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

_N = r"(?<!\d)\d{1,5}(?:\.\d{1,4})?(?!\d)"  # no longer number is measured, and none is read in part
_UNIT = (
    r"(?:\s?|-|\u00a0)(?P<u{0}>degrees?|deg\b|°|kg[sf]?\b|kilograms?|lbs?\b|pounds?|\#(?!\w)|mm\b|millimet(?:re|er)s?|cms?\b"
    r"|centimet(?:re|er)s?|secs?\b|seconds?|(?-i:s)\b|%|g\b)"
)
_BOUND = r"<=|>=|≤|≥|<|>|less\sthan|more\sthan|greater\sthan|under|over"
_DEGREES = r"\s?(?:degrees?|°)"
_ALONE = r"(?<![\d.])"  # a grade is one figure, not the end of a longer number
_EXTENDS = r"(?:(?<=ext\s)|(?<=extension\s)|(?<=ext:\s)|(?<=extension:\s))"  # only there a bare number has a minus
_G = r"[0-5][+-]?"
_OUT = r"\s?(?:/|out\sof|over)\s?5"
_PULL = r"(?:1[3-9]|[2-9]\d|1\d\d)"  # of a row of trials, 'grip 51-47-49': more than a month of a date is
_ZERO, _TO = r"0(?!\d|\.\d)", r"\s?°?\s?(?:-|–|/)\s?"
_ZEROED = rf"(?:{_N}{_TO}{_ZERO}{_TO}{_N}|{_ZERO}{_TO}{_N}{_TO}{_N}|{_N}{_TO}{_N}{_TO}{_ZERO})"
_PATTERNS = (
    (
        "hyper",
        (
            rf"(?:from\s)?(?P<h1>{_N}){_DEGREES}\sof\shyperextension"
            rf"\sto\s(?P<h2>-?{_N}){_DEGREES}(?:\sof\s(?:flexion|(?P<hh>hyperextension)))?"
        ),
    ),
    ("span", rf"{_ALONE}(?P<s1>{_G})\s?(?:to|-|–)\s?(?P<s2>{_G})(?:\s?/\s?5)(?![\d/])"),
    (
        "grade",
        (
            rf"(?P<gw>\b(?:graded?|MRC(?:\sgrade)?|gr\.?|M)\s?)?[+]?{_ALONE}(?P<g1>[0-5])\s?(?P<gs>[+-]|\b(?:plus|minus)\b)?"
            rf"(?:{_OUT}|(?(gw)\sof\s5(?!\s\w)|(?!)))(?P<ge>[+-])?(?![\d/+]|[ ]?(?:mm|kg[sf]?|lbs?)\b)"
        ),
    ),
    (
        "lapse",
        (
            rf"{_ALONE}{_N}[\s-]?(?:year|yr|month|mth|week|wk|day|hour|hr|h|minute|min|y/o|yo)(?:s\b|\b|-)"
            rf"|{_ALONE}(?:1?\d/12|[1-4]?\d/52|1?\d/7(?=\s(?:ago|post|since|later|old)))\b(?![/-]|\.\d)(?!\s?(?:kg|lb|deg|°))"
        ),
    ),  # an age or a time: '3 weeks', '6/52', '3/12'
    (
        "scored",
        (
            rf"\b(?:MAS|(?:modified\s)?Ashworth(?:\s(?:scale|score|grade))?|GCS|NIHSS|VAS|NRS|UPDRS|EDSS|mRS|mJOA|JOA|Nurick"
            rf"|MMSE|MoCA|ASIA|Frankel|Brunnstrom|zones?|Mason(?:\stype)?|Salter(?:[\s-]Harris)?|Gartland|Frykman)"
            rf"\s?(?:of\s|=\s?|:\s?)?{_N}[+]?"
        ),
    ),  # a score of another kind, 'zone 2', 'Mason 1': no grade of what stands before it
    ("aged", rf"\b(?:(?:man|woman|boy|girl|lady|gentleman|child|infant|male|female)\sof|aged?|day|week|wk)\s{_N}"),
    ("beyond", rf"(?:grade\s?)?{_ALONE}(?:[6-9]|\d{{2,5}})[+-]?\s?out\sof\s5(?!\d)"),  # no grade: read as nothing
    (
        "size",
        (
            rf"(?P<z1>{_N})\s?(?:cms?|mm)?\s?(?:x|×|by)\s?(?P<z2>{_N})"
            rf"(?:\s?(?:cms?|mm)?\s?(?:x|×|by)\s?{_N})?\s?(?P<zu>cms?|mm)\b"
        ),
    ),  # how deep it is comes last: '3 x 2 x 0.5 cm'
    (
        "zeroed",
        (rf"(?<![\d.−-])(?P<q>{_ZEROED})(?![\d/°]|\s?(?:kg[sf]?|lbs?|mm|cms?)\b|[-–]\d)(?:{_UNIT.format(5)})?"),
    ),  # by the neutral-zero method: '60-0-50'
    (
        "trials",
        (
            rf"(?P<t>{_N}(?:/{_N}){{2,}}|{_N}(?:\s?/\s?{_N}){{2,}}|(?<![\w.-]){_PULL}(?:-{_PULL}){{2,}}(?![\w/-]))"
            rf"(?:{_UNIT.format(1)})?"
        ),
    ),
    ("listed", rf"(?P<l>{_N}(?:,\s?{_N})+,?\s(?:and\s)?{_N})(?:{_UNIT.format(2)})?"),
    (
        "pair",
        (
            rf"(?:{_ALONE}(?:[+](?P<p3>[0-4])|(?P<p4>0))\s?/\s?(?:[+](?P<p5>[0-4])|(?P<p6>0))(?![\w+/]|\.\d)"
            rf"|[+]?{_ALONE}(?P<p1>{_G})\s?/\s?(?P<p2>{_G})(?![\d°]|\.\d|\s?(?:kg[sf]?|lbs?)\b))"
        ),
    ),  # '+1/+2', '0/+1', and '1+/2+'
    (
        "arc",
        rf"(?:from\s)?(?<![-−\d.])(?P<a1>{_N})\s?(?:degrees?|°)?\s?(?:-|–|/|to|through|thru|→|->)\s?(?P<a2>{_N})(?:{_UNIT.format(3)})?",
    ),
    (
        "amount",
        rf"(?:(?P<c>{_BOUND}|at\smost|at\sleast|within)\s?)?(?P<n>(?<![\w)])(?:minus\s|[-−])?{_N}|{_N})(?:{_UNIT.format(4)})",
    ),
    (
        "signed",
        (
            rf"(?:\b(?:graded?|MRC|M)\s?)(?P<k1>[0-5])(?P<ks>[+-]|\s(?:plus|minus)\b)?(?!\d)|{_ALONE}(?P<k2>[0-5])(?P<kt>[+-])(?![\w+-])"
            rf"|{_ALONE}(?P<k3>[0-5])\s(?P<kw>plus|minus)\b|(?<![\w+])[+](?P<k4>[0-4])(?![\w.])"
        ),
    ),
    ("bare", rf"(?:(?P<bc>{_BOUND})\s?)?(?P<b>{_EXTENDS}[-−]{_N}|(?<![\w.]){_N})(?![\w.]*\d)"),
)
_FIRST = r"(?=[\d+<>≤≥−-]|\b[a-z])"  # where a value may begin: asked before each of the patterns is
_VALUE = re.compile(f"{_FIRST}(?:{'|'.join(f'(?P<{name}>{pattern})' for name, pattern in _PATTERNS)})", re.IGNORECASE)
_NAMES = frozenset(name for name, _ in _PATTERNS)
BEST_GRADE = 5  # of power, by the MRC scale
_GRADES = range(BEST_GRADE + 1)
_DIGIT = re.compile(r"\d")
_NUMBERS = ("zero", "one", "two", "three", "four", "five")
_GRADE_WORDS = ("grade", "MRC", " five")
_ANY = "|".join(_NUMBERS)
_WORDED = re.compile(rf"\b(less than|under|more than|over)\s({_ANY})\sseconds?", re.IGNORECASE)
_IN_WORDS = re.compile(
    rf"\b(?:(?:graded?|MRC(?:\sgrade)?)\s(?P<w1>{_ANY})(?:\s(?P<ws>plus|minus))?(?P<wo>\s(?:out\s)?of\sfive)?"
    rf"|(?P<w2>{_ANY})(?:\s(?P<wt>plus|minus))?\s(?:out\sof|over)\sfive)\b(?!-)",
    re.IGNORECASE,
)  # 'grade four', 'four plus out of five'
_UNITS = {
    "d": "deg", "°": "deg", "k": "kg", "l": "lb", "p": "lb", "#": "lb", "m": "mm", "c": "cm", "s": "s", "%": "%",
    "g": "g",
}  # fmt: skip
_COMPARATORS = {
    "less than": "<", "under": "<", "more than": ">", "greater than": ">", "over": ">", "at most": "<=",
    "at least": ">=", "≤": "<=", "≥": ">=", "within": "<=",
}  # fmt: skip
_AT_MOST = {">": "<=", "<": ">="}
_CANNOT = re.compile(r"\b(?:no|not|cannot|can't|couldn't|unable to|never)\b[^,;:.]*$", re.IGNORECASE)
# 'cannot close and open the hand more than 12 times'
AS_PAIR = "a pair is read as right and left"  # what a clinician is asked to look at


@dataclass(frozen=True, slots=True)
class Amount:
    """A number or several as written; `kind` is grade, span, pair, arc, amount, trials, zeroed, size, plus or bare.

    `unit` is deg, kg, lb, mm, cm, s, %, g or empty; `grade` is as in 4+; `other` is the second half of a pair. `first`
    and `other` of '5/5-' are the halves that it has in a row of pairs, as nothing is out of 'five minus'.
    """

    kind: str
    start: int
    end: int
    numbers: tuple[float, ...] = ()
    unit: str = ""
    comparator: str = ""
    grade: str = ""
    other: str = ""
    first: str = ""


def _number(text: str) -> float:
    return float(re.sub(r"^(?:minus\s|−)", "-", text, flags=re.IGNORECASE))


def _sign(text: str | None) -> str:
    return {"plus": "+", "minus": "-"}.get((text or "").casefold(), text or "")


def _unit(text: str | None) -> str:
    return _UNITS[text[0].casefold()] if text else ""


def _kind(match: re.Match[str]) -> str:
    return next(name for name, _ in _PATTERNS if match[name] is not None)


def _read(match: re.Match[str]) -> Amount:
    kind = match.lastgroup if match.lastgroup in _NAMES else _kind(match)
    start, end = match.span()
    text = match.group()
    start += len(text) - len(text.lstrip())
    match kind:
        case "hyper":
            to = float(match["h2"])
            return Amount("arc", start, end, (-float(match["h1"]), -to if match["hh"] else to), "deg")
        case "span":
            return Amount("span", start, end, grade=match["s1"], other=match["s2"])
        case "grade":
            own, after = _sign(match["gs"]), match["ge"] or ""
            first, other = (match["g1"] + own, f"5{after}") if after else ("", "")
            return Amount("grade", start, end, grade=match["g1"] + (own or after), first=first, other=other)
        case "size":
            factor = 10 if match["zu"].casefold().startswith("c") else 1
            return Amount("size", start, end, (float(match["z1"]) * factor, float(match["z2"]) * factor), "mm")
        case "zeroed":
            numbers = tuple(float(each) for each in re.findall(_N, match["q"]))
            return Amount("zeroed", start, end, numbers, _unit(match["u5"]))
        case "trials":
            numbers = tuple(float(each) for each in re.findall(_N, match["t"]))
            return Amount("trials", start, end, numbers, _unit(match["u1"]))
        case "listed":
            numbers = tuple(float(each) for each in re.findall(_N, match["l"]))
            return Amount("trials", start, end, numbers, _unit(match["u2"]))
        case "pair":
            first = match["p1"] or (f"{match['p3']}+" if match["p3"] else match["p4"])
            second = match["p2"] or (f"{match['p5']}+" if match["p5"] else match["p6"])
            return Amount("pair", start, end, grade=first, other=second)
        case "arc":
            return Amount("arc", start, end, (float(match["a1"]), float(match["a2"])), _unit(match["u3"]))
        case "amount":
            comparator = (match["c"] or "").casefold()
            comparator = _COMPARATORS.get(comparator, comparator)
            return Amount("amount", start, end, (_number(match["n"]),), _unit(match["u4"]), comparator)
        case "signed":
            grade = match["k1"] or match["k2"] or match["k3"] or match["k4"]
            said = match["ks"] or match["kt"] or match["kw"] or ("+" if match["k4"] else "")
            return Amount("signed", start, end, (float(grade),), grade=grade + _sign(said.strip()))
        case _:
            comparator = (match["bc"] or "").casefold()
            return Amount("bare", start, end, (_number(match["b"]),), "", _COMPARATORS.get(comparator, comparator))


def _grade_in_words(match: re.Match[str]) -> Amount:
    """'Grade four', 'MRC three plus', 'four out of five': a grade of power as it is dictated."""
    number = _NUMBERS.index((match["w1"] or match["w2"]).casefold())
    grade = f"{number}{_sign((match['ws'] or match['wt'] or '').casefold())}"
    kind = "grade" if match["w2"] or match["wo"] else "signed"
    return Amount(kind, *match.span(), (float(number),) if kind == "signed" else (), grade=grade)


def may_grade(amount: Amount) -> bool:
    """Whether a number may be a grade of power: '4/5', '4+', a bare 4."""
    bare = amount.kind == "bare" and not amount.unit and not amount.comparator and amount.numbers[0] in _GRADES
    return bare or amount.kind in {"grade", "signed"}


def amounts(text: str, start: int, end: int) -> Iterator[Amount]:
    """The numbers in `text[start:end]`, left to right, the longest reading first."""
    if any([text.find(word, start, end) >= 0 for word in _GRADE_WORDS]):  # noqa: C419 - quicker than a generator
        yield from map(_grade_in_words, _IN_WORDS.finditer(text, start, end))
    if not _DIGIT.search(text, start, end) and text.find("second", start, end) < 0:
        return
    worded = _WORDED.search(text, start, end)
    if worded:
        comparator = _COMPARATORS[worded[1].casefold()]
        yield Amount(
            "amount", worded.start(), worded.end(), (float(_NUMBERS.index(worded[2].casefold())),), "s", comparator
        )
    for match in _VALUE.finditer(text, start, end):
        if (
            match["beyond"] is None
            and match["lapse"] is None
            and match["aged"] is None
            and match["scored"] is None
            and (not worded or match.end() <= worded.start() or match.start() >= worded.end())
        ):
            amount = _read(match)
            if amount.comparator in _AT_MOST and _CANNOT.search(text, start, amount.start):
                amount = replace(amount, comparator=_AT_MOST[amount.comparator])
            yield amount
