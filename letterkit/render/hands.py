"""A drawing of both hands with the recorded positives marked, as vector graphics of our own making.

Each mark has a shape for its kind, a number that leads to its words, and a shade: never a colour alone. The words below
the hands, the description inside the graphic and the alternative text say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from textwrap import wrap

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Polarity, Site, Stage
from letterkit.findings.facts import Fact, Facts
from letterkit.findings.sides import Side
from letterkit.letter.model import Picture
from letterkit.prose.naming import at_places, finding_words
from letterkit.prose.words import capital, listed
from letterkit.render.hand_marks import KINDS, Kind, marker
from letterkit.render.hand_shapes import BOTTOM, TOP, WIDTH, Point, View, area, creases, nails, outline, spot
from letterkit.render.words import escape
from letterkit.summary.statement import PlaceRef

# All in points. The page leaves 470 between its margins.
_PAGE = 470.0
_COLUMN = _PAGE / 2
_SCALES = {1: 0.62, 2: 0.52}  # by the number of views
_HEADING, _KEY, _LINE = 11.0, 8.5, 10.5
_CHARACTERS = 50  # of the key's text that fit a column
_RADIUS = 7.0
_APART = 2 * _RADIUS + 2
_FONT = "Arimo, Arial, Helvetica, sans-serif"
_VIEWS: dict[View, str] = {"back": "back of the hand", "palm": "palm"}
_NOTE = "Seen as the patient sees their own hands. Findings without a place on the hand stand in the letter only."

_PARTS = (("nailfold", "nailfold"), ("nail", "nail"), ("pulp", "pulp"))
# Items whose name says where they are, by the place where the drawing shows them.
_PLACED = {
    "thenar_wasting": "thenar_eminence", "hypothenar_wasting": "hypothenar_eminence",
    "first_dorsal_interosseous_wasting": "first_dorsal_interosseous", "interosseous_guttering": "dorsum",
    "small_muscle_wasting": "hand", "dorsal_tenosynovitis": "dorsal_wrist", "prominent_ulnar_head": "ulnar_styloid",
    "thumb_base_squaring": "cmc_thumb", "thumb_base_step": "cmc_thumb", "thumb_base_grind_test": "cmc_thumb",
    "thumb_base_lever_test": "cmc_thumb", "thumb_base_distraction_test": "cmc_thumb", "z_thumb": "thumb",
    "reverse_z_thumb": "thumb", "first_web_contracture": "first_web", "first_web_cord": "first_web",
    "dorsal_wrist_ganglion": "dorsal_wrist", "volar_wrist_ganglion": "volar_wrist", "palmar_erythema": "palm",
    "carpal_tunnel_scar": "carpal_tunnel", "endoscopic_carpal_tunnel_scar": "wrist_crease",
    "guyon_canal_scar": "guyon_canal", "first_compartment_scar": "first_compartment",
    "trapeziectomy_scar": "cmc_thumb", "dorsal_ganglion_scar": "dorsal_wrist", "volar_ganglion_scar": "volar_wrist",
    "distal_radius_plate_scar": "fcr_tendon", "scaphoid_fixation_scar": "scaphoid_tubercle",
    "dorsal_midline_wrist_scar": "dorsal_wrist", "wrist_fusion_scar": "dorsal_wrist",
    "thumb_ucl_repair_scar": "mcp_thumb", "pillar_pain": "carpal_tunnel", "tinel_carpal_tunnel": "carpal_tunnel",
    "carpal_compression_test": "carpal_tunnel", "tinel_guyon_canal": "guyon_canal", "thumb_ucl": "mcp_thumb",
    "thumb_rcl": "mcp_thumb", "stener_lump": "mcp_thumb", "ulnar_fovea_sign": "ulnar_fovea",
    "watson_test": "scaphoid_tubercle", "druj_ballottement": "druj", "finkelstein_test": "first_compartment",
    "eichhoff_test": "first_compartment", "axial_thumb_compression_test": "cmc_thumb",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Entry:
    """One line of the key: its number, kind and words, and where its marks stand."""

    number: int
    side: Side
    kind: Kind
    words: str
    sites: tuple[Site, ...]


def _kind(fact: Fact, catalogue: Catalogue) -> Kind:
    noun = catalogue.items[fact.item].doctor.noun or ""
    if any(word in noun for word in ("tender", "pain")):
        return "pain"
    match fact.stage:
        case Stage.INSPECTION | Stage.PALPATION:
            return "form"
        case Stage.MOVEMENT | Stage.FUNCTION:
            return "movement"
        case Stage.NEUROVASCULAR:
            return "nerve"
        case Stage.SPECIAL_TESTS:
            return "test"


def _site(fact: Fact, catalogue: Catalogue) -> Site | None:
    """The site where the drawing shows a fact, or None where it shows none."""
    items = catalogue.items[fact.item].sites
    slug = fact.site or (items[0] if len(items) == 1 else _PLACED.get(fact.item))
    digit = catalogue.sites[slug].digit if slug else None
    if slug is not None and slug == digit:
        # An item of the nail or the pulp is recorded for a digit, and drawn where it lies on it.
        part = next((row for prefix, row in _PARTS if fact.item.startswith(prefix)), None)
        slug = f"{part}_{digit}" if part else slug
    site = catalogue.sites[slug] if slug else None
    return site if site is not None and spot(site.slug, site.row, site.digit) is not None else None


def _entries(facts: Facts, catalogue: Catalogue) -> list[_Entry]:
    """The key, left hand first as it is drawn; findings that say the same of several places are one line."""
    groups: dict[tuple[object, ...], list[tuple[Fact, Site]]] = {}
    for fact in facts.facts:
        site = _site(fact, catalogue)
        if fact.polarity is Polarity.ABNORMAL and fact.side is not None and site is not None:
            key = (fact.side, fact.item, fact.state, fact.value, fact.qualifiers)
            groups.setdefault(key, []).append((fact, site))
    entries: list[_Entry] = []
    for side in ("left", "right"):
        for members in groups.values():
            first = members[0][0]
            if first.side != side:
                continue
            item = catalogue.items[first.item]
            places = [PlaceRef(fact.site, fact.side) for fact, _ in members]
            at = at_places(item, places, catalogue)
            words = finding_words(first, item, at, catalogue, article=False, several=len(places) > 1)
            sites = tuple(dict.fromkeys(site for _, site in members))
            entries.append(_Entry(len(entries) + 1, first.side, _kind(first, catalogue), words, sites))
    return entries


def _views(entries: Iterable[_Entry]) -> tuple[View, ...]:
    """The views that the findings need; what both show is marked on the back where that is drawn."""
    needed = {found.view for entry in entries for site in entry.sites
              if (found := spot(site.slug, site.row, site.digit)) is not None}  # fmt: skip
    views: tuple[View, ...] = ("back", "palm")
    return tuple(view for view in views if view in needed) or ("back",)


def _mirrored(side: Side, view: View) -> bool:
    """The shape has its thumb to the left, as the back of a right hand and the palm of a left one have."""
    return (side == "left") is (view == "back")


def _placed(wanted: Sequence[tuple[_Entry, Point]]) -> list[tuple[_Entry, Point, Point]]:
    """Marks moved apart where they would cover each other: entry, true place, place of the mark."""
    steps = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1)]
    steps += [(2, 0), (-2, 0), (0, 2), (0, -2), (2, 1), (-2, 1), (2, -1), (-2, -1), (1, 2), (-1, 2), (1, -2), (-1, -2)]
    steps += [(3, 0), (-3, 0), (0, 3), (0, -3), (3, 1), (-3, 1), (3, -1), (-3, -1), (3, 2), (-3, 2), (3, 3), (-3, 3)]
    taken: list[Point] = []
    found = []
    for entry, (x, y) in wanted:
        candidates = [(x + dx * _APART, y + dy * _APART) for dx, dy in steps]
        free = [each for each in candidates if all(abs(each[0] - a) >= _APART or abs(each[1] - b) >= _APART
                                                   for a, b in taken)]  # fmt: skip
        place = free[0] if free else candidates[-1]
        taken.append(place)
        found.append((entry, (x, y), place))
    return found


def _hand(side: Side, view: View, entries: Sequence[_Entry], shown: Sequence[View], left: float, top: float) -> str:
    """One hand with its marks; `left` and `top` are its place on the page."""
    scale = _SCALES[len(shown)]
    mirror = _mirrored(side, view)
    inset = left + (_COLUMN - WIDTH * scale) / 2

    def place(point: Point) -> Point:
        x = WIDTH - point[0] if mirror else point[0]
        return inset + x * scale, top + (point[1] - TOP) * scale

    here = []
    shaded = []
    for entry in entries:
        for site in entry.sites:
            found = spot(site.slug, site.row, site.digit)
            if entry.side == side and found is not None and (found.view or shown[0]) == view:
                here.append((entry, place(found.point)))
                shaded += [(entry.kind, *line) for line in area(site.slug, site.row, site.digit)]
    paths = outline()
    low = top - TOP * scale
    shift = f"{inset + WIDTH * scale:.1f} {low:.1f}" if mirror else f"{inset:.1f} {low:.1f}"
    turn = f"scale({-scale} {scale})" if mirror else f"scale({scale})"
    parts = [f'<g transform="translate({shift}) {turn}">']
    parts += [f'<path d="{path}" fill="none" stroke="#4a4f57" stroke-width="3.4"/>' for path in paths]
    parts += [f'<path d="{path}" fill="#f7f4ef"/>' for path in paths]
    # The field ends at the forearm: the open end has no line.
    parts.append(f'<path d="M100 {BOTTOM + 2:g}H224" stroke="#ffffff" stroke-width="9"/>')
    if view == "back":
        parts += [f'<path d="{path}" fill="#ffffff" stroke="#8a8f96" stroke-width="1.3"/>' for path in nails()]
    parts += [
        f'<path d="{path}" fill="none" stroke="#8a8f96" stroke-width="1.4" stroke-linecap="round"/>'
        for path in creases(view)
    ]
    parts += [
        f'<path d="{path}" fill="none" stroke="url(#hatch-{kind})" stroke-width="{width}" stroke-linejoin="round" '
        'stroke-linecap="round"/>'
        for kind, path, width in dict.fromkeys(shaded)
    ]
    parts.append("</g>")
    marks = _placed(here)
    for _, true, mark in marks:
        if true != mark:
            parts.append(
                f'<path d="M{true[0]:.1f} {true[1]:.1f}L{mark[0]:.1f} {mark[1]:.1f}" stroke="#1a1a1a" '
                f'stroke-width="0.8"/><circle cx="{true[0]:.1f}" cy="{true[1]:.1f}" r="1.6" fill="#1a1a1a"/>'
            )
    parts += [marker(entry.kind, mark, _RADIUS, str(entry.number)) for entry, _, mark in marks]
    return "".join(parts)


def _text(x: float, y: float, words: str, size: float, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}"{weight}>{escape(words)}</text>'


def _key(entries: Sequence[_Entry], left: float, top: float) -> tuple[str, float]:
    """The words of a column, and how far down they reach."""
    parts = []
    for entry in entries:
        parts.append(marker(entry.kind, (left + _RADIUS, top + 4), _RADIUS, str(entry.number)))
        lines = wrap(capital(entry.words), _CHARACTERS, break_long_words=False, break_on_hyphens=False)
        for number, line in enumerate(lines):
            parts.append(_text(left + 2 * _RADIUS + 5, top + 7 + number * _LINE, line, _KEY))
        top += max(len(lines) * _LINE, 2 * _RADIUS) + 4
    return "".join(parts), top


def _legend(entries: Sequence[_Entry], top: float) -> tuple[str, float]:
    """Which shape stands for which kind of finding, of those that are used, and how far down it reaches."""
    parts = []
    left = 4.0
    for kind in KINDS:
        if not any(entry.kind == kind for entry in entries):
            continue
        name = f"{KINDS[kind].shape}: {KINDS[kind].name}"
        width = 24 + len(name) * 4.2
        if left + width > _PAGE:
            left, top = 4.0, top + 15
        parts.append(marker(kind, (left + 5, top), 5, ""))
        parts.append(_text(left + 14, top + 3, name, _KEY))
        left += width
    return "".join(parts), top


def _hatches() -> str:
    lines = []
    for kind, look in KINDS.items():
        lines.append(
            f'<pattern id="hatch-{kind}" width="6" height="6" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({look.hatch})"><rect width="6" height="6" fill="{look.shade}" '
            f'fill-opacity="0.16"/><path d="M0 3H6" stroke="{look.shade}" stroke-width="1.3" stroke-opacity="0.7"/>'
            "</pattern>"
        )
    return f"<defs>{''.join(lines)}</defs>"


def _said(entries: Sequence[_Entry], views: Sequence[View]) -> str:
    """All that the drawing shows, in words."""
    seen = listed([{"back": "the back", "palm": "the palm"}[view] for view in views])
    told = [f"Drawing of both hands seen from {seen}, as the patient sees their own hands."]
    for side in ("left", "right"):
        members = [entry for entry in entries if entry.side == side]
        if members:
            marks = "; ".join(f"{entry.number}, {entry.words}" for entry in members)
            told.append(f"Marked on the {side} hand: {marks}.")
        else:
            told.append(f"Nothing is marked on the {side} hand.")
    return " ".join(told)


def draw_hands(facts: Facts, catalogue: Catalogue) -> Picture | None:
    """The drawing of the recorded positives that have a place on the hand or wrist, or None where there are none."""
    entries = _entries(facts, catalogue)
    if not entries:
        return None
    views = _views(entries)
    tall = (BOTTOM - TOP) * _SCALES[len(views)]
    parts: list[str] = []
    top = 4.0
    for view in views:
        for left, side in ((0.0, "left"), (_COLUMN, "right")):
            heading = f"{side.capitalize()} hand, {_VIEWS[view]}"
            parts.append(_text(left + 10, top + 10, heading, _HEADING, bold=True))
            known: Side = "left" if side == "left" else "right"
            parts.append(_hand(known, view, entries, views, left, top + 14))
        top += tall + 24
    top += 2
    reach = []
    for left, side in ((4.0, "left"), (_COLUMN + 4, "right")):
        members = [entry for entry in entries if entry.side == side]
        parts.append(_text(left, top + 6, f"{side.capitalize()} hand", _KEY + 0.5, bold=True))
        if not members:
            parts.append(_text(left, top + 20, "Nothing is marked.", _KEY))
        words, low = _key(members, left, top + 15)
        parts.append(words)
        reach.append(max(low, top + 26))
    legend, top = _legend(entries, max(reach) + 8)
    parts.append(legend)
    parts.append(_text(4, top + 16, _NOTE, _KEY - 0.5))
    high = top + 22
    said = _said(entries, views)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_PAGE:g}" height="{high:.0f}" '
        f'viewBox="0 0 {_PAGE:g} {high:.0f}" role="img" '
        f'aria-labelledby="hands-title hands-description" font-family="{_FONT}" fill="#1a1a1a">'
        '<title id="hands-title">Findings marked on both hands</title>'
        f'<desc id="hands-description">{escape(said)}</desc>{_hatches()}'
        f'<rect width="{_PAGE:g}" height="{high:.0f}" fill="#ffffff"/>{"".join(parts)}</svg>'
    )
    return Picture(svg, said)
