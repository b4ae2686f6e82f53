"""Solid to bytes and back in the kernel's own exact binary form, for the store."""

from __future__ import annotations

import io
from pathlib import Path
from tempfile import TemporaryDirectory

from fab.errors import BrokenGeometry
from fab.solids.kernel import Solid
from fab.solids.loading import kernel


def to_brep(solid: Solid, *, meshed: bool = False) -> bytes:
    """The exact solid; with its mesh when it is to be `meshed`, so that faces which stay as they
    are need no other one.
    """
    kernel()
    from OCP.BinTools import BinTools, BinTools_FormatVersion
    from OCP.BRepTools import BRepTools

    if not meshed:
        BRepTools.Clean_s(solid.wrapped)
    held, version = io.BytesIO(), BinTools_FormatVersion.BinTools_FormatVersion_CURRENT
    BinTools.Write_s(solid.wrapped, held, meshed, False, version)
    if not held.getvalue():
        raise BrokenGeometry("the kernel could not write a solid")
    return held.getvalue()


def from_brep(data: bytes) -> Solid:
    """The solid of such bytes. Raises ValueError for bytes that are none."""
    cq = kernel()
    from OCP.BinTools import BinTools
    from OCP.TopoDS import TopoDS_Shape

    read = TopoDS_Shape()
    # older bindings lose bytes of a stream on the way in, so they get a file
    with TemporaryDirectory(prefix="panejig-") as scratch:
        path = Path(scratch) / "solid.bin"
        path.write_bytes(data)
        try:
            BinTools.Read_s(read, str(path))
        except Exception as error:  # several kinds of the kernel's
            raise ValueError("these bytes are no solid") from error
    if read.IsNull():
        raise ValueError("these bytes are no solid")
    shape = cq.Shape.cast(read)
    bodies = shape.Solids()
    solid: Solid = bodies[0] if len(bodies) == 1 else shape
    return solid
