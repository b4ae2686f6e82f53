"""The one place that talks to the CAD kernel: contours to solids, booleans, measures.

Its errors end here.

A solid is a `cadquery.Shape`; nothing above the room `parts` ever holds one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from fab.errors import BrokenGeometry
from fab.outlines.contour import Arc, Contour, Line, Outline, Segment
from fab.solids.loading import kernel
from fab.units import JOIN_TOL_MM, VOLUME_TOL_MM3, some

if TYPE_CHECKING:
    import cadquery as cq

    Solid = cq.Shape
else:
    Solid = Any

GROW = 0.3  # mm: solids reach into each other by this, so that they fuse
PAST = 1.0  # mm: cuts reach past faces by this


def wire(contour: Contour, z: float) -> Any:
    """A closed wire of the contour at height z; arcs stay arcs."""
    cq = kernel()
    edges = []
    whole = contour.circle()
    if whole is not None:
        (x, y), radius = whole
        return cq.Wire.makeCircle(radius, cq.Vector(x, y, z), cq.Vector(0, 0, 1))
    for seg in contour.segments:
        a, b = cq.Vector(*seg.start, z), cq.Vector(*seg.end, z)
        if isinstance(seg, Arc):
            edges.append(cq.Edge.makeThreePointArc(a, cq.Vector(*seg.at(0.5), z), b))
        else:
            edges.append(cq.Edge.makeLine(a, b))
    return cq.Wire.assembleEdges(edges)


def prism(shape: Outline | Contour, z0: float, z1: float) -> Solid:
    """The shape extruded from z0 to z1."""
    cq = kernel()
    outline = shape if isinstance(shape, Outline) else Outline(shape)
    if z1 - z0 <= 1e-9:
        raise BrokenGeometry(f"an extrusion from {z0:.3f} to {z1:.3f} mm has no height")
    face = cq.Face.makeFromWires(wire(outline.edge, z0), [wire(hole, z0) for hole in outline.holes])
    body: Solid = cq.Solid.extrudeLinear(face, cq.Vector(0, 0, z1 - z0))
    return body


def flat(shapes: Sequence[Outline | Contour], z: float) -> list[Any]:
    """Flat shapes that may overlap, put together in their plane at height z: the faces that they
    make up.
    """
    cq = kernel()
    outlines = [shape if isinstance(shape, Outline) else Outline(shape) for shape in shapes]
    faces = [
        cq.Face.makeFromWires(wire(o.edge, z), [wire(hole, z) for hole in o.holes])
        for o in outlines
    ]
    whole = faces[0].fuse(*faces[1:]).clean() if len(faces) > 1 else faces[0]
    return list(whole.Faces())


def prisms(shapes: Sequence[Outline | Contour], z0: float, z1: float) -> list[Solid]:
    """Flat shapes that may overlap, put together in their plane and extruded from z0 to z1: a tenth
    of the work of putting as many solids together.
    """
    cq = kernel()
    return [cq.Solid.extrudeLinear(face, cq.Vector(0, 0, z1 - z0)) for face in flat(shapes, z0)]


def frustum(low: Contour, z0: float, high: Contour, z1: float) -> Solid:
    """Straight-lined transition between two contours of equally many segments.

    Its sides are true planes and cones where the segments are parallel or concentric: the kernel's
    own transition draws them as free surfaces, and booleans go wrong on those.
    """
    cq = kernel()
    pairs = list(zip(low.segments, high.segments, strict=True))
    if low.circle() is not None or not all(_alike(a, b) for a, b in pairs):
        loft: Solid = cq.Solid.makeLoft([wire(low, z0), wire(high, z1)], True)
        return loft
    sides = [_side(a, z0, b, z1) for a, b in pairs]
    ends = [cq.Face.makeFromWires(wire(low, z0)), cq.Face.makeFromWires(wire(high, z1))]
    body = cq.Solid.makeSolid(cq.Shell.makeShell([*sides, *ends]))
    outwards: Solid = body if body.Volume() > 0 else cq.Solid(body.wrapped.Reversed())
    return outwards


def _alike(a: Segment, b: Segment) -> bool:
    """True when both are straight and run alike, or sweep the same angle about one centre."""
    if isinstance(a, Arc) and isinstance(b, Arc):
        turns = abs(a.sweep_rad - b.sweep_rad) + abs(_bearing(a) - _bearing(b))
        return (
            math.dist(a.centre, b.centre) <= JOIN_TOL_MM
            and turns <= 1e-9
            and abs(a.radius_mm - b.radius_mm) > JOIN_TOL_MM
        )
    if not (isinstance(a, Line) and isinstance(b, Line)):
        return False
    (ax, ay), (bx, by) = ((seg.end[0] - seg.start[0], seg.end[1] - seg.start[1]) for seg in (a, b))
    return abs(ax * by - ay * bx) <= JOIN_TOL_MM * max(math.hypot(ax, ay), math.hypot(bx, by))


def _bearing(arc: Arc) -> float:
    return math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])


def _side(a: Segment, z0: float, b: Segment, z1: float) -> Any:
    """The plane or cone between two segments that are alike."""
    cq = kernel()
    foot, head = cq.Vector(*a.start, z0), cq.Vector(*b.start, z1)
    if isinstance(a, Arc):
        from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
        from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

        axis = gp_Ax1(gp_Pnt(*a.centre, z0), gp_Dir(0, 0, 1 if a.sweep_rad > 0 else -1))
        swept = BRepPrimAPI_MakeRevol(cq.Edge.makeLine(foot, head).wrapped, axis, abs(a.sweep_rad))
        return cq.Face(swept.Shape())
    return cq.Face.makeFromWires(
        cq.Wire.makePolygon([foot, cq.Vector(*a.end, z0), cq.Vector(*b.end, z1), head], close=True)
    )


def pipe(path: Sequence[Segment], radius_mm: float) -> Solid:
    """A round bar along a path of lines and arcs that run on into each other, drawn in (x, z) at y
    = 0.
    """
    cq = kernel()
    edges = []
    for seg in path:
        ends = [cq.Vector(x, 0.0, z) for x, z in (seg.start, seg.end)]
        if isinstance(seg, Arc):
            x, z = seg.at(0.5)
            edges.append(cq.Edge.makeThreePointArc(ends[0], cq.Vector(x, 0.0, z), ends[1]))
        else:
            edges.append(cq.Edge.makeLine(*ends))
    along = cq.Wire.assembleEdges(edges)
    ring = cq.Wire.makeCircle(radius_mm, along.startPoint(), along.tangentAt(0.0))
    swept: Solid = cq.Solid.sweep(ring, [], along)
    return swept


def cone(x: float, y: float, z0: float, r0: float, z1: float, r1: float) -> Solid:
    """A cone frustum upright on (x, y)."""
    cq = kernel()
    body: Solid = cq.Solid.makeCone(r0, r1, z1 - z0, cq.Vector(x, y, z0), cq.Vector(0, 0, 1))
    return body


def box(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float) -> Solid:
    """An upright box between two corners."""
    cq = kernel()
    body: Solid = cq.Solid.makeBox(x1 - x0, y1 - y0, z1 - z0, cq.Vector(x0, y0, z0))
    return body


def fused(solids: Sequence[Solid]) -> Solid:
    """One shape of all."""
    first, *rest = solids
    return _boolean("Fuse", first, rest).clean() if rest else first


def carved(solid: Solid, tools: Iterable[Solid]) -> Solid:
    """`solid` without the tools."""
    tools = list(tools)
    return _boolean("Cut", solid, tools) if tools else solid


def common(a: Solid, b: Solid) -> Solid:
    """The solid that two solids share. Raises BrokenGeometry when that is nothing.

    Faces of one on edges of the other can lose it.
    """
    shared = _boolean("Common", a, [b])
    if not shared.Solids():
        raise BrokenGeometry("two solids that must share room came out sharing nothing")
    return shared


def _boolean(name: str, body: Solid, tools: Sequence[Solid]) -> Solid:
    """A boolean of the kernel, by its name there; two thirds of the time that it takes as it comes.

    Places are worked into the shapes first: else the kernel does that at every look at a curve.
    Nobody asks for the history, and no shape here is inside out (`one_body` holds the results).
    """
    cq = kernel()
    from OCP import BRepAlgoAPI
    from OCP.TopTools import TopTools_ListOfShape

    pieces = list(body) if isinstance(body, cq.Compound) else [body]
    if name == "Fuse":
        pieces, tools = pieces[:1], [*pieces[1:], *tools]
    work = getattr(BRepAlgoAPI, f"BRepAlgoAPI_{name}")()
    for take, shapes in ((work.SetArguments, pieces), (work.SetTools, tools)):
        listed = TopTools_ListOfShape()
        for shape in shapes:
            listed.Append(_in_place(shape))
        take(listed)
    work.SetRunParallel(False)  # other processes have the other cores
    work.SetUseOBB(True)
    work.SetToFillHistory(False)
    work.SetCheckInverted(False)
    work.Build()
    made: Solid = cq.Shape.cast(work.Shape())
    return made


def _in_place(shape: Solid) -> Any:
    """The kernel's shape with its place worked into its points."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.TopLoc import TopLoc_Location

    place = shape.wrapped.Location()
    if place.IsIdentity():
        return shape.wrapped
    there = shape.wrapped.Located(TopLoc_Location())
    return BRepBuilderAPI_Transform(there, place.Transformation(), True).Shape()


def each_carved(solids: Iterable[Solid], tools: Sequence[Solid]) -> list[Solid]:
    """Each of the solids without the tools, which are asked only where boxes turned as the shapes
    are meet.
    """
    boxes = [_turned_box(tool) for tool in tools]
    found = []
    for solid in solids:
        own = _turned_box(solid)
        near = [tool for tool, box in zip(tools, boxes, strict=True) if not own.IsOut(box)]
        found.append(carved(solid, near))
    return found


def _turned_box(solid: Solid) -> Any:
    kernel()
    from OCP.Bnd import Bnd_OBB
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_OBB()
    BRepBndLib.AddOBB_s(solid.wrapped, box, False, True, False)
    return box


def ridge(profile: Contour, y0: float, y1: float) -> Solid:
    """A profile drawn in (x, z) and extruded along y from y0 to y1."""
    cq = kernel()
    flat = prism(profile, 0, y1 - y0)
    upright = flat.rotate(cq.Vector(0, 0, 0), cq.Vector(1, 0, 0), 90)  # (x, y, z) -> (x, -z, y)
    return upright.moved(cq.Location(cq.Vector(0, y1, 0)))


def turned(solid: Solid, angle_deg: float) -> Solid:
    """Turned about the z axis, anticlockwise; the shape itself is shared, not copied."""
    cq = kernel()
    return (
        solid.moved(cq.Location(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), angle_deg))
        if angle_deg
        else solid
    )


def moved(solid: Solid, dx: float, dy: float, dz: float) -> Solid:
    """The solid in another place; its shape is shared, not copied."""
    cq = kernel()
    return solid.moved(cq.Location(cq.Vector(dx, dy, dz)))


def tilted(solid: Solid, axis: str, angle_deg: float) -> Solid:
    """Turned about one of the axes through the origin; the shape itself is shared."""
    cq = kernel()
    way = cq.Vector(*{"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}[axis])
    return solid.moved(cq.Location(cq.Vector(0, 0, 0), way, angle_deg))


def chamfered_foot(solid: Solid, by_mm: float) -> Solid:
    """The outer edges of the lowest face chamfered."""
    if by_mm <= 0:
        return solid
    body: Any = solid
    chamfered: Solid = body.chamfer(by_mm, None, list(body.faces("<Z").outerWire().Edges()))
    return chamfered


def one_body(solid: Solid, name: str, between: tuple[float, float] | None = None) -> Solid:
    """`solid` when it is one valid body with volume, and as large as reckoned (mm3), else
    BrokenGeometry.

    Booleans and fillets of the kernel can fail without a word, and leave a tool out of a cut; this
    is where a part is held to its promise.
    """
    body = weighed(solid, name, between)
    if not body.isValid():
        raise BrokenGeometry(f"part {name} came out as an invalid solid")
    return body


def weighed(solid: Solid, name: str, between: tuple[float, float] | None = None) -> Solid:
    """The same without the question whether it is valid, for a body that is worked on still."""
    bodies = solid.Solids()
    if len(bodies) != 1:
        volumes = ", ".join(f"{body.Volume():.1f}" for body in bodies[:6])
        raise BrokenGeometry(
            f"part {name} came out as {some(len(bodies), 'body')} ({volumes} mm3), not one"
        )
    body = bodies[0]
    size = body.Volume()
    if size <= 0:
        raise BrokenGeometry(f"part {name} came out inside out or without volume")
    if between is not None and not between[0] <= size <= between[1]:
        raise BrokenGeometry(
            f"part {name} came out with {size:.0f} mm3; it must have {between[0]:.0f} to"
            f" {between[1]:.0f} mm3"
        )
    return body


def volume(solid: Solid) -> float:
    """Volume in mm3."""
    return float(solid.Volume())


def centre(solid: Solid) -> tuple[float, float, float]:
    """Centre of volume."""
    point = solid.Center()
    return (point.x, point.y, point.z)


def weight(solid: Solid) -> tuple[float, tuple[float, float, float]]:
    """Volume in mm3 and centre of volume, in one go."""
    kernel()
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid.wrapped, found)
    at = found.CentreOfMass()
    return found.Mass(), (at.X(), at.Y(), at.Z())


def copied(shape: Any, dx: float, dy: float, dz: float) -> Any:
    """A copy elsewhere that shares nothing with what it was made of."""
    cq = kernel()
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Trsf, gp_Vec

    to = gp_Trsf()
    to.SetTranslation(gp_Vec(dx, dy, dz))
    return cq.Shape.cast(BRepBuilderAPI_Transform(shape.wrapped, to, True).Shape())


def group(solids: Sequence[Solid]) -> Solid:
    """Several solids as one compound; equal ones stay shared."""
    together: Solid = kernel().Compound.makeCompound(list(solids))
    return together


def box_of(solid: Solid) -> tuple[float, float, float, float, float, float]:
    """Bounding box of the exact shape: x, y, z least, x, y, z most.

    The library's own asks the mesh where somebody has made one, and is another box then.
    """
    kernel()
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid.wrapped, box, False, False)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0, x1, y1, z1)


def overlap_mm3(a: Solid, b: Solid) -> float:
    """Volume that two solids share; bounding boxes are asked first."""
    one, two = box_of(a), box_of(b)
    if any(one[k] > two[k + 3] - 1e-6 or two[k] > one[k + 3] - 1e-6 for k in range(3)):
        return 0.0
    shared = float(_boolean("Common", a, [b]).Volume())
    return shared if shared > VOLUME_TOL_MM3 else 0.0


def distance_mm(a: Solid, b: Solid) -> float:
    """Least distance between two shapes."""
    return float(a.distance(b))
