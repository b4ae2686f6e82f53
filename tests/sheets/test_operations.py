"""Layers and colours of drawings: what is cut, marked, engraved and left out; the edge of an offcut
in the cut file.
"""

from __future__ import annotations

import io

import ezdxf
import pytest

from fab.files.drawn import Drawn
from fab.files.read_outline import read_outline
from fab.outlines.contour import Line
from fab.params.shop import Laser, Reading
from fab.sheets.operations import meaning
from fab.sheets.shapes_in import shapes_in, understood

LINE = (Line((0, 0), (1, 0)),)


@pytest.mark.parametrize(
    ("layers", "colour", "wanted"),
    [
        (("CUT",), "#000000", "cut"),
        (("Mark",), "#000000", "mark"),
        (("deep", "GUIDE"), "#000000", "ignore"),
        (("x",), "#ff0000", "engrave"),
        (("GUIDE",), "#ff0000", "ignore"),
        (("both",), "#00ff00", "mark"),
        (("both",), "#00ff01", "cut"),
        ((), "", "cut"),
    ],
)
def test_the_first_rule_that_suits_holds(layers: tuple[str, ...], colour: str, wanted: str) -> None:
    rules = (
        Reading(layer="guide", operation="ignore"),
        Reading(colour="#FF0000", operation="engrave"),
        Reading(layer="both", colour="#00ff00", operation="mark"),
    )
    assert meaning(Drawn(LINE, layers, colour), rules, Laser()) == wanted


def made(version: str = "R2000") -> ezdxf.document.Drawing:
    """A plate of 40 x 20 with a hole, and everything that is not seen: by layer, by entity, in a
    block.
    """
    doc = ezdxf.new(version)  # type: ignore[attr-defined]
    doc.units = 4
    doc.layers.add("OFF").off()
    doc.layers.add("FROZEN").freeze()
    doc.layers.add("RED", color=1)
    space = doc.modelspace()
    space.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True)
    space.add_circle((10, 10), 3, dxfattribs={"layer": "RED"})
    for layer in ("OFF", "FROZEN"):
        space.add_circle((20, 10), 4, dxfattribs={"layer": layer})
    space.add_circle((30, 10), 4, dxfattribs={"invisible": 1})
    block = doc.blocks.new("B")
    block.add_circle((0, 0), 2)
    space.add_blockref("B", (30, 10), dxfattribs={"layer": "OFF"})
    space.add_blockref("B", (30, 10), dxfattribs={"layer": "RED"})
    return doc


def test_what_is_off_frozen_or_invisible_is_not_read() -> None:
    """The rule of the DXF reference: what a block holds on layer 0 takes the layer of the block."""
    stream = io.StringIO()
    made().write(stream)
    found = read_outline(stream.getvalue().encode(), "x.dxf")
    assert [(one.layers, one.colour) for one in found.drawn] == [
        (("0",), "#000000"),
        (("RED",), "#ff0000"),
        (("RED",), "#ff0000"),
    ]
    assert "x.dxf: 3 on layers that are off or frozen (FROZEN, OFF): left out" in found.notes
    assert any("1 invisible" in note for note in found.notes)


def test_a_binary_dxf_is_read_like_its_text() -> None:
    text, binary = io.StringIO(), io.BytesIO()
    made().write(text)
    made().write(binary, fmt="bin")
    assert (
        read_outline(binary.getvalue(), "x").segments
        == read_outline(text.getvalue().encode(), "x").segments
    )


def test_marks_travel_with_the_part_on_which_they_lie() -> None:
    square = [
        Line((0, 0), (20, 0)),
        Line((20, 0), (20, 20)),
        Line((20, 20), (0, 20)),
        Line((0, 20), (0, 0)),
    ]
    other = [seg.moved(50, 0) for seg in square]
    on, beside = [Line((52, 5), (58, 5))], [Line((100, 5), (110, 5))]
    found = shapes_in([*square, *other], "s", 3, "opal", marks=[on, beside])
    plain, marked = found.pieces
    assert (plain.count, plain.marks, marked.count) == (3, (), 3)
    assert marked.marks == (((-8.0, -5.0), (-2.0, -5.0)),)  # about the middle of its box, by hand
    assert understood(marked) == "s-2: 20 x 20 mm, 1 mark"
    assert found.notes == ("s: 1 mark outside the parts left out",)
