"""A sheet as a picture: what lies where, in which order it is cut, what is left, how well it is
used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from fab.outlines.contour import Arc, Contour, Line, Point, Segment, circle, polygon
from fab.outlines.figures import arrow, dimension, size_to_fit_mm
from fab.outlines.inks import BLUE, GREEN, VERMILION
from fab.outlines.kerf import kerf_compensated
from fab.outlines.page import DASHED, DOTTED, HAIR_MM, Fill, Group, Item, Page, Text, line, ring
from fab.params.shop import Stock
from fab.sheets.drawing import lay_notes
from fab.sheets.leftover import Rest
from fab.sheets.model import Layup, Piece, Sheet
from fab.sheets.passes import CutPlan
from fab.sheets.picture_labels import INK as _INK
from fab.sheets.picture_labels import LIST_MM, labels
from fab.sheets.picture_labels import WAY_TEXT as _WAY_TEXT
from fab.units import fixed, some

_WIDE_MM = 186.0  # of the page: fits a portrait A4 inside 12 mm margins
_SIDE_MM = 14.0  # room for the dimensions
_HEAD_MM = 12.0  # room for the title
_LINE_MM = 4.4  # one line of text under the sheet
_LIST_LINE_MM = 3.4  # one line of the list of small parts
_QUIET, _REST, _WAY = "#6B6B6B", GREEN, VERMILION
_REST_TEXT = "#00533C"  # dark enough to be read on the tints (WCAG 2.2: 4.5 to 1)
_TINTS = (
    "#CFE3F1",
    "#F7E3B8",
    "#D9EFE6",
    "#F3D6E6",
    "#E6E6E6",
    "#FBF3B4",
    "#D6EBF8",
)  # light Okabe-Ito tints


def sheet_picture(
    layup: Layup,
    plan: CutPlan,
    pieces: Sequence[Piece],
    stock: Stock,
    rests: Sequence[Rest] = (),
    title: str = "",
) -> Page:
    """The picture of one sheet, seen from the side that faces the laser, X right, Y up as in the
    cut file.
    """
    sheet = layup.sheet
    scale = min((_WIDE_MM - 2 * _SIDE_MM) / sheet.width, 200.0 / sheet.height)
    facts = _facts(layup, plan, stock, rests)
    drawn = _Scaled(scale)
    left = _rests(drawn, rests)
    named = labels(scale, plan, layup, pieces, [item for item in left if isinstance(item, Text)])
    listed = (len(named.lines) + 1) * _LIST_LINE_MM if named.lines else 0.0
    foot = (len(facts) + 1) * _LINE_MM + listed
    high = foot + _SIDE_MM + sheet.height * scale + _HEAD_MM
    low, right, top = drawn((0.0, 0.0)), drawn((sheet.width, 0.0)), drawn((0.0, sheet.height))
    shown = (
        Fill(
            (_polygon(drawn, sheet.outline), *(_polygon(drawn, hole) for hole in sheet.holes)),
            "#FAFAFA",
        ),
        *(Fill((_polygon(drawn, hole),), _QUIET, 0.25) for hole in sheet.holes),
        *(ring(_polygon(drawn, loop), 0.35, _INK) for loop in (sheet.outline, *sheet.holes)),
        *_margin(drawn, layup),
        *left,
        *_parts(drawn, layup, pieces, stock.kerf),
        *_way(drawn, plan),
        *named.items,
        *_grain(drawn, sheet),
        dimension(low, right, -8.0, f"{fixed(sheet.width, 1)} mm", size_mm=3.2, colour=_QUIET),
        dimension(low, top, 8.0, f"{fixed(sheet.height, 1)} mm", size_mm=3.2, colour=_QUIET),
        *_origin(low),
    )
    items: list[Item] = [Group(shown, ((_WIDE_MM - sheet.width * scale) / 2, foot + _SIDE_MM))]
    heading = title or sheet.name
    size = size_to_fit_mm(heading, _WIDE_MM - 2 * _SIDE_MM, 4.6, bold=True)
    items.append(Text(_SIDE_MM, high - 7.0, heading, size, colour=_INK, bold=True))
    for k, fact in enumerate(facts):
        size = size_to_fit_mm(fact, _WIDE_MM - 2 * _SIDE_MM, 3.2)
        items.append(Text(_SIDE_MM, foot - (k + 1) * _LINE_MM, fact, size, colour=_INK))
    below = foot - len(facts) * _LINE_MM - 1.5 * _LIST_LINE_MM
    for k, entry in enumerate(named.lines):
        items.append(Text(_SIDE_MM, below - k * _LIST_LINE_MM, entry, LIST_MM, colour=_INK))
    return Page(_WIDE_MM, high, tuple(items), heading, f"{heading}: " + " ".join(facts))


def _origin(corner: Point) -> list[Item]:
    """The corner that lies at the origin of the laser's bed."""
    x, y = corner
    arms = [line((x, y), (x + dx, y + dy), 0.5, _WAY) for dx, dy in ((5.0, 0.0), (0.0, 5.0))]
    return [
        *arms,
        ring(circle(corner, 1.2), 0.4, _WAY),
        Text(x - 1.8, y - 3.4, "0, 0", 2.6, "end", colour=_WAY_TEXT),
    ]


def _grain(drawn: _Scaled, sheet: Sheet) -> list[Item]:
    """The direction of the grain, above the sheet."""
    if not sheet.grain:
        return []
    (left, top), (right, _) = drawn((0.0, sheet.height)), drawn((sheet.width, sheet.height))
    middle, y = (left + right) / 2, top + 2.2
    arms = [arrow((middle, y), (middle + way * 22.0, y), 0.35, _INK) for way in (-1.0, 1.0)]
    return [*arms, Text(middle + 24.0, y - 1.0, "grain", 2.8, colour=_INK)]


class _Scaled:
    """From the sheet frame to the page, whose group of the sheet has the same origin."""

    def __init__(self, scale: float) -> None:
        self.scale = scale

    def __call__(self, point: Point) -> Point:
        return (point[0] * self.scale, point[1] * self.scale)

    def contour(self, contour: Contour) -> Contour:
        return scaled(contour, self.scale)


def scaled(contour: Contour, scale: float) -> Contour:
    """The contour `scale` times as large, about the origin."""

    def one(segment: Segment) -> Segment:
        start = (segment.start[0] * scale, segment.start[1] * scale)
        if isinstance(segment, Arc):
            return replace(
                segment, start=start, centre=(segment.centre[0] * scale, segment.centre[1] * scale)
            )
        return Line(start, (segment.end[0] * scale, segment.end[1] * scale))

    return Contour(tuple(one(segment) for segment in contour.segments))


def _polygon(drawn: _Scaled, corners: Sequence[Point]) -> Contour:
    return polygon([drawn(corner) for corner in corners])


def _margin(drawn: _Scaled, layup: Layup) -> list[Item]:
    sheet, m = layup.sheet, layup.sheet.margin
    if not m or not sheet.is_rectangle:
        return []
    corners = [
        (m, m),
        (sheet.width - m, m),
        (sheet.width - m, sheet.height - m),
        (m, sheet.height - m),
    ]
    return [ring(_polygon(drawn, corners), HAIR_MM, _QUIET, DOTTED)]


def _rests(drawn: _Scaled, rests: Sequence[Rest]) -> list[Item]:
    items: list[Item] = []
    for rest in rests:
        loops = tuple(_polygon(drawn, loop) for loop in (rest.outline, *rest.holes))
        items += [Fill(loops, _REST, 0.14), *(ring(loop, 0.25, _REST, DASHED) for loop in loops)]
        width = max(x for x, _ in rest.offcut.outline)
        height = max(y for _, y in rest.offcut.outline)
        upright = height > width
        at, room = _within(rest, drawn, upright=upright)
        whole = len(rest.offcut.outline) == 4 and not rest.holes
        within = "" if whole else "within "
        says = f"{rest.offcut.name}: {within}{fixed(width, 0)} x {fixed(height, 0)} mm"
        size = size_to_fit_mm(says, 0.9 * room, 3.0)
        items.append(Text(*at, says, size, "middle", 90.0 if upright else 0.0, colour=_REST_TEXT))
    return items


def _within(rest: Rest, drawn: _Scaled, *, upright: bool) -> tuple[Point, float]:
    """A point well inside a rest, and how long a line of text through it may be, on the page."""
    import shapely

    shape = shapely.Polygon(rest.outline, rest.holes)
    x, y = shapely.maximum_inscribed_circle(shape, tolerance=1.0).coords[0][:2]
    left, low, right, top = shape.bounds
    line_ = shapely.LineString(
        [(x, low), (x, top)] if upright else [(left, y), (right, y)]
    ).intersection(shape)
    spans = [part.bounds for part in getattr(line_, "geoms", [line_])]
    a, b, c, d = next(
        (s for s in spans if s[0] - 1 <= x <= s[2] + 1 and s[1] - 1 <= y <= s[3] + 1), (x, y, x, y)
    )
    half = min(y - b, d - y) if upright else min(x - a, c - x)
    return drawn((x, y)), max(2 * half, 1.0) * drawn.scale


def _parts(drawn: _Scaled, layup: Layup, pieces: Sequence[Piece], kerf_mm: float) -> list[Item]:
    """Tints by piece, then all edges, then all marks: what looks alike stands together, which
    painters like.
    """
    by_name = {
        piece.name: (piece, kerf_compensated(piece.outline, kerf_mm), k)
        for k, piece in enumerate(pieces)
    }
    fills: list[Item] = []
    edges: list[Item] = []
    marks: list[Item] = []
    for item in sorted(layup.placed, key=lambda p: by_name[p.piece][2]):
        piece, cut, k = by_name[item.piece]
        outline = item.outline(cut)
        loops = tuple(drawn.contour(loop) for loop in (outline.edge, *outline.holes))
        fills.append(
            Group((Fill(loops, _TINTS[k % len(_TINTS)]),), title=f"{item.piece} {item.copy}")
        )
        edges += [ring(loop, 0.18, _INK) for loop in loops]
        marks += [
            line(drawn(item.point(a)), drawn(item.point(b)), HAIR_MM, BLUE)
            for mark in (*piece.marks, *piece.engraved)
            for a, b in pairwise(mark)
            if a != b
        ]
    return [*fills, *edges, *marks]


def _way(drawn: _Scaled, plan: CutPlan) -> list[Item]:
    """The head's way between cuts."""
    items: list[Item] = []
    at: Point = (0.0, 0.0)
    for step in plan.passes:
        a, b = drawn(at), drawn(step.start)
        if abs(a[0] - b[0]) + abs(a[1] - b[1]) > 0.05:
            items.append(line(a, b, HAIR_MM, _WAY, DOTTED))
        at = step.end
    return items


def _facts(layup: Layup, plan: CutPlan, stock: Stock, rests: Sequence[Rest]) -> list[str]:
    sheet = layup.sheet
    parts = ", ".join(f"{count} x {name}" for name, count in layup.counts.items())
    most = f"; proven maximum {layup.bound}" if layup.bound is not None else ""
    whole = int(plan.seconds)
    minutes = f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"
    kept = (
        [f"To keep: {', '.join(rest.offcut.name for rest in rests)}; listed in offcuts.toml."]
        if rests
        else []
    )
    spots = ["Grey: holes and bad spots of the sheet. Nothing lies there."] if sheet.holes else []
    return [
        *(f"{note[0].upper()}{note[1:]}." for note in lay_notes(sheet)),
        *spots,
        f"{parts}{most}. {fixed(100 * layup.utilisation, 1)} % of the sheet is used.",
        *kept,
        (
            f"Cut {fixed(plan.cut_mm / 1000, 2)} m, {some(plan.pierces, 'piercing')}, "
            f"travel {fixed(plan.travel_mm / 1000, 2)} m, about {minutes}."
        ),
        (
            f"{stock.material} {stock.finish} {fixed(stock.thickness)} mm. The kerf of"
            f" {fixed(stock.kerf)} mm is in the paths; margin {fixed(sheet.margin, 1)} mm."
        ),
        (
            "Orange, or after a stroke: the order in which parts come free; dotted: the way of the"
            " head. Stay with the laser while it cuts."
        ),
    ]
