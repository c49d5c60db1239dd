"""Words of another day: 'at six months', 'two weeks before the visit', 'one year later', '3 mo numbness'."""

from __future__ import annotations

import re
from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.segments import Segment

_COUNT = (
    r"(?:\d{1,3}|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|eighteen|twenty|several|a few)"
)
_ORDINAL = r"(?:\d{1,2}(?:st|nd|rd|th)|first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|twelfth)"
_HAD = re.compile(r"\b(?:had|has|showed|shows|demonstrated)\b", re.IGNORECASE)


def _words(first: str, pattern: str) -> re.Pattern[str]:
    """A pattern that is asked for only where a word begins with one of the characters `first`: in most places none
    does, and to ask each alternative there is what takes the time."""
    return re.compile(rf"\b(?=[{first}])(?:{pattern})", re.IGNORECASE)


_OCCASION = _words(
    r"abuowmd\d",
    rf"(?:at|by|after|within)\s+(?:(?:the|his|her|their|a|an|about|approximately|around|only)\s+)*{_COUNT}"
    rf"(?:[\s-](?:to|or|and)[\s-]{_COUNT})?[\s-](?:days?|weeks?|wks?|months?|mths?|years?|yrs?)\b"
    r"(?![\s-]*(?:of age|old))"
    rf"|\b(?:at|by|until|(?<!examination\s)on)\s+(?:the\s+)?(?:(?:day|week|wk|month|mth|year|yr)\s?{_COUNT}|{_ORDINAL}\s+(?:day|week|month|year))\b"
    rf"|\b(?:at|by|after)\s+\d{{1,2}}/(?:7|12|52)\b|\bon\s+(?:the\s+)?(?:{_ORDINAL}\s+)?(?:post-?\s?operative|hospital)\s+day\b"
    r"|\b\d{1,2}[\s-](?:day|week|month|year)s?\s+(?:control|check|review|assessment)\b"
    r"|(?<![\d.])\d{1,2}\s?h(?:rs?|ours?)?\s?:\s|\b(?:wk|week|month|day)\s?\d{1,3}\s?:",
)  # 'at 6 months', 'at the 3-month visit', 'by day 9', 'at the 12th week': an examination of another day
_OF_TIME = (
    "day", "week", "wk", "month", "mth", "year", "yr", "/7", "/12", "/52", "hour", "h:", "h :", "hr", "hs:", "block",
    "inject", "reduc", "aspirat", "manipulat", "session", "treatment", "dose", "cycle",
)  # fmt: skip  # of these every pattern below of a time or an occasion holds one
_AFTER_WHICH = re.compile(
    r"\b(?:inject\w*|block|reduction|reduced|aspirat\w*|manipulat\w*|dose)\b[^.;]{0,80},?\s(?:after|following)\s(?:which|that)\b",
    re.IGNORECASE,
)  # 'I injected the sheath, after which Finkelstein's was negative': no longer what was found
_UNIT = r"(?:hours?|days?|weeks?|wks?|months?|mths?|years?|yrs?)"
_LATER = _words(
    r"otfsena\d",
    rf"(?:{_COUNT}|an?)\s{_UNIT}\s(?:later|afterwards?)\b"
    rf"|\b{_COUNT}\s{_UNIT}\s(?:after|from|following)\s(?:the|this|that|his|her|their)?\s?"
    r"(?:operation|surgery|reduction|excision|repair|release|fixation|reconstruction|fusion|removal|arthroscopy|fasciotomy|admission)",
)  # 'one year later', 'three months after the repair'
_INJURY = re.compile(
    r"\s(?:(?:the|this|that|his|her|their|an?|initial|original)\s)*"
    r"(?:injury|accident|trauma|fall|fracture|dislocation|bite|cut|laceration|burn|onset|event|assault|sprain|wound)\b",
    re.IGNORECASE,
)
_BEFORE = _words(
    r"otfsena\d", rf"(?:{_COUNT}|an?)\s{_UNIT}\s(?:before|earlier|previously|prior|beforehand|ago)\b"
)  # 'two weeks before the visit': of another day
_ONSET = _words(
    "dfnsawiejc",
    r"(?:developed|felt|noticed|sustained|awoke|woke|fell|injured|suffered|experienced|noted|jammed|crushed|cut)\b",
)  # 'a 48-year-old man felt a sudden pain': what happened, and not what is found
_WITH_PAIN = _words(
    "w", r"with\s(?:[\w-]+\s){0,6}(?:pain|numbness|tingling|paresthesias?|paraesthesiae?)\b"
)  # 'this is a 55-year-old woman with bilateral hand pain'
_LASTING = _words(
    r"otfsena\d",
    rf"{_COUNT}[\s-]?(?:mos?|wks?|yrs?|months?|weeks?|days?|years?)\s+(?:of\s+|h/o\s+|hx\s+of\s+)?"
    r"(?:\w+\s+){0,2}(?:numbness|pain|tingling|weakness|swelling|stiffness|clicking|locking)\b",
)  # '3 mo numbness in the ring finger': a complaint
_FELT_FOR = _words(
    "npstwlc",
    r"(?:numbness|pain|tingling|weakness|swelling|stiffness|clicking|locking)\s(?:(?:for|x|×|of|over|about|the|last|past)\s?){0,3}"
    rf"(?:{_COUNT}\s?(?:mos?|wks?|yrs?|months?|weeks?|days?|years?)|\d{{1,2}}/(?:12|52|7))\b(?!\s(?:later|after))",
)  # 'elbow pain 3/12', 'wrist pain x 3 weeks': a complaint
_HAD_FOR = re.compile(
    rf"\bhad\b[^.;]*\bfor (?:about |over |the past )?{_COUNT} (?:days|weeks|months|years)\b", re.IGNORECASE
)  # 'a 40-year-old man had swelling of the wrist for three months'
_AFTER_SOME = re.compile(
    rf"\bafter\s+{_COUNT}\s+(?:\w+\s){{0,3}}(?:blocks|injections|sessions|treatments|doses|cycles)\b"
    r"|\bwithin\s+an?\s+(?:hour|day|week|month|year)\s+of\b",
    re.IGNORECASE,
)
_OPENING = re.compile(
    rf"\s*(?:about |some |approximately |nearly )?{_COUNT}(?:[\s-](?:to|or|and)[\s-]{_COUNT})?\s"
    r"(?:minute|hour|day|week|month|year)s?\s(?:after|following)\b[^,.;]*,",
    re.IGNORECASE,
)
_ARRIVING = re.compile(
    r"\s*(?:on|upon|at)\s(?:(?:his|her|their|the|first|initial)\s)*(?:arrival|admission|presentation)\b"
    rf"[^,.;]{{0,40}}?,?\s(?:about\s|some\s|approximately\s|nearly\s)?{_COUNT}\s{_UNIT}\s"
    r"(?:later,?|(?:after|following)\s[^,.;]{1,40},)",
    re.IGNORECASE,
)
_SOMEBODY = re.compile(
    r"\b(?:\d{1,3}[\s-](?:year|month|week|day)[\s-]old|aged \d"
    r"|(?:man|woman|boy|girl|lady|gentleman|child|infant|neonate)\b)",
    re.IGNORECASE,
)
_HAS = re.compile(r"\b(?:has|had|whose)\b", re.IGNORECASE)
_AGO = re.compile(
    r"(?<![\d./])\d{1,2}/(?:12|52|7)\s+(?:ago|hx|h/o|history|since|pp)\b", re.IGNORECASE
)  # '4/12 ago': months
_MONTHS = r"(?:jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)[a-z]*"
_FORMER = re.compile(
    r"\s*(?:(?:in|since|until|from|during) (?:(?:the|early|late|about) )*"
    rf"(?:(?:spring|summer|autumn|winter|fall|{_MONTHS})(?: of)? )?(?:19|20)\d\d\b"
    rf"|for (?:about |over |nearly |almost |more than )?(?:{_COUNT}|some|many) (?:days|weeks|months|years)\b"
    r"|before (?:the|his|her|their|that|this|he|she|we|I)\b)",
    re.IGNORECASE,
)
_IN_YEAR = re.compile(r" in (?:19|20)\d\d\b")
_FIRST_VERB = re.compile(r"\b(?:is|are|was|were|has|had|will|would|can|could|may|might)\b", re.IGNORECASE)
_DATE = re.compile(
    rf"\b(?:{_MONTHS} (?:\d{{1,2}},? )?(?:19|20)?\d\d|\d{{1,2}} {_MONTHS}"
    r"|\d{1,2}[./-]\d{1,2}[./-](?:\d\d){1,2})\b",
    re.IGNORECASE,
)
_ASIDE = re.compile(
    rf"\b(?:{_MONTHS}|visit|clinic|appointment|review|week|month|year|(?:19|20)\d\d|\w+day)"
    r"(, when [^,;.]*\b(?:was|were|had)\b[^,;.]*),",
    re.IGNORECASE,
)
_BEGAN = re.compile(
    r",\s(?:(?:which|that)\s)?(?:(?:had|has|have)\s)?(?:(?:first|reportedly|apparently|suddenly|gradually)\s)?"
    r"(?:appeared|developed|started|began|begun|arisen|arose|occurred|(?:been\s|was\s)?(?:first\s)?noticed|come\s(?:up|on)"
    r"|came\s(?:up|on)|appearing|developing|starting|occurring|present)\b[^,.;]{0,60}?"
    rf"\b(?:{_COUNT}|an?|some|many|for|since)\s(?:\w+\s)?{_UNIT}\b[^,.;]*(?=[,;.]|$)",
    re.IGNORECASE,
)  # 'a lump, which appeared two weeks after a puncture, is tender': how it began
_CONDITION = re.compile(
    r"\s*(?:should (?!not\b)[^?]*$"
    r"|(?:until|once|as soon as|as long as|so long as|when) [^,.;]*\b(?:is|are|has|have)\b[^,.;]*,"
    r"(?: no\b|[^.;]*\b(?:should|will|shall|must|may)\b))",
    re.IGNORECASE,
)
_COMES = re.compile(
    r"\b(?:presented|presents|returned|returns|came|comes|was (?:first )?(?:seen|brought|referred|admitted)"
    r"|old \w+ (?:\w+ )?was reviewed"
    r"|(?:is|are) (?:here|back) (?:today )?for|attends?|attended"
    r"|is (?:seen|brought|referred|admitted|examined|evaluated)|I (?:have )?(?:reviewed|saw|seen)"
    rf"|(?:is|are) (?:now |here |back |seen |currently |about |approximately |just |over |some )*{_COUNT}\s{_UNIT}\s"
    r"(?:after|following|from|post))\b",
    re.IGNORECASE,
)


def was_then(text: str, start: int, end: int) -> bool:
    """'In 2019 the wrist was stiff', 'for two years it was', 'before the splint it was': a sentence of former days."""
    return _FORMER.match(text, start, end) is not None and is_of_past(text, start, end)


def is_of_past(text: str, start: int, end: int) -> bool:
    """Whether the first verb of a sentence that says when something was is of the past."""
    verb = _FIRST_VERB.search(text, start, end)
    return verb is not None and verb[0].casefold() in {"was", "were", "had"}


def is_dated(label: str) -> bool:
    """'March 2021', 'clinic letter 12/03/2021': a label that names a day, a month or a year."""
    return _DATE.search(label) is not None


def in_a_year(text: str, start: int, end: int) -> tuple[int, int] | None:
    """'The wrist was fused in 2019': where the year is told, behind a verb of the past."""
    year = _IN_YEAR.search(text, start, end)
    return year.span() if year and year.start() > start and is_of_past(text, start, year.start()) else None


def aside(text: str, start: int, end: int) -> tuple[int, int] | None:
    """'Compared with March, when the elbow was red, ...': the clause that tells how it was then."""
    found = _ASIDE.search(text, start, end) if ", when " in text[start:end] else None
    return found.span(1) if found else None


def how_it_began(text: str, start: int, end: int) -> tuple[int, int] | None:
    """'A lump of the wrist, appeared two weeks after a fall, was tender': the clause that tells since when it is so."""
    found = _BEGAN.search(text, start, end) if ", " in text[start:end] else None
    return found.span() if found else None


def is_condition(text: str, start: int, end: int) -> bool:
    """'Should swelling develop, ...', 'until the wrist is stiff, no lifting': a sentence that sets a condition."""
    return _CONDITION.match(text, start, end) is not None


def times_in(text: str) -> tuple[str, ...]:
    """The words of a time, or of what is done several times, that stand anywhere in a note."""
    said = text.casefold()
    return tuple(word for word in _OF_TIME if word in said)


def tells_time(text: str, start: int, end: int, times: Sequence[str]) -> bool:
    """Whether one of these words stands between two characters."""
    words = text[start:end].casefold()
    return any([word in words for word in times])  # noqa: C419 - quicker than a generator


def is_of_another_day(text: str, start: int, end: int) -> bool:
    """'At the 3-month visit', 'after two injections', 'one year later': a later examination."""
    return any(pattern.search(text, start, end) for pattern in (_OCCASION, _AFTER_SOME, _LATER, _AFTER_WHICH))


def after_what(text: str, start: int, end: int) -> tuple[int, int]:
    """Where 'six weeks after the operation' begins and ends; nowhere where nothing of that kind stands there."""
    found = _LATER.search(text, start, end)
    return found.span() if found and "after " in found[0] else (0, 0)


def is_after_injury(text: str, at: int, end: int) -> bool:
    """'Three months after | the injury': what is told from `at` on is what happened to somebody, and no operation."""
    return _INJURY.match(text, at, end) is not None


def is_of_before(text: str, start: int, end: int) -> bool:
    """'4/12 ago', 'two weeks before the visit'."""
    return any(pattern.search(text, start, end) for pattern in (_AGO, _BEFORE))


def complaint(text: str, start: int, label: int, end: int, *, timed: bool) -> int | None:
    """Where a sentence begins to tell of a complaint, or of what happened to somebody; `timed`: a time is named."""
    if found := _LASTING.search(text, label, end) or (timed and _FELT_FOR.search(text, label, end)):
        return found.start()
    if (with_pain := _WITH_PAIN.search(text, start, end)) is not None and is_somebody(text, start, with_pain.start()):
        return with_pain.start()
    if timed and (had := _HAD_FOR.search(text, start, end)) and is_somebody(text, start, had.start()):
        return had.start()
    onset = _ONSET.search(text, start, end)
    somebody = onset is not None and is_somebody(text, start, onset.start())
    return onset.start() if onset is not None and somebody else None


def is_somebody(text: str, start: int, end: int) -> bool:
    """Whether a patient is introduced there: 'a 48-year-old man'."""
    return _SOMEBODY.search(text, start, end) is not None


def brings_in(text: str, start: int, end: int) -> bool:
    """'A 50-year-old potter has a numb thumb': whether a sentence brings somebody in with what he has."""
    has = _HAS.search(text, start, end)
    return has is not None and is_somebody(text, start, has.start())


def comes(text: str, start: int, end: int) -> bool:
    """Whether somebody comes to be examined: 'he presents 4 months later'."""
    return _COMES.search(text, start, end) is not None


def opening(text: str, start: int, end: int) -> int:
    """Where 'six hours after a fall, a 10-year-old boy ...' comes to who is examined; 0 where it says nothing so.

    'On admission, two days later, ...' comes there to what was found.
    """
    if arriving := _ARRIVING.match(text, start, end):
        return arriving.end()
    match = _OPENING.match(text, start, end)
    return match.end() if match and is_somebody(text, match.end(), end) else 0


def of_somebody(text: str, cue: str, mark: Mark, segment: Segment) -> tuple[int, int, str] | None:
    """'A girl with a history of arthritis had limited movement': the history ends where the verb of the girl stands."""
    if cue != "history" or mark.text != "history of":
        return None
    begins = text[segment.start : mark.start].casefold().endswith("with a ")
    verb = _HAD.search(text, mark.end, segment.end)
    if not begins or verb is None:
        return None
    return (segment.start, verb.start(), "history") if is_somebody(text, segment.start, mark.start) else None
