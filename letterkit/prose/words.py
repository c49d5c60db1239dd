"""Words and marks: lists, articles, numbers with their units."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

NO_BREAK = "\u00a0"

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_COMPARATORS = {"<": "less than ", ">": "more than ", "<=": "at most ", ">=": "at least ", "": ""}
_UNIT_WORDS = {"deg": ("degree", "degrees"), "s": ("second", "seconds"), "score": ("", "")}
_VOWEL_NUMBERS = ("8", "11", "18", "80", "81", "82", "83", "84", "85", "86", "87", "88", "89")


def listed(words: Sequence[str], joiner: str = "and") -> str:
    """'a', 'a and b', 'a, b and c': British lists take no comma before the last joiner."""
    if len(words) <= 1:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joiner} {words[-1]}"


def with_article(phrase: str) -> str:
    """'a' or 'an' before a phrase, by how its first word sounds."""
    first = phrase.split(maxsplit=1)[0].casefold()
    if first[0].isdigit():
        vowel = first.split(NO_BREAK)[0].split(".")[0] in _VOWEL_NUMBERS
    else:
        vowel = first[0] in "aeiou" and not first.startswith(("u-", "uni", "one", "eu"))
    return f"{'an' if vowel else 'a'} {phrase}"


def capital(sentence: str) -> str:
    """The sentence with a capital first letter; the rest is left alone."""
    return sentence[:1].upper() + sentence[1:]


def rounded(number: float, decimals: int) -> str:
    """A number rounded half away from zero, without trailing zeros, with a zero before the point."""
    exact = Decimal(repr(number)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    text = format(exact, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def amount(number: float, unit: str, comparator: str = "", decimals: int = 1) -> str:
    """A number with its unit in words where the trade speaks it, else as a symbol after a no-break space.

    A number below nought is told as 'minus', so that no hyphen is overlooked.
    """
    text = rounded(number, decimals).replace("-", "minus ")
    lead = _COMPARATORS[comparator]
    if unit in _UNIT_WORDS:
        word = _UNIT_WORDS[unit][0 if text == "1" else 1]
        return f"{lead}{text}{NO_BREAK}{word}" if word else f"{lead}{text}"
    return f"{lead}{text}%" if unit == "%" else f"{lead}{text}{NO_BREAK}{unit}"


def long_date(day: date) -> str:
    """14 March 1961: in prose, English in any locale (NHS Common User Interface D+Ta-0011 to 0013, confirmed)."""
    return f"{day.day}{NO_BREAK}{MONTHS[day.month - 1]}{NO_BREAK}{day.year}"


def count_word(number: int) -> str:
    """A small count in words, a larger one in figures."""
    return _COUNTS[number] if number < len(_COUNTS) else str(number)
