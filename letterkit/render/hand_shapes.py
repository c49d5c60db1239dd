"""The shape of a hand for a drawing: outline, creases and nails, and where each place of the hand lies on it.

One hand is described, its thumb to the left: the back of a right hand or the palm of a left one. The other two views
are its mirror image. Units are those of a field 300 wide, from 62 to 440 downwards; the proportions are drawn by eye.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

Point = tuple[float, float]
View = Literal["back", "palm"]

WIDTH, TOP, BOTTOM = 300.0, 62.0, 440.0


@dataclass(frozen=True, slots=True)
class _Finger:
    """A finger from its knuckle: direction in degrees from straight up, lengths of its bones, half widths."""

    knuckle: Point
    angle: float
    lengths: tuple[float, float, float]
    halves: tuple[float, float, float, float]

    def along(self, distance: float, aside: float = 0) -> Point:
        """The point so far from the knuckle, and so far aside from the middle line (negative: thumb side)."""
        turn = math.radians(self.angle)
        return (
            self.knuckle[0] + distance * math.sin(turn) + aside * math.cos(turn),
            self.knuckle[1] - distance * math.cos(turn) + aside * math.sin(turn),
        )


_FINGERS = {
    "index": _Finger((111, 232), -8, (62, 40, 37), (18, 16, 14, 12)),
    "middle": _Finger((148, 222), -1, (68, 46, 40), (18.5, 16.5, 14.5, 12)),
    "ring": _Finger((183, 229), 6, (63, 43, 38), (17.5, 15.5, 13.5, 11.5)),
    "little": _Finger((214, 252), 15, (49, 31, 33), (15.5, 13.5, 11.5, 10)),
}
_THUMB: tuple[tuple[Point, float], ...] = (
    ((140, 378), 14), ((122, 352), 27), ((100, 320), 25), ((72, 284), 18), ((48, 240), 15.5), ((37, 215), 15),
    ((28, 192), 12),
)  # fmt: skip
_THUMB_BASE, _THUMB_KNUCKLE, _THUMB_JOINT, _THUMB_TIP = (115.0, 346.0), (72.0, 284.0), (48.0, 240.0), (28.0, 190.0)
_PALM: tuple[Point, ...] = (
    (120, 440), (118, 410), (114, 388), (104, 350), (92, 308), (88, 272), (92, 238), (108, 214), (148, 202),
    (186, 210), (216, 232), (230, 254), (235, 292), (228, 342), (210, 388), (206, 410), (204, 440),
)  # fmt: skip


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def at(point: Point) -> str:
    """A point as it stands in a path."""
    return f"{_number(point[0])} {_number(point[1])}"


def _smooth(points: Sequence[Point], *, closed: bool) -> str:
    """A smooth path through points: cubic curves with the tangents of Catmull and Rom."""
    count = len(points)

    def point(index: int) -> Point:
        return points[index % count] if closed else points[min(max(index, 0), count - 1)]

    pieces = [f"M{at(points[0])}"]
    for index in range(count if closed else count - 1):
        before, start, end, after = (point(index + offset) for offset in (-1, 0, 1, 2))
        first = (start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6)
        second = (end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6)
        pieces.append(f"C{at(first)} {at(second)} {at(end)}")
    return "".join(pieces) + ("Z" if closed else "")


def _tapered(spine: Sequence[tuple[Point, float]]) -> str:
    """The outline of a limb along its spine, each point with its half width, with a round end at the last."""
    left: list[Point] = []
    right: list[Point] = []
    for index, ((x, y), half) in enumerate(spine):
        (before, _), (after, _) = spine[max(index - 1, 0)], spine[min(index + 1, len(spine) - 1)]
        turn = math.atan2(after[1] - before[1], after[0] - before[0])
        left.append((x + half * math.sin(turn), y - half * math.cos(turn)))
        right.append((x - half * math.sin(turn), y + half * math.cos(turn)))
    ((x, y), half), (before, _) = spine[-1], spine[-2]
    turn = math.atan2(y - before[1], x - before[0])
    tip = [
        (x + half * math.cos(turn + step), y + half * math.sin(turn + step))
        for step in (-math.pi / 4, 0.0, math.pi / 4)
    ]
    return _smooth([*left, *tip, *reversed(right)], closed=True)


def _spine(finger: _Finger) -> list[tuple[Point, float]]:
    first, second, third = finger.lengths
    whole = first + second + third
    return [
        (finger.along(-22), finger.halves[0] - 1),
        (finger.along(0), finger.halves[0]),
        (finger.along(first * 0.5), finger.halves[1] + 0.6),
        (finger.along(first), finger.halves[1]),
        (finger.along(first + second * 0.5), finger.halves[2] + 0.3),
        (finger.along(first + second), finger.halves[2]),
        (finger.along(whole - finger.halves[3]), finger.halves[3]),
    ]


@cache
def outline() -> tuple[str, ...]:
    """The paths whose union is the hand."""
    return (_smooth(_PALM, closed=True), _tapered(_THUMB), *(_tapered(_spine(finger)) for finger in _FINGERS.values()))


def _across(finger: _Finger, distance: float, half: float, bow: float) -> str:
    """A crease across a finger, bowed towards the tip where `bow` is positive."""
    return _smooth(
        [finger.along(distance, -half), finger.along(distance + bow, 0), finger.along(distance, half)], closed=False
    )


@cache
def nails() -> tuple[str, ...]:
    """The nails, on the back."""
    found = []
    for finger in _FINGERS.values():
        whole, half = sum(finger.lengths), finger.halves[3] * 0.66
        low, high = whole - finger.lengths[2] * 0.56, whole - 3.5
        corners = [(low, -half), ((low + high) / 2, -half), (high - 3, -half * 0.8), (high, 0), (high - 3, half * 0.8),
                   ((low + high) / 2, half), (low, half), (low - 3, 0)]  # fmt: skip
        found.append(_smooth([finger.along(*corner) for corner in corners], closed=True))
    thumb = _Finger(_THUMB_JOINT, -22, (1, 1, 1), (0, 0, 0, 0))
    corners = [(26, -8), (38, -8.5), (48, -6), (51, 0), (48, 6), (38, 8.5), (26, 8), (22, 0)]
    return (*found, _smooth([thumb.along(*corner) for corner in corners], closed=True))


@cache
def creases(view: View) -> tuple[str, ...]:
    """The lines of the skin: over the joints, and in the palm."""
    found = []
    for finger in _FINGERS.values():
        first, second, _ = finger.lengths
        if view == "back":
            for distance, half in ((0, 8.5), (first - 3, 8), (first + 3, 8), (first + second, 6.5)):
                found.append(_across(finger, distance, half, 2.5))
        else:
            for distance, half in ((first * 0.42, finger.halves[1]), (first, finger.halves[1] - 1.5),
                                   (first + second, finger.halves[2] - 1.5)):  # fmt: skip
                found.append(_across(finger, distance, half, -2))
    thumb = _Finger(_THUMB_JOINT, -26, (1, 1, 1), (0, 0, 0, 0))
    found += [_across(thumb, 0, 9, 2 if view == "back" else -2), _across(thumb, 4, 8, 2 if view == "back" else -2)]
    if view == "palm":
        found += [
            _smooth([(231, 276), (200, 262), (166, 254), (140, 238), (134, 224)], closed=False),
            _smooth([(93, 262), (130, 272), (176, 294), (212, 322)], closed=False),
            _smooth([(93, 262), (126, 282), (146, 318), (150, 352), (146, 384)], closed=False),
        ]
    found.append(_smooth([(116, 391), (160, 395), (208, 391)], closed=False))
    return tuple(found)


# Where places lie: which side of the hand shows them, None where both do, and the point.
_PLAIN: dict[str, tuple[View | None, Point]] = {
    "hand": (None, (162, 312)), "palm": ("palm", (168, 316)), "dorsum": ("back", (165, 296)),
    "thenar_eminence": ("palm", (116, 326)), "hypothenar_eminence": ("palm", (210, 336)),
    "first_web": (None, (90, 268)), "first_dorsal_interosseous": ("back", (99, 288)),
    "cmc_thumb": (None, (114, 347)), "stt": (None, (124, 362)), "palmar_crease": ("palm", (190, 259)),
    "wrist": (None, (162, 393)), "dorsal_wrist": ("back", (160, 393)), "volar_wrist": ("palm", (160, 402)),
    "radial_wrist": (None, (119, 392)), "ulnar_wrist": (None, (207, 392)), "wrist_crease": ("palm", (162, 393)),
    "carpal_tunnel": ("palm", (158, 378)), "guyon_canal": ("palm", (194, 376)), "snuffbox": ("back", (116, 372)),
    "scaphoid_tubercle": ("palm", (130, 380)), "radial_styloid": ("back", (117, 396)),
    "distal_radius": ("back", (138, 416)), "first_compartment": ("back", (119, 414)),
    "intersection": ("back", (132, 430)), "scapholunate_interval": ("back", (150, 384)),
    "lunotriquetral_interval": ("back", (176, 384)), "ulnar_fovea": ("back", (208, 398)),
    "druj": ("back", (182, 416)), "ulnar_styloid": ("back", (199, 405)), "ecu_groove": ("back", (201, 422)),
    "fcr_tendon": ("palm", (142, 416)), "fcu_tendon": ("palm", (194, 416)), "pisiform": ("palm", (200, 386)),
    "hook_of_hamate": ("palm", (188, 364)), "lunate": ("back", (163, 382)),
    "median_area": ("palm", (140, 262)), "ulnar_area": ("palm", (218, 300)), "radial_area": ("back", (104, 312)),
    "dorsal_ulnar_area": ("back", (208, 316)), "palmar_triangle": ("palm", (152, 350)),
}  # fmt: skip
# Views on which a row of like places is seen.
_ROWS: dict[str, View | None] = {
    "digit": None, "mcp": None, "pip": None, "dip": None, "ip": None, "pulp": "palm", "nail": "back",
    "nailfold": "back", "a1": "palm", "sheath": "palm", "ray": "palm", "dorsal_pip": "back", "metacarpal": "back",
    "metacarpal_head": "back", "proximal_phalanx": None, "middle_phalanx": None, "distal_phalanx": None,
    "radial_side": "palm", "ulnar_side": "palm",
}  # fmt: skip


def _between(a: Point, b: Point, part: float) -> Point:
    return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part


def _on_thumb(row: str) -> Point | None:
    knuckle, joint, tip, base = _THUMB_KNUCKLE, _THUMB_JOINT, _THUMB_TIP, _THUMB_BASE
    return {
        "digit": _between(knuckle, joint, 0.6), "mcp": knuckle, "ip": joint, "pulp": _between(joint, tip, 0.62),
        "nail": _between(joint, tip, 0.72), "nailfold": _between(joint, tip, 0.42), "a1": (78.0, 292.0),
        "sheath": _between(knuckle, joint, 0.5), "ray": (100.0, 322.0), "metacarpal": _between(base, knuckle, 0.5),
        "proximal_phalanx": _between(knuckle, joint, 0.5), "distal_phalanx": _between(joint, tip, 0.4),
        "radial_side": (28.0, 219.0), "ulnar_side": (51.0, 212.0),
    }.get(row)  # fmt: skip


def _on_finger(row: str, digit: str) -> Point | None:
    finger = _FINGERS[digit]
    first, second, third = finger.lengths
    half = finger.halves[2]
    known: dict[str, tuple[float, float]] = {
        "digit": (first + second * 0.5, 0), "mcp": (0, 0), "pip": (first, 0), "dip": (first + second, 0),
        "pulp": (first + second + third * 0.6, 0), "nail": (first + second + third * 0.68, 0),
        "nailfold": (first + second + third * 0.32, 0), "a1": (-14, 0), "sheath": (first * 0.6, 0), "ray": (-42, 0),
        "dorsal_pip": (first, 0), "metacarpal": (-60, 0), "metacarpal_head": (-12, 0),
        "proximal_phalanx": (first * 0.55, 0), "middle_phalanx": (first + second * 0.5, 0),
        "distal_phalanx": (first + second + third * 0.4, 0), "radial_side": (first + second * 0.5, -half),
        "ulnar_side": (first + second * 0.5, half),
    }  # fmt: skip
    return finger.along(*known[row]) if row in known else None


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a place lies on a hand: the view that shows it (None: either), and the point."""

    view: View | None
    point: Point


def spot(site: str, row: str | None, digit: str | None) -> Spot | None:
    """Where a site lies, or None where it is not on the hand and wrist."""
    if row is None or digit is None:
        return Spot(*_PLAIN[site]) if site in _PLAIN else None
    point = _on_thumb(row) if digit == "thumb" else _on_finger(row, digit)
    return Spot(_ROWS[row], point) if point is not None and row in _ROWS else None


def _line(*points: Point) -> str:
    return "M" + "L".join(at(point) for point in points)


def _down(digit: str, aside: float = 0, start: float = 0) -> str:
    finger = _FINGERS[digit]
    return _line(finger.along(start, aside), finger.along(sum(finger.lengths) - 14, aside))


def area(site: str, row: str | None, digit: str | None) -> tuple[tuple[str, float], ...]:
    """Lines and their widths that shade a place which is an area; empty where it is a point."""
    thumb = _line((84, 300), _THUMB_KNUCKLE, _THUMB_JOINT, (33, 202))
    plain: dict[str, tuple[tuple[str, float], ...]] = {
        "median_area": ((thumb, 22), (_down("index"), 26), (_down("middle"), 26), (_down("ring", -6), 11),
                        (_line((112, 262), (150, 250), (176, 252)), 26)),
        "ulnar_area": ((_down("ring", 6), 11), (_down("little"), 22), (_line((214, 262), (216, 330)), 24)),
        "radial_area": ((_line((118, 350), (86, 300), (56, 254)), 24), (_line((112, 318), (116, 236)), 24),
                        (_line((112, 226), (105, 188)), 22), (_line((134, 290), (148, 224)), 20)),
        "dorsal_ulnar_area": ((_line((204, 352), (212, 262)), 26), (_line((215, 248), (226, 206)), 20),
                              (_line((188, 280), (186, 226)), 14)),
        "palmar_triangle": ((_line((156, 340), (150, 372)), 26),),
        "thenar_eminence": ((_line((104, 312), (124, 352)), 36),),
        "hypothenar_eminence": ((_line((214, 306), (206, 366)), 28),),
        "first_dorsal_interosseous": ((_line((98, 268), (104, 312)), 16),),
        "dorsum": ((_line((132, 262), (150, 350)), 24), (_line((182, 262), (178, 350)), 24)),
        "palm": ((_line((160, 286), (168, 350)), 44),),
        "hand": ((_line((160, 262), (164, 370)), 84),),
    }  # fmt: skip
    if site in plain:
        return plain[site]
    if row == "digit" and digit is not None:
        return ((thumb, 20),) if digit == "thumb" else ((_down(digit, 0, 6), 20),)
    return ()
