"""Meshes of bought parts for the view in three dimensions: LEDs, sockets, headers, jumpers, screws,
the inlet's receptacle. One product a design, read without the kernel.
"""

from __future__ import annotations

import io
from typing import Any

from fab.parts.plan import Plan
from fab.solids.mesh import Mesh

# parts that checks and sections mesh as well, and their names in the view
SHARED = {
    "shell screw": "shell screw",
    "led": "led",
    "socket": "socket",
    "tall": "tall part",
    "board screw": "board screw",
    "header": "header",
}
HALF = 0.5  # how slack a jumper's wires are drawn, 0 to 1


def view_bytes(plan: Plan, hangs: bool, jumper: bool) -> bytes:
    """Meshes by name, in the panel frame; what belongs to an edge at edge 0, the wall screw at the
    origin. `hangs`: whether a base of this design hangs on a screw.
    """
    import numpy as np

    from fab.parts import bought
    from fab.parts.assembly import carried, jumper_on
    from fab.parts.board import switch_bodies
    from fab.solids.kernel import group
    from fab.solids.meshing import mesh

    solids: dict[str, list[Any]] = {}
    nets = {SHARED[part]: one.mesh for part, one in carried(plan).items() if part in SHARED}
    if not plan.params.board.none:
        solids = {
            "switch": switch_bodies(plan),
            "inlet": [solid for part, solid in bought.receptacle(plan) if part != "plug"],
        }
    if jumper:
        solids["jumper"] = [one.solid for one in jumper_on(plan, 0, HALF)]
    if hangs:
        solids["wall screw"] = [bought.wall_screw(plan, (0.0, 0.0))]
    for name, made in solids.items():
        if made:
            nets[name] = mesh(made[0] if len(made) == 1 else group(made), name)
    arrays = {}
    for name, net in nets.items():
        arrays[f"{name}/points"] = net.vertices.astype("<f4")
        arrays[f"{name}/faces"] = net.triangles.astype("<i4")
    stream = io.BytesIO()
    np.savez(stream, **arrays)  # type: ignore[arg-type]
    return stream.getvalue()


def view_meshes(data: bytes) -> dict[str, Mesh]:
    """The meshes that were kept. Raises ValueError for bytes that are none."""
    import numpy as np

    with np.load(io.BytesIO(data)) as kept:
        names = dict.fromkeys(name.rpartition("/")[0] for name in kept.files)
        return {name: Mesh(kept[f"{name}/points"], kept[f"{name}/faces"]) for name in names}
