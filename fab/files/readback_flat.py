"""The cuts of a file as loops of points and bulges, held against the drawing they came from.

Shares no code with the writers: a fault of theirs must not hide here.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product

from fab.outlines.contour import box_of
from fab.outlines.drawing import Drawing

SAME_MM = 1e-3  # cut files agree with the drawing, and with each other, to this
CHORD_MM = 0.01 + SAME_MM  # ... or to this where arcs were written as chords

XY = tuple[float, float]
Bow = tuple[XY, XY, float]  # from, to, bulge


@dataclass(frozen=True)
class ReadLoop:
    """A closed loop or open line as read; a bulge stands with its segment's first point."""

    layer: str
    points: tuple[tuple[float, float, float], ...]
    closed: bool

    @cached_property
    def bows(self) -> tuple[Bow, ...]:
        """Start, end and bulge (tan of a quarter sweep) of each segment that has a length."""
        ring = (*self.points, self.points[0]) if self.closed else self.points
        return tuple(
            ((a[0], a[1]), (b[0], b[1]), a[2])
            for a, b in pairwise(ring)
            if math.dist(a[:2], b[:2]) > 1e-9
        )

    @cached_property
    def area(self) -> float:
        """Area in mm2 with the circular segments of its arcs; positive when counter-clockwise."""
        return math.fsum(
            (a[0] * b[1] - b[0] * a[1]) / 2 + _segment_area(a, b, bulge)
            for a, b, bulge in self.bows
        )

    @cached_property
    def length(self) -> float:
        """Length along lines and arcs, mm; the closing segment of a closed loop included."""
        return math.fsum(_length(*bow) for bow in self.bows)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """The box that the line reaches, arcs included: (x0, y0, x1, y1), mm."""
        points = [point for bow in self.bows for point in _reach(*bow)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return min(xs), min(ys), max(xs), max(ys)

    def holds(self, point: XY) -> bool:
        """True when a closed loop goes round a point (winding number)."""
        turned = 0.0
        for a, b, bulge in self.bows:
            ax, ay, bx, by = a[0] - point[0], a[1] - point[1], b[0] - point[0], b[1] - point[1]
            cross, dot = ax * by - ay * bx, ax * bx + ay * by
            angle = math.atan2(cross, dot)
            if bulge:
                centre, radius = _circle(a, b, bulge)
                if math.dist(point, centre) < radius and (
                    cross * bulge < 0 or (cross == 0 and dot < 0)
                ):
                    # Between chord and arc the arc goes round the other way; on the chord it goes
                    # half round.
                    angle = (
                        math.copysign(math.pi, bulge)
                        if cross == 0
                        else angle + math.copysign(2 * math.pi, bulge)
                    )
            turned += angle
        return abs(turned) > math.pi


def _circle(a: XY, b: XY, bulge: float) -> tuple[XY, float]:
    """Centre and radius of a bow: the sagitta is bulge times half the chord."""
    chord = math.dist(a, b)
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    off = (1 - bulge * bulge) / (4 * bulge)  # centre left of the chord's middle, by the chord
    return (
        (a[0] + b[0]) / 2 - (b[1] - a[1]) * off,
        (a[1] + b[1]) / 2 + (b[0] - a[0]) * off,
    ), radius


def _segment_area(a: XY, b: XY, bulge: float) -> float:
    """Signed area between chord and arc."""
    if not bulge:
        return 0.0
    angle, (_, radius) = 4 * math.atan(bulge), _circle(a, b, bulge)
    return radius * radius / 2 * (angle - math.sin(angle))


def _length(a: XY, b: XY, bulge: float) -> float:
    return _circle(a, b, bulge)[1] * 4 * math.atan(abs(bulge)) if bulge else math.dist(a, b)


def _middle(a: XY, b: XY, bulge: float) -> XY:
    """The middle of a bow."""
    return (
        (a[0] + b[0]) / 2 + (b[1] - a[1]) * bulge / 2,
        (a[1] + b[1]) / 2 - (b[0] - a[0]) * bulge / 2,
    )


def _reach(a: XY, b: XY, bulge: float) -> Iterator[XY]:
    """The ends of a bow and the outermost points between them."""
    yield a
    yield b
    if bulge:
        (cx, cy), radius = _circle(a, b, bulge)
        begin, sweep = math.atan2(a[1] - cy, a[0] - cx), 4 * math.atan(bulge)
        for quarter in range(4):
            offset = (quarter * math.pi / 2 - begin) * math.copysign(1.0, sweep)
            if offset % (2 * math.pi) <= abs(sweep):
                yield cx + radius * (1, 0, -1, 0)[quarter], cy + radius * (0, 1, 0, -1)[quarter]


def differences(loops: Sequence[ReadLoop], drawing: Drawing, tol_mm: float) -> list[str]:
    """Layers, counts, order, sizes and places that differ from the drawing."""
    told: list[str] = []
    seen = list(dict.fromkeys(loop.layer for loop in loops))
    wanted = [
        layer.name for layer in drawing.layers if layer.contours or layer.strokes or layer.runs
    ]
    if seen != wanted:
        told.append(f"layers are {seen}, drawn were {wanted}")
    for layer in drawing.layers:
        mine = [loop for loop in loops if loop.layer == layer.name]
        rings = [loop for loop in mine if loop.closed]
        lines = [loop for loop in mine if not loop.closed]
        opens = len(layer.strokes) + len(layer.runs)
        if (len(rings), len(lines)) != (len(layer.contours), opens):
            told.append(
                f"layer {layer.name} holds {len(rings)} closed contours and {len(lines)} open"
                f" lines, drawn were {len(layer.contours)} and {opens}"
            )
            continue
        for number, (loop, contour) in enumerate(zip(rings, layer.contours, strict=True), 1):
            what = f"contour {number} of layer {layer.name}"
            told += _near(
                what, "area", abs(loop.area), abs(contour.area_mm2), tol_mm * contour.length_mm
            )
            told += _near(
                what, "length", loop.length, contour.length_mm, tol_mm * (8 + len(contour.segments))
            )
            told += _same_box(what, loop, contour.box, tol_mm)
        for number, (loop, points) in enumerate(zip(lines, layer.strokes, strict=False), 1):
            xs, ys = [x for x, _ in points], [y for _, y in points]
            what = f"stroke {number} of layer {layer.name}"
            drawn = math.fsum(math.dist(a, b) for a, b in pairwise(points))
            told += _near(what, "length", loop.length, drawn, SAME_MM * len(points))
            told += _same_box(what, loop, (min(xs), min(ys), max(xs), max(ys)), SAME_MM)
        for number, (loop, run) in enumerate(
            zip(lines[len(layer.strokes) :], layer.runs, strict=True), 1
        ):
            what = f"run {number} of layer {layer.name}"
            told += _near(
                what,
                "length",
                loop.length,
                math.fsum(seg.length_mm for seg in run),
                tol_mm * (8 + len(run)),
            )
            told += _same_box(what, loop, box_of(run), tol_mm)
    for loop in loops:
        x0, y0, x1, y1 = loop.box
        if (
            x0 < -SAME_MM
            or y0 < -SAME_MM
            or x1 > drawing.width + SAME_MM
            or y1 > drawing.height + SAME_MM
        ):
            told.append(
                f"something on layer {loop.layer} at x {x0:.3f}, y {y0:.3f} reaches over the edge"
                " of the sheet"
            )
    return told


def _near(what: str, figure: str, have: float, want: float, tol: float) -> list[str]:
    return (
        [] if abs(have - want) <= tol else [f"{what}: {figure} is {have:.6g}, drawn was {want:.6g}"]
    )


def _same_box(
    what: str, loop: ReadLoop, want: tuple[float, float, float, float], tol: float
) -> list[str]:
    if all(abs(have - there) <= tol for have, there in zip(loop.box, want, strict=True)):
        return []
    box, drawn = (" ".join(f"{value:.3f}" for value in each) for each in (loop.box, want))
    return [f"{what}: its box is {box}, drawn was {drawn}"]


def cutting_faults(loops: Sequence[ReadLoop]) -> list[str]:
    """Places that would be cut twice, and parts cut free before their holes are cut."""
    told = [f"two cuts lie on each other at x {x:.3f}, y {y:.3f} mm" for x, y in _doubled(loops)]
    rings = [loop for loop in loops if loop.closed]
    for place, outer in enumerate(rings):
        x0, y0, x1, y1 = outer.box
        for inner in rings[place + 1 :]:
            box = inner.box
            if (
                x0 < box[0]
                and y0 < box[1]
                and x1 > box[2]
                and y1 > box[3]
                and outer.holds(_middle(*inner.bows[0]))
            ):
                at = f"at x {box[0]:.3f}, y {box[1]:.3f} mm"
                told.append(f"a contour on layer {inner.layer} {at} is cut after the one round it")
    return told


def _doubled(loops: Sequence[ReadLoop]) -> Iterator[XY]:
    bows = [bow for loop in loops for bow in loop.bows]
    yield from _twins(bows)
    yield from _overlaps([(a, b) for a, b, bulge in bows if not bulge])


def _twins(bows: Sequence[Bow]) -> Iterator[XY]:
    """Middles of bows that are there twice, whichever way they run."""
    cells: dict[tuple[int, int], list[Bow]] = defaultdict(list)
    for bow in bows:
        middle = _middle(*bow)
        column, row = (math.floor(value / (2 * SAME_MM)) for value in middle)
        for dx, dy in product((-1, 0, 1), repeat=2):
            for other in cells.get((column + dx, row + dy), ()):
                ends = min(
                    max(math.dist(bow[0], other[0]), math.dist(bow[1], other[1])),
                    max(math.dist(bow[0], other[1]), math.dist(bow[1], other[0])),
                )
                if ends <= SAME_MM and math.dist(middle, _middle(*other)) <= SAME_MM:
                    yield middle
        cells[column, row].append(bow)


def _overlaps(lines: Sequence[tuple[XY, XY]]) -> Iterator[XY]:
    """Places where straight cuts that differ run along each other."""
    cells: dict[tuple[int, int], list[tuple[XY, XY]]] = defaultdict(list)
    for a, b in lines:
        length = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        # both ways of running are one direction; the seam lies at an odd angle
        if 0.123 * ux + 0.992 * uy < 0:
            ux, uy = -ux, -uy
        offset = a[1] * ux - a[0] * uy
        low, high = sorted((a[0] * ux + a[1] * uy, b[0] * ux + b[1] * uy))
        column, row = math.floor(math.atan2(uy, ux) / 1e-4), math.floor(offset / 0.1)
        for dx, dy in product((-1, 0, 1), repeat=2):
            for c, d in cells.get((column + dx, row + dy), ()):
                # along this line's own way: a hundredth of a degree is 0.03 mm at the far end of a
                # sheet
                other_low, other_high = sorted((c[0] * ux + c[1] * uy, d[0] * ux + d[1] * uy))
                start, end = max(low, other_low), min(high, other_high)
                # told already
                twins = abs(low - other_low) <= SAME_MM and abs(high - other_high) <= SAME_MM
                if end - start > 10 * SAME_MM and not twins and _along((a, b), (c, d)):
                    middle = (start + end) / 2
                    yield middle * ux - offset * uy, middle * uy + offset * ux
        cells[column, row].append((a, b))


def _along(one: tuple[XY, XY], other: tuple[XY, XY]) -> bool:
    """True when the ends of the shorter lie on the endless line through the longer."""
    longer, shorter = sorted((one, other), key=lambda pair: -math.dist(*pair))
    (ax, ay), (bx, by) = longer
    length = math.hypot(bx - ax, by - ay)
    return all(
        abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length <= SAME_MM for x, y in shorter
    )
