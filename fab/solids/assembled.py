"""Solids in their places to one STEP file with names and colours: same pieces, same bytes.

The kernel's own document writer makes the file, from an assembly of cadquery's. Two things are set
right afterwards: time stamps and running numbers (`step.fixed_text`), and the order of the colours,
which hangs on addresses in memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.errors import BrokenGeometry
from fab.leaving import scratch
from fab.solids.kernel import Solid, group
from fab.solids.loading import kernel
from fab.solids.step import ascii_text, fixed_text

STYLES = b"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION("
ENTITY = re.compile(rb"#(\d+) = ([^\n]*)\n")
HEAD = re.compile(rb"(.*\()((?:#\d+,?)+)(\),#\d+\);)")
REF = re.compile(rb"#(\d+)")


@dataclass(frozen=True, eq=False)
class PlacedSolid:
    """A solid in its place: turned about z, then moved. Pieces that share a solid share it in the
    file.
    """

    part: str  # what it is: "clip", "board screw"; the name of the product
    name: str  # which one it is: "A/3 cap"
    solid: Solid
    colour: tuple[float, float, float]  # red, green, blue, 0 to 1
    turn_deg: float = 0.0
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True, eq=False)
class Pieces:
    """Pieces under one name: a panel, or all joints."""

    name: str
    pieces: Sequence[PlacedSolid]


def assembly_step(title: str, groups: Sequence[Pieces]) -> bytes:
    """AP214 STEP of all groups under one title. Raises BrokenGeometry when a group is empty."""
    kernel()
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType

    if not all((groups, *(some.pieces for some in groups))):
        raise BrokenGeometry(f"nothing to write into the STEP file of {title}")
    document = _document(title, groups)
    writer = STEPCAFControl_Writer()
    writer.SetColorMode(True)
    writer.SetNameMode(True)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
    with scratch() as folder:
        path = Path(folder) / "assembly.step"
        writer.Write(str(path))
        return _styles_in_order(fixed_text(path.read_bytes(), title))


def _apart(solid: Solid) -> Solid:
    """A group of solids as copies that share nothing: the kernel colours only one of those that
    share.
    """
    solids = solid.Solids()
    return solid if len(solids) == 1 else group([one.copy() for one in solids])


def _document(title: str, groups: Sequence[Pieces]) -> Any:
    """The kernel's document of an assembly, every product and every use of it with its name.

    The library has a maker of such documents, too; but that loads all the rest of the library,
    which takes as long as the document of one panel.
    """
    cq = kernel()
    from OCP.BinXCAFDrivers import BinXCAFDrivers
    from OCP.Quantity import Quantity_Color, Quantity_ColorRGBA, Quantity_TypeOfColor
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

    application = XCAFApp_Application.GetApplication_s()
    BinXCAFDrivers.DefineFormat_s(application)
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    application.InitDocument(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    shapes.SetAutoNaming_s(False)
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    own: dict[int, Solid] = {}
    labels: dict[Any, Any] = {}

    def name(label: Any, text: str) -> None:
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(ascii_text(text)))

    def product(piece: PlacedSolid) -> Any:
        """The label of a solid in its colour, which pieces share."""
        known = id(piece.solid) in own
        solid = own.setdefault(id(piece.solid), piece.solid if known else _apart(piece.solid))
        key = piece.colour, id(piece.solid)
        if key not in labels:
            labels[key] = label = shapes.NewShape()
            whole = cq.Compound.makeCompound([solid])
            shapes.SetShape(label, (whole.copy() if known else whole).wrapped)
            tone = Quantity_Color(*piece.colour, Quantity_TypeOfColor.Quantity_TOC_sRGB)
            kind = XCAFDoc_ColorType.XCAFDoc_ColorSurf
            colours.SetColor(label, Quantity_ColorRGBA(tone, 1.0), kind)
            name(label, piece.part)
        return labels[key]

    top = shapes.NewShape()
    name(top, title)
    for some in groups:
        under = shapes.NewShape()
        name(under, some.name)
        for piece in some.pieces:
            at = cq.Location(cq.Vector(piece.x, piece.y, 0.0), cq.Vector(0, 0, 1), piece.turn_deg)
            name(shapes.AddComponent(under, product(piece), at.wrapped), piece.name)
        name(shapes.AddComponent(top, under, TopLoc_Location()), some.name)
    shapes.UpdateAssemblies()
    return document


def _styles_in_order(data: bytes) -> bytes:
    """The file with its colours, which stand last, in the order of the solids that they colour."""
    start = data.find(STYLES)
    if start < 0:
        raise BrokenGeometry("the kernel wrote an assembly without colours")
    start = data.rfind(b"#", 0, start)
    end = data.rfind(b"ENDSEC;")
    text = {int(found[1]): found[2] for found in ENTITY.finditer(data[start:end])}
    first = min(text)

    def refs(number: int) -> list[int]:
        return [int(ref) for ref in REF.findall(text[number])]

    def coloured(head: int) -> int:
        """The first solid that these styles colour."""
        return min(refs(item)[-1] for item in refs(head) if item >= first)

    def below(number: int) -> Iterator[int]:
        yield number
        for ref in refs(number):
            if ref >= first:
                yield from below(ref)

    heads = [number for number in text if text[number].startswith(STYLES)]
    for head in heads:
        parts = HEAD.fullmatch(text[head])
        if parts is None:
            raise BrokenGeometry("the kernel wrote colours in another way than is known here")
        items = sorted(map(int, REF.findall(parts[2])), key=lambda item: refs(item)[-1])
        text[head] = parts[1] + b",".join(b"#%d" % item for item in items) + parts[3]
    order: dict[int, int] = {}
    for head in sorted(heads, key=coloured):
        for number in below(head):
            order.setdefault(number, first + len(order))
    if len(order) != len(text):
        raise BrokenGeometry("the kernel wrote colours that colour nothing")
    lines = [
        b"#%d = %s\n"
        % (
            new,
            REF.sub(lambda ref: b"#%d" % order.get(int(ref[1]), int(ref[1])), text[old]),
        )
        for old, new in order.items()
    ]
    return data[:start] + b"".join(lines) + data[end:]
