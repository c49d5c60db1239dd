"""Numbers as values of an item: grades of power, amounts with their unit, arcs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from letterkit.catalogue.model import Item
from letterkit.reading.predication import Said
from letterkit.reading.said import LOW, NORMAL, Outcome, amounts_of, classes_of
from letterkit.reading.values import Amount
from letterkit.reading.words import words

_OUT_OF_TEN = 10
_HYPEREXTENDED = 20  # degrees that a joint which bends one way may go the other way, at most


def power(said: Sequence[Said], negated: bool) -> Outcome | None:  # noqa: FBT001
    """A grade of power. Called normal it is grade 5, called weak it has none; the clinician is shown both."""
    several = _grades(said)
    if len(several) > 1:
        return Outcome("graded", None, (f"graded {' and '.join(several)}: give one grade",), note=several[0])
    for amount in amounts_of(said):
        if amount.kind in {"grade", "signed"} and amount.grade:
            grade = amount.grade
            if grade == "5+" or (grade[0] in "01" and grade[1:]):
                return None
            return Outcome("graded", grade)
        if amount.kind == "bare" and amount.numbers[0] not in {0, 1, 2, 3, 4, 5}:
            return None  # 'grade 6 out of 5'
        if amount.kind == "bare":
            return Outcome("graded", f"{amount.numbers[0]:g}")
        if amount.kind == "span":
            return Outcome(
                "graded", None, (f"graded {amount.grade} to {amount.other}: give one grade",), note=amount.grade
            )
    texts = {each.mark.text for each in said if each.mark is not None}
    if texts & words().sets["no_results"] or "incomplete" in texts:
        return None  # 'strength was impossible to test', and a movement that stops short
    classes, unclear, some = classes_of(said)
    classes -= {"painful", "stable"}  # a movement that hurts may be strong, and a stable joint weak
    if unclear or not some or not classes or (negated and classes & NORMAL):
        return None  # 'the wrist did not flex with full strength' says no grade
    normal = bool(classes & NORMAL) or (negated and bool(classes & LOW))
    if normal and not (classes & LOW and not negated):
        return Outcome("graded", "5", ("called normal, no grade given",))
    if classes & (LOW | {"absent"}) and not negated:
        return Outcome("reduced", None, ("no grade given",))
    return None


def _grades(said: Sequence[Said]) -> list[str]:
    """The different grades that are given of one muscle: '5 and after a minute 3'."""
    found: list[str] = []
    for amount in amounts_of(said):
        if amount.kind == "bare" and amount.numbers[0] in {0, 1, 2, 3, 4, 5}:
            found.append(f"{amount.numbers[0]:g}")
        elif amount.kind in {"grade", "signed"} and amount.grade:
            found.append(amount.grade)
    return list(dict.fromkeys(found))


def quantity(item: Item, said: Sequence[Said]) -> Outcome | None:
    """A number or several in the unit of the item; pounds are not turned into kilograms but shown."""
    for amount in amounts_of(said):
        if (scored := _out_of_all(item, amount)) is not None:
            return scored
        if amount.kind == "arc" and item.unit != "deg" and amount.unit == item.unit:
            told = f"{amount.numbers[0]:g} to {amount.numbers[1]:g} {amount.unit}"
            return Outcome("measured", None, (f"{told}: give one number",), note=told)
        if amount.kind == "trials":
            numbers: tuple[float, ...] = amount.numbers
        elif amount.kind in {"amount", "bare"}:
            numbers = amount.numbers
        else:
            continue
        if amount.unit == "lb" and item.unit == "kg":
            return Outcome("measured", None, (f"in pounds: {_listed(numbers)} lb",), note=f"{_listed(numbers)} lb")
        numbers = _in_unit(item, amount, numbers)
        if not numbers:
            continue
        looks = _rivals(item, amount, said)
        if not amount.unit and item.unit not in {"deg", "score", "s", None}:
            looks = (f"no unit given, {item.unit} taken", *looks)
        if len(numbers) > 1:
            if item.unit == "deg":  # 'F 60 E 65 P 85 S 80, L 75/75/85/85'
                looks = ("a row of angles may be of several movements", *looks)
            return Outcome("measured", list(numbers), looks)
        value: Any = numbers[0]
        if amount.comparator:
            value = {"value": numbers[0], "comparator": amount.comparator, "unit": item.unit}
        return Outcome("measured", value, looks)
    return None


def _in_unit(item: Item, amount: Amount, numbers: tuple[float, ...]) -> tuple[float, ...]:
    """The numbers in the unit of the item; none where they are of another unit or beyond what the item can be."""
    if amount.unit and amount.unit != item.unit:
        factor = {("cm", "mm"): 10.0, ("mm", "cm"): 0.1}.get((amount.unit, item.unit or ""))
        if factor is None:
            return ()
        numbers = tuple(round(number * factor, 3) for number in numbers)
    assert item.minimum is not None
    assert item.maximum is not None
    return numbers if all(item.minimum <= number <= item.maximum for number in numbers) else ()


def _out_of_all(item: Item, amount: Amount) -> Outcome | None:
    """'Kapandji 8/10': a score and the most that it can be."""
    if amount.kind != "arc" or amount.unit or item.unit != "score" or amount.numbers[1] != item.maximum:
        return None
    return Outcome("measured", amount.numbers[0])


def _rivals(item: Item, amount: Amount, said: Sequence[Said]) -> tuple[str, ...]:
    """'30 kg and 20 kg' of one hand: that more numbers are given than the item has."""
    alike = [each for each in amounts_of(said) if (each.unit, each.kind) == (amount.unit, amount.kind)]
    told = dict.fromkeys(each.numbers for each in alike if each is amount or each.numbers != (item.maximum,))
    return (f"more than one number: {', '.join(_listed(each) for each in told)}",) if len(told) > 1 else ()


def _listed(numbers: Sequence[float]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)


def _from_zero(numbers: Sequence[float]) -> tuple[float, float] | None:
    """The ends of '10/0/130' and '0/20/130' by the neutral-zero method; None where the side of flexion is not plain."""
    first, middle, last = numbers
    if middle:
        flexed = max(first, last)
        return (middle, flexed) if middle <= flexed else None
    extended, flexed = sorted((first, last))
    return (0.0 - extended, flexed) if extended <= _HYPEREXTENDED else None


def arc(item: Item, said: Sequence[Said]) -> Outcome | None:
    """The most extended and the most flexed position of a joint, in degrees."""
    for amount in amounts_of(said):
        if amount.kind == "zeroed" and (ends := _from_zero(amount.numbers)) is not None:
            return Outcome("measured", {"from": ends[0], "to": ends[1]})
        if amount.kind == "arc" or (amount.kind == "pair" and amount.grade.isdigit() and amount.other.isdigit()):
            start, end = amount.numbers or (float(amount.grade), float(amount.other))
            if end == _OUT_OF_TEN and start > 0 and not amount.unit:
                continue  # 'index 6/10': a mark out of ten, and no movement
            assert item.minimum is not None
            assert item.maximum is not None
            if item.minimum <= start <= end <= item.maximum and amount.unit in {"", "deg"}:
                others = dict.fromkeys(each.numbers for each in amounts_of(said) if each.kind == "arc")
                told = ", ".join(f"{first:g} to {last:g}" for first, last in others)
                looks = (f"more than one movement: {told}",) if len(others) > 1 else ()
                return Outcome("measured", {"from": start, "to": end}, looks)
        if amount.kind in {"amount", "bare"} and amount.unit in {"", "deg"} and len(amount.numbers) == 1:
            degrees = f"{amount.numbers[0]:g} degrees"
            return Outcome("measured", None, (f"one end of the movement, {degrees}: give both ends",), note=degrees)
    return None
