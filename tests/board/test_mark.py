"""Outline and mark of a board as others read them: a general DXF library, the rules of a board
editor, and the editor itself where it is installed.
"""

from __future__ import annotations

import io
import json
import math
import shutil
import subprocess
from typing import Any

import pytest
from ezdxf.filemanagement import read as ezdxf_read
from ezdxf.path import make_path
from shapely import Point, Polygon
from shapely.geometry import MultiPoint

from fab.decisions import outline
from fab.files.dxf import dxf
from fab.outputs.board import mark_drawing, outline_drawing
from fab.params.read import load
from fab.parts.board_source import board_layout
from fab.parts.plan import Plan
from tests.conftest import ROOT

EDITOR = "/usr/bin/python3"  # a board editor brings its module for the system's Python
OPENED = """
import json, pcbnew, sys
board = pcbnew.BOARD()
def at(p):
    return pcbnew.wxPointMM(float(p[0]), -float(p[1]))
for kind, *points in json.load(sys.stdin):
    shape = pcbnew.PCB_SHAPE(board)
    shape.SetLayer(pcbnew.Edge_Cuts)
    if kind == "line":
        shape.SetShape(pcbnew.SHAPE_T_SEGMENT)
        shape.SetStart(at(points[0]))
        shape.SetEnd(at(points[1]))
    elif kind == "arc":
        shape.SetShape(pcbnew.SHAPE_T_ARC)
        shape.SetArcGeometry(*map(at, points))
    else:
        shape.SetShape(pcbnew.SHAPE_T_CIRCLE)
        shape.SetStart(at(points[0]))
        shape.SetEnd(at(points[1]))
    board.Add(shape)
found = pcbnew.SHAPE_POLY_SET()
whole = board.GetBoardPolygonOutlines(found)
holes = [found.HoleCount(k) for k in range(found.OutlineCount())]
print(json.dumps([bool(whole), holes, found.Area() / 1e12]))
"""


@pytest.fixture(scope="module")
def plans() -> Any:
    found: dict[str, Plan] = {}
    for job in ("reading-nook", "mixed-wall"):
        made = outline(load(ROOT / "params" / f"{job}.toml").job).plans
        found |= {f"{job}-{name}": plan for name, plan in made.items()}
    return found


def opened(drawing: Any) -> Any:
    data = io.BytesIO(dxf(drawing, version="R2000"))
    document = ezdxf_read(io.TextIOWrapper(data, encoding="cp1252"))
    assert document.audit().errors == []
    return list(document.modelspace())


def simple(entities: Any) -> Any:
    """Lines, arcs and circles as an editor makes them of polylines with bulges."""
    found = []
    for entity in entities:
        if entity.dxftype() == "CIRCLE":
            x, y, _ = entity.dxf.center
            found.append(["circle", [x, y], [x + entity.dxf.radius, y]])
            continue
        assert entity.closed
        for piece in entity.virtual_entities():
            if piece.dxftype() == "LINE":
                found.append(["line", list(piece.dxf.start)[:2], list(piece.dxf.end)[:2]])
            else:
                sweep = (piece.dxf.end_angle - piece.dxf.start_angle) % 360
                half = math.radians(piece.dxf.start_angle + sweep / 2)
                middle = [
                    piece.dxf.center.x + piece.dxf.radius * math.cos(half),
                    piece.dxf.center.y + piece.dxf.radius * math.sin(half),
                ]
                ends = [list(point)[:2] for point in (piece.start_point, piece.end_point)]
                found.append(["arc", ends[0], middle, ends[1]])
    return found


def test_the_outline_is_one_closed_edge_with_its_holes_inside(plans: Any) -> None:
    """What board editors ask of an edge: lines and arcs that close within 10 um, none crossing."""
    for name, plan in plans.items():
        drawing = outline_drawing(plan)
        entities = opened(drawing)
        (edge,) = (one for one in entities if one.dxf.layer == "OUTLINE")
        points = [vector.vec2 for vector in make_path(edge).flattening(0.001)]
        assert points[0].isclose(points[-1], abs_tol=0.01)
        board = Polygon([(p.x, p.y) for p in points])
        assert board.is_valid, name
        holes = [one for one in entities if one.dxf.layer == "HOLES"]
        assert len(holes) + 1 == len(entities)
        for hole in holes:
            x, y, _ = hole.dxf.center
            assert board.buffer(-hole.dxf.radius).contains(Point(x, y))


def test_the_mark_points_to_edge_0_and_is_clear_of_all_that_stands_there(plans: Any) -> None:
    for name, plan in plans.items():
        layout, outer = board_layout(plan), outline_drawing(plan)
        drawing = mark_drawing(plan, outer)
        assert drawing is not None, name
        entities = opened(drawing)
        assert {one.dxf.layer for one in entities} == {"MARK"}
        x0, y0, _, _ = layout.outline.box
        arrow, *figure = sorted(entities, key=len)
        tip = max(arrow.vertices(), key=lambda p: p[0])
        feet = [p for p in arrow.vertices() if p != tip]
        assert len(feet) == 2
        assert feet[0][0] == pytest.approx(feet[1][0], abs=1e-5)  # square to +X
        assert tip[1] == pytest.approx((feet[0][1] + feet[1][1]) / 2, abs=1e-5)
        assert len(figure) == 2
        drawn = MultiPoint([p for one in entities for p in one.vertices()]).envelope
        edge = opened(outer)[-1]
        shape = Polygon([(p.x, p.y) for p in make_path(edge).flattening(0.001)])
        assert shape.contains(drawn), name
        for part in (*layout.leds, *layout.switches):
            body = Polygon([(x - x0, y - y0) for x, y in part.corners])
            assert drawn.distance(body) > 0.25, name
        for hole in layout.holes:
            assert drawn.distance(Point(hole.x - x0, hole.y - y0)) > hole.width / 2, name


def test_a_board_without_room_for_its_mark_has_none(plans: Any) -> None:
    """LEDs from rim to rim: nothing is printed on them."""
    from dataclasses import replace

    from fab.parts.boardmark import board_mark

    layout = board_layout(plans["mixed-wall-triangle"])
    assert layout is not None
    wide = replace(layout.leds[0], x=0.0, y=0.0, width=500.0, depth=500.0)
    assert board_mark(replace(layout, leds=(wide,))) == ()


def test_a_general_board_editor_takes_the_outline(plans: Any) -> None:
    """The editor's own search for the board's edge: one outline, every hole, the area."""
    there = shutil.which(EDITOR) and subprocess.run(
        [EDITOR, "-c", "import pcbnew"], capture_output=True, check=False
    )
    if not there or there.returncode:
        pytest.skip("needs a board editor's Python module (apt-get install kicad)")
    for name, plan in plans.items():
        told = subprocess.run(
            [EDITOR, "-c", OPENED],
            input=json.dumps(simple(opened(outline_drawing(plan)))),
            capture_output=True,
            text=True,
            check=True,
        )
        whole, holes, area = json.loads(told.stdout.splitlines()[-1])
        layout = board_layout(plan)
        assert whole, name
        assert holes == [len(layout.outline.holes)]
        assert area == pytest.approx(layout.outline.area_mm2, rel=1e-3)
