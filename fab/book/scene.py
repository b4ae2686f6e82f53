"""The wall as data for the view in three dimensions: each mesh once, in steps of 1/32000 of its
size, and where it stands.

A panel whose sheet has art shows its stencil and its engraving; all others share the plain sheet of
their design. Every part that hangs on the wall is in it, printed, cut or bought.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Sequence
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from fab.book import artscene
from fab.book.pictures import shown_panel
from fab.book.viewthings import KINDS, Wall, things
from fab.design import Design
from fab.layout.model import BaseKind
from fab.outlines.contour import Outline
from fab.outputs.art import diffusers
from fab.parts.assembly import cap_pose, clip_poses
from fab.parts.footsizes import feet_at
from fab.products import PartSpec
from fab.units import fixed, some

if TYPE_CHECKING:
    import numpy as np

MOST_FACES = 65_535  # corners that 16 bit can number
MOST_BASES = 8  # base kinds with a mesh of their own; further ones look like the nearest of these
GRID_MM = 0.5  # of the corners of a mesh
SPREAD = 0.3  # share by which panels move apart when the wall is pulled apart


def script() -> str:
    """The viewer's own script."""
    return (files("fab.book") / "assets" / "view3d.js").read_text(encoding="utf-8")


def shown(design: Design) -> list[PartSpec]:
    """The printed and cut parts that are shown, each once."""
    found: dict[PartSpec, None] = {}
    for (name, _), kind in list(design.kinds.items()):
        found[PartSpec("base", name, kind)] = None
    bases = list(found)[:MOST_BASES]
    bases += [PartSpec("base", name, kind) for name, kind in _first_kinds(design).items()]
    others = [
        PartSpec(part, name)
        for name, plan in design.plans.items()
        for part in ("shell", "diffuser", *([] if plan.params.board.none else ["board"]))
    ]
    counted = [spec for spec, _ in design.printed if spec.part in ("clip", "cap", "foot")]
    return list(dict.fromkeys([*bases, *others, *counted]))


def _first_kinds(design: Design) -> dict[str, BaseKind]:
    """A base of each design that stands for those without a mesh of their own."""
    found: dict[str, BaseKind] = {}
    for (name, _), kind in design.kinds.items():
        found.setdefault(name, kind)
    return found


class _Scene:
    """Meshes, things and items while they are put together."""

    def __init__(self, wall: Wall) -> None:
        self.wall, self.design = wall, wall.design
        self.meshes: list[dict[str, Any]] = []
        self.index: dict[tuple[str, ...], int] = {}
        self.things = things(wall)
        self.items: list[dict[str, Any]] = []

    def put(self, key: tuple[str, ...], vertices: np.ndarray, triangles: np.ndarray) -> None:
        """A mesh under a key; one that 16 bit can't number is left out."""
        import numpy as np

        if not len(vertices):
            return
        vertices, triangles = _coarse(vertices, triangles)
        if not 0 < len(vertices) <= MOST_FACES:
            return
        step = float(np.abs(vertices).max()) / 32_000.0
        points = np.round(vertices / step).astype("<i2")
        self.index[key] = len(self.meshes)
        self.meshes.append(
            {
                "step": round(step, 9),
                "points": _text(points.tobytes()),
                "faces": _text(triangles.astype("<u2").tobytes()),
            }
        )

    def add(
        self,
        kind: str,
        key: tuple[str, ...],
        panels: Sequence[str],
        at: tuple[float, float, float, float],
        thing: tuple[str, ...] = (),
        **more: Any,
    ) -> None:
        """A mesh at (x, y, z, degrees) of the wall; nothing where there is no such mesh."""
        if key not in self.index:
            return
        x, y, z, turn = at
        self.items.append(
            {
                "mesh": self.index[key],
                "kind": kind,
                "panels": list(panels),
                "x": _short(x),
                "y": _short(y),
                "z": _short(z),
                "a": round(math.radians(turn), 6),
                "thing": self.things.number(thing or (kind,)),
                **more,
            }
        )


def scene(wall: Wall) -> str:
    """JSON of the wall: meshes, kinds, things, items, panels."""
    made = _Scene(wall)
    _put_made(made)
    _put_bought(made)
    own = _put_art(made)
    for name in (panel.name for panel in wall.design.layout.panels):
        _add_panel(made, name, own)
    _add_joints(made)
    for hanger in wall.design.hung.hangers:
        key = ("wall screw", wall.design.layout.by_name[hanger.panel].design)
        made.add("wall screw", key, [hanger.panel], (hanger.x, hanger.y, 0.0, 0.0))
    design = wall.design
    x0, y0, x1, y1 = design.layout.box
    plan = design.plans[shown_panel(design).design]
    used = {item["kind"] for item in made.items}
    panels = [
        {
            "name": panel.name,
            "x": _short(panel.x),
            "y": _short(panel.y),
            "z": _short(design.plans[panel.design].heights.rim_z),
            "r": _short(panel.cell.circumradius * 1.15),
        }
        for panel in design.layout.panels
    ]
    return json.dumps(
        {
            "says": (
                f"The wall {design.job.job} with {some(len(design.layout.panels), 'panel')} in"
                " three"
                " dimensions, lit, with the panels' names."
            ),
            "meshes": made.meshes,
            "kinds": {name: look for name, look in KINDS.items() if name in used},
            "things": made.things.rows,
            "items": made.items,
            "panels": panels,
            "lift": _short(plan.cell.circumradius * 0.9),
            "front": KINDS["diffuser"]["lift"],
            "spread": SPREAD,
            "whole": {
                "x": _short((x0 + x1) / 2),
                "y": _short((y0 + y1) / 2),
                "z": _short(plan.heights.rim_z / 2),
                "wide": _short((x1 - x0) * 0.54),
                "high": _short((y1 - y0) * 0.54),
            },
        },
        separators=(",", ":"),
    )


def _put_made(made: _Scene) -> None:
    """Printed and cut parts; clips and caps as they sit at edge 0 of a panel."""
    import numpy as np

    for spec, part in sorted(made.wall.meshes.items(), key=lambda item: item[0].name):
        mesh = part.mesh
        if spec.part == "clip":
            poses = clip_poses(made.design.plans[spec.design], 0)
            nets = [pose.mesh(mesh) for pose in poses]
            count = len(mesh.vertices)
            made.put(
                ("clip", spec.design),
                np.concatenate([net.vertices for net in nets]),
                np.concatenate([net.triangles + k * count for k, net in enumerate(nets)]),
            )
            continue
        if spec.part == "cap":
            mesh = cap_pose(made.design.plans[spec.design], 0).mesh(mesh)
        key = (spec.part, spec.design, *([spec.kind.key] if spec.kind is not None else []))
        made.put(key, mesh.vertices, mesh.triangles)


def _put_bought(made: _Scene) -> None:
    for name in made.design.plans:
        nets = made.wall.bought[name]
        for part, mesh in nets.items():
            made.put((part, name), mesh.vertices, mesh.triangles)


def _put_art(made: _Scene) -> dict[str, str]:
    """Stencils and engravings; panel to the key of its sheet, where that has art."""
    own: dict[str, str] = {}
    for one in diffusers(made.design):
        plan = made.design.plans[one.design]
        low, top = plan.heights.ledge_z, plan.heights.ledge_z + plan.stock.thickness
        key = f"sheet {one.item}"
        if one.art.holes:
            shape = Outline(plan.rings.diffuser, one.art.holes)
            made.put(("diffuser", key), *artscene.sheet(shape, low, top))
        if one.art.marks:
            z = low - artscene.ABOVE_MM if one.art.back else top + artscene.ABOVE_MM
            made.put(("engraving", key), *artscene.ribbons(one.art.marks, z))
        own |= dict.fromkeys(one.panels, key)
    return own


def _add_panel(made: _Scene, name: str, own: dict[str, str]) -> None:
    """All that one panel has for itself."""
    design = made.design
    panel, use = design.layout.by_name[name], design.use_of[name]
    plan, sort = design.plans[panel.design], panel.design
    step = 360.0 / plan.cell.sides
    lit = {"lit": 1} if name not in design.blank else {}

    def at(z: float = 0.0, edge: float = 0.0) -> tuple[float, float, float, float]:
        return (panel.x, panel.y, z, panel.turn_deg + edge * step)

    base = ("base", sort, use.kind.key)
    if base not in made.index:
        base = ("base", sort, _first_kinds(design)[sort].key)
    made.add("base", base, [name], at(edge=use.steps), (f"base {sort} {use.kind.key}",))
    made.add("shell", ("shell", sort), [name], at(plan.floor.shell_z), (f"shell {sort}",))
    made.add("shell screw", ("shell screw", sort), [name], at())
    for part in ("board", "led", "socket", "switch", "tall part", "board screw"):
        thing = (f"board {sort}",) if part == "board" else ()
        made.add(part, (part, sort), [name], at(), thing, **(lit if part == "led" else {}))
    sheet = own.get(name, "")
    for part in ("diffuser", "engraving"):
        key = (part, sheet) if (part, sheet) in made.index else (part, sort)
        made.add(part, key, [name], at(), (f"diffuser {sort}",), **lit)
    cap, foot = (design.same_as(part, sort) for part in ("cap", "foot"))
    for edge in design.capped[name]:
        made.add("cap", ("cap", cap), [name], at(edge=edge), (f"cap {cap}",))
    if name in design.wired.inlets:
        made.add("inlet", ("inlet", sort), [name], at(edge=design.wired.inlets[name]))
    if plan.params.base.feet > 0:
        for x, y in feet_at(plan):
            wx, wy = panel.to_wall((x, y))
            place = (wx, wy, -plan.params.base.feet, panel.turn_deg)
            made.add("foot", ("foot", foot), [name], place, (f"foot {foot}",))


def _add_joints(made: _Scene) -> None:
    """Headers, jumpers and clips: what two panels share."""
    design = made.design
    headers, jumpers = set(design.table.headers), set(design.table.jumpers)
    for k, joint in enumerate(design.layout.joints):
        panel = design.layout.by_name[joint.a]
        pair, sort = [joint.a, joint.b], panel.design
        at = (panel.x, panel.y, 0.0, joint.normal_deg)
        if k not in design.order.seams:
            clip = design.same_as("clip", sort)
            made.add("clip", ("clip", clip), pair, at, (f"clip {clip}",))
        if k in headers:
            full = design.table.rows[k].supply
            thing = ("header",) if full else ("header without supply",)
            made.add("header", ("header", sort), pair, at, thing)
        if k in jumpers:
            other = design.layout.by_name[joint.b]
            back = (other.x, other.y, 0.0, joint.normal_deg + 180.0)
            made.add("jumper", ("jumper", sort), pair, at)
            made.add("jumper", ("jumper", other.design), pair, back)


def _coarse(vertices: np.ndarray, triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The mesh on a grid that a view does not show: corners that fall together are one."""
    import numpy as np

    cells, place = np.unique(np.round(vertices / GRID_MM), axis=0, return_inverse=True)
    faces = place.reshape(-1)[triangles]
    a, b, c = faces.T
    return cells * GRID_MM, faces[(a != b) & (b != c) & (c != a)]


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _short(value: float) -> float:
    return float(fixed(value, 3))
