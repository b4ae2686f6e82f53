"""DXF files as the DXF library's own drawing add-on renders them: area and box of what is read,
within 0.1 %.

Reference: `ezdxf.addons.drawing` (Frontend and RenderContext), which shares no code with
`files/read_outline.py`: its lines, collected by a backend of a few lines here, are polygonized by
shapely; units are those of $INSUNITS.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Callable, Iterable
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf.addons.drawing import Frontend, RenderContext  # type: ignore[attr-defined]
from ezdxf.addons.drawing.backend import Backend
from ezdxf.addons.drawing.config import Configuration, LinePolicy
from ezdxf.document import Drawing
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.files.read_outline import read_outline
from fab.outlines.contour import Arc
from tests.cases import few

RIM = 0.0005  # mm that a chord of either side may stand off, for shapes of 20 mm and more
MM = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}


class Lines(Backend):
    """Everything that the frontend draws, as lines."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Any] = []

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        self.found.append(shapely.LineString([(start.x, start.y), (end.x, end.y)]))

    def draw_solid_lines(self, lines: Iterable[Any], properties: Any) -> None:
        for start, end in lines:
            self.draw_line(start, end, properties)

    def draw_path(self, path: Any, properties: Any) -> None:
        points = [(p.x, p.y) for p in path.flattening(RIM)]
        if len(points) > 1:
            self.found.append(shapely.LineString(points))

    def draw_filled_polygon(self, points: Any, properties: Any) -> None:
        raise AssertionError("the corpus has no fills")

    def draw_filled_paths(self, paths: Any, properties: Any) -> None:
        raise AssertionError("the corpus has no fills")

    def draw_point(self, pos: Any, properties: Any) -> None:
        pass

    def draw_image(self, image_data: Any, properties: Any) -> None:
        pass

    def set_background(self, color: Any) -> None:
        pass

    def clear(self) -> None:
        pass


def rendered(document: Drawing) -> tuple[float, tuple[float, ...]]:
    """Enclosed area (mm2) and box (mm) of what the library draws of the model space."""
    backend = Lines()
    config = Configuration(line_policy=LinePolicy.SOLID, max_flattening_distance=RIM)
    Frontend(RenderContext(document), backend, config).draw_layout(document.modelspace())
    return measured(backend.found, MM[document.units])


def measured(lines: list[Any], scale: float) -> tuple[float, tuple[float, ...]]:
    snapped = shapely.set_precision(shapely.MultiLineString(lines), 1e-7)
    faces = shapely.union_all(shapely.get_parts(shapely.polygonize([shapely.node(snapped)])))
    return faces.area * scale**2, tuple(value * scale for value in snapped.bounds)


def read(document: Drawing) -> tuple[float, tuple[float, ...]]:
    stream = io.StringIO()
    document.write(stream)
    lines = []
    for seg in read_outline(stream.getvalue().encode(), "x.dxf").segments:
        count = 1
        if isinstance(seg, Arc):
            count = max(
                2, math.ceil(abs(seg.sweep_rad) / (2 * math.acos(1 - min(RIM / seg.radius_mm, 1))))
            )
        points = (
            [seg.start, *(seg.at(k / count) for k in range(1, count))]
            if isinstance(seg, Arc)
            else [seg.start]
        )
        lines.append(shapely.LineString([*points, seg.end]))
    return measured(lines, 1.0)


def new(units: int = 4) -> Drawing:
    document = ezdxf.new("R2010")  # type: ignore[attr-defined]
    document.units = units
    return document


def plain(document: Drawing) -> None:
    space = document.modelspace()
    for a, b in (((0, 0), (60, 0)), ((60, 0), (60, 30)), ((0, 30), (0, 0))):
        space.add_line(a, b)
    space.add_arc((30, 30), 30, 0, 180)
    space.add_circle((30, 15), 8)


def bulges(document: Drawing) -> None:
    points = [(0, 0, 0.4), (50, 0, -0.3), (50, 40, 1.0), (20, 40, 0), (0, 25, -1.2)]
    document.modelspace().add_lwpolyline(points, format="xyb", close=True)
    document.modelspace().add_polyline2d(
        [(70, 0, 0.5), (110, 0, 0), (100, 30, 0.2)], format="xyb", close=True
    )


def curves(document: Drawing) -> None:
    space = document.modelspace()
    space.add_ellipse((40, 20), (35, 10), 0.45)
    space.add_spline([(100, 0), (130, 20), (110, 50), (80, 30), (100, 0)])
    space.add_open_spline([(150, 0), (190, 10), (180, 50), (150, 40), (150, 0)])


def blocks(document: Drawing) -> None:
    inner = document.blocks.new("PEG", base_point=(1, 2))
    inner.add_lwpolyline(
        [(0, 0, 0.3), (20, 0, 0), (20, 10, 0), (0, 10, 0.2)], format="xyb", close=True
    )
    outer = document.blocks.new("BAR")
    outer.add_blockref("PEG", (5, 5), dxfattribs={"rotation": 25})
    outer.add_circle((40, 10), 6)
    space = document.modelspace()
    space.add_blockref("BAR", (10, 10), dxfattribs={"rotation": 40, "xscale": 1.5, "yscale": 1.5})
    space.add_blockref("BAR", (150, 10), dxfattribs={"xscale": -2.0, "yscale": 2.0})
    space.add_blockref(
        "PEG",
        (0, 120),
        dxfattribs={"column_count": 3, "row_count": 2, "column_spacing": 30, "row_spacing": 25},
    )
    space.add_blockref("BAR", (250, 10), dxfattribs={"xscale": 2.0, "yscale": 1.0, "rotation": 15})


def hidden(document: Drawing) -> None:
    plain(document)
    space = document.modelspace()
    for name in ("OFF", "FROZEN"):
        layer = document.layers.add(name)
        layer.off() if name == "OFF" else layer.freeze()
        space.add_circle((300, 300), 50, dxfattribs={"layer": name})
    space.add_circle((-300, 300), 50, dxfattribs={"invisible": 1})
    shown = document.blocks.new("HALF")
    shown.add_circle((0, 0), 10, dxfattribs={"layer": "0"})
    shown.add_circle((40, 0), 12, dxfattribs={"layer": "FROZEN"})
    space.add_blockref("HALF", (100, 100))


def from_behind(document: Drawing) -> None:
    space = document.modelspace()
    space.add_arc((10, 5), 30, 20, 200, dxfattribs={"extrusion": (0, 0, -1)})
    space.add_line(
        (-10 - 30 * math.cos(math.radians(20)), 5 + 30 * math.sin(math.radians(20))),
        (-10 - 30 * math.cos(math.radians(200)), 5 + 30 * math.sin(math.radians(200))),
    )
    space.add_lwpolyline(
        [(0, 60, 0.6), (40, 60, 0), (20, 90, 0)],
        format="xyb",
        close=True,
        dxfattribs={"extrusion": (0, 0, -1)},
    )


DRAWN: dict[str, Callable[[Drawing], None]] = {
    one.__name__: one for one in (plain, bulges, curves, blocks, hidden, from_behind)
}


# the default run: each drawing in mm, the first one in inches and centimetres too
@pytest.mark.parametrize(
    ("name", "units"),
    few(itertools.product(DRAWN, (4, 1, 5)), *range(0, 3 * len(DRAWN), 3), 1, 2),
)
def test_what_is_read_is_what_the_library_draws(name: str, units: int) -> None:
    document = new(units)
    DRAWN[name](document)
    area, box = rendered(document)
    found_area, found_box = read(document)
    assert area > 0
    assert found_area == pytest.approx(area, rel=1e-3)
    size = max(box[2] - box[0], box[3] - box[1])
    assert found_box == pytest.approx(box, abs=1e-3 * size)


@settings(max_examples=8, deadline=None)
@given(
    turn=st.floats(-180, 180),
    x=st.floats(0.4, 3),
    y=st.floats(0.4, 3),
    mirror=st.booleans(),
    bulge=st.integers(-9, 9).map(lambda tenths: tenths / 10),
    ratio=st.floats(0.2, 1.0),
)
def test_drawn_blocks(
    turn: float, x: float, y: float, mirror: bool, bulge: int, ratio: float
) -> None:
    """A block of a polyline with bows and an ellipse, turned, stretched and mirrored at random."""
    document = new()
    block = document.blocks.new("B")
    block.add_lwpolyline(
        [(0, 0, 0), (60, 0, bulge * 0.5), (60, 40, 0), (0, 40, 0)], format="xyb", close=True
    )
    block.add_ellipse((150, 20), (30, 0), ratio)
    document.modelspace().add_blockref(
        "B", (30, -20), dxfattribs={"rotation": turn, "xscale": -x if mirror else x, "yscale": y}
    )
    area, box = rendered(document)
    found_area, found_box = read(document)
    assert found_area == pytest.approx(area, rel=1e-3)
    assert found_box == pytest.approx(box, abs=1e-3 * max(box[2] - box[0], box[3] - box[1]))
