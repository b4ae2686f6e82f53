"""Checks that a part prints, on its mesh as printed: bed, contact, overhangs, thin places."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fab.checks import measure
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.print_measured import Measured, measured
from fab.params.shop import Printer
from fab.prints.turns import best_turn
from fab.units import fixed

if TYPE_CHECKING:
    from fab.solids.mesh import Mesh

PRACTICE = "common practice, no source"
CONTACT_MM2 = 20.0  # a smaller first layer comes off the bed
TIPPING = 6.0  # height over least width of what stands on the bed
REMEDIES = {  # which parameter makes a place of a part thicker, wider or flatter
    "base": "panel.base",
    "shell": "panel.shell",
    "clip": "panel.clip",
    "cap": "panel.header.play",
    "foot": "panel.base.feet",
}


def checks(
    part: str, mesh: Mesh, printer: Printer, known: Measured | None = None
) -> tuple[Verdict, ...]:
    """Verdicts `print.*` of one printed part; `known` is what was measured of it before.

    `mesh` stands in print orientation with its lowest point on z = 0. Small overhangs are left out:
    up to one printed line beyond what carries them (they print as part of the next line), and
    within two layers over the bed.
    """
    low, high = mesh.box
    where = REMEDIES.get(part.split("-", maxsplit=1)[0].split(" ", maxsplit=1)[0], "panel")
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    found = known or measured(mesh, printer)
    return (
        *_bed(part, mesh, low, size, printer),
        *_stands(part, mesh, size[2]),
        *_overhangs(part, found, printer, where),
        *_thin(part, found, printer, where),
        *_foot(part, mesh, printer),
    )


def _bed(
    part: str, mesh: Mesh, low: tuple[float, ...], size: tuple[float, ...], printer: Printer
) -> list[Verdict]:
    x, y = (side - 2 * printer.bed_margin for side in printer.bed)
    left = max(min(x - size[0], y - size[1]), min(x - size[1], y - size[0]))
    if left < 0:  # it may lie at another angle
        around = measure.hull(mesh.vertices[:, :2])
        left = best_turn(tuple((float(px), float(py)) for px, py in around), x, y)[1]
    wide, deep = (math.ceil(10 * (side + max(-left, 0.0))) / 10 for side in printer.bed)
    return [
        judge(
            "print.bed",
            part,
            at_least(left, 0.0),
            f"Size of {part} on the bed: {fixed(size[0], 1)} x {fixed(size[1], 1)} mm (maximum"
            f" {fixed(x, 1)} x {fixed(y, 1)} mm, turned as it fits best).",
            remedy=(
                f"A bed that works: shop.printer.bed = [{fixed(wide, 1)}, {fixed(deep, 1)}]; or"
                " make the panel smaller."
            ),
        ),
        judge(
            "print.height",
            part,
            at_least(printer.height - size[2], 0.0),
            f"Height of {part}: {fixed(size[2], 1)} mm.",
            remedy=f"A printer of {fixed(size[2], 1)} mm height works (shop.printer.height).",
        ),
        judge(
            "print.on-bed",
            part,
            at_most(abs(low[2]), 0.001),
            f"Lowest point of {part}: z = {fixed(low[2])} mm.",
            remedy="This is an internal error: please report it.",
        ),
    ]


def _stands(part: str, mesh: Mesh, height: float) -> list[Verdict]:
    import numpy as np

    corners = mesh.vertices[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    on_bed = (corners[:, :, 2].max(axis=1) < corners[:, :, 2].min() + 1e-4) & (normal[:, 2] < 0)
    area = float(-normal[on_bed, 2].sum() / 2)
    points = corners[on_bed][:, :, :2].reshape(-1, 2)
    width = measure.least_width(measure.hull(points)) if len(points) else 0.0
    slender = height / max(width, 0.01)
    return [
        judge(
            "print.contact",
            part,
            at_least(area, CONTACT_MM2, "mm2"),
            f"Area of {part} on the bed: {fixed(area, 0)} mm2.",
            remedy="Print it with a brim.",
            source=PRACTICE,
            otherwise="warn",
        ),
        judge(
            "print.tipping",
            part,
            at_most(slender, TIPPING, ""),
            f"Height of {part}: {fixed(slender, 1)} times the width of its foot.",
            remedy="Print it with a brim, or print several side by side.",
            source=PRACTICE,
            otherwise="warn",
        ),
    ]


def _overhangs(part: str, found: Measured, printer: Printer, where: str) -> list[Verdict]:
    furthest = found.hanging_mm
    longest = found.bridge_mm
    place = found.hanging_at
    floating = found.floating
    at = _at(place)
    shown = f"{fixed(furthest, 2)} mm{' in the air' if floating else ''}"
    return [
        judge(
            "print.overhang",
            part,
            at_most(furthest, printer.extrusion_width),
            f"Unsupported overhang of {part}: {shown}{at if furthest > 0 else ''}.",
            remedy=(
                f"See {where} near that place; or set shop.printer.overhang_deg to the steepest"
                " overhang that your printer prints well."
            ),
            source="overhang up to 45 degrees from upright, FDM design rules",
        ),
        judge(
            "print.bridge",
            part,
            at_most(longest, printer.bridge),
            f"Longest bridge of {part}: {fixed(longest, 2)}"
            f" mm{_at(found.bridge_at) if longest > 0 else ''}.",
            remedy=(
                f"Set shop.printer.bridge = {fixed(math.ceil(longest * 2) / 2, 1)} if your printer"
                f" bridges that far; see {where}."
            ),
            source="bridges of 10 to 15 mm, FDM design rules",
        ),
    ]


def _thin(part: str, found: Measured, printer: Printer, where: str) -> list[Verdict]:
    wall, gap = found.wall, found.gap
    line = printer.extrusion_width
    return [
        judge(
            "print.feature",
            part,
            at_least(wall[0], line, tolerance=0.01),
            f"Thinnest wall of {part}: {_mm(wall)}.",
            remedy=(
                f"Make it one printed line ({fixed(line)} mm) or more: see {where}, or use a finer"
                " nozzle."
            ),
            source=PRACTICE,
        ),
        judge(
            "print.opening",
            part,
            at_least(gap[0], printer.nozzle, tolerance=0.01),
            f"Narrowest opening of {part}: {_mm(gap)}.",
            remedy=(
                f"Make it as wide as the nozzle ({fixed(printer.nozzle)} mm) or more: see {where}."
            ),
            source=PRACTICE,
            otherwise="warn",
        ),
    ]


def _foot(part: str, mesh: Mesh, printer: Printer) -> list[Verdict]:
    """Share of the outermost bed edge that is chamfered: the first layer spreads there."""
    import numpy as np

    if printer.elephant_foot <= 0:
        return []
    floor = mesh.vertices[:, 2].min()
    corners = mesh.vertices[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lean = -normal[:, 2] / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)
    flat = corners[:, :, 2].max(axis=1) < floor + 1e-4
    # one edge on the bed, rising from it
    on_edge = (corners[:, :, 2] < floor + 1e-4).sum(axis=1) == 2
    edge = corners[on_edge & ~flat]
    chamfered = lean[on_edge & ~flat] > 0.3
    down = edge[:, :, 2] < floor + 1e-4
    ends = np.stack(
        [
            edge[np.arange(len(edge)), np.argsort(~down, axis=1, kind="stable")[:, k]]
            for k in (0, 1)
        ],
        axis=1,
    )
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    rim = measure.hull(mesh.vertices[:, :2])
    way = np.roll(rim, -1, axis=0) - rim
    out = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
    far = (rim * out).sum(axis=1)
    inset = (far[None, None] - ends[:, :, :2] @ out.T).min(axis=2).max(axis=1)
    outer = inset < printer.elephant_foot + 0.05
    whole = float(length[outer].sum())
    share = float(length[outer & chamfered].sum()) / whole if whole > 0 else 1.0
    return [
        judge(
            "print.foot",
            part,
            at_least(share, 0.75, ""),
            f"{fixed(share * 100, 0)} % of the outer bed edge of {part} has a chamfer against a"
            " spreading first layer.",
            remedy="This is an internal error: please report it.",
            otherwise="warn",
        )
    ]


def _mm(found: tuple[float, tuple[float, float, float]]) -> str:
    return (
        f"{fixed(found[0], 2)} mm{_at(found[1])}"
        if found[0] < measure.FAR
        else f"over {fixed(measure.FAR)} mm"
    )


def _at(place: tuple[float, float, float] | None) -> str:
    if place is None:
        return ""
    return f" at x {fixed(place[0], 1)}, y {fixed(place[1], 1)}, z {fixed(place[2], 1)}"
