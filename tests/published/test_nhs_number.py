"""The check digit of the NHS number: Modulus 11, NHS Data Dictionary (confirmed); display NUM-0001 (confirmed)."""

from __future__ import annotations

import pytest

from letterkit.findings.identifiers import nhs_number_display, nhs_number_fault

VALID = ["999 000 0018", "999 000 0123", "999 000 1235", "999 555 0008", "9990000018", "999\u00a0000\u00a00018"]

# The example by which the display standard shows its format fails the check.
INVALID = {
    "the example of the display standard": ("999 123 4567", "check digit"),
    "one digit mistyped": ("999 000 0019", "check digit"),
    "two digits swapped": ("999 000 1253", "check digit"),
    "nine digits": ("999 000 001", "ten digits"),
    "eleven digits": ("999 000 00181", "ten digits"),
    "hyphens": ("999-000-0018", "only spaces"),
    "an old number": ("ABCD 123", "ten digits"),
    "digits of another script": ("٩٩٩٠٠٠٠٠١٨", "ten digits"),
    "nothing": ("", "ten digits"),
}


@pytest.mark.parametrize("number", VALID)
def test_a_valid_number_has_no_fault(number):
    assert nhs_number_fault(number) is None


@pytest.mark.parametrize(("number", "fault"), INVALID.values(), ids=INVALID)
def test_a_number_is_refused_for(number, fault):
    assert fault in (nhs_number_fault(number) or "")


def test_a_body_whose_check_digit_would_be_ten_is_never_valid():
    """Found by the definition: 11 less the remainder on 11 is 10."""
    body = next(
        f"{number:09d}" for number in range(999_000_000, 999_001_000)
        if 11 - sum(int(d) * w for d, w in zip(f"{number:09d}", range(10, 1, -1), strict=True)) % 11 == 10
    )  # fmt: skip
    assert [digit for digit in range(10) if nhs_number_fault(f"{body}{digit}") is None] == []


def test_a_check_digit_of_eleven_stands_for_nought():
    body = next(
        f"{number:09d}" for number in range(999_000_000, 999_001_000)
        if sum(int(d) * w for d, w in zip(f"{number:09d}", range(10, 1, -1), strict=True)) % 11 == 0
    )  # fmt: skip
    assert nhs_number_fault(f"{body}0") is None


def test_every_single_mistyped_digit_is_noticed():
    number = "9990000018"
    wrong = [
        number[:at] + str(digit) + number[at + 1 :]
        for at in range(10)
        for digit in range(10)
        if str(digit) != number[at]
    ]
    assert len(wrong) == 90
    assert [each for each in wrong if nhs_number_fault(each) is None] == []


@pytest.mark.parametrize("number", VALID)
def test_a_number_is_shown_in_three_groups_that_stay_on_one_line(number):
    shown = nhs_number_display(number)
    assert [len(group) for group in shown.split("\u00a0")] == [3, 3, 4]
    assert shown.replace("\u00a0", "") == number.replace(" ", "").replace("\u00a0", "")
