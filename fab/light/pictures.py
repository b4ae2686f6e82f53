"""Pictures of one lit panel: how it will look, a heat map, a cut through the middle, figures over
depth.

All are front views, X to the right and Y up. A simulation: made from the model, not from a camera.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fab.files.png import Pixels, png
from fab.light.colours import LINES, PAPER, ramp
from fab.light.diagram import Axes
from fab.light.face import Face
from fab.light.levels import region
from fab.light.png import Png, stamp_height, stamped
from fab.light.solve import Curve
from fab.outlines.contour import Arc, Contour, Line, Point, Segment, circle, polygon
from fab.outlines.inks import INK, ink
from fab.outlines.page import DASHED, Fill, Item, Page, Text, line, polyline, ring
from fab.outlines.shapes import rectangle
from fab.params.job import LightParams
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.units import fixed

Array = NDArray[np.float64]
GAMMA = 2.2  # of a usual camera and screen, common practice
SHELL_GREY = 0.06  # unlit shell round the face, as a share of the brightest point
BANDS = 10
STRAY_MM = 0.03  # how far the edge of a band may stray, mm of paper
# beside the window's edge the sheet mixes light with the dark over the ledge; the heat map leaves
# it out
EDGE_MM = 1.5
WIDE = 170.0  # mm, page width
SAYS = "A simulation: calculated from the design, not photographed."


def face_png(plan: Plan, face: Face, points_per_mm: float = 2.0) -> Png:
    """The face twice, side by side: luminance as it is (linear), and as a camera and the eye show
    it (gamma 2.2).
    """
    x0, y0, x1, y1 = plan.rings.body.box
    edge = 2.0
    columns = math.ceil((x1 - x0 + 2 * edge) * points_per_mm)
    rows = math.ceil((y1 - y0 + 2 * edge) * points_per_mm)
    x: Array = np.asarray(
        (x0 + x1) / 2 + (np.arange(columns) + 0.5 - columns / 2) / points_per_mm, dtype=np.float64
    )
    y: Array = np.asarray(
        (y0 + y1) / 2 - (np.arange(rows) + 0.5 - rows / 2) / points_per_mm, dtype=np.float64
    )
    light = lit(face, x, y) / max(float(face.grid.values.max()), 1e-9)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    body = in_polygon(points, plan.cell.sides, plan.rings.body_apothem).reshape(rows, columns)
    sheet = in_polygon(points, plan.cell.sides, plan.rings.rebate_apothem).reshape(rows, columns)
    shown = np.where(sheet, light, np.where(body, SHELL_GREY, 0.0))
    pair = np.concatenate([shown, shown ** (1 / GAMMA)], axis=1)
    strip = max(14, round(rows * 0.09))
    pixels = np.concatenate([as_bytes(pair), np.zeros((strip, 2 * columns), np.uint8)])
    words = ("linear simulation", "gamma 2.2 simulation")
    high = min(stamp_height(text, columns * 0.9, strip * 0.4) for text in words)
    for k, text in enumerate(words):
        pixels = stamped(pixels, text, (k * columns + columns * 0.05, rows + strip * 0.7), high)
    f = face.figures
    caption = (
        "The face as it will look, front view. Left: luminance as it is; right: as a camera and"
        f" the eye show it (gamma {fixed(GAMMA)}). {SAYS}"
    )
    mean = fixed(face.mean_at_cap_cd_m2, 0)
    says = (
        f"Darkest over brightest spot: {fixed(f.face, 2)} over the whole face,"
        f" {fixed(f.middle, 2)} over its middle two thirds. Rim: {fixed(f.rim, 2)} of the middle."
        f" Dots: {fixed(f.dots, 3)}. Average: {mean} cd/m2 at the brightness limit."
    )
    return Png(png(pixels), pixels.shape[1], pixels.shape[0], caption, says)


def heat_page(plan: Plan, face: Face) -> Page:
    """Luminance in ten bands of one colour ramp with its scale; numbers are per cent of the
    middle's mean.
    """
    x0, y0, x1, y1 = plan.rings.body.box
    zoom = 116.0 / max(x1 - x0, y1 - y0)
    high = max((y1 - y0) * zoom, 80.0) + 20.0
    shift = (4.0 - x0 * zoom, (high + 10.0) / 2 - (y0 + y1) / 2 * zoom)

    def at(point: Point) -> Point:
        return (point[0] * zoom + shift[0], point[1] * zoom + shift[1])

    peak = face.figures.peak_cd_m2
    gx, gy, values = _beyond(plan, face)
    window, body = (
        _moved(contour, zoom, shift) for contour in (plan.rings.window, plan.rings.body)
    )
    items: list[Item] = [Fill((window,), ramp(0.5 / BANDS))]
    for band in range(1, BANDS):
        found = region(gx * zoom + shift[0], gy * zoom + shift[1], values, peak * band / BANDS)
        found = tuple(_plain(loop) for loop in found)
        if found:
            items.append(Fill(found, ramp((band + 0.5) / BANDS)))
    frame = rectangle(
        (x1 - x0) * zoom + 6, (y1 - y0) * zoom + 6, at(((x0 + x1) / 2, (y0 + y1) / 2))
    )
    items.append(Fill((frame, window), PAPER))  # what ran over the window's edge
    items += [ring(body, 0.35, INK), ring(window, 0.2, INK)]
    items += [ring(circle(at(led), 0.6), 0.15, INK) for led in led_grid(plan)]
    for spot in _number_spots(plan):
        share = float(lit(face, np.array([spot[0]]), np.array([spot[1]]))[0, 0])
        px, py = at(spot)
        below = ramp((min(int(BANDS * share / peak), BANDS - 1) + 0.5) / BANDS)
        items.append(
            Text(
                px,
                py + 1.2,
                fixed(100 * share / face.figures.middle_cd_m2, 0),
                2.8,
                "middle",
                colour=ink(below),
            )
        )
    left = (x1 - x0) * zoom + 12.0
    items += _scale(face, left, high + 10.0)
    told = "Numbers: per cent of the mean of the middle. Rings: LEDs. Front view."
    items.append(Text(4.0, 6.5, told, 2.6, colour=INK))
    items.append(Text(4.0, 2.5, SAYS, 2.6, colour=INK))
    return Page(max(left + 38.0, 112.0), high + 4.0, tuple(items), "Luminance of the face", SAYS)


def _plain(loop: Contour) -> Contour:
    """A band's edge without the points of the grid that a picture does not show."""
    from shapely import LinearRing

    ring = LinearRing([seg.start for seg in loop.segments]).simplify(STRAY_MM)
    return polygon([(x, y) for x, y in ring.coords[:-1]])


def cut_page(plan: Plan, face: Face) -> Page:
    """Luminance along the line through the middle, edge 0 at the right, and what it is made of."""
    cut, cap = face.cut, face.brightness
    curves = (
        ("all light", cut.total, 0.6, ()),
        ("straight from the LEDs", cut.direct, 0.35, ()),
        ("bounced once", cut.once, 0.35, DASHED),
        ("bounced more often", cut.more, 0.35, (0.6, 0.8)),
    )
    top = float(cut.total.max()) * cap * 1.15
    frame = Axes(
        left=22.0,
        low=16.0,
        width=140.0,
        height=66.0,
        x=(float(cut.x[0]), float(cut.x[-1])),
        y=(0.0, top),
    )
    items = frame.drawn(
        "mm from the panel's middle (front view, edge 0 at the right)",
        "cd/m2 at the brightness limit",
    )
    for k, (name, values, width, dash) in enumerate(curves):
        points = [
            frame.at(a, v * cap) for a, v in zip(cut.x.tolist(), values.tolist(), strict=True)
        ]
        items.append(polyline(points, width, LINES[k], dash))
        items += frame.legend(k, name, colour=LINES[k], width=width, dash=dash)
    for x, y in led_grid(plan):
        if abs(y) < plan.params.led.size / 2:
            items.append(Fill((circle(frame.at(x, 0.0), 0.8),), LINES[1]))
    title = "A cut through the middle of the face"
    return Page(WIDE, 98.0, tuple(items), title, f"{SAYS} Dots on the base line: LEDs.")


def curve_page(curve: Curve, limits: LightParams) -> Page:
    """Dots and evenness over the panel's depth, the limits and the design's own depth."""
    rows = curve.rows
    frame = Axes(
        left=22.0, low=16.0, width=140.0, height=76.0, x=(rows[0][0], rows[-1][0]), y=(0.0, 1.0)
    )
    items = frame.drawn("panel.depth, mm (the LED grid stays)", "share")
    told = (
        ("dots: maximum", [f.dots for _, f in rows], limits.dots, LINES[0]),
        ("evenness, whole face: minimum", [f.face for _, f in rows], limits.face, LINES[1]),
        ("evenness, middle: minimum", [f.middle for _, f in rows], limits.middle, LINES[2]),
    )
    for k, (name, values, limit, colour) in enumerate(told):
        points = [frame.at(d, min(v, frame.y[1])) for (d, _), v in zip(rows, values, strict=True)]
        items.append(polyline(points, 0.5, colour))
        if limit <= frame.y[1]:
            items.append(
                line(frame.at(frame.x[0], limit), frame.at(frame.x[1], limit), 0.25, colour, DASHED)
            )
        items += frame.legend(k, f"{name} {fixed(limit)}", colour=colour, width=0.5)
    items.append(line(frame.at(curve.depth, 0.0), frame.at(curve.depth, frame.y[1]), 0.35, INK))
    items.append(
        Text(
            frame.at(curve.depth, 0.0)[0] + 1.0, frame.top - 3.0, f"depth {fixed(curve.depth)}", 2.8
        )
    )
    title = f"Evenness over depth, {rows[0][1].leds} LEDs {fixed(curve.pitch, 2)} mm apart"
    return Page(WIDE, 108.0, tuple(items), title, f"{SAYS} Dashed: the job's limits.")


def lit(face: Face, x: Array, y: Array) -> Array:
    """(len(y), len(x)) luminance at full white, straight between the face's cells, 0 beyond
    them.
    """
    grid = face.grid
    i, u = _place(grid.columns_x, grid.step, x)
    j, v = _place(grid.rows_y, grid.step, y)
    padded = np.pad(grid.values, 1)
    low = padded[np.ix_(j, i)] * (1 - u) + padded[np.ix_(j, i + 1)] * u
    high = padded[np.ix_(j + 1, i)] * (1 - u) + padded[np.ix_(j + 1, i + 1)] * u
    return np.asarray(low * (1 - v)[:, None] + high * v[:, None])


def _place(nodes: Array, step: float, at: Array) -> tuple[NDArray[np.int64], Array]:
    place = np.clip((at - nodes[0]) / step + 1, 0.0, len(nodes) + 1 - 1e-9)
    low = np.floor(place).astype(int)
    return low, place - low


def in_polygon(points: Array, sides: int, apothem: float) -> NDArray[np.bool_]:
    """True, per point (P, 2), for points inside the regular polygon with edge 0 towards +X."""
    inside = np.ones(len(points), dtype=bool)
    for k in range(sides):
        angle = 2 * math.pi * k / sides
        inside &= points[:, 0] * math.cos(angle) + points[:, 1] * math.sin(angle) <= apothem
    return inside


def as_bytes(shares: Array) -> Pixels:
    """0..1 to 0..255."""
    return np.round(np.clip(shares, 0.0, 1.0) * 255).astype(np.uint8)


def _moved(contour: Contour, zoom: float, shift: Point) -> Contour:
    """A contour in the picture's size and place."""

    def at(p: Point) -> Point:
        return (p[0] * zoom + shift[0], p[1] * zoom + shift[1])

    def moved(seg: Segment) -> Segment:
        start = at(seg.start)
        return (
            Line(start, at(seg.end))
            if isinstance(seg, Line)
            else Arc(start, at(seg.centre), seg.sweep_rad)
        )

    return Contour(tuple(moved(seg) for seg in contour.segments))


def _beyond(plan: Plan, face: Face) -> tuple[Array, Array, Array]:
    """About 90 x 90 values over the body, each point outside the window taken on its edge: bands
    run out to it.
    """
    x0, y0, x1, y1 = plan.rings.body.box
    x, y = np.linspace(x0, x1, 91), np.linspace(y0, y1, 91)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    reach = np.zeros(len(points))
    for k in range(plan.cell.sides):
        angle = 2 * math.pi * k / plan.cell.sides
        reach = np.maximum(reach, points[:, 0] * math.cos(angle) + points[:, 1] * math.sin(angle))
    inner = plan.rings.ledge_apothem - EDGE_MM
    points *= np.minimum(1.0, inner / np.maximum(reach, 1e-9))[:, None]
    grid, padded = face.grid, np.pad(face.grid.values, 1)
    i, u = _place(grid.columns_x, grid.step, points[:, 0])
    j, v = _place(grid.rows_y, grid.step, points[:, 1])
    low = padded[j, i] * (1 - u) + padded[j, i + 1] * u
    high = padded[j + 1, i] * (1 - u) + padded[j + 1, i + 1] * u
    return x, y, np.asarray((low * (1 - v) + high * v).reshape(91, 91))


def _number_spots(plan: Plan) -> Sequence[Point]:
    """The middle, and points out to every edge and corner."""
    spots: list[Point] = [(0.0, 0.0)]
    n, far = plan.cell.sides, plan.rings.ledge_apothem - 4.0
    if n > 12:
        return spots
    for k in range(2 * n):
        angle = k * math.pi / n
        reach = far if k % 2 == 0 else far / math.cos(math.pi / n) - 3.0
        spots += [(reach * s * math.cos(angle), reach * s * math.sin(angle)) for s in (0.55, 1.0)]
    return spots


def _scale(face: Face, left: float, high: float) -> list[Item]:
    cap, peak = face.brightness, face.figures.peak_cd_m2
    size = min(8.0, (high - 30.0) / BANDS)
    low = (high - size * BANDS) / 2
    items: list[Item] = [Text(left, low + size * BANDS + 5.0, "cd/m2 at the limit", 2.8)]
    for band in range(BANDS + 1):
        y = low + band * size
        if band < BANDS:
            items.append(
                Fill(
                    (rectangle(6.0, size, (left + 3.0, y + size / 2)),), ramp((band + 0.5) / BANDS)
                )
            )
        items.append(Text(left + 7.5, y - 1.0, f"{fixed(peak * cap * band / BANDS, 0)}", 2.8))
    return items
