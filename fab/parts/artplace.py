"""Where a picture lies: from its own frame to a panel's, and how far it may reach there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from fab.layout.model import PlacedPanel
from fab.outlines import clip2d
from fab.outlines.buffers import buffered
from fab.outlines.clip2d import Region
from fab.outlines.contour import Point, turn
from fab.params.artparams import ArtParams
from fab.parts.plan import Plan

PLACES = 4  # decimals of a stroke, as cut files have them
BRIDGE_MORE = 0.05  # what straightening may take off a bridge, mm


def on_sheets(arts: Sequence[ArtParams]) -> tuple[ArtParams, ...]:
    """Those that are on diffusers."""
    return tuple(art for art in arts if art.on == "diffuser")


def pose_of(panel: PlacedPanel) -> tuple[float, float, float]:
    """Place on the wall and turn of a panel: x, y in mm, degrees."""
    return (panel.x, panel.y, panel.turn_deg)


def is_near(art: ArtParams, panel: PlacedPanel) -> bool:
    """True when a picture's circle meets the panel's."""
    reach = picture_scale(art) * max(
        math.hypot(corner[0], corner[1]) for ring in art.shape for corner in ring
    )
    return math.dist(art.at, (panel.x, panel.y)) <= reach + panel.cell.circumradius


def picture_scale(art: ArtParams) -> float:
    """From the picture's own size to the one it gets."""
    if art.width is None:
        return 1.0
    xs = [corner[0] for ring in art.shape for corner in ring]
    return art.width / max(max(xs) - min(xs), 1e-6)


@lru_cache(maxsize=64)
def picture(art: ArtParams) -> Region:
    """The graphic at its final size, in the picture frame."""
    return clip2d.tidy(
        clip2d.moved(clip2d.region_of(art.shape), 0.0, 0.0, scale=picture_scale(art))
    )


@dataclass(frozen=True)
class PictureFrame:
    """From the picture frame to the panel frame: turned, then moved."""

    turn_rad: float
    shift: Point

    def region(self, region: Region) -> Region:
        """A region of the picture frame in the panel frame."""
        return clip2d.moved(region, *self.shift, self.turn_rad)

    def back(self, region: Region) -> Region:
        """A region of the panel frame in the picture frame: the inverse of `region`."""
        x, y = turn((-self.shift[0], -self.shift[1]), -self.turn_rad)
        return clip2d.moved(region, x, y, -self.turn_rad)

    def point(self, point: Point) -> Point:
        """A point of the picture frame in the panel frame, mm, rounded to PLACES decimals."""
        x, y = turn(point, self.turn_rad)
        return (round(x + self.shift[0], PLACES) + 0.0, round(y + self.shift[1], PLACES) + 0.0)


def frame_of(art: ArtParams, pose: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> PictureFrame:
    """The frame of a panel's own art, or of one of the wall seen from a panel at `pose` (x, y,
    degrees).
    """
    x, y, turn_deg = pose
    angle = math.radians(turn_deg)
    return PictureFrame(
        math.radians(art.turn_deg) - angle, turn((art.at[0] - x, art.at[1] - y), -angle)
    )


def boundary(plan: Plan, art: ArtParams) -> Region:
    """The region in which a picture may lie on a diffuser: up to its edge; a stencil up to the lit
    opening, and no nearer to the edge than a bridge is wide: that rim is one.
    """
    whole = clip2d.of_outline(plan.rings.diffuser)
    if art.rim is None and art.work == "stencil":
        return clip2d.clipped(
            clip2d.of_outline(plan.rings.window),
            buffered(whole, -bridge_mm(plan, art), join_style="mitre"),
        )
    return buffered(whole, -art.rim, join_style="mitre") if art.rim else whole


def bridge_mm(plan: Plan, art: ArtParams) -> float:
    """Width of the bridges of a stencil: as asked, or as thick as the sheet and a hair more."""
    return art.bridge if art.bridge is not None else plan.stock.thickness + BRIDGE_MORE


def placed(
    plan: Plan, art: ArtParams, pose: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> Region:
    """The part of a picture that lies on one diffuser, in the panel frame."""
    return clip2d.clipped(frame_of(art, pose).region(picture(art)), boundary(plan, art))
