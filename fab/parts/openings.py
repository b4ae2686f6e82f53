r"""Openings and additions built into base and shell.

On a wall an addition stands on a slope as steep as the printer may overhang, so that it prints
without support:

            wall |____
                 |    |   boss or rib, `height` out from the wall
                 |   /
                 | /      slope
"""

from __future__ import annotations

import math

from fab.outlines.contour import Contour, Outline, polygon
from fab.parts.edge import at_edges
from fab.parts.features import Feature, features
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import GROW, PAST, Solid

FLAT_WORK = ("letters", "art")  # raised or sunk on a surface


def worked(plan: Plan, solid: Solid, part: str, steps: int = 0) -> Solid:
    """`solid` with the openings and additions of its part; a base's are turned back by the `steps`
    it is mounted.
    """
    mine = [
        item.turned_back(steps, plan.cell.sides) for item in features(plan) if item.part == part
    ]
    added = [tool for item in mine for tool in _added(plan, item)]
    if added:
        solid = kernel.fused([solid, *added])
    return kernel.carved(solid, [tool for item in mine for tool in _cuts(plan, item)])


def wall_faces(plan: Plan, part: str) -> tuple[float, float]:
    """Outer and inner face of a part's wall, as distances inwards from the lattice edge."""
    if part == "base":
        return plan.cell.apothem - plan.rings.base_outer.apothem, plan.edge.wall_u
    return plan.params.gap / 2, plan.params.gap / 2 + plan.params.shell.wall


def _added(plan: Plan, item: Feature) -> list[Solid]:
    if item.through or item.out <= 0:
        return []
    if item.edge is None:
        if item.back:
            return []  # nothing stands out behind: the base lies on the wall
        return [
            kernel.prism(shape, plan.floor.top_z - GROW, plan.floor.top_z + item.out)
            for shape in item.shapes
        ]
    outer, inner = wall_faces(plan, item.part)
    if item.what in FLAT_WORK:
        return [
            _through_wall(plan, shape, item.edge, outer - item.out, outer + GROW)
            for shape in item.shapes
        ]
    return at_edges(plan, [_corbel(plan, item, inner, shape) for shape in item.shapes], [item.edge])


def _corbel(plan: Plan, item: Feature, inner: float, shape: Contour | Outline) -> Solid:
    """A block on the inside of a wall at edge 0, sloped below unless it stands on the floor."""
    t0, z0, t1, z1 = shape.box
    a, out = plan.cell.apothem, item.out
    slope = out / math.tan(math.radians(plan.printer.overhang_deg))
    profile = [
        (a - inner + GROW, z0),
        (a - inner + GROW, z1),
        (a - inner - out, z1),
        (a - inner - out, z0),
    ]
    if item.part == "shell" or z0 > plan.floor.top_z + 1e-6:
        profile.insert(0, (a - inner + GROW, z0 - slope))
        profile.append((a - inner, z0 - slope))
    else:
        profile[0], profile[3] = (
            (profile[0][0], plan.floor.top_z - GROW),
            (profile[3][0], plan.floor.top_z - GROW),
        )
    loop = polygon(profile)
    return kernel.ridge(loop.reversed() if loop.is_hole else loop, t0, t1)


def _cuts(plan: Plan, item: Feature) -> list[Solid]:
    if item.edge is None:
        return _floor_cuts(plan, item)
    outer, inner = wall_faces(plan, item.part)
    if item.through:
        return [
            _through_wall(plan, shape, item.edge, outer - PAST, inner + PAST)
            for shape in item.shapes
        ]
    if item.what in FLAT_WORK and item.out < 0:
        return [
            _through_wall(plan, shape, item.edge, outer - PAST, outer - item.out)
            for shape in item.shapes
        ]
    if item.hole is not None:
        return [
            _through_wall(
                plan,
                item.hole,
                item.edge,
                inner + 2 * plan.printer.extrusion_width,
                inner + item.out + PAST,
            )
        ]
    return []


def _floor_cuts(plan: Plan, item: Feature) -> list[Solid]:
    top = plan.floor.top_z
    if item.through:
        return [kernel.prism(shape, -PAST, top + PAST) for shape in item.shapes]
    if item.what in FLAT_WORK and (item.out < 0 or item.back):
        deep = abs(item.out)
        low, high = (-PAST, deep) if item.back else (top - deep, top + PAST)
        return [kernel.prism(shape, low, high) for shape in item.shapes]
    if item.hole is not None:
        foot = max(top + item.out - 4 * item.hole.box[2] + 4 * item.hole.box[0], top)
        return [kernel.prism(item.hole, foot, top + item.out + PAST)]
    return []


def _through_wall(plan: Plan, shape: Contour | Outline, edge: int, u0: float, u1: float) -> Solid:
    """A shape drawn in (t, z), extruded inwards from u0 to u1 at an edge."""
    flat = kernel.prism(shape, 0.0, u1 - u0)
    # (t, z, depth) -> (depth, t, z)
    upright = kernel.tilted(kernel.tilted(flat, "x", 90.0), "z", 90.0)
    return kernel.turned(
        kernel.moved(upright, plan.cell.apothem - u1, 0.0, 0.0), 360.0 * edge / plan.cell.sides
    )
