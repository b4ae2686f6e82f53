"""One picture over nine panels: put back together it is the picture again, cut at every sheet's
edge.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from shapely import Point, unary_union

from fab.checks.art import art_checks
from fab.decisions import lay_out, outline, plans_of
from fab.files.dxf import dxf
from fab.files.readback_dxf import check_dxf
from fab.outlines import clip2d
from fab.outlines.contour import turn
from fab.outputs.art import diffusers
from fab.params.read import Loaded, load
from fab.parts.art import sheet_art
from fab.parts.artplace import boundary, frame_of, picture, placed
from fab.sheets.drawing import part_drawing
from fab.sheets.model import Piece

DOT = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300'
    b' 200"><path d="M10,100 A140,90 0 0 1 290,100 A140,90 0 0 1 10,100 Z M80,60 h140 v80 h-140'
    b' Z"/><path d="M100,10 L150,40 L200,10 L150,190 Z"/></svg>'
)
ART = '[[art]]\nfile = "p.svg"\nat = [220, 90]\nwidth = 560\nturn_deg = 15\n'


def nine(wall: Any, art: Any = ART, turn: Any = 0.0, rest: Any = "") -> Any:
    job = wall(art, rest, {"p.svg": DOT}, turn).job
    return job, lay_out(job), plans_of(job)["panel"]


def in_wall(region: Any, panel: Any) -> Any:
    return clip2d.moved(region, panel.x, panel.y, math.radians(panel.turn_deg))


@pytest.mark.parametrize("turn_deg", [0.0, 17.0])
@pytest.mark.parametrize("work", ["engrave", "stencil"])
def test_the_pieces_together_are_the_picture_clipped_by_the_sheets(
    wall: Callable[..., Loaded], turn_deg: float, work: str
) -> None:
    job, layout, plan = nine(wall, f'{ART}work = "{work}"\n', turn_deg)
    (art,) = job.art
    whole = frame_of(art).region(picture(art))  # in the wall frame
    sheets = [in_wall(boundary(plan, art), panel) for panel in layout.panels]
    wanted = whole.intersection(unary_union(sheets))
    pieces = [in_wall(placed(plan, art, (p.x, p.y, p.turn_deg)), p) for p in layout.panels]
    together = unary_union(pieces)
    assert sum(piece.area for piece in pieces) == pytest.approx(
        together.area, rel=1e-9
    )  # no two share anything
    assert together.area == pytest.approx(wanted.area, rel=1e-6)
    assert together.symmetric_difference(wanted).area < clip2d.GRID_MM * wanted.length
    assert together.area > 20_000  # it really covers several panels


def test_what_is_engraved_is_the_edge_of_the_picture_and_not_of_the_sheet(
    wall: Callable[..., Loaded],
) -> None:
    job, layout, plan = nine(wall)
    (art,) = job.art
    whole = frame_of(art).region(picture(art))
    total = 0.0
    for panel in layout.panels:
        made = sheet_art(plan, (art,), panel)
        for stroke in made.marks:
            for a, b in itertools.pairwise(stroke):
                middle = panel.to_wall(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
                assert whole.boundary.distance(Point(middle)) < 0.02
                total += math.dist(a, b)
    inside = whole.boundary.intersection(
        unary_union([in_wall(boundary(plan, art), p) for p in layout.panels])
    )
    assert total == pytest.approx(inside.length, rel=1e-4)


def test_hatching_runs_on_across_the_joints(wall: Callable[..., Loaded]) -> None:
    """Every line lies on one grid of the wall's picture, whatever panel it is on."""
    job, layout, plan = nine(wall, f'{ART}fill = "hatch"\nhatch = 2.0\nhatch_deg = 30\n', 11.0)
    (art,) = job.art
    angle = math.radians(30 + art.turn_deg)
    rows = set()
    count = 0
    for panel in layout.panels:
        for a, b in sheet_art(plan, (art,), panel).marks:
            for point in (a, b):
                x, y = panel.to_wall(point)
                across = turn((x - art.at[0], y - art.at[1]), -angle)[1] / 2.0 - 0.5
                assert abs(across - round(across)) < 1e-3
                rows.add(round(across))
            count += 1
    assert count > 200
    assert len(rows) < count / 1.5  # many lines are shared by panels


def test_the_back_is_mirrored_and_the_front_is_not(wall: Callable[..., Loaded]) -> None:
    """Engraved on the back, the piece lies mirrored: a point of the picture at x comes to -x, the
    sheet's edge too.
    """
    front = nine(wall, '[[art]]\nletters = "L"\ncapital = 30\nat = [0, 0]\n')
    back = nine(wall, '[[art]]\nletters = "L"\ncapital = 30\nat = [0, 0]\nback = true\n')
    panel = front[1].by_name["C"] if "C" in front[1].by_name else front[1].panels[0]
    home = next(p for p in front[1].panels if abs(p.x) < 1e-6 and abs(p.y) < 1e-6)
    one, two = (sheet_art(plan, job.art, home) for job, _, plan in (front, back))
    assert not one.back
    assert two.back
    assert two.lying() == tuple(tuple((-x + 0.0, y) for x, y in mark) for mark in one.lying())
    xs = [x for mark in one.lying() for x, _ in mark]
    foot = [
        x
        for mark in one.lying()
        for x, y in mark
        if y < min(yy for m in one.lying() for _, yy in m) + 0.1
    ]
    assert max(foot) == pytest.approx(
        max(xs), abs=0.1
    )  # the foot of an L runs to the right as seen from the front
    plan = front[2]
    assert two.outline(plan.rings.diffuser).edge.area_mm2 == pytest.approx(
        plan.rings.diffuser.area_mm2
    )
    assert panel is not None


def test_kerf_is_in_the_cuts_and_not_in_the_engraving(wall: Callable[..., Loaded]) -> None:
    """The drawing of a part: holes smaller by half a kerf all round, marks where the picture has
    them.
    """
    art = (
        '[[panel.art]]\nletters = "I"\ncapital = 20\nat = [-15, 0]\nwork = "stencil"\n'
        '[[panel.art]]\nletters = "I"\ncapital = 20\nat = [15, 0]\n'
    )
    job = wall("", art).job
    plan = plans_of(job)["panel"]
    made = sheet_art(plan)
    stock, laser = job.shop.stock["opal-3"], job.shop.laser
    assert stock.kerf > 0.05
    piece = Piece(
        "diffuser", made.outline(plan.rings.diffuser), 1, "opal-3", "symmetry", made.lying()
    )
    drawing = part_drawing(piece, laser, stock)
    mark, inner, _ = drawing.layers
    hole, cut = made.holes[0].box, inner.contours[0].box
    assert (cut[2] - cut[0]) == pytest.approx(hole[2] - hole[0] - stock.kerf, abs=1e-3)
    assert (cut[3] - cut[1]) == pytest.approx(hole[3] - hole[1] - stock.kerf, abs=1e-3)

    def box(strokes: Any) -> Any:
        xs, ys = [x for s in strokes for x, _ in s], [y for s in strokes for _, y in s]
        return max(xs) - min(xs), max(ys) - min(ys)

    assert box(mark.strokes) == pytest.approx(box(made.marks), abs=1e-6)
    assert box(made.marks) == pytest.approx(
        (hole[2] - hole[0], hole[3] - hole[1]), abs=0.02
    )  # the same letter
    assert check_dxf(dxf(drawing), drawing) == []


@pytest.mark.slow
def test_letters_cut_through_keep_their_islands(wall: Callable[..., Loaded]) -> None:
    """8, o and B have islands; one piece is left of the sheet."""
    plan = plans_of(
        wall("", '[[panel.art]]\nletters = "8oB"\ncapital = 24\nwork = "stencil"\n').job
    )["panel"]
    made = sheet_art(plan)
    assert len(made.islands) == 5
    assert made.loose == ()
    left = clip2d.of_outline(plan.rings.diffuser)
    for hole in made.holes:
        left = left.difference(clip2d.of_outline(hole))
    assert len(clip2d.polygons(clip2d.tidy(left))) == 1
    assert len(made.waste) == len(made.holes)
    assert sum(area for area, _ in made.waste) == pytest.approx(
        plan.rings.diffuser.area_mm2 - left.area, rel=1e-4
    )


def test_a_stencil_stays_off_the_ledge(wall: Callable[..., Loaded]) -> None:
    plan = plans_of(
        wall("", '[[panel.art]]\nletters = "M"\ncapital = 200\nwork = "stencil"\n').job
    )["panel"]
    window = clip2d.of_outline(plan.rings.window)
    for hole in sheet_art(plan).holes:
        assert clip2d.of_outline(hole).difference(window.buffer(0.01)).area < 1e-3


def test_the_rim_of_a_stencil_is_as_wide_as_a_bridge(wall: Callable[..., Loaded]) -> None:
    """What is cut up to the rim leaves a bar all round: it has to pass the check on bridges by
    itself.
    """
    plan = plans_of(
        wall("", '[[panel.art]]\nletters = "M"\ncapital = 200\nwork = "stencil"\n').job
    )["panel"]
    edge = clip2d.of_outline(plan.rings.diffuser).exterior
    assert (
        min(clip2d.of_outline(hole).exterior.distance(edge) for hole in sheet_art(plan).holes)
        >= plan.stock.thickness
    )


def test_equal_diffusers_share_a_file_and_counts_add_up(wall: Callable[..., Loaded]) -> None:
    from fab.decisions import decide
    from fab.outputs.alike import dealt, one_shape
    from fab.outputs.cut import pieces
    from fab.sheets.audit import audit
    from fab.sheets.nest import nest
    from fab.sheets.rack import rack
    from fab.wall.model import PanelMass

    job = wall(ART, "diffuser = {spares = 2}", {"p.svg": DOT}).job
    design = decide(
        job, lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels}
    )
    kinds = diffusers(design)
    assert sum(one.count for one in kinds) == 9 + 2
    assert sorted(name for one in kinds for name in one.panels) == sorted(
        p.name for p in design.layout.panels
    )
    assert len({one.item for one in kinds}) == len(kinds)
    found = pieces(design)["opal-3"]
    shapes, members = one_shape(found)
    assert [(shape.name, shape.count) for shape in shapes] == [("diffuser", 11)]
    stock, sheets = job.shop.stock["opal-3"], rack(job.shop, "opal-3")
    result = dealt(
        nest(shapes, sheets, gap_mm=job.shop.laser.part_gap, kerf_mm=stock.kerf),
        members,
        stock.kerf,
    )
    assert audit(result, found, sheets, job.shop.laser.part_gap, stock.kerf) == ()


def test_a_picture_for_some_panels_alone(wall: Callable[..., Loaded]) -> None:
    job, layout, plan = nine(wall, f'{ART}panels = ["A", "C"]\n')
    marked = {p.name for p in layout.panels if sheet_art(plan, job.art, p).marks}
    assert marked <= {"A", "C"}
    assert marked


FRONT_AND_BACK = (
    '[[art]]\nletters = "F"\ncapital = 30\nat = [0, 0]\npanels = ["{one}"]\n'
    '[[art]]\nletters = "B"\ncapital = 30\nat = [{x}, {y}]\npanels = ["{two}"]\nback = true\n'
)


def sides_of(wall: Any, first: Any, second: Any) -> Any:
    _, layout, _ = nine(wall)
    by_cell = {(round(p.x), round(p.y)): p for p in layout.panels}
    one, two = (by_cell[at] for at in (first, second))
    made = nine(wall, FRONT_AND_BACK.format(one=one.name, two=two.name, x=two.x, y=two.y))
    found = [v for v in art_checks(made[0].art, made[1], {"panel": made[2]}) if v.id == "art.sides"]
    assert len(found) == 1
    return found[0], one.name


def test_sheets_engraved_on_one_side_each_are_good(wall: Callable[..., Loaded]) -> None:
    """One panel's sheet has its letter on the front, its neighbour's on the back: nothing has to be
    turned over.
    """
    verdict, _ = sides_of(wall, (0, 0), (120, 0))
    assert (verdict.verdict, verdict.measured, verdict.limit) == ("pass", 1, 1)


def test_a_sheet_engraved_on_both_sides_is_refused_with_its_panel_and_the_keys(
    wall: Callable[..., Loaded],
) -> None:
    verdict, name = sides_of(wall, (0, 0), (0, 0))
    assert (verdict.verdict, verdict.measured) == ("fail", 2)
    assert f"The sheet of panel {name} has pictures on its front and on its back." in verdict.says
    assert "Write back = true at art[0], or back = false at art[1]." in verdict.remedy


def test_a_design_called_as_a_panel_is_has_sheets_of_its_own_name(
    wall: Callable[..., Loaded], tmp_path: Path
) -> None:
    """Design "B" on a panel beside the picture, panel "B" with the picture: two sheets, two
    names.
    """
    (tmp_path / "p.svg").write_bytes(DOT)
    (tmp_path / "job.toml").write_text(
        'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\n[designs.B]\nextends ='
        ' "hexagon-120"\n[[layout.panel]]\ncell = [0, 0]\n[[layout.panel]]\ncell = [1,'
        ' 0]\n[[layout.panel]]\ncell = [2, 0]\ndesign = "B"\n[[art]]\nfile = "p.svg"\nat = [60,'
        " 0]\nwidth = 100\n"
    )
    made = diffusers(outline(load(tmp_path / "job.toml").job))
    names = [one.item for one in made]
    assert len(set(names)) == len(names) == 3
    assert next(one for one in made if one.item == "diffuser-B").design == "B"
    assert {panel for one in made for panel in one.panels} == {"A", "B", "C"}
