"""The parts of a job as products: what shapes each, how it is made, and what is known of it without
the kernel.

A part is made once for its values: its mesh, its exact solid and its figures are kept, and a build
in which nothing of them changed never loads the CAD kernel. A maker is given only the values that
shape a part, so no other can.
"""

from __future__ import annotations

import dataclasses
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

from fab.errors import BrokenGeometry
from fab.layout.model import BaseKind
from fab.params.panel import PanelParams
from fab.parts.plan import Plan
from fab.solids.mesh import Mesh

BREP = b"CASCADE Topology"  # in the first lines of the kernel's own text form
PRINTED = ("base", "shell", "clip", "cap", "foot")
# What a solid never depends on: a printer's sizes and speeds. Everything else of it counts.
FREE_OF_PRINTER = (
    "bed",
    "height",
    "bed_margin",
    "part_gap",
    "perimeters",
    "skin_layers",
    "infill",
    "flow_mm3_s",
    "outer_mm_s",
    "inner_mm_s",
    "fill_mm_s",
    "bridge_mm_s",
    "first_mm_s",
    "travel_mm_s",
    "acceleration_mm_s2",
    "time_factor",
)
OF_STOCK = ("thickness", "made", "tolerance", "expansion_per_k")
OF_FILAMENT = ("material", "snap_strain")
OF_LIGHT = ("transmission", "reflectance", "half_angle_deg")  # of a sheet, too, where it is lit
MESH_SHARE = 1e-3  # of a part's volume that its mesh may differ by: chords at round faces
T = TypeVar("T")


@dataclass(frozen=True)
class PartSpec:
    """One thing to make: a part of a design, in one kind."""

    part: str  # base shell clip cap foot diffuser board
    design: str
    kind: BaseKind | None = None

    @property
    def name(self) -> str:
        """Name in files: part, design when it is not the main one, kind of base."""
        words = [self.part] + ([] if self.design == "panel" else [self.design])
        return "-".join([*words, *([self.kind.key] if self.kind is not None else [])])


@dataclass(frozen=True)
class Figures:
    """Measures of a made part: print orientation; diffuser and board in the panel frame."""

    spec: PartSpec
    volume_mm3: float
    area_mm2: float
    centre: tuple[float, float, float]
    box: tuple[float, float, float, float, float, float]

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, depth and height of the box, mm."""
        return (self.box[3] - self.box[0], self.box[4] - self.box[1], self.box[5] - self.box[2])


@dataclass(frozen=True)
class Made(Figures):
    """The same with mesh and exact solid."""

    mesh_npz: bytes
    brep: bytes

    @cached_property
    def mesh(self) -> Mesh:
        """The triangles, unpacked anew at each call: a mesh that nobody keeps takes no memory."""
        import numpy as np

        with np.load(io.BytesIO(self.mesh_npz)) as data:
            return Mesh(data["vertices"], data["triangles"])

    @property
    def solid(self) -> Any:
        """The exact solid, another one each time: the kernel leaves traces on what it works with.

        Loads the kernel.
        """
        from fab.solids.brep import from_brep

        return from_brep(self.brep)


def only(value: T, names: Sequence[str]) -> T:
    """The value with these fields of its own and the defaults for all others."""
    return type(value)(**{name: getattr(value, name) for name in names})


def without(value: T, names: Sequence[str]) -> T:
    """The value with the defaults for these fields."""
    default = type(value)()
    usual = {name: getattr(default, name) for name in names}
    return dataclasses.replace(value, **usual)  # type: ignore[type-var]


def shaping(plan: Plan, kind: BaseKind | None = None) -> Plan:
    """The plan with the values that shape a solid, and defaults for prices, colours, names ..."""
    params = plan.params
    panel = dataclasses.replace(
        params,
        name=type(params)().name,
        base=dataclasses.replace(params.base, roll=""),
        shell=dataclasses.replace(params.shell, roll=""),
        art=tuple(
            art for art in params.art if art.on != "diffuser"
        ),  # what is on the sheet shapes no solid
        diffuser=dataclasses.replace(
            params.diffuser, stock=type(params.diffuser)().stock, spares=0
        ),
        # a part without an opening for one is the same whatever the jumper
        jumper=params.jumper if kind is not None and kind.jumpers else type(params.jumper)(),
    )
    return dataclasses.replace(
        plan,
        params=panel,
        printer=without(plan.printer, FREE_OF_PRINTER),
        stock=only(plan.stock, OF_STOCK),
        asked=None,  # what the maker wrote himself changes no solid
        filament=only(plan.filament, OF_FILAMENT),
    )


def lighting(plan: Plan) -> Plan:
    """The plan with what shapes solids and light and remedies tell; no prices, kerf or art."""

    def lit(params: PanelParams) -> PanelParams:
        return dataclasses.replace(
            params,
            name=type(params)().name,
            base=dataclasses.replace(params.base, roll=""),
            shell=dataclasses.replace(params.shell, roll=""),
            art=tuple(art for art in params.art if art.on != "diffuser"),
            diffuser=dataclasses.replace(params.diffuser, spares=0),
        )

    return dataclasses.replace(
        plan,
        params=lit(plan.params),
        stock=only(plan.stock, (*OF_STOCK, *OF_LIGHT)),
        asked=lit(plan.asked or plan.params),
        filament=only(plan.filament, OF_FILAMENT),
    )


def bare_kind(kind: BaseKind) -> BaseKind:
    """A kind of base without what it is called: kinds of one shape are one base."""
    return dataclasses.replace(kind, key="base", design="")


def plain_base(design: str) -> PartSpec:
    """The base without inlet, hanger or name: others differ from it by little."""
    return PartSpec("base", design, BaseKind("plain", design, False, None, ""))


# -- makers
# ------------------------------------------------------------------------------------------------


def blank(plan: Plan) -> bytes:
    """The exact solid that all bases of a design share, meshed: they keep what of it they keep."""
    from fab.parts.base import base_blank
    from fab.solids.brep import to_brep
    from fab.solids.meshing import meshed

    return to_brep(meshed(base_blank(plan)), meshed=True)


def body(plan: Plan, inlet: bool, blank: bytes) -> bytes:
    """The exact solid that all bases share that are mounted alike with an inlet, or without one;
    meshed where it is the blank.
    """
    from fab.parts.base import base_body
    from fab.solids.brep import from_brep, to_brep

    return to_brep(base_body(plan, inlet=inlet, blank=from_brep(blank)), meshed=True)


def base_on(plan: Plan, kind: BaseKind, body: bytes) -> bytes:
    """A base of one kind on the body that it shares with others."""
    from fab.parts.base import base
    from fab.solids.brep import from_brep
    from fab.solids.meshing import mesh

    solid, name = base(plan, kind, from_brep(body)), f"base {kind.label}"
    return packed(solid, name, mesh(solid, name, kept=True))


def named_base(plan: Plan, kind: BaseKind, plain: Made) -> bytes:
    """A base with a name, made of the same base without: only the name is new."""
    from fab.parts.base_name import fused_name, name_feet, name_height
    from fab.solids.kernel import one_body
    from fab.solids.stamp import raised, raised_mesh

    solid, feet, name = plain.solid, name_feet(plan, kind), f"base {kind.label}"
    if not feet:
        return packed(solid, name, plain.mesh)
    place = plan.floor.top_z, name_height(plan)
    made = raised(solid, feet, *place)
    if made is None:  # the floor is in pieces
        return packed(one_body(fused_name(plan, kind, solid), name), name)
    return packed(made, name, raised_mesh(plain.mesh, feet, *place))


def is_brep(data: bytes) -> bytes:
    """The data, when they begin as the text of a solid. Raises ValueError."""
    if BREP not in data[:200]:
        raise ValueError("this is no solid")
    return data


def part(plan: Plan, name: str) -> bytes:
    """Any other part: print orientation for printed parts, panel frame for diffuser and board."""
    from fab.parts.board import board_plate
    from fab.parts.cap import cap
    from fab.parts.clip import clip
    from fab.parts.diffuser import diffuser
    from fab.parts.feet import foot
    from fab.parts.shell import shell
    from fab.solids.kernel import moved

    if name == "shell":
        return packed(moved(shell(plan), 0.0, 0.0, -plan.floor.shell_z), name)
    makers = {"clip": clip, "cap": cap, "foot": foot, "diffuser": diffuser, "board": board_plate}
    return packed(makers[name](plan), name)


def packed(solid: Any, name: str, known: Mesh | None = None) -> bytes:
    """Figures, mesh and exact solid in one.

    `known`: the mesh, where it is there already. Raises BrokenGeometry.
    """
    import numpy as np

    from fab.solids.brep import to_brep
    from fab.solids.kernel import weight
    from fab.solids.meshing import mesh

    net = known or mesh(solid, name)
    size, centre = weight(solid)
    if known is not None and abs(net.volume_mm3 - size) > MESH_SHARE * size:
        raise BrokenGeometry(
            f"part {name} has {size:.1f} mm3, and its mesh {net.volume_mm3:.1f} mm3"
        )
    low, high = net.box
    figures = {"volume": size, "area": float(solid.Area()), "centre": centre, "box": [*low, *high]}
    held = io.BytesIO()
    np.savez(held, vertices=net.vertices, triangles=net.triangles)
    parts = [json.dumps(figures).encode(), held.getvalue(), to_brep(solid)]
    head = json.dumps([len(part) for part in parts]).encode()
    return len(head).to_bytes(4, "little") + head + b"".join(parts)


def made(spec: PartSpec, data: bytes) -> Made:
    """The part that was packed. Raises ValueError for bytes that are none."""
    figures, mesh_npz, brep = _parts(data)
    known = _figures(spec, figures)
    return Made(spec, known.volume_mm3, known.area_mm2, known.centre, known.box, mesh_npz, brep)


def figures(spec: PartSpec, data: bytes) -> Figures:
    """The figures alone: next to nothing to keep in mind.

    Raises ValueError for bytes that are no part.
    """
    return _figures(spec, _parts(data)[0])


def _parts(data: bytes) -> tuple[bytes, bytes, bytes]:
    size = int.from_bytes(data[:4], "little")
    lengths = json.loads(data[4 : 4 + size])
    parts, at = [], 4 + size
    for length in lengths:
        parts.append(data[at : at + length])
        at += length
    if (
        len(parts) != 3
        or at != len(data)
        or not (parts[1].startswith(b"PK") and BREP in parts[2][:200])
    ):
        raise ValueError("this is no part")
    return parts[0], parts[1], parts[2]


def _figures(spec: PartSpec, data: bytes) -> Figures:
    known = json.loads(data)
    return Figures(
        spec, known["volume"], known["area"], tuple(known["centre"]), tuple(known["box"])
    )
