"""STL per printed part and 3MF plates filled for the shop's bed, read back before they are handed
on.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import replace

from fab.design import Design
from fab.files.readback import check_3mf, check_stl, refuse
from fab.files.stl import stl
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.prints.layercount import LayerCount
from fab.prints.mass import PrintUse, printed
from fab.prints.model import Item, Plate
from fab.prints.plates import bound, plates
from fab.products import Figures, Made, PartSpec, plain_base


def items(design: Design, made: Mapping[PartSpec, Figures]) -> list[Item]:
    """Printed objects with boxes, footprints and counts for the plates."""
    found = []
    for spec, count in design.printed:
        part = made[spec]
        low = (part.box[0], part.box[1])
        found.append(
            Item(spec.name, spec.part, part.size, count, _footprint(design, part, low), low)
        )
    return found


def uses(
    design: Design, made: Mapping[PartSpec, Figures], layers: Mapping[PartSpec, LayerCount]
) -> dict[PartSpec, PrintUse]:
    """Material, time and cost of one copy of each printed part.

    `layers`: the count of every kind of part, of bases the plain one's.

    Kinds of a base differ by a keyhole, an opening or a name: they take the plain one's count by
    their volume.
    """
    shop = design.job.shop
    found = {}
    for spec, _ in design.printed:
        like, share = counted_as(spec), 1.0
        if like != spec:
            share = made[spec].volume_mm3 / made[like].volume_mm3
        found[spec] = printed(layers[like] * share, shop.printer, shop.filament)
    return found


def counted_as(spec: PartSpec) -> PartSpec:
    """The part whose layers are counted for this one."""
    return plain_base(spec.design) if spec.part == "base" else spec


def _footprint(
    design: Design, part: Figures, low: tuple[float, float]
) -> tuple[tuple[float, float], ...] | None:
    """Panels' own polygon for base and shell, so that they lie close; boxes for the rest."""
    if part.spec.part not in ("base", "shell"):
        return None
    from fab.outlines.facets import facets

    plan = design.plans[part.spec.design]
    x1, y1 = part.size[0], part.size[1]
    points = [(x - low[0], y - low[1]) for x, y in facets(plan.rings.body, outside=True)]
    return tuple((min(max(x, 0.0), x1), min(max(y, 0.0), y1)) for x, y in points)


def arrange(design: Design, made: Mapping[PartSpec, Figures]) -> tuple[tuple[Plate, ...], int]:
    """All copies on plates, and how few plates there can be at all.

    A plate is printed from one roll of filament.
    """
    printer = design.job.shop.printer
    roll_of = {spec.name: design.roll_of(spec) for spec, _ in design.printed}
    found: list[Plate] = []
    least = 0
    for roll in dict.fromkeys(roll_of.values()):
        some = [item for item in items(design, made) if roll_of[item.name] == roll]
        for plate in plates(some, printer):
            found.append(replace(plate, number=len(found) + 1, roll=roll))
        least += bound(some, printer)[0]
    return tuple(found), least


def names(design: Design, arranged: Sequence[Plate]) -> list[tuple[str, str, str, int]]:
    """Path, role, part and count of every file in print/: one STL a part, one 3MF a plate."""
    told = [
        (f"print/{spec.name}_x{count}.stl", "print", spec.name, count)
        for spec, count in design.printed
    ]
    return told + [
        (f"print/plate-{plate.number:02d}.3mf", "plate", "plate", 1) for plate in arranged
    ]


def is_stl(data: bytes) -> bytes:
    """The data, when it is as long as a binary STL of its number of triangles."""
    if len(data) < 84 or len(data) != 84 + 50 * int.from_bytes(data[80:84], "little"):
        raise ValueError("this is no STL")
    return data


def is_3mf(data: bytes) -> bytes:
    """The data, when it is an archive whose members are whole."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if archive.testzip() is not None:
            raise ValueError("this is no 3MF")
    return data


def stl_file(name: str, part: Made) -> bytes:
    """A printed part as STL, read back."""
    net = part.mesh.on_bed()
    data = stl(net, name)
    refuse(name + ".stl", check_stl(data, net))
    return data


# which of the objects, where, and turned by how many degrees
Spot = tuple[int, float, float, float]


def spots(plate: Plate) -> tuple[tuple[str, ...], tuple[Spot, ...]]:
    """The objects of a plate by name, and where each copy lies. Equal plates have equal ones."""
    found = [name for name, _ in plate.counts]
    return tuple(found), tuple(
        (found.index(spot.name), *spot.shift, spot.turn_deg) for spot in plate.placements
    )


def plate_file(job: str, names: Sequence[str], placed: Sequence[Spot], *parts: Made) -> bytes:
    """A plate as 3MF, read back; `parts` in the order of their names."""
    objects = [Object3mf(name, part.mesh.on_bed()) for name, part in zip(names, parts, strict=True)]
    copies = [Item3mf(index, x, y, turn) for index, x, y, turn in placed]
    data = threemf(objects, copies, job)
    refuse("a plate", check_3mf(data, objects, copies))
    return data
