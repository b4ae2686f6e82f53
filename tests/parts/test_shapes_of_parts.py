"""Solids of the parts against the outlines and the plan's own arithmetic: areas of sections,
volumes, places.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.files.document import SMALL_MM
from fab.layout.model import BaseKind
from fab.outlines.contour import Outline
from fab.params.panel import ClipParams, PanelParams
from fab.params.shop import Shop, Stock
from fab.parts import bought
from fab.parts.assembly import body_parts, cap_on, clips_on, joint_parts, panel_parts, printed
from fab.parts.board import board_plate
from fab.parts.board_outline import board_outline
from fab.parts.cap import PRY_BEHIND, PRY_W, cap, cap_seated, plate_contour, plug_z
from fab.parts.clip import clip, clip_outline
from fab.parts.diffuser import diffuser, diffuser_outline
from fab.parts.edge import edge_box
from fab.parts.foot import footed
from fab.parts.keyhole import keyhole_for
from fab.parts.placed import Pose
from fab.parts.plan import Plan
from fab.parts.planning import plan
from fab.parts.section import section_pages
from fab.parts.sectionview import DIM
from fab.parts.shell import shell
from fab.solids import kernel
from fab.solids.meshing import mesh
from tests.book.overlaps import on_each_other, struck
from tests.sections import section_area

SHOP = Shop(stock={"opal-3": Stock()})
KIND = BaseKind("inlet-hanger-A", "panel", True, 90.0, "A")


def planned(**kwargs: Any) -> Plan:
    return plan(PanelParams(**({"sides": 4, "edge": 84.0} | kwargs)), SHOP)


@pytest.fixture(scope="module")
def square() -> Plan:
    return planned()


@pytest.fixture(scope="module")
def made(square: Plan) -> Any:
    return printed(square, KIND)


def test_flat_parts_are_their_outlines(square: Plan) -> None:
    """One outline for solid, cut file and nest: the section of the solid is held against it."""
    for solid, outline, low, high in (
        (
            diffuser(square),
            diffuser_outline(square),
            square.heights.ledge_z,
            square.heights.ledge_z + square.stock.thickness,
        ),
        (
            board_plate(square),
            board_outline(square),
            square.heights.board_z,
            square.heights.board_top_z,
        ),
    ):
        assert section_area(solid, (low + high) / 2) == pytest.approx(outline.area_mm2, rel=1e-9)
        assert kernel.volume(solid) == pytest.approx(outline.area_mm2 * (high - low), rel=1e-9)
        assert kernel.box_of(solid)[2::3] == pytest.approx((low, high), abs=1e-3)


def test_the_clip_is_its_profile(square: Plan) -> None:
    solid, outline = clip(square), clip_outline(square)
    assert section_area(solid, square.params.clip.width / 2) == pytest.approx(
        outline.area_mm2, rel=1e-9
    )
    assert (
        kernel.volume(solid) < outline.area_mm2 * square.params.clip.width
    )  # the bed edge is relieved


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.8, 2.0),
    st.floats(0.5, 1.0),
    st.floats(0.3, 1.2),
    st.floats(20, 90),
    st.floats(15, 75),
    st.floats(0, 2),
    st.floats(0.0, 0.2),
)
def test_the_clip_s_profile_is_symmetric_and_sound(
    leg: float, tip: float, hook: float, back: float, lead: float, root: float, inset: float
) -> None:
    one = ClipParams(
        leg=leg, tip=tip, hook=hook, return_deg=back, lead_in_deg=lead, root_radius=root
    )
    design = planned(clip=one)
    outline = clip_outline(design, inset)
    mirrored = outline.mirrored()
    assert mirrored.area_mm2 == pytest.approx(outline.area_mm2)
    assert outline.box[0] == pytest.approx(-outline.box[2])
    assert outline.box[2] == pytest.approx(design.clip.leg_out_u + hook - inset)
    assert outline.box[3] == pytest.approx(design.clip.top_z - inset)


def test_the_shell_between_corners_and_ledge_is_a_ring(square: Plan, made: Any) -> None:
    z = (square.heights.corner_top_z + square.heights.ledge_foot_z) / 2 - square.floor.shell_z
    assert z > square.heights.port_top_z - square.floor.shell_z
    assert section_area(made.shell, z) == pytest.approx(
        square.rings.body.area_mm2 - square.rings.rebate.area_mm2, rel=1e-6
    )


def test_the_shell_at_its_rim_and_on_its_ledge(square: Plan, made: Any) -> None:
    rim = (square.heights.ledge_z + square.heights.rim_z) / 2 - square.floor.shell_z
    ledge = square.heights.ledge_z - square.heights.ledge_lip / 2 - square.floor.shell_z
    assert section_area(made.shell, rim) == pytest.approx(
        square.rings.body.area_mm2 - square.rings.rebate.area_mm2, rel=1e-6
    )
    assert section_area(made.shell, ledge) == pytest.approx(
        square.rings.body.area_mm2 - square.rings.window.area_mm2, rel=1e-6
    )


def test_the_base_between_window_and_clips_is_wall_and_posts(square: Plan, made: Any) -> None:
    """Just over the clip pockets: ring of the wall, less windows, and the posts with their pilots
    where they stand.
    """
    z = square.heights.wall_top_z - 0.1
    ring = Outline(square.rings.base_outer.contour(), (square.rings.base_inner.contour(),))
    assert section_area(made.base, z) == pytest.approx(ring.area_mm2, rel=1e-6)


def test_the_floor_of_a_plain_base(square: Plan) -> None:
    from fab.parts.base import base

    solid = base(square, BaseKind("plain", "panel", False, None, ""))
    z = square.floor.top_z - 0.6  # below the figure of edge 0
    pockets = (
        2 * square.cell.sides * square.clip.slot_w * (square.clip.cavity_u - square.edge.wall_u)
    )
    screws = (
        len(square.fixings.shell_screws)
        * math.pi
        * (square.params.screw_d / 2 + square.fit("lap")) ** 2
    )
    pilots = len(square.fixings.board_holes) * math.pi * (square.params.pilot_d / 2) ** 2
    assert section_area(solid, z) == pytest.approx(
        square.rings.body.area_mm2 - pockets - screws, rel=1e-4, abs=pilots
    )


def test_the_cap_is_plate_and_plug(square: Plan) -> None:
    solid = cap(square)
    seat = square.params.shell.wall + square.fit("lap")
    notch = PRY_W * PRY_BEHIND  # near the plate's back
    assert section_area(solid, seat / 2 + 0.3) == pytest.approx(
        plate_contour(square).area_mm2 - notch, rel=1e-6
    )
    low, high = plug_z(square)
    width = square.edge.window_w - 2 * square.fit("cap-port")
    assert section_area(solid, seat + 0.02) == pytest.approx((high - low) * width, rel=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("edge", [1, 2, 3])
def test_a_blade_goes_under_the_cap_and_pulls_it_out(square: Plan, made: Any, edge: int) -> None:
    """A blade 5.5 x 0.6 mm goes in from the front between base, shell and cap up to the base wall;
    its raised tip then stands free behind the plate, and takes the cap along when it is pulled.
    """
    gap, turn = square.params.gap / 2, 360.0 * edge / square.cell.sides
    seat = gap + square.params.shell.wall + square.fit("lap")
    low, width = square.floor.top_z + 0.15, (-2.75, 2.75)
    capped = kernel.turned(cap_seated(square, made.cap), turn)
    shell_in_place = kernel.moved(made.shell, 0.0, 0.0, square.floor.shell_z)

    def hits(u: tuple[float, float], z: tuple[float, float]) -> list[float]:
        """Volume that a part of the blade shares with base, shell and cap."""
        blade = kernel.turned(edge_box(square, u, width, z), turn)
        return [kernel.overlap_mm3(blade, one) for one in (made.base, shell_in_place, capped)]

    assert hits((gap - 30.0, seat - 0.05), (low, low + 0.6)) == pytest.approx([0.0] * 3, abs=1e-6)
    assert hits((seat - 0.9, seat - 0.05), (low, low + 1.8)) == pytest.approx([0.0] * 3, abs=1e-6)
    *others, cap_mm3 = hits((seat - 1.9, seat - 1.05), (low, low + 1.8))
    assert others == pytest.approx([0.0] * 2, abs=1e-6)
    assert cap_mm3 > 4.5


def test_a_footed_prism_is_narrower_below(square: Plan) -> None:
    from fab.outlines.shapes import regular

    solid = footed(regular(4, 9.7), regular(4, 10.0), 0.3, 0.0, 5.0)
    assert section_area(solid, 4.0) == pytest.approx(400.0)
    assert section_area(solid, 0.15) == pytest.approx(4 * 9.85**2)
    assert kernel.volume(solid) == pytest.approx(
        400 * 4.7 + 0.3 / 6 * 4 * (9.7**2 + 4 * 9.85**2 + 10.0**2), rel=1e-6
    )


def test_print_orientation_stands_on_the_bed(made: Any) -> None:
    """All of them on z = 0; the cap with its outer face down, the shell with its open back."""
    for solid in (made.base, made.shell, made.clip):
        assert kernel.box_of(solid)[2] == pytest.approx(0.0, abs=1e-3)
    assert kernel.box_of(made.cap)[2] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.slow
def test_poses_bring_meshes_where_the_solids_are(square: Plan, made: Any) -> None:
    """The mesh of a printed part, posed, is the mesh of the solid in place."""
    for one in (cap_on(square, made, 2), *clips_on(square, made, 3), *body_parts(square, made)[:1]):
        direct = mesh(one.solid, one.name)
        assert one.mesh.box[0] == pytest.approx(direct.box[0], abs=2e-3)
        assert one.mesh.box[1] == pytest.approx(direct.box[1], abs=2e-3)
        assert one.mesh.volume_mm3 == pytest.approx(direct.volume_mm3, rel=1e-6)
    assert Pose((2, 3, 1)).mesh(mesh(kernel.box(0, 1, 0, 2, 0, 3))).box[1] == pytest.approx(
        (2.0, 3.0, 1.0)
    )


def test_a_joint_is_two_panels_back_to_back(square: Plan, made: Any) -> None:
    parts = {one.name: one for one in joint_parts(square, made, square, made)}
    a = square.cell.apothem
    assert parts["A base"].mesh.box[1][0] == pytest.approx(a - square.params.gap / 2, abs=1e-3)
    assert parts["B base"].mesh.box[0][0] == pytest.approx(a + square.params.gap / 2, abs=1e-3)
    middle = parts["header"].mesh.vertices.mean(axis=0)
    assert middle[0] == pytest.approx(a, abs=1e-6)
    # edge 0 of either base carries the inlet, so the joint is at their edges 1: windows on both
    # sides of the header
    assert parts["B base"].mesh.vertices[:, 0].max() == pytest.approx(
        3 * a - square.params.gap / 2, abs=1e-3
    )


def test_the_screw_s_way_ends_at_its_rest(square: Plan, made: Any) -> None:
    hole = keyhole_for(square, 90.0, inlet=True)
    assert hole is not None
    way, screw = bought.head_travel(square, hole), bought.wall_screw(square, hole.rest)
    assert kernel.box_of(way)[4] == pytest.approx(
        kernel.box_of(screw)[4], abs=1e-3
    )  # up is +Y here
    assert hole.rest[1] > hole.entry[1]
    names = [one.name for one in panel_parts(square, KIND, made)]
    assert {
        "wall screw",
        "screw head's way",
        "plug",
        "receptacle",
        "header 1",
        "clip 1a",
        "cap 2",
    } <= set(names)
    assert "cap 0" not in names


@pytest.mark.parametrize("fixing", ["screw", pytest.param("snap", marks=pytest.mark.slow)])
def test_the_section_page_names_every_fit_that_it_shows(
    fixing: str, square: Plan, made: Any
) -> None:
    design, parts = square, made
    if fixing == "snap":
        design = planned(shell=dataclasses.replace(PanelParams().shell, fixing=fixing))
        parts = printed(design)
    pages = section_pages(design, parts)
    words = " ".join(word for page in pages for word in (*_texts(page.items), page.says))
    for name in (
        "lap",
        "seat",
        "clip-hook",
        "cap-port",
        "FRONT",
        "BACK",
        *(["shell-snap"] if fixing == "snap" else []),
    ):
        assert name in words
    assert "lap 0.25" in words
    assert section_pages(design, parts) == pages
    for page in pages:
        assert struck(page, DIM) == []  # no leader through a label
        assert on_each_other(page) == []
    # readable on paper where a picture takes the width of the text, or a third of it: 5 points
    for page in pages:
        share = min(1.0, (58.0 if page.width <= SMALL_MM else 178.0) / page.width)
        assert min(_sizes(page.items)) * share * 72 / 25.4 >= 5.0, page.title


def _sizes(items: Any) -> list[float]:
    found: list[float] = []
    for item in items:
        found += [item.size_mm] if hasattr(item, "text") else []
        found += _sizes(item.items) if hasattr(item, "items") else []
    return found


def _texts(items: Any) -> list[str]:
    found: list[Any] = []
    for item in items:
        found += (
            [item.text]
            if hasattr(item, "text")
            else _texts(item.items)
            if hasattr(item, "items")
            else []
        )
    return found


def test_meshes_of_parts_have_the_volume_of_their_solids(made: Any) -> None:
    for name in ("base", "shell", "clip", "cap"):
        solid = getattr(made, name)
        assert mesh(solid, name).volume_mm3 == pytest.approx(kernel.volume(solid), rel=2e-3)
        assert np.isfinite(mesh(solid, name).vertices).all()


@pytest.mark.slow
def test_a_cut_that_gets_lost_is_noticed() -> None:
    """An octagon whose opening the kernel once left closed without a word: its cuts only touched
    each other. The volume that a part must have is reckoned from its outlines, so such a part is
    refused.
    """
    design = plan(
        PanelParams(
            sides=8,
            edge=75.0,
            corner_radius=1.0,
            gap=0.8,
            depth=50.0,
            shell=dataclasses.replace(PanelParams().shell, wall=1.35, ledge=3.5),
            board=dataclasses.replace(PanelParams().board, height=22.0, fit=0.6),
        ),
        SHOP,
    )
    solid = shell(design)
    z = (design.heights.corner_top_z + design.heights.ledge_foot_z) / 2
    assert section_area(solid, z) == pytest.approx(
        design.rings.body.area_mm2 - design.rings.rebate.area_mm2, rel=1e-6
    )
    assert section_area(solid, design.heights.ledge_foot_z + 0.01) < 1.1 * (
        design.rings.body.area_mm2 - design.rings.rebate.area_mm2
    )
    with pytest.raises(BrokenGeometry, match="it must have"):
        kernel.one_body(kernel.box(0, 10, 0, 10, 0, 10), "lamp", (100.0, 900.0))
