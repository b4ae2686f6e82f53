"""Layout: lattices against closed forms, joints, open edges, names, overlaps and refusals."""

from __future__ import annotations

import itertools
import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.layout.find import find_layout
from fab.layout.groups import Parts
from fab.layout.joint_table import joint_table
from fab.layout.model import Cell
from fab.layout.subset import part_of
from fab.params.job import LayoutParams, PlacedParams

D = 100.0
HEX = Cell(6, D / 2)
SQUARE = Cell(4, D / 2)
TRIANGLE = Cell(3, D / 2 / math.tan(math.pi / 3))  # edge 100
HEX_EDGE = Cell(6, 45.0 / math.tan(math.pi / 6))  # edge 90


def lay(cell: Cell, **values: object) -> Any:
    return find_layout(LayoutParams(**values), lambda name: cell)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("cell", "distance", "joints"),
    [
        (HEX, D, 7 * 6 * 2 + 6 * 6),
        (SQUARE, D, 7 * 6 * 2),
        (TRIANGLE, D / math.sqrt(3), 7 * 6 + 3 * (3 + 4)),
    ],
)
def test_neighbours_stand_at_the_lattice_distance(cell: Cell, distance: float, joints: int) -> None:
    """Neighbour spacing: hexagon across flats, square its side, triangle side / sqrt 3.

    Source: elementary geometry. Joints of 7 x 7 cells, by hand: along the rows, across them (every
    second triangle alone), and for hexagons along the second diagonal.
    """
    cells = tuple(itertools.product(range(-3, 4), repeat=2))
    layout = lay(cell, cells=cells)
    assert len(layout.joints) == joints
    for joint in layout.joints:
        a, b = layout.by_name[joint.a], layout.by_name[joint.b]
        assert math.dist((a.x, a.y), (b.x, b.y)) == pytest.approx(distance, abs=1e-9)


@pytest.mark.parametrize(
    ("at", "place", "away"),
    [((2, -1), (150.0, -86.6025404), 173.2050808), ((3, -2), None, 264.5751311)],
)
def test_axial_cells_of_hexagons(
    at: tuple[int, int], place: tuple[float, float] | None, away: float
) -> None:
    """x = d (q + r/2), y = d sqrt(3)/2 r, distance d sqrt(q2 + qr + r2).

    Source: published hex-grid guides.
    """
    layout = lay(HEX, cells=((0, 0), at), groups="separate")
    far = next(panel for panel in layout.panels if panel.lattice == at)
    assert math.hypot(far.x, far.y) == pytest.approx(away, abs=1e-6)
    if place:
        assert (far.x, far.y) == pytest.approx(place, abs=1e-6)


@pytest.mark.parametrize("rings", range(5))
def test_rings_of_hexagons_close(rings: int) -> None:
    """1 + 3k(k+1) cells in k rings (centred hexagonal numbers); joints of that disc: 3 k (3
    k + 1).
    """
    cells = tuple(
        (q, r)
        for q in range(-rings, rings + 1)
        for r in range(-rings, rings + 1)
        if abs(q + r) <= rings
    )
    layout = lay(HEX, cells=cells)
    assert len(layout.panels) == 1 + 3 * rings * (rings + 1)
    assert len(layout.joints) == 3 * rings * (3 * rings + 1)
    assert 2 * len(layout.joints) + len(layout.open_edges) == 6 * len(layout.panels)


@given(
    st.sampled_from([HEX, SQUARE, TRIANGLE]),
    st.integers(0, 2**31),
    st.floats(-360, 360),
    st.integers(2, 25),
)
@settings(max_examples=60, deadline=None)
def test_edges_are_joined_or_open_in_any_turn(
    cell: Cell, seed: int, turn_deg: float, count: int
) -> None:
    pick = random.Random(seed)
    cells = tuple({(pick.randrange(-3, 4), pick.randrange(-3, 4)) for _ in range(count)})
    straight = lay(cell, cells=cells, groups="separate")
    turned = lay(cell, cells=cells, groups="separate", turn_deg=turn_deg)
    edges = sum(panel.cell.sides for panel in straight.panels)
    assert 2 * len(straight.joints) + len(straight.open_edges) == edges
    assert len(turned.joints) == len(straight.joints)
    assert len(turned.groups) == len(straight.groups)
    for joint in turned.joints:  # the two middles are one point and the edges run opposite ways
        a, b = turned.by_name[joint.a], turned.by_name[joint.b]
        assert math.dist(a.edge_middle(joint.edge_a), b.edge_middle(joint.edge_b)) < 1e-6
        assert (a.normal_deg(joint.edge_a) - b.normal_deg(joint.edge_b)) % 360 == pytest.approx(
            180, abs=1e-6
        )


def test_names_follow_reading_order_and_skip_given_ones() -> None:
    layout = find_layout(
        LayoutParams(
            panel=(
                PlacedParams(cell=(0, 0)),
                PlacedParams(cell=(1, 0), name="A"),
                PlacedParams(cell=(0, 1)),
            )
        ),
        lambda name: SQUARE,
    )
    assert [(panel.name, panel.lattice) for panel in layout.panels] == [
        ("B", (0, 1)),
        ("C", (0, 0)),
        ("A", (1, 0)),
    ]


def test_names_go_on_after_z() -> None:
    names = [panel.name for panel in lay(SQUARE, cells=tuple((k, 0) for k in range(54))).panels]
    assert names[25:28] + names[51:] == ["Z", "AA", "AB", "AZ", "BA", "BB"]


def test_a_row_that_rises_a_little_is_read_from_the_left() -> None:
    """At 5 degrees the right one of two stands 8.7 mm higher, and is B all the same; at 10
    17.4 mm, over an eighth of their height, so the higher one is A.
    """
    cells = ((0, 0), (1, 0))
    for turn_deg, names in ((5.0, "AB"), (7.0, "AB"), (7.3, "BA"), (10.0, "BA"), (60.0, "BA")):
        layout = lay(SQUARE, cells=cells, turn_deg=turn_deg)
        assert {panel.lattice: panel.name for panel in layout.panels} == dict(
            zip(cells, names, strict=True)
        )


def test_three_shapes_mix_edge_to_edge() -> None:
    shapes = {"": HEX_EDGE, "sq": Cell(4, 45.0), "tri": Cell(3, 45.0 / math.tan(math.pi / 3))}
    layout = find_layout(
        LayoutParams(
            panel=(
                PlacedParams(name="H", cell=(0, 0)),
                PlacedParams(name="S", design="sq", on="H", edge=1, own_edge=3),
                PlacedParams(name="T", design="tri", on="S", edge=2),
            )
        ),
        lambda name: shapes[name],
    )
    assert len(layout.joints) == 2
    assert {(joint.a, joint.b) for joint in layout.joints} == {("T", "S"), ("S", "H")}
    joint = next(joint for joint in layout.joints if "H" in (joint.a, joint.b))
    edges = {joint.a: joint.edge_a, joint.b: joint.edge_b}
    assert edges == {"H": 1, "S": 3}
    assert {panel.name: panel.design for panel in layout.panels} == {
        "H": "panel",
        "S": "sq",
        "T": "tri",
    }


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"cells": ()}, "no panel"),
        ({"cells": ((0, 0), (3, 0))}, "2 pieces"),
        (
            {"cells": (*((k, 0) for k in range(7)), *((3 * k, 9) for k in range(5)))},
            r"6 pieces that do not touch: A; B; C; D; E\.",
        ),
        (
            {"cells": (*((k, 9) for k in range(7)), *((k, 0) for k in range(6)))},
            "touch: A, B, C, D, E, F ...; H, I, J, K, L, M",
        ),
        ({"cells": ((0, 0), (0, 0))}, "A and B are in the same place"),
        (
            {"panel": (PlacedParams(name="A", cell=(0, 0)), PlacedParams(name="A", cell=(1, 0)))},
            "given twice",
        ),
        (
            {"panel": (PlacedParams(name="A", cell=(0, 0)), PlacedParams(on="X"))},
            'unknown panel "X"',
        ),
        (
            {"panel": (PlacedParams(name="A", cell=(0, 0)), PlacedParams(on="A", edge=7))},
            "edges 0 to 5",
        ),
        (
            {"panel": (PlacedParams(name="A", cell=(0, 0)), PlacedParams(on="A", own_edge=9))},
            "edges 0 to 5",
        ),
        ({"panel": (PlacedParams(name="A"),)}, "has no position"),
        (
            {"panel": (PlacedParams(name="A", cell=(0, 0)), PlacedParams(on="A", cell=(1, 0)))},
            "both a cell and `on`",
        ),
        (
            {"panel": (PlacedParams(name="A", on="B"), PlacedParams(name="B", on="A"))},
            "every panel sits on another panel",
        ),
    ],
)
def test_refusals_name_the_panels(values: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        lay(HEX, **values)


def test_overlap_of_attached_panels_is_named_with_its_depth() -> None:
    """Octagons on two neighbouring edges of a hexagon: 120 + 2 x 135 degrees at the corner is over
    360.
    """
    with pytest.raises(InputError, match=r"panels [PQ] and [PQ] overlap by \d"):
        find_layout(
            LayoutParams(
                panel=(
                    PlacedParams(name="H", cell=(0, 0)),
                    PlacedParams(name="P", design="eight", on="H", edge=0),
                    PlacedParams(name="Q", design="eight", on="H", edge=1),
                )
            ),
            lambda name: (
                Cell(8, HEX_EDGE.edge / 2 / math.tan(math.pi / 8)) if name == "eight" else HEX_EDGE
            ),
        )


def test_edges_of_other_length_do_not_mate() -> None:
    with pytest.raises(InputError, match="one length"):
        find_layout(
            LayoutParams(
                panel=(PlacedParams(name="S", cell=(0, 0)), PlacedParams(design="big", on="S"))
            ),
            lambda name: Cell(4, 60.0) if name == "big" else SQUARE,
        )


@pytest.mark.parametrize(("longer", "joints"), [(5e-7, 1), (-5e-7, 1), (2e-6, None), (-2e-6, None)])
def test_lengths_within_a_millionth_are_one(longer: float, joints: int | None) -> None:
    def mixed() -> Any:
        return find_layout(
            LayoutParams(
                panel=(PlacedParams(name="S", cell=(0, 0)), PlacedParams(design="other", on="S"))
            ),
            lambda name: Cell(4, 50.0 * (1 + longer)) if name == "other" else SQUARE,
        )

    if joints is None:
        with pytest.raises(InputError, match="one length"):
            mixed()
    else:
        assert len(mixed().joints) == joints


def test_shapes_without_a_lattice_are_told_so() -> None:
    with pytest.raises(InputError, match="5 sides does not fill a lattice"):
        lay(Cell(5, 50.0), cells=((0, 0),))


def test_a_wall_of_panels_on_panels_is_told_at_the_first_of_them() -> None:
    ring = (PlacedParams(name="A", on="B"), PlacedParams(name="B", on="A"))
    with pytest.raises(InputError) as caught:
        lay(HEX, panel=ring)
    assert caught.value.faults[0].key == "layout.panel[0]"


def test_what_a_panel_may_sit_on_is_listed() -> None:
    """All that have a name, sorted, twelve at the most; else that none has."""
    cells = [PlacedParams(name=name, cell=(k, 0)) for k, name in enumerate("NMLKJIHGFEDCB")]
    with pytest.raises(InputError, match=r'panel "X".* B, C, D, E, F, G, H, I, J, K, L, M\.'):
        lay(HEX, panel=(*cells, PlacedParams(on="X")))
    with pytest.raises(InputError, match="Named panels: none; give the other panel a name"):
        lay(HEX, panel=(PlacedParams(cell=(0, 0)), PlacedParams(on="X")))


@pytest.mark.parametrize("cell", [HEX, SQUARE, TRIANGLE])
def test_an_edge_runs_from_its_own_corner_to_the_next_one(cell: Cell) -> None:
    """Its middle halfway between them, square to it the centre, its length the cell's edge."""
    panel, _ = lay(cell, cells=((0, 0), (1, 0)), turn_deg=17.0).panels
    corners = panel.corners
    for k, start in enumerate(corners):
        end = corners[(k + 1) % cell.sides]
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        assert middle == pytest.approx(panel.edge_middle(k))
        assert math.dist(start, end) == pytest.approx(cell.edge)
        assert math.dist(middle, (panel.x, panel.y)) == pytest.approx(cell.apothem)


def test_triangles_with_an_even_sum_point_up() -> None:
    layout = lay(TRIANGLE, cells=((0, 0), (1, 0)))
    for panel in layout.panels:
        ys = sorted(round(y, 6) for _, y in panel.corners)
        assert (ys[0] == ys[1]) is (sum(panel.lattice or (1,)) % 2 == 0)  # two corners at the foot


def test_a_part_of_a_layout_keeps_the_joints_inside_it() -> None:
    part = part_of(lay(SQUARE, cells=((0, 0), (1, 0), (2, 0))), "AB")
    assert [(joint.a, joint.b) for joint in part.joints] == [("A", "B")]
    assert len(part.open_edges) == 6
    assert part.groups == (("A", "B"),)


def test_joining_two_things_of_one_part_joins_nothing() -> None:
    parts = Parts(3)
    assert [parts.join(0, 1), parts.join(1, 0), parts.join(2, 1)] == [True, False, True]


def test_jumpers_are_numbered_from_one_and_blank_covers_have_none() -> None:
    layout = lay(SQUARE, cells=((0, 0), (1, 0), (2, 0), (3, 0)))
    zones = dict.fromkeys("ABC", 1)
    table = joint_table(layout, {}, (0, 1), zones, blank=("D",))
    assert [(row.kind, row.step, row.supply) for row in table.rows] == [
        ("jumper", 1, True),
        ("jumper", 2, True),
        ("none", 0, False),
    ]
    assert (table.jumpers, table.joined, table.without) == ((0, 1), (0, 1), ())
    assert joint_table(layout, {}, (0,), zones, blank=("D",)).without == (1,)
