"""Places and sizes of the feet of a base, free of the CAD kernel.

A foot is a printed pillar pressed into a blind recess in the wall face of the floor, one recess a
corner:

      floor_z  ________________
                     |stub|          recess: `recess_d` deep, its roof bridges the recess
      0        ______|_  _|_______   wall face of the base
                    |    |
                    |foot|           `base.feet` high
      -feet         |____|           room wall

Recesses are at every corner, so that a base stays alike in every turn; `foot_corners` says which of
them get a foot.
"""

from __future__ import annotations

import math

from fab.outlines.contour import Point
from fab.parts.apart import point_to_box
from fab.parts.plan import Plan

FOOT_R = 4.0  # radius of the pillar, mm
STUB_R = 2.5  # radius of the recess that the stub goes into, mm
# floor that stays over a recess, mm: six layers of 0.2 mm; common practice, no source
ROOF_MM = 1.2
# between a foot and the head of a shell screw: the screw stays in reach of a driver
DRIVER_MM = 1.0
HEAD_SHARE = 0.5  # a recess is no deeper than this share of the foot's diameter


def foot_radius(plan: Plan) -> float:
    """Return the distance from the panel's centre to the middle of a foot, mm: as far out as the
    screws leave room.
    """
    return (
        plan.rings.screw_radius
        - plan.params.screw_head_d / 2
        - plan.fit("lap")
        - DRIVER_MM
        - FOOT_R
    )


def recess_depth(plan: Plan) -> float:
    """Return the depth of a recess, mm."""
    return min(plan.floor.top_z - ROOF_MM, FOOT_R * 2 * HEAD_SHARE)


def recesses(plan: Plan) -> tuple[Point, ...]:
    """Return the middles of all recesses in the base frame; none for bases that lie on the wall."""
    if plan.params.base.feet <= 0:
        return ()
    return tuple(plan.corner(k, foot_radius(plan)) for k in range(plan.cell.sides))


def foot_corners(sides: int) -> tuple[int, ...]:
    """Return the corners of a panel that get a foot: all of up to four, else three or more, every
    second one.
    """
    return tuple(range(sides)) if sides <= 4 else tuple(range(0, sides, 2))


def feet_at(plan: Plan) -> tuple[Point, ...]:
    """Return the middles of a panel's feet in the panel frame; none for bases that lie on
    the wall.
    """
    spots = recesses(plan)
    return tuple(spots[k] for k in foot_corners(plan.cell.sides)) if spots else ()


def foot_to_clip(plan: Plan) -> float:
    """Return the room between a foot and the clip channels of the two edges beside its
    corner, mm.
    """
    x, y = plan.corner(0, foot_radius(plan))
    half, offset = plan.clip.slot_w / 2, max(plan.clip.pockets)
    inner, outer = plan.cell.apothem - plan.clip.cavity_u, plan.cell.apothem
    box = (
        (inner, offset - half),
        (outer, offset - half),
        (outer, offset + half),
        (inner, offset + half),
    )
    return point_to_box((x, y), box) - FOOT_R


def over_recess(plan: Plan) -> float:
    """Return the material between a recess and the hole of the board post beside it, mm: upwards or
    sideways.
    """
    if not plan.fixings.board_holes:
        return math.inf
    hole = (
        plan.params.insert_d if plan.params.base.board_fixing == "insert" else plan.params.pilot_d
    )
    aside = min(
        math.dist(spot, post) - STUB_R - hole / 2
        for post in plan.fixings.board_holes
        for spot in recesses(plan)
    )
    return max(aside, plan.fixings.post_hole_z - recess_depth(plan))
