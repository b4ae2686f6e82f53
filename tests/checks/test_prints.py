"""Print checks on meshes whose answers are known by construction, and on the real parts (common
practice limits).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fab.checks import measure, overhang, prints
from fab.params.shop import Printer
from fab.solids.cuts import area_of, cut_at, loops_of
from fab.solids.mesh import Mesh
from fab.solids.meshing import is_closed

from .shapes import boxes, prism

PRINTER = Printer()
# two legs, a plate: a 20 mm bridge
TABLE = (
    (0, 10, 0, 30, 0, 20),
    (0, 40, 0, 30, 20, 24),
    (30, 40, 0, 30, 0, 20),
)
T_BEAM = ((10, 20, 0, 30, 0, 20), (0, 30, 0, 30, 20, 24))  # two wings of 10 mm
# a block that hangs from a plate
FLOATING = (
    (0, 10, 0, 10, 0, 10),
    (20, 30, 0, 10, 5, 10),
    (0, 30, 0, 10, 10, 12),
)


def verdicts(mesh: Mesh, printer: Printer = PRINTER) -> dict[str, tuple[str, float]]:
    return {v.id: (v.verdict, v.measured) for v in prints.checks("thing", mesh, printer)}


def test_the_helpers_make_closed_meshes() -> None:
    for parts in (TABLE, T_BEAM, FLOATING):
        assert is_closed(boxes(*parts))
    assert boxes(*TABLE).volume_mm3 == pytest.approx(2 * 10 * 30 * 20 + 40 * 30 * 4)
    assert prism([(0, 0), (10, 0), (20, 10), (0, 10)], 0, 5).volume_mm3 == pytest.approx(150 * 5)


def test_a_bridge_is_as_long_as_its_span() -> None:
    found = verdicts(boxes(*TABLE))
    assert found["print.bridge"] == ("fail", pytest.approx(20.0, abs=0.01))
    assert found["print.overhang"][0] == "pass"
    assert verdicts(boxes(*TABLE), Printer(bridge=20.5))["print.bridge"][0] == "pass"


def test_a_square_hole_in_a_plate_is_bridged_the_short_way() -> None:
    tray = boxes(
        (0, 40, 0, 10, 0, 8),
        (0, 40, 20, 30, 0, 8),
        (0, 5, 0, 30, 0, 8),
        (35, 40, 0, 30, 0, 8),
        (0, 40, 0, 30, 8, 10),
    )
    assert verdicts(tray)["print.bridge"] == ("pass", pytest.approx(10.0, abs=0.01))


def test_wings_hang_out() -> None:
    found = verdicts(boxes(*T_BEAM))
    assert found["print.overhang"][0] == "fail"
    assert found["print.overhang"][1] == pytest.approx(
        10.0, abs=1.0
    )  # spots lie up to 1.5 mm apart
    assert found["print.bridge"] == ("pass", 0.0)


def test_a_small_step_prints() -> None:
    assert (
        verdicts(boxes((0.4, 20, 0, 20, 0, 5), (0, 20, 0, 20, 5, 10)))["print.overhang"][0]
        == "pass"
    )
    assert (
        verdicts(boxes((1.0, 20, 0, 20, 0, 5), (0, 20, 0, 20, 5, 10)))["print.overhang"][0]
        == "fail"
    )


def test_what_starts_in_the_air_is_told_with_its_place() -> None:
    told = next(
        v for v in prints.checks("thing", boxes(*FLOATING), PRINTER) if v.id == "print.overhang"
    )
    assert told.verdict == "fail"
    assert "in the air" in told.says
    assert "z 5" in told.says


def test_an_edge_that_starts_in_the_air_is_found() -> None:
    """A roof turned over: no flat to find, only its lowest edge."""
    block, keel = boxes((0, 10, 0, 10, 0, 10)), prism([(25, 5), (30, 10), (20, 10)], 0, 10)
    both = Mesh(
        np.concatenate([block.vertices, keel.vertices]),
        np.concatenate([block.triangles, keel.triangles + len(block.vertices)]),
    )
    assert overhang.in_the_air(both) == [(25.0, 0.0, 5.0)]
    assert overhang.in_the_air(block) == []


@pytest.mark.parametrize(
    ("lean", "word"), [(30.0, "pass"), (45.0, "pass"), (47.0, "fail"), (60.0, "fail")]
)
def test_a_leaning_face_up_to_the_printer_s_angle(lean: float, word: str) -> None:
    """45 degrees from upright is the usual limit (FDM design rules)."""
    out = 10 * math.tan(math.radians(lean))
    assert (
        verdicts(prism([(0, 0), (10, 0), (10 + out, 10), (0, 10)], 0, 12))["print.overhang"][0]
        == word
    )


def test_a_bump_that_rises_from_a_floor_is_carried_there() -> None:
    """A half round lying on a step: its underside starts on the step, not in the air."""
    block = boxes((0, 10, 0, 10, 0, 2), (5, 10, 0, 10, 2, 6))
    found = verdicts(block)
    assert found["print.overhang"][0] == "pass"
    # leans out 53 degrees over its own step
    ramp = prism([(0, 0), (20, 0), (20, 2), (10, 2), (14, 5), (0, 5)], 0, 10)
    assert verdicts(ramp)["print.overhang"] == ("fail", pytest.approx(4.0, abs=0.7))


def test_walls_and_gaps() -> None:
    slotted = boxes((0, 20, 0, 20, 0, 2), (0, 20, 0, 9.7, 2, 10), (0, 20, 10, 20, 2, 10))
    assert verdicts(slotted)["print.opening"] == ("warn", pytest.approx(0.3))
    assert verdicts(slotted)["print.feature"][0] == "pass"
    fin = boxes((0, 20, 0, 20, 0, 2), (0, 20, 9, 9.3, 2, 10))
    assert verdicts(fin)["print.feature"] == ("fail", pytest.approx(0.3))
    assert verdicts(boxes((0, 20, 0, 20, 0, 5)))["print.feature"] == ("pass", measure.FAR)


def test_a_corner_is_no_wall() -> None:
    """The flanks of a sharp corner come near each other; that is not a thin wall."""
    wedge = prism([(0, 0), (20, 0), (20, 5), (0, 5)], 0, 20)
    assert measure.thinnest(cut_at(wedge, 2.0))[0][0] == measure.FAR


def test_tipping_and_contact() -> None:
    tower = boxes((0, 4, 0, 4, 0, 40))
    found = verdicts(tower)
    assert found["print.tipping"] == ("warn", pytest.approx(10.0))
    assert found["print.contact"] == ("warn", pytest.approx(16.0))
    assert verdicts(boxes((0, 30, 0, 30, 0, 40)))["print.tipping"][0] == "pass"


def test_bed_and_height() -> None:
    plate = boxes((0, 213, 0, 100, 0, 3))
    assert verdicts(plate)["print.bed"] == ("fail", pytest.approx(-1.0))
    assert verdicts(boxes((0, 100, 0, 212, 0, 3)))["print.bed"] == ("pass", pytest.approx(0.0))
    assert (
        verdicts(plate, Printer(bed=(120.0, 230.0)))["print.bed"][0] == "pass"
    )  # turned by a quarter
    assert verdicts(boxes((0, 20, 0, 20, 0, 250)))["print.height"][0] == "fail"
    assert verdicts(boxes((0, 20, 0, 20, 1, 5)))["print.on-bed"] == ("fail", pytest.approx(1.0))


def test_the_foot_is_relieved_or_told() -> None:
    sharp = boxes((0, 20, 0, 20, 0, 5))
    assert verdicts(sharp)["print.foot"] == ("warn", 0.0)
    relieved = prism([(0.3, 0), (19.7, 0), (20, 0.3), (20, 5), (0, 5), (0, 0.3)], 0, 20)
    assert verdicts(relieved)["print.foot"][1] == pytest.approx(0.5, abs=0.02)  # two of four sides


def test_a_cut_has_the_area_of_the_solid_there() -> None:
    mesh = boxes(*TABLE)
    assert area_of(cut_at(mesh, 10.0)) == pytest.approx(600.0)
    assert area_of(cut_at(mesh, 22.0)) == pytest.approx(1200.0)
    assert len(loops_of(cut_at(mesh, 10.0))) == 2
    assert area_of(cut_at(mesh, 20.0)) == pytest.approx(1200.0)  # on a flat: a hair above it


def test_hull() -> None:
    points = np.array([(0, 0), (4, 0), (4, 3), (0, 3), (2, 1), (4, 1)], float)
    assert measure.hull(points).tolist() == [[0, 0], [4, 0], [4, 3], [0, 3]]
    assert measure.least_width(measure.hull(points)) == pytest.approx(3.0)
