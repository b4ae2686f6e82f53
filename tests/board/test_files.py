"""Boards that other writers drew: they come in right, or are refused with the place of what is
wrong.

The drawings are made with a general DXF library, or by hand, in the ways in which drawing programs
differ.
"""

from __future__ import annotations

import io
import itertools
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from fab.checks.board import board_checks
from fab.outlines.contour import Arc
from fab.params.read import Loaded
from fab.parts.board_source import board_layout
from fab.parts.plan import Plan

DX, DY = 213.7, -41.2  # where the foreign drawing puts the board


def saved(document: Any) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def drawing(version: Any = "R2000", units: Any = 4) -> Any:
    document = ezdxf.new(version)  # type: ignore[attr-defined]
    if version != "R12":
        document.header["$INSUNITS"] = units
    return document, document.modelspace()


def shape(design: Any) -> Any:
    """The drawn board, moved to where the foreign drawing has it: segments of its edge, and its
    holes.
    """
    outline = board_layout(design()).outline.moved(DX, DY)
    return list(outline.edge.segments), [hole.circle() for hole in outline.holes]


def polyline(segments: Any, scale: Any = 1.0) -> Any:
    return [
        (seg.start[0] * scale, seg.start[1] * scale, seg.bulge if isinstance(seg, Arc) else 0.0)
        for seg in segments
    ]


def add_segments(space: Any, segments: Any, shift: Any = lambda: (0.0, 0.0)) -> None:
    """Loose lines and arcs, each end moved a little by `shift`."""
    for seg in segments:
        (ax, ay), (bx, by) = shift(), shift()
        if isinstance(seg, Arc):
            begin = math.degrees(
                math.atan2(seg.start[1] - seg.centre[1], seg.start[0] - seg.centre[0])
            )
            end = begin + math.degrees(seg.sweep_rad)
            if seg.sweep_rad < 0:
                begin, end = end, begin
            space.add_arc((seg.centre[0] + ax, seg.centre[1] + ay), seg.radius_mm, begin, end)
        else:
            space.add_line(
                (seg.start[0] + ax, seg.start[1] + ay), (seg.end[0] + bx, seg.end[1] + by)
            )


def inches(design: Any) -> Any:
    document, space = drawing(units=1)
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge, 1 / 25.4), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x / 25.4, y / 25.4), r / 25.4)
    return {"b.dxf": saved(document)}, ""


def micrometres(design: Any) -> Any:
    document, space = drawing(units=13)
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge, 1000.0), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x * 1000, y * 1000), r * 1000)
    return {"b.dxf": saved(document)}, ""


def old_polylines(design: Any) -> Any:
    """R12 knows no units: they are read as millimetres, and that is told."""
    document, space = drawing("R12")
    edge, holes = shape(design)
    space.add_polyline2d(polyline(edge), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x, y), r)
    return {"b.dxf": saved(document)}, "read as millimetres"


def told_units(design: Any) -> Any:
    """A drawing in inches that does not say so, and a panel file that does."""
    document, space = drawing("R12")
    edge, holes = shape(design)
    space.add_polyline2d(polyline(edge, 1 / 25.4), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x / 25.4, y / 25.4), r / 25.4)
    return {"b.dxf": saved(document)}, "", 'units = "in"\n'


def loose_lines(design: Any) -> Any:
    """Lines and arcs in no order, half of them the other way round."""
    document, space = drawing()
    edge, holes = shape(design)
    rng = random.Random(7)
    mixed = [seg.reversed() if rng.random() < 0.5 else seg for seg in edge]
    rng.shuffle(mixed)
    add_segments(space, mixed)
    for (x, y), r in holes:
        space.add_arc((x, y), r, 0, 180)
        space.add_arc((x, y), r, 180, 360)
    return {"b.dxf": saved(document)}, ""


def splines(design: Any) -> Any:
    """Every arc as a spline through points on it, holes too."""
    document, space = drawing()
    edge, holes = shape(design)
    for seg in edge:
        if isinstance(seg, Arc):
            space.add_spline([(*seg.at(k / 6), 0.0) for k in range(7)])
        else:
            space.add_line(seg.start, seg.end)
    for (x, y), r in holes:
        space.add_spline(
            [
                (x + r * math.cos(a), y + r * math.sin(a), 0.0)
                for a in (2 * math.pi * k / 24 for k in range(25))
            ]
        )
    return {"b.dxf": saved(document)}, "read as a circle of 3.2 mm"


def doubled(design: Any) -> Any:
    document, space = drawing()
    edge, holes = shape(design)
    for _ in range(2):
        space.add_lwpolyline(polyline(edge), format="xyb", close=True)
        for (x, y), r in holes:
            space.add_circle((x, y), r)
    return {"b.dxf": saved(document)}, "doubled line"


def gaps(design: Any) -> Any:
    """Ends up to 0.01 mm apart, as files rounded to two decimals leave them."""
    document, space = drawing()
    edge, holes = shape(design)
    rng = random.Random(3)
    add_segments(space, edge, lambda: (rng.uniform(-0.005, 0.005), rng.uniform(-0.005, 0.005)))
    for (x, y), r in holes:
        space.add_circle((x, y), r)
    return {"b.dxf": saved(document)}, ""


def blocks(design: Any) -> Any:
    """The board in a block of half size, inserted twice as large and turned; a hole in a block of
    its own.
    """
    document, space = drawing()
    edge, holes = shape(design)
    hole = document.blocks.new("HOLE")
    hole.add_circle((0, 0), 1.0)
    block = document.blocks.new("BOARD")
    turn = math.radians(30)

    def into(point: Any) -> Any:
        x, y = point[0] / 2, point[1] / 2
        return (x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn))

    block.add_lwpolyline(
        [(*into(seg.start), seg.bulge if isinstance(seg, Arc) else 0.0) for seg in edge],
        format="xyb",
        close=True,
    )
    for centre, r in holes:
        block.add_blockref("HOLE", into(centre), dxfattribs={"xscale": r / 2, "yscale": r / 2})
    space.add_blockref("BOARD", (0, 0), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 30})
    return {"b.dxf": saved(document)}, ""


def dust(design: Any) -> Any:
    document, space = drawing()
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x, y), r)
    space.add_circle((DX + 3, DY + 4), 0.05)
    space.add_line((DX + 1, DY + 1), (DX + 1, DY + 1))
    space.add_line((DX - 20, DY), (DX - 19.7, DY))
    return {"b.dxf": saved(document)}, "too small to be holes"


def polygon_holes(design: Any) -> Any:
    document, space = drawing()
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge), format="xyb", close=True)
    for (x, y), r in holes:
        corners = [
            (x + r * math.cos(a), y + r * math.sin(a))
            for a in (2 * math.pi * k / 20 for k in range(20))
        ]
        space.add_lwpolyline(corners, close=True)
    return {"b.dxf": saved(document)}, "20 lines at x"


def ellipses(design: Any) -> Any:
    """Round holes as ellipses whose axes are alike."""
    document, space = drawing()
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_ellipse((x, y), (r, 0), 1.0)
    return {"b.dxf": saved(document)}, "read as a circle of 3.2 mm"


def by_hand(design: Any) -> Any:
    """Nothing but an ENTITIES section, as small tools write it."""
    edge, holes = shape(design)
    rows = ["0", "SECTION", "2", "ENTITIES"]
    for seg in edge:
        points = [seg.at(k / 8) for k in range(9)] if isinstance(seg, Arc) else [seg.start, seg.end]
        for a, b in itertools.pairwise(points):
            rows += [
                "0",
                "LINE",
                "8",
                "0",
                "10",
                f"{a[0]:.4f}",
                "20",
                f"{a[1]:.4f}",
                "11",
                f"{b[0]:.4f}",
                "21",
                f"{b[1]:.4f}",
            ]
    for (x, y), r in holes:
        rows += ["0", "CIRCLE", "8", "0", "10", f"{x:.4f}", "20", f"{y:.4f}", "40", f"{r:.4f}"]
    return {
        "b.dxf": "\n".join([*rows, "0", "ENDSEC", "0", "EOF", ""]).encode()
    }, "read as millimetres"


def vectors(design: Any) -> Any:
    """An SVG in millimetres, y down."""
    edge, holes = shape(design)
    high = 200.0
    words = [f"M{edge[0].start[0]:.5f},{high - edge[0].start[1]:.5f}"]
    for seg in edge:
        x, y = seg.end[0], high - seg.end[1]
        words.append(
            f"A{seg.radius_mm:.5f},{seg.radius_mm:.5f} 0 0 {int(seg.sweep_rad < 0)} {x:.5f},{y:.5f}"
            if isinstance(seg, Arc)
            else f"L{x:.5f},{y:.5f}"
        )
    rounds = "".join(f'<circle cx="{x}" cy="{high - y}" r="{r}"/>' for (x, y), r in holes)
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="{high}mm" viewBox="0 0 400'
        f' {high}"><path d="{" ".join(words)} Z"/>{rounds}</svg>'
    )
    return {"b.svg": text.encode()}, ""


WRITERS = [
    inches,
    micrometres,
    old_polylines,
    told_units,
    loose_lines,
    splines,
    doubled,
    gaps,
    blocks,
    dust,
    polygon_holes,
    ellipses,
    by_hand,
    vectors,
]


@pytest.mark.parametrize("writer", WRITERS, ids=lambda writer: writer.__name__)
def test_a_board_of_somebody_elses_comes_in_right(design: Callable[..., Plan], writer: Any) -> None:
    files, told, *more = writer(design)
    (name,) = files
    plan = design(f'[panel.board]\nfile = "{name}"\n{"".join(more)}', files)
    mine, theirs = board_layout(design()), board_layout(plan)
    assert theirs.outline.edge.area_mm2 == pytest.approx(mine.outline.edge.area_mm2, rel=2e-4)
    assert theirs.outline.edge.box == pytest.approx(
        mine.outline.edge.box, abs=0.02
    )  # the panel's centre is found
    assert len(theirs.holes) == 6
    for hole in theirs.holes:
        near = min(mine.holes, key=lambda other: math.dist(other.at, hole.at))
        assert math.dist(near.at, hole.at) < 0.02
        assert hole.width == pytest.approx(3.2, abs=0.02)
    assert not [v for v in board_checks("panel", plan) if v.verdict == "fail"]
    notes = "; ".join(plan.params.board.notes)
    assert told in notes if told else not notes, notes


def test_arcs_that_came_as_arcs_stay_arcs(design: Callable[..., Plan]) -> None:
    files, _ = loose_lines(design)
    plan = design('[panel.board]\nfile = "b.dxf"', files)
    mine, theirs = board_layout(design()).outline.edge, board_layout(plan).outline.edge
    assert sum(isinstance(seg, Arc) for seg in theirs.segments) == sum(
        isinstance(seg, Arc) for seg in mine.segments
    )


def test_origin_and_turn_of_a_foreign_drawing(design: Callable[..., Plan]) -> None:
    """A board drawn with edge 0 upwards, its centre given in the drawing's own coordinates."""
    document, space = drawing()
    outline = (
        board_layout(design(panel="edge90-triangle")).outline.turned(math.pi / 2).moved(50, 20)
    )
    space.add_lwpolyline(polyline(outline.edge.segments), format="xyb", close=True)
    plan = design(
        '[panel.board]\nfile = "b.dxf"\norigin = [50, 20]\nturn_deg = -90',
        {"b.dxf": saved(document)},
        panel="edge90-triangle",
    )
    mine = board_layout(design(panel="edge90-triangle")).outline.edge
    assert board_layout(plan).outline.edge.box == pytest.approx(mine.box, abs=1e-5)


def test_places_of_the_table_can_be_in_the_drawings_frame(design: Callable[..., Plan]) -> None:
    files, _ = inches(design)
    table = f"kind,x_mm,y_mm,width_mm\nled,{DX + 5},{DY - 3},3.5\n".encode()
    plan = design(
        '[panel.board]\nfile = "b.dxf"\npositions = "p.csv"\nframe = "file"',
        files | {"p.csv": table},
    )
    assert board_layout(plan).leds[0].at == pytest.approx((5.0, -3.0), abs=1e-4)
    assert plan.params.led.size == 3.5  # what the table tells and the panel leaves open


def test_a_size_that_table_and_panel_tell_differently_is_refused(
    refused: Callable[..., str], design: Callable[..., Plan]
) -> None:
    table = b"kind,x_mm,y_mm,width_mm,height_mm\nled,5,5,3.5,1.2\n"
    says = refused(
        '[panel.board]\npositions = "p.csv"\n[panel.led]\nheight = 1.6', {"p.csv": table}
    )
    assert "panel.led.height: is 1.6 mm, but the board's file says 1.2 mm" in says


# -- hostile
# --------------------------------------------------------------------------------------------------


def test_blocks_in_blocks_without_end_are_refused(refused: Callable[..., str]) -> None:
    """Ten blocks, each ten times in the next: ten thousand million lines out of a few kilobytes."""
    document, space = drawing()
    document.blocks.new("B0").add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True)
    for k in range(1, 10):
        block = document.blocks.new(f"B{k}")
        for j in range(10):
            block.add_blockref(f"B{k - 1}", (j, 0))
    space.add_blockref("B9", (0, 0))
    assert "blocks without end" in refused(
        '[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)}
    )


def test_a_block_that_holds_itself_is_refused(refused: Callable[..., str]) -> None:
    document, space = drawing()
    document.blocks.new("B").add_blockref("B", (1, 0))
    space.add_blockref("B", (0, 0))
    assert 'block "B" contains itself' in refused(
        '[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)}
    )


def test_rows_and_columns_of_a_block_are_counted_too(refused: Callable[..., str]) -> None:
    document, space = drawing()
    document.blocks.new("B").add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True)
    space.add_blockref(
        "B",
        (0, 0),
        dxfattribs={
            "row_count": 30_000,
            "column_count": 30_000,
            "row_spacing": 2,
            "column_spacing": 2,
        },
    )
    assert "blocks without end" in refused(
        '[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)}
    )


def test_an_external_reference_is_not_followed_and_told(design: Callable[..., Plan]) -> None:
    document, space = drawing()
    document.add_xref_def("/etc/passwd", "OUT")
    space.add_blockref("OUT", (0, 0))
    edge, holes = shape(design)
    space.add_lwpolyline(polyline(edge), format="xyb", close=True)
    for (x, y), r in holes:
        space.add_circle((x, y), r)
    plan = design('[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)})
    assert "1 external reference left out" in "; ".join(plan.params.board.notes)
    assert len(board_layout(plan).holes) == 6


def test_a_curve_of_the_size_of_a_country_is_refused(refused: Callable[..., str]) -> None:
    document, space = drawing()
    space.add_spline([(0, 0), (1e12, 1e12), (3e12, 0), (0, 0)])
    assert "more than 100 m" in refused('[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)})


def test_ten_million_corners_are_refused_by_the_size_of_the_file(
    refused: Callable[..., str], tmp_path: Path
) -> None:
    with open(tmp_path / "b.dxf", "wb") as stream:
        stream.write(b"0\nSECTION\n2\nENTITIES\n")
        stream.truncate(10_000_000 * 24)
    says = refused('[panel.board]\nfile = "b.dxf"')
    assert "has 240,000,000 bytes; at most 8,388,608 are read" in says


def test_very_many_corners_in_a_small_file_are_refused(refused: Callable[..., str]) -> None:
    rng = random.Random(1)
    corners = [
        (
            round(100 * math.cos(k / 5000) + rng.random(), 3),
            round(100 * math.sin(k / 5000) + rng.random(), 3),
        )
        for k in range(30_000)
    ]
    rows = [
        "0",
        "SECTION",
        "2",
        "ENTITIES",
        "0",
        "LWPOLYLINE",
        "8",
        "0",
        "90",
        str(len(corners)),
        "70",
        "1",
    ]
    for x, y in corners:
        rows += ["10", str(x), "20", str(y)]
    data = "\n".join([*rows, "0", "ENDSEC", "0", "EOF", ""]).encode()
    says = refused('[panel.board]\nfile = "b.dxf"', {"b.dxf": data})
    assert "b.dxf" in says


# -- refused, with the place
# ---------------------------------------------------------------------------------------


def wide_gap(design: Any) -> Any:
    document, space = drawing()
    edge, _ = shape(design)
    add_segments(space, edge[:-1])
    return saved(document), r"the outline does not close: an open line of .* mm apart"


def two_boards(design: Any) -> Any:
    document, space = drawing()
    edge, _ = shape(design)
    for shift in (0.0, 150.0):
        space.add_lwpolyline(
            [(x + shift, y, b) for x, y, b in polyline(edge)], format="xyb", close=True
        )
    return saved(document), r"holds 2 outlines side by side, at x 213\.7, y -41\.2 mm, x 363\.7"


def crossing(design: Any) -> Any:
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (40, 40), (40, 0), (0, 30)], close=True)
    return saved(document), r"crosses itself at \(17\.14, 17\.14\) mm\. Move its corners"


def crossing_hole(design: Any) -> Any:
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (40, 0), (40, 40), (0, 40)], close=True)
    space.add_circle((40, 20), 5)
    return saved(document), r"two outlines cross at \(4?\d"


def not_finite(design: Any) -> Any:
    return (
        b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\nnan\n20\n0\n11\n1\n21\n1\n0\nENDSEC\n0\nEOF\n",
        r"b\.dxf",
    )


def empty(design: Any) -> Any:
    return saved(drawing()[0]), "no line in it"


def garbage(design: Any) -> Any:
    return bytes(range(256)) * 40, r"b\.dxf"


@pytest.mark.parametrize(
    "writer",
    [wide_gap, two_boards, crossing, crossing_hole, not_finite, empty, garbage],
    ids=lambda w: w.__name__,
)
def test_a_drawing_that_holds_no_board_is_refused_with_the_place(
    refused: Callable[..., str], design: Callable[..., Plan], writer: Any
) -> None:
    import re

    data, says = writer(design)
    told = refused('[panel.board]\nfile = "b.dxf"', {"b.dxf": data})
    assert re.search(says, told), told
    assert (
        "b.dxf: panel.board.file: " in told
    )  # file and key; what is wrong and what would work end as sentences
    assert told[-1] in ".?", told


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("../b.dxf", "leads out of this file's folder"),
        ("/etc/b.dxf", "is not in the folder of this file or below it"),
        ("C:/b.dxf", "is not in the folder of this file or below it"),
        ("sub\\\\b.dxf", "has backslashes"),
        ("bord.dxf", '"bord.dxf" was not found. Did you mean board.dxf'),
        ("http://x.org/b.dxf", "is not in the folder of this file or below it"),
    ],
)
def test_paths_stay_in_the_folder(refused: Callable[..., str], name: str, says: str) -> None:
    assert says in refused(f'[panel.board]\nfile = "{name}"', {"board.dxf": b""})


def test_a_link_out_of_the_folder_is_not_followed(
    refused: Callable[..., str], tmp_path: Path
) -> None:
    outside = tmp_path.parent / "outside.dxf"
    outside.write_bytes(b"x")
    (tmp_path / "b.dxf").symlink_to(outside)
    assert "is a link that leads out" in refused('[panel.board]\nfile = "b.dxf"')


def test_a_panel_file_names_files_beside_itself(
    design: Callable[..., Plan], tmp_path: Path
) -> None:
    files, _ = inches(design)
    panel = b'extends = "hexagon-120"\n[board]\nfile = "b.dxf"\n'
    plan = design(
        "", {"sub/panel.toml": panel, "sub/b.dxf": files["b.dxf"]}, panel="sub/panel.toml"
    )
    assert len(board_layout(plan).holes) == 6


def test_the_hash_of_the_inputs_covers_what_stands_in_the_files(
    job: Callable[..., Loaded], design: Callable[..., Plan]
) -> None:
    files, _ = inches(design)
    first = job('[panel.board]\nfile = "b.dxf"', files)
    same = job('[panel.board]\nfile = "b.dxf"', files)
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (80, 0), (80, 80), (0, 80)], close=True)
    other = job('[panel.board]\nfile = "b.dxf"', {"b.dxf": saved(document)})
    assert first.inputs_sha256 == same.inputs_sha256 != other.inputs_sha256
    assert first.sources[-1].name == "b.dxf"
