"""STL per printed part and 3MF plates filled for the shop's bed, read back before they are handed on."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping, Sequence
from functools import partial

from fab.decisions import Design
from fab.errors import BrokenGeometry
from fab.files.readback import check_3mf, check_stl
from fab.files.stl import stl
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.outputs.model import OutFile
from fab.prints.counting import count as layers_of
from fab.prints.mass import Printed, printed
from fab.prints.model import Item, Plate
from fab.prints.plates import plates
from fab.products import Made, PartSpec, make, plain_base
from fab.solids.mesh import Mesh
from fab.store import Store, Task

FILE_ROOMS = ("files", "solids", "outputs", "outlines", "units")


def items(design: Design, made: Mapping[PartSpec, Made]) -> list[Item]:
    """Printed objects with boxes, footprints and counts for the plates."""
    found = []
    for spec, count in design.printed:
        part = made[spec]
        low = (part.box[0], part.box[1])
        found.append(Item(spec.name, spec.part, part.size, count, _footprint(design, part, low), low))
    return found


def uses(design: Design, made: Mapping[PartSpec, Made], store: Store) -> dict[PartSpec, Printed]:
    """What one copy of each printed part uses up.

    Kinds of a base differ by a keyhole, an opening or a name: they take the plain one's count by their volume.
    """
    shop = design.job.shop
    found = {}
    for spec, _ in design.printed:
        part, share = made[spec], 1.0
        if spec.part == "base":
            plain = make(store, design.plans[spec.design], plain_base(spec.design))
            part, share = plain, part.volume_mm3 / plain.volume_mm3
        found[spec] = printed(layers_of(store, part, shop.printer) * share, shop.printer, shop.filament)
    return found


def _footprint(design: Design, part: Made, low: tuple[float, float]) -> tuple[tuple[float, float], ...] | None:
    """Panels' own polygon for base and shell, so that they lie close; boxes for the rest."""
    if part.spec.part not in ("base", "shell"):
        return None
    from fab.outlines.facets import facets

    plan = design.plans[part.spec.design]
    x1, y1 = part.size[0], part.size[1]
    points = [(x - low[0], y - low[1]) for x, y in facets(plan.body, outside=True)]
    return tuple((min(max(x, 0.0), x1), min(max(y, 0.0), y1)) for x, y in points)


def arrange(design: Design, made: Mapping[PartSpec, Made]) -> tuple[Plate, ...]:
    """All copies on plates."""
    return plates(items(design, made), design.job.shop.printer)


def files(design: Design, made: Mapping[PartSpec, Made], arranged: Sequence[Plate], store: Store) -> list[OutFile]:
    """print/*: one STL a part with its count in the name, one 3MF a plate. Equal plates are made once."""
    told = [(f"{spec.name}_x{count}.stl", "print", spec.name, count) for spec, count in design.printed]
    told += [(f"plate-{plate.number:02d}.3mf", "plate", "plate", 1) for plate in arranged]
    return [
        OutFile(f"print/{path}", role, store.read(task, _ARE[role]), part, count)
        for (path, role, part, count), task in zip(told, tasks(design, made, arranged), strict=True)
    ]


def _is_stl(data: bytes) -> bytes:
    """The data, when it is as long as a binary STL of its number of triangles."""
    if len(data) < 84 or len(data) != 84 + 50 * int.from_bytes(data[80:84], "little"):
        raise ValueError("this is no STL")
    return data


def _is_3mf(data: bytes) -> bytes:
    """The data, when it is an archive whose members are whole."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if archive.testzip() is not None:
            raise ValueError("this is no 3MF")
    return data


_ARE = {"print": _is_stl, "plate": _is_3mf}


def tasks(design: Design, made: Mapping[PartSpec, Made], arranged: Sequence[Plate]) -> list[Task]:
    """What `files` will ask the store for, in its order."""
    job = design.job.job
    parts = {spec.name: made[spec] for spec, _ in design.printed}
    digests = {name: hashlib.sha256(part.mesh_npz).hexdigest() for name, part in parts.items()}
    found = [Task("stl", [name, digest], FILE_ROOMS, partial(_stl, name, parts[name])) for name, digest in digests.items()]
    for plate in arranged:
        names = [name for name, _ in plate.counts]
        placed = [(names.index(spot.name), *spot.shift, spot.turn_deg) for spot in plate.placements]
        values = [job, [(name, digests[name]) for name in names], placed]
        on_plate = {name: parts[name] for name in names}
        found.append(Task("plate", values, FILE_ROOMS, partial(_plate, job, names, placed, on_plate)))
    return found


def _stl(name: str, part: Made) -> bytes:
    net = _on_bed(part.mesh)
    data = stl(net, name)
    _refuse(name + ".stl", check_stl(data, net))
    return data


def _plate(
    job: str, names: Sequence[str], placed: Sequence[tuple[int, float, float, int]], parts: Mapping[str, Made]
) -> bytes:
    objects = [Object3mf(name, _on_bed(parts[name].mesh)) for name in names]
    copies = [Item3mf(index, x, y, turn) for index, x, y, turn in placed]
    data = threemf(objects, copies, job)
    _refuse("a plate", check_3mf(data, objects, copies))
    return data


def _on_bed(net: Mesh) -> Mesh:
    """The mesh with its lowest corner at exactly z = 0; the kernel leaves it within rounding."""
    low = float(net.vertices[:, 2].min())
    if abs(low) < 1e-12:
        return net
    vertices = net.vertices.copy()
    vertices[:, 2] -= low
    return Mesh(vertices, net.triangles)


def _refuse(name: str, problems: Sequence[str]) -> None:
    if problems:
        raise BrokenGeometry(f"{name} does not read back as it was made: " + "; ".join(problems[:3]))
