"""Solid to bytes and back in the kernel's own exact text form, for the store."""

from __future__ import annotations

import io

from fab.errors import BrokenGeometry
from fab.solids.kernel import Solid
from fab.solids.loading import kernel


def to_brep(solid: Solid) -> bytes:
    """The exact solid, without its mesh."""
    from OCP.BRepTools import BRepTools

    kernel()
    BRepTools.Clean_s(solid.wrapped)
    held = io.BytesIO()
    if not solid.exportBrep(held):
        raise BrokenGeometry("the kernel could not write a solid")
    return held.getvalue()


def from_brep(data: bytes) -> Solid:
    """The solid of such bytes. Raises ValueError for bytes that are none."""
    cq = kernel()
    shape = cq.Shape.importBrep(io.BytesIO(data))
    if shape is None or shape.wrapped is None or shape.wrapped.IsNull():
        raise ValueError("these bytes are no solid")
    bodies = shape.Solids()
    solid: Solid = bodies[0] if len(bodies) == 1 else shape
    return solid
