"""Identifiers whose standard defines a check digit."""

from __future__ import annotations

NHS_NUMBER_SYSTEM = "https://fhir.nhs.uk/Id/nhs-number"
_WEIGHTS = range(10, 1, -1)
_MODULUS = 11
_LENGTH = 10


def nhs_number_fault(text: str) -> str | None:
    """What is wrong with an NHS number, or None when it is valid.

    Ten digits, spaces as the only separators (NHS Common User Interface NUM-0016 to 0018, confirmed); the tenth is
    the Modulus 11 check digit (NHS Data Dictionary, confirmed): digits 1 to 9 times 10 down to 2, summed, 11 less the
    remainder on 11; 11 stands for 0, and 10 makes the number invalid.
    """
    digits = text.replace(" ", "").replace("\u00a0", "")
    if not digits.isascii() or not digits.isdigit() or len(digits) != _LENGTH:
        return "an NHS number has ten digits, with only spaces between them"
    total = sum(int(digit) * weight for digit, weight in zip(digits, _WEIGHTS, strict=False))
    check = (_MODULUS - total % _MODULUS) % _MODULUS
    if check == _LENGTH or check != int(digits[-1]):
        return "the check digit does not fit; was a digit mistyped?"
    return None


def nhs_number_display(text: str) -> str:
    """An NHS number as 3-3-4 digits joined by no-break spaces (NHS Common User Interface NUM-0001, confirmed)."""
    digits = text.replace(" ", "").replace("\u00a0", "")
    return f"{digits[:3]}\u00a0{digits[3:6]}\u00a0{digits[6:]}"
