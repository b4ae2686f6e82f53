"""A lit face as bytes and back: it is calculated once for the check of its light, its pictures and
those of the wall.
"""

from __future__ import annotations

import io
import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from fab.errors import InputError
from fab.light.scene import scene
from fab.parts.plan import Plan

if TYPE_CHECKING:  # loaded where one is made or read
    from fab.light.face import Face

LINES = ("x", "total", "direct", "once", "more")  # of a profile


def can_be_lit(plan: Plan, wall_reflectance: float) -> bool:
    """Return whether a design has a lit face at all."""
    try:
        scene(plan, wall_reflectance)
    except InputError:
        return False
    return True


def face_bytes(plan: Plan, wall_reflectance: float) -> bytes:
    """The face of a design at full white as a product. Raises InputError where it has none."""
    import numpy as np

    from fab.light.face import face

    made = face(plan, wall_reflectance)
    grid = made.grid
    known = {"figures": asdict(made.figures), "grid": (grid.left, grid.low, grid.step)}
    arrays = {name: getattr(made.cut, name) for name in LINES}
    stream = io.BytesIO()
    np.savez(stream, known=np.array(json.dumps(known)), values=grid.values, **arrays)
    return stream.getvalue()


def face_of(data: bytes) -> Face:
    """The face that was kept. Raises an error for bytes that are none."""
    import numpy as np

    from fab.light.cavity import Balance
    from fab.light.face import Face, FaceProfile, Grid
    from fab.light.figures import Evenness

    with np.load(io.BytesIO(data), allow_pickle=False) as kept:
        known = json.loads(str(kept["known"]))
        left, low, step = known["grid"]
        figures = known["figures"]
        figures |= {"gap": tuple(figures["gap"]), "darkest": tuple(figures["darkest"])}
        figures["balance"] = Balance(**figures["balance"])
        cut = FaceProfile(**{name: kept[name] for name in LINES})
        return Face(Evenness(**figures), 1.0, Grid(left, low, step, kept["values"]), cut)
