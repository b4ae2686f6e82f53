"""Solid to STEP bytes, with a fixed header: same solid, same bytes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import count
from pathlib import Path

from fab.errors import BrokenGeometry
from fab.leaving import scratch
from fab.solids.kernel import Solid
from fab.solids.loading import kernel

FIXED_TIME = "2000-01-01T00:00:00"


def step(solids: Sequence[tuple[str, Solid]], title: str) -> bytes:
    """AP214 STEP of named solids as one file.

    The kernel can only write to a path; a temporary file stays in here.
    """
    kernel()
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
    from OCP.TCollection import TCollection_HAsciiString

    if not solids or any(not solid.Solids() for _, solid in solids):
        raise BrokenGeometry(f"nothing to write into the STEP file of {title}")
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetIVal_s(
        "write.surfacecurve.mode", 0
    )  # curves in space say it all; those on faces carry noise
    for name, solid in solids:
        Interface_Static.SetCVal_s("write.step.product.name", _ascii(name))
        writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
    header = APIHeaderSection_MakeHeader(writer.Model())
    header.SetTimeStamp(TCollection_HAsciiString(FIXED_TIME))
    header.SetName(TCollection_HAsciiString(_ascii(title)))
    with scratch() as folder:
        path = Path(folder) / "part.step"
        writer.Write(str(path))
        data = re.sub(
            rb"\r?\n +", b"", path.read_bytes()
        )  # where a line is folded hangs on the length of those numbers
    data = re.sub(rb"'\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d'", f"'{FIXED_TIME}'".encode(), data)
    for name in {
        _ascii(name) for name, _ in solids
    }:  # the kernel numbers its products through the whole process
        data = re.sub(
            rb"'" + re.escape(name.encode()) + rb" \d+((?:\.\d+)*)'",
            rb"'" + name.encode() + rb"\1'",
            data,
        )
    uses = count(1)  # numbered through the process too
    return re.sub(
        rb"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'\d+'",
        lambda found: found[1] + b"'%d'" % next(uses),
        data,
    )


def from_step(data: bytes) -> Solid:
    """The solid in a STEP file of ours; one shape for several bodies."""
    cq = kernel()
    with scratch() as folder:
        path = Path(folder) / "part.step"
        path.write_bytes(data)
        solid: Solid = cq.importers.importStep(str(path)).val()
        return solid


def _ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode().replace("'", "")
