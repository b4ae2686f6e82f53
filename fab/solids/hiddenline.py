"""Line drawings of solids with hidden lines removed: clean at any size, and no graphics card is
asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fab.outlines.contour import Point, around
from fab.solids.kernel import Solid
from fab.solids.loading import kernel

SAG_MM = 0.15  # chords of curved edges may stray this far: a picture, not a part

Path = tuple[Point, ...]


@dataclass(frozen=True)
class LineArt:
    """Polylines in the picture plane, mm at scale 1, y up."""

    visible: tuple[Path, ...]
    hidden: tuple[Path, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The least and greatest x and y of all lines, hidden ones too, mm."""
        return around(point for path in (*self.visible, *self.hidden) for point in path)


def line_art(
    solids: Sequence[Solid],
    towards: tuple[float, float, float],
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
) -> LineArt:
    """Parallel projection of the solids as seen by an eye in direction `towards` from them, `up`
    upright on the page.
    """
    cq = kernel()
    from OCP.BRepLib import BRepLib
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

    right = cq.Vector(*up).cross(cq.Vector(*towards))
    algo = HLRBRep_Algo()
    for solid in solids:
        algo.Add(solid.wrapped)
    algo.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(), gp_Dir(*towards), gp_Dir(*right.toTuple()))))
    algo.Update()
    algo.Hide()
    shapes = HLRBRep_HLRToShape(algo)
    found: list[list[Path]] = []
    for kinds in (
        (shapes.VCompound(), shapes.OutLineVCompound()),
        (shapes.HCompound(), shapes.OutLineHCompound()),
    ):
        paths: list[Path] = []
        for compound in kinds:
            if not compound.IsNull():
                BRepLib.BuildCurves3d_s(compound)
                paths += [_path(edge) for edge in cq.Shape.cast(compound).Edges()]
        found.append(sorted(path for path in paths if len(path) > 1))
    return LineArt(tuple(found[0]), tuple(found[1]))


def _path(edge: Any) -> Path:
    """Chords of one projected edge, rounded so that the same solid draws the same picture."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GCPnts import GCPnts_QuasiUniformDeflection

    curve = BRepAdaptor_Curve(edge.wrapped)
    chords = GCPnts_QuasiUniformDeflection(
        curve, SAG_MM, curve.FirstParameter(), curve.LastParameter()
    )
    if not chords.IsDone():
        return ()
    points: list[Point] = []
    for k in range(1, chords.NbPoints() + 1):
        p = chords.Value(k)
        point = (round(p.X(), 3) + 0.0, round(p.Y(), 3) + 0.0)
        if not points or point != points[-1]:
            points.append(point)
    return tuple(points)
