"""Art on the panels: what is engraved on and cut through each diffuser, and the shapes that shell
and base get.

picture frame   origin in the middle of the graphic, at its final size, not turned
panel frame     where a panel's own art is placed; art of the job is placed in the wall frame and
                comes from there,
                so that one picture runs across the joints and ends at each sheet's edge

Engraving follows the picture itself: no kerf. A stencil is a hole of the sheet like any other: kerf
is taken off where it is cut. Areas narrower than the kerf can't be cut and are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fab.errors import BrokenGeometry, InputError
from fab.layout.model import PlacedPanel
from fab.outlines import clip2d
from fab.outlines.clip2d import Region
from fab.outlines.contour import Contour, Outline, Point
from fab.outlines.hatch import TooDense, hatch
from fab.outlines.kerf import kerf_compensated
from fab.outlines.soften import rounded_inner
from fab.outlines.stencils import Island, stencil, waste
from fab.params.artparams import ArtParams
from fab.parts.artplace import (
    PLACES,
    PictureFrame,
    boundary,
    bridge_mm,
    frame_of,
    is_near,
    on_sheets,
    picture,
    placed,
    pose_of,
)
from fab.parts.plan import Plan

# a stencil may stray from its picture by the last of these at most
STRAIGHTENED_MM = (0.005, 0.01, 0.02, 0.05, 0.1)
SOFT_SHARE = 0.6  # radius of inner corners by the kerf: the beam leaves half
KERF_SPARE = 1.02  # a gap this much wider than the kerf is cut


@dataclass(frozen=True)
class SheetArt:
    """The cuts and marks of one diffuser, in the panel frame, as seen from the front."""

    holes: tuple[Contour, ...] = ()
    marks: tuple[tuple[Point, ...], ...] = ()
    back: bool = False  # worked from the back: the whole piece lies mirrored
    islands: tuple[Island, ...] = ()
    loose: tuple[Point, ...] = ()  # islands that no bridge could hold
    waste: tuple[tuple[float, Point], ...] = ()  # every piece that falls out: area, place
    lost_mm2: float = 0.0  # of stencils: narrower than the kerf
    too_dense: tuple[int, ...] = ()  # arts whose hatching has too many lines, by number
    sides: int = 1  # that its engraving asks for; a sheet is worked from one

    @property
    def empty(self) -> bool:
        """True when nothing is cut or marked."""
        return not self.holes and not self.marks

    def outline(self, edge: Contour) -> Outline:
        """The sheet part as it lies in the machine."""
        whole = Outline(edge, self.holes)
        return whole.mirrored() if self.back else whole

    def lying(self, marks: Sequence[tuple[Point, ...]] = ()) -> tuple[tuple[Point, ...], ...]:
        """The strokes, and others of the front, as they lie in the machine."""
        every = (*marks, *self.marks)
        return (
            tuple(tuple((-x + 0.0, y) for x, y in mark) for mark in every) if self.back else every
        )


def sheet_art(
    plan: Plan, wall: tuple[ArtParams, ...] = (), panel: PlacedPanel | None = None
) -> SheetArt:
    """The cuts and marks of a panel's diffuser: its design's art and, where its place is given, the
    art of the wall.
    """
    own = on_sheets(plan.params.art)
    wall = tuple(
        art
        for art in on_sheets(wall)
        if panel is not None and (not art.panels or panel.name in art.panels)
    )
    if not own and not wall:
        return SheetArt()
    if wall and panel is not None and not any(is_near(art, panel) for art in wall):
        wall = ()
    return _sheet_art(
        plan, own, wall, pose_of(panel) if wall and panel is not None else (0.0, 0.0, 0.0)
    )


@lru_cache(maxsize=4096)
def _sheet_art(
    plan: Plan,
    own: tuple[ArtParams, ...],
    wall: tuple[ArtParams, ...],
    pose: tuple[float, float, float],
) -> SheetArt:
    import shapely

    arts = [(art, (0.0, 0.0, 0.0)) for art in own] + [(art, pose) for art in wall]
    sheet, kerf = clip2d.of_outline(plan.rings.diffuser), plan.stock.kerf * KERF_SPARE
    cuts = [(art, placed(plan, art, at)) for art, at in arts if art.work == "stencil"]
    wanted = clip2d.tidy(shapely.unary_union([region for _, region in cuts]))
    able = clip2d.opened(wanted, kerf) if kerf > 0 else wanted
    bridge = max((bridge_mm(plan, art) for art, region in cuts if not region.is_empty), default=0.0)
    many = max((art.bridges for art, region in cuts if not region.is_empty), default=1)
    cut = stencil(sheet, able, bridge, many) if not able.is_empty else None
    through = (
        able
        if cut is None
        else _cuttable(plan, clip2d.opened(cut.cut, kerf) if kerf > 0 else cut.cut)
    )
    marks: list[tuple[Point, ...]] = []
    dense = []
    sides = set()
    for k, (art, at) in enumerate(arts):
        if art.work != "engrave":
            continue
        frame = frame_of(art, at)
        limit = boundary(plan, art).difference(through)
        try:
            strokes = _strokes(art, frame, limit)
        except TooDense:
            dense.append(k)
            continue
        marks += strokes
        if strokes:
            sides.add(art.back)
    holes = _softened(through, plan.stock.kerf)
    return SheetArt(
        holes,
        tuple(marks),
        True in sides,
        cut.islands if cut is not None else (),
        tuple(_spot(part) for part in cut.loose) if cut is not None else (),
        tuple((hole.area_mm2, spot) for hole, (_, spot) in zip(holes, waste(through), strict=True)),
        float(wanted.area - able.area),
        tuple(dense),
        max(len(sides), 1),
    )


def _cuttable(plan: Plan, region: Region) -> Region:
    """The region straightened as little as lets the beam's path run round it: tiny edges vanish
    beside the kerf.

    Raises InputError, with the place, when no straightening helps.
    """
    for k, tol_mm in enumerate(STRAIGHTENED_MM):
        plain = clip2d.tidy(region.simplify(tol_mm))
        holes = _softened(plain, plan.stock.kerf)
        try:
            kerf_compensated(Outline(plan.rings.diffuser, holes), plan.stock.kerf)
        except (InputError, BrokenGeometry):
            if k == len(STRAIGHTENED_MM) - 1:
                raise
            continue
        return plain
    return region


def _softened(region: Region, kerf_mm: float) -> tuple[Contour, ...]:
    """The cut-outs of a region as contours, the sheet's inner corners rounded by a little more than
    the beam does.
    """
    return tuple(
        rounded_inner(outline.edge.reversed(), SOFT_SHARE * kerf_mm).reversed()
        for outline in clip2d.outlines(region)
    )


def _spot(part: Any) -> Point:
    point = part.representative_point()
    return (float(point.x), float(point.y))


def _strokes(art: ArtParams, frame: PictureFrame, limit: Region) -> list[tuple[Point, ...]]:
    """Strokes in the panel frame: the lines round the picture's areas, lines that fill them, or
    both.
    """
    found: list[tuple[Point, ...]] = []
    inside = frame.back(limit)
    if art.fill in ("hatch", "both"):
        lines = hatch(clip2d.rings(clip2d.clipped(picture(art), inside)), art.hatch, art.hatch_deg)
        found += [tuple(frame.point(point) for point in line) for line in lines]
    if art.fill in ("contour", "both"):
        found += [
            tuple(frame.point(point) for point in line)
            for line in _edge_lines(picture(art), inside)
        ]
    return [_plain(line) for line in found if len(_plain(line)) > 1]


def _edge_lines(region: Region, inside: Region) -> list[tuple[Point, ...]]:
    """The lines round a region as far as they lie inside; where the sheet ends no line is drawn
    along its edge.
    """
    import shapely

    lines = shapely.line_merge(shapely.intersection(region.boundary, inside))
    found = [
        tuple((float(x), float(y)) for x, y in line.coords)
        for line in shapely.get_parts(lines)
        if line.geom_type in ("LineString", "LinearRing") and line.length > clip2d.GRID_MM
    ]
    return sorted(found, key=lambda line: (line[0], len(line), line))


def _plain(line: tuple[Point, ...]) -> tuple[Point, ...]:
    """Without points that fall on the one before them."""
    kept = [line[0]]
    for point in line[1:]:
        if math.dist(point, kept[-1]) > 10**-PLACES:
            kept.append(point)
    return tuple(kept)


@lru_cache(maxsize=64)
def printed_art(plan: Plan, art: ArtParams) -> tuple[tuple[Outline, ...], float]:
    """Shapes of art on shell or base, on their surface, and the area that is too thin to print.

    Mirrored about its own middle where it is read from behind.
    """
    region = picture(art)
    able = clip2d.tidy(clip2d.opened(region, plan.printer.extrusion_width).simplify(0.01))
    seen = clip2d.mirrored(able) if art.back and art.on == "base" else able
    return clip2d.outlines(clip2d.tidy(frame_of(art).region(seen))), float(region.area - able.area)
