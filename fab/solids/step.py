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
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    if not solids or any(not solid.Solids() for _, solid in solids):
        raise BrokenGeometry(f"nothing to write into the STEP file of {title}")
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    # curves in space say it all; those on faces carry noise
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    for name, solid in solids:
        Interface_Static.SetCVal_s("write.step.product.name", ascii_text(name))
        writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
    with scratch() as folder:
        path = Path(folder) / "part.step"
        writer.Write(str(path))
        data = fixed_text(path.read_bytes(), title)
    # the kernel numbers its products through the whole process
    for name in {ascii_text(name) for name, _ in solids}:
        data = re.sub(
            rb"'" + re.escape(name.encode()) + rb" \d+((?:\.\d+)*)'",
            rb"'" + name.encode() + rb"\1'",
            data,
        )
    return data


def fixed_text(data: bytes, title: str) -> bytes:
    """A STEP file of the kernel's with all that differs from run to run written alike: folds of
    long lines, time stamps, and the running numbers of uses.
    """
    data = re.sub(rb"\r?\n +", b"", data)  # where a line is folded hangs on its numbers' lengths
    stamp = f"'{FIXED_TIME}'".encode()
    data = re.sub(rb"'\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d'", stamp, data)
    name = f"FILE_NAME('{ascii_text(title)}'".encode()
    data = re.sub(rb"FILE_NAME\('[^']*'", lambda _: name, data, count=1)
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


def ascii_text(text: str) -> str:
    """The name reduced to the characters that a STEP file may hold."""
    return text.encode("ascii", "replace").decode().replace("'", "")
