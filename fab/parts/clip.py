r"""The printed bridge across a joint: one flat profile, extruded by its width and printed on its
side.

                 ___                       ___
        top     |   \_                   _/   |     hook with lead-in; its slope holds the pocket
        catch   |   __|                 |__   |
                |  |                       |  |     leg; bends towards the joint
        root   _|  |                       |  |_    foot: fills the floor, bears on the base wall
        bar   |____|_______________________|____|   bar, sunk under the wall face
                        u = 0, the joint

Drawn in (u, z) across the joint, u = 0 its middle. On its side every layer runs the length of the
legs.
"""

from __future__ import annotations

import math
from itertools import pairwise

from fab.outlines.contour import Arc, Contour, Line, Outline, Point, Segment, polygon
from fab.outlines.kerf import grown
from fab.parts.fits import NOSE_FLAT
from fab.parts.foot import LEAST_R, footed
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid
from fab.units import JOIN_TOL_MM


def clip_outline(plan: Plan, inset: float = 0.0) -> Outline:
    """The profile in (u, z), symmetric about u = 0; `inset` on all sides for the relieved
    bed edge.
    """
    right = _right_corners(plan)
    whole = polygon([*right, *((-u, z) for u, z in reversed(right))])
    if inset > 0:
        whole = grown(Outline(whole), -inset).edge
    right = [seg.start for seg in whole.segments[: len(right)]]
    half: list[Segment] = [Line(a, b) for a, b in pairwise(right[:-3])]
    half += _root(right[-4], right[-3], right[-2], plan.params.clip.root_radius)
    half.append(Line(right[-2], right[-1]))
    base, bar = (
        Line((-right[0][0], right[0][1]), right[0]),
        Line(right[-1], (-right[-1][0], right[-1][1])),
    )
    return Outline(
        Contour((base, *half, bar, *(seg.mirrored().reversed() for seg in reversed(half))))
    )


def _right_corners(plan: Plan) -> list[Point]:
    """From the bar's lower outer corner up the leg, over the hook, down to the root, the shoulder
    and the bar's inner top.
    """
    clip = plan.params.clip
    out, inside, foot = plan.clip.leg_out_u, plan.clip.leg_in_u, plan.clip.foot_u
    tip_in = out - clip.leg * clip.tip
    lead = clip.hook / math.tan(math.radians(clip.lead_in_deg))
    nose, top = plan.clip.nose_z, plan.clip.nose_z + NOSE_FLAT + lead
    taper = [(tip_in, plan.clip.catch_z)] if tip_in - inside > JOIN_TOL_MM else []
    return [
        (out, clip.sunk),
        (out, plan.clip.catch_z),
        (out + clip.hook, nose),
        (out + clip.hook, nose + NOSE_FLAT),
        (out, top),
        (tip_in, top),
        *taper,
        (inside, plan.clip.root_z),
        (foot, plan.clip.root_z),
        (foot, plan.clip.bar_top_z),
    ]


def _root(tip: Point, corner: Point, foot: Point, radius: float) -> list[Segment]:
    """Down the leg's joint side and round into the foot's shoulder; the radius takes the peak off
    the strain.
    """
    ux, uy = corner[0] - tip[0], corner[1] - tip[1]
    length = math.hypot(ux, uy)
    ux, uy = ux / length, uy / length
    vx = math.copysign(1.0, foot[0] - corner[0])  # the shoulder runs towards the joint
    shoulder = abs(corner[0] - foot[0])
    sweep = math.atan2(ux * 0.0 - uy * vx, ux * vx)
    radius = min(radius, 0.9 * shoulder / max(math.tan(abs(sweep) / 2), 1e-9))
    if radius < LEAST_R:
        return [Line(tip, corner), Line(corner, foot)]
    trim = radius * math.tan(abs(sweep) / 2)
    side = math.copysign(1.0, sweep)
    start = (corner[0] - ux * trim, corner[1] - uy * trim)
    arc = Arc(start, (start[0] - uy * radius * side, start[1] + ux * radius * side), sweep)
    return [Line(tip, start), arc, Line(arc.end, foot)]


def clip(plan: Plan) -> Solid:
    """The clip as printed: lying on its side, profile in x and y, z from 0 to its width."""
    full = clip_outline(plan)
    # the leg keeps one printed line on the bed
    by = min(
        plan.printer.elephant_foot,
        (plan.params.clip.leg * plan.params.clip.tip - plan.printer.extrusion_width) / 2,
    )
    if by < LEAST_R:
        return kernel.one_body(kernel.prism(full, 0, plan.params.clip.width), "clip")
    return kernel.one_body(
        footed(clip_outline(plan, by).edge, full.edge, by, 0, plan.params.clip.width), "clip"
    )


def clip_in_place(plan: Plan, solid: Solid, at: float) -> Solid:
    """A printed clip moved into the joint at edge 0, its middle `at` mm from the edge's middle."""
    upright = kernel.tilted(solid, "x", 90.0)  # (u, z, width) -> (u, -width, z)
    return kernel.moved(upright, plan.cell.apothem, at + plan.params.clip.width / 2, 0.0)
