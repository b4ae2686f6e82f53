"""The parts of a job as products: what each depends on, how it is made, and what is known of it without the kernel.

A part is made once for its values: its mesh, its exact solid and its figures go into the store, and a build in which
nothing of them changed never loads the CAD kernel.
"""

from __future__ import annotations

import dataclasses
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

from fab.layout.model import BaseKind
from fab.parts.plan import Plan
from fab.solids.mesh import Mesh
from fab.store import Store, Task

ROOMS = ("units", "errors", "outlines", "solids", "parts")
BREP = b"CASCADE Topology"  # in the first lines of the kernel's own text form
PRINTED = ("base", "shell", "clip", "cap", "foot")

# What a solid never depends on: machines' speeds and sizes, prices, electrics. Everything else counts.
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
FREE_OF_PANEL = ("name",)


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
class Made:
    """A part that was made, in print orientation (a base, shell, clip or cap) or in the panel frame."""

    spec: PartSpec
    volume_mm3: float
    area_mm2: float
    centre: tuple[float, float, float]
    box: tuple[float, float, float, float, float, float]
    mesh_npz: bytes
    brep: bytes

    @cached_property
    def mesh(self) -> Mesh:
        import numpy as np

        with np.load(io.BytesIO(self.mesh_npz)) as data:
            return Mesh(data["vertices"], data["triangles"])

    @cached_property
    def solid(self) -> Any:
        """The exact solid; loads the kernel."""
        from fab.solids.brep import from_brep

        return from_brep(self.brep)

    def __getstate__(self) -> dict[str, Any]:
        """Without mesh and solid: whoever gets a copy reads them from the bytes."""
        return {name: value for name, value in self.__dict__.items() if name not in ("mesh", "solid")}

    @property
    def size(self) -> tuple[float, float, float]:
        return (self.box[3] - self.box[0], self.box[4] - self.box[1], self.box[5] - self.box[2])


def depends(plan: Plan, spec: PartSpec) -> Mapping[str, Any]:
    """The values that a part's solid depends on."""
    printer = {key: value for key, value in dataclasses.asdict(plan.printer).items() if key not in FREE_OF_PRINTER}
    stock = {key: getattr(plan.stock, key) for key in OF_STOCK}
    panel = {key: value for key, value in dataclasses.asdict(plan.params).items() if key not in FREE_OF_PANEL}
    panel["art"] = [art for art in panel["art"] if art["on"] != "diffuser"]  # what is on the sheet shapes no solid
    panel["diffuser"] = {key: value for key, value in panel["diffuser"].items() if key not in ("stock", "spares")}
    if spec.kind is None or not spec.kind.jumpers:
        panel.pop("jumper")  # a part without an opening for one is the same whatever the jumper
    kind = dataclasses.asdict(spec.kind) if spec.kind is not None else None
    if kind is not None:
        kind.pop("design")
    return {
        "panel": panel, "printer": printer, "stock": stock, "cell": dataclasses.asdict(plan.cell),
        "strain": plan.strain_limit, "kind": kind,
    }  # fmt: skip


def plain_base(design: str) -> PartSpec:
    """The base without inlet, hanger or name: others differ from it by little."""
    return PartSpec("base", design, BaseKind("plain", design, False, None, ""))


def make(store: Store, plan: Plan, spec: PartSpec) -> Made:
    """The part, found in the store or made."""
    return store.read(task(store, plan, spec), partial(_unpack, spec))


def task(store: Store, plan: Plan, spec: PartSpec) -> Task:
    """A part as a product."""
    return Task(f"part {spec.part}", depends(plan, spec), ROOMS, partial(_pack, store, plan, spec))


def body_task(plan: Plan, inlet: bool) -> Task:
    """What all bases that are mounted alike with an inlet, or without one, have in common: exact, and made once."""
    values = {**depends(plan, PartSpec("base", plan.params.name)), "inlet": inlet, "turned": plan.turned}
    return Task("base body", values, ROOMS, partial(_body, plan, inlet))


def _body(plan: Plan, inlet: bool) -> bytes:
    from fab.parts.base import base_body
    from fab.solids.brep import to_brep

    return to_brep(base_body(plan, inlet))


def solid_of(plan: Plan, spec: PartSpec, store: Store | None = None) -> Any:
    """The exact solid, made now. Print orientation for printed parts, panel frame for diffuser and board.

    A base is made on the body that the store has of its design, or finds a place for.
    """
    from fab.parts.base import base
    from fab.parts.board import board_plate
    from fab.parts.cap import cap
    from fab.parts.clip import clip
    from fab.parts.diffuser import diffuser
    from fab.parts.feet import foot
    from fab.parts.shell import shell
    from fab.solids.brep import from_brep
    from fab.solids.kernel import moved

    if spec.part == "base":
        assert spec.kind is not None
        body = (store or Store(None)).read(body_task(plan.mounted(spec.kind.steps), spec.kind.inlet), from_brep)  # the same text whoever made it
        return base(plan, spec.kind, body)
    if spec.part == "shell":
        return moved(shell(plan), 0.0, 0.0, -plan.shell_z)
    return {"clip": clip, "cap": cap, "foot": foot, "diffuser": diffuser, "board": board_plate}[spec.part](plan)


def _pack(store: Store, plan: Plan, spec: PartSpec) -> bytes:
    import numpy as np

    from fab.solids.brep import to_brep
    from fab.solids.kernel import centre, volume
    from fab.solids.meshing import mesh

    solid = solid_of(plan, spec, store)
    net = mesh(solid, spec.name)
    low, high = net.box
    figures = {
        "volume": volume(solid), "area": float(solid.Area()), "centre": centre(solid), "box": [*low, *high],
    }  # fmt: skip
    held = io.BytesIO()
    np.savez(held, vertices=net.vertices, triangles=net.triangles)
    parts = [json.dumps(figures).encode(), held.getvalue(), to_brep(solid)]
    head = json.dumps([len(part) for part in parts]).encode()
    return len(head).to_bytes(4, "little") + head + b"".join(parts)


def _unpack(spec: PartSpec, data: bytes) -> Made:
    size = int.from_bytes(data[:4], "little")
    lengths = json.loads(data[4 : 4 + size])
    parts, at = [], 4 + size
    for length in lengths:
        parts.append(data[at : at + length])
        at += length
    if len(parts) != 3 or at != len(data) or not (parts[1].startswith(b"PK") and BREP in parts[2][:200]):
        raise ValueError("this is no part")
    figures = json.loads(parts[0])
    return Made(
        spec, figures["volume"], figures["area"], tuple(figures["centre"]), tuple(figures["box"]), parts[1], parts[2]
    )
