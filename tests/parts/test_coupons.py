"""Coupons: every printed piece one body that prints, every stated gap there on the solids, the kerf
found again.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from fab.errors import CheckFailed, InputError
from fab.outlines.facets import to_shapely
from fab.outlines.kerf import grown
from fab.params.panel import PanelParams
from fab.params.shop import Laser, Printer, Shop, Stock
from fab.parts.cap import cap_in_place
from fab.parts.clip import clip_in_place
from fab.parts.coupons import fit, howto, reading
from fab.parts.coupons.bed import POST, bed_coupon, bed_size
from fab.parts.coupons.kerf import kerf_coupon, kerf_size
from fab.parts.coupons.model import FIT_STEPS, PRESS_STEPS, SNAP_STEPS, written
from fab.parts.coupons.seat import seat_openings, seat_square
from fab.parts.coupons.snap import pocket_piece, with_snap
from fab.parts.planning import plan
from fab.solids import kernel
from fab.solids.meshing import is_closed, mesh
from tests.sections import section_area

SHOP = Shop(stock={"opal-3": Stock()})


@pytest.fixture(scope="module")
def usual() -> Any:
    return plan(PanelParams(across_flats=120.0), SHOP)


def near(solid: Any, at: Any) -> Any:
    """The piece around one hole, numbers left out: distances are asked of few faces."""
    x, y = at
    return solid.intersect(kernel.box(x - 9.0, x + 9.0, y - 9.0, y + 9.0, 0.5, fit.DEEP - 0.1))


def prints_well(solid: Any, name: str, printer: Printer) -> None:
    net = mesh(solid, name)
    assert solid.isValid()
    assert len(solid.Solids()) == 1
    assert is_closed(net)
    assert net.volume_mm3 == pytest.approx(kernel.volume(solid), rel=1e-3)
    low, high = net.box
    assert low[2] == pytest.approx(0.0, abs=1e-6)
    assert high[0] - low[0] < printer.bed[0] - 2 * printer.bed_margin
    assert high[1] - low[1] < printer.bed[1] - 2 * printer.bed_margin


@pytest.mark.slow
@pytest.mark.kernel
def test_the_peg_has_the_stated_gap_in_its_slots(usual: Any) -> None:
    block, peg = fit.slots(usual.printer), kernel.tilted(fit.peg(usual.printer), "x", 180.0)
    prints_well(block, "fit-slots", usual.printer)
    assert kernel.box_of(block)[5] == pytest.approx(
        fit.DEEP + 3 * usual.printer.layer
    )  # numbers: three layers
    prints_well(fit.peg(usual.printer), "fit-peg", usual.printer)
    places = fit.slot_places(usual.printer)
    assert tuple(places) == FIT_STEPS == (5, 10, 15, 20, 25, 30, 35, 40, 45, 50)
    for step in (5, 50):
        # the grip hangs 2 mm over the block, clear of numbers and face: what is near is the slot
        hung = kernel.moved(peg, *places[step], fit.DEEP + 2.0 + fit.GRIP)
        hole = near(block, places[step])
        assert kernel.overlap_mm3(hole, hung) == 0.0
        assert kernel.distance_mm(hole, hung) == pytest.approx(step / 100, abs=0.001)


@pytest.mark.slow
@pytest.mark.kernel
def test_the_ring_has_the_stated_gap_and_the_real_walls(usual: Any) -> None:
    comb, flat = fit.laps(usual), fit.ring(usual)
    ring = kernel.tilted(flat, "x", 180.0)
    prints_well(comb, "fit-laps", usual.printer)
    prints_well(flat, "fit-ring", usual.printer)
    places = fit.lap_places(usual)
    for step in (5, 50):
        hung = kernel.moved(ring, *places[step], fit.DEEP + 2.0 + 2 * fit.FLANGE)
        hole = near(comb, places[step])
        assert kernel.overlap_mm3(hole, hung) == 0.0
        assert kernel.distance_mm(hole, hung) == pytest.approx(step / 100, abs=0.001)
    # walls between neighbours are the shell's: middles apart by two half openings and one wall
    assert places[10][0] - places[5][0] == pytest.approx(
        fit.LAP + 0.05 + 0.10 + usual.params.shell.wall
    )
    # half way up, the ring's section is that of four base walls
    side, wall = fit.LAP, usual.params.base.wall
    corner = (4 - math.pi) * (fit.LAP_RADIUS**2 - (fit.LAP_RADIUS - wall) ** 2)
    area = section_area(flat, 2 * fit.FLANGE + 3.0)
    assert area == pytest.approx(side**2 - (side - 2 * wall) ** 2 - corner, rel=1e-6)


@pytest.mark.slow
@pytest.mark.kernel
def test_the_square_of_the_sheet_has_the_stated_gap_in_its_openings(usual: Any) -> None:
    square, openings = seat_square(usual), seat_openings(usual).solid
    assert square.compensated
    plate = kernel.prism(square.pieces[0].outline, 0.0, usual.stock.thickness)
    for step, at in fit.lap_places(usual).items():
        if step in (5, 50):
            laid = kernel.moved(plate, at[0] - square.width / 2, at[1] - square.height / 2, 1.5)
            hole = near(openings, at)
            assert kernel.distance_mm(hole, laid) == pytest.approx(step / 100, abs=0.001)
            assert kernel.overlap_mm3(hole, laid) == 0.0


@pytest.mark.slow
@pytest.mark.kernel
def test_caps_squeeze_as_much_as_their_numbers_say(usual: Any) -> None:
    """Ribs reach past the window by the number a side, and nothing else of cap or tab meets the
    base.
    """
    edge = fit.edge_piece(usual)
    prints_well(edge, "fit-edge", usual.printer)
    shift = fit.edge_reach(usual) - usual.cell.apothem
    squeezed = {}
    for step in PRESS_STEPS:
        piece = fit.numbered_cap(usual, step)
        if step == PRESS_STEPS[-1]:
            prints_well(piece, f"fit-cap {step}", usual.printer)
        upright = kernel.moved(
            kernel.tilted(piece, "y", -90.0),
            usual.cell.apothem - usual.params.gap / 2,
            0.0,
            usual.heights.axis_z,
        )
        inside = kernel.moved(upright, shift, 0.0, 0.0)
        squeezed[step] = kernel.overlap_mm3(edge, inside)
        if step == PRESS_STEPS[-1]:
            real = kernel.moved(cap_in_place(fit.with_press(usual, step)), shift, 0.0, 0.0)
            assert squeezed[step] == pytest.approx(kernel.overlap_mm3(edge, real), abs=1e-3)
    assert squeezed[5] == squeezed[0] == 0.0
    assert 0.0 < squeezed[-5] < squeezed[-10] < squeezed[-15]


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.parametrize(
    "step", [SNAP_STEPS[0], pytest.param(SNAP_STEPS[-1], marks=pytest.mark.slow)]
)
def test_the_clip_snaps_into_two_pieces_with_the_stated_gap(usual: Any, step: Any) -> None:
    piece = pocket_piece(usual, step)
    prints_well(piece, f"snap {step}", usual.printer)
    from fab.parts.clip import clip

    one = kernel.moved(piece, -fit.edge_reach(with_snap(usual, step)), 0.0, 0.0)
    other = kernel.turned(one, 180.0)
    bridge = kernel.moved(
        clip_in_place(usual, clip(usual), usual.clip.offset),
        -usual.cell.apothem,
        -usual.clip.offset,
        0.0,
    )
    assert kernel.overlap_mm3(one, other) == 0.0
    assert kernel.distance_mm(one, other) == pytest.approx(usual.params.gap, abs=1e-6)
    for side in (one, other):
        assert kernel.overlap_mm3(side, bridge) == 0.0
    # towards the inside of the panel a leg may go by the number, and no further
    assert kernel.overlap_mm3(one, kernel.moved(bridge, -step / 100 + 0.005, 0.0, 0.0)) == 0.0
    assert kernel.overlap_mm3(one, kernel.moved(bridge, -step / 100 - 0.02, 0.0, 0.0)) > 0.0


@pytest.mark.slow
@pytest.mark.kernel
def test_the_posts_of_the_bed_coupon_stand_where_it_says() -> None:
    printer = Printer()
    piece = bed_coupon(printer)
    prints_well(piece.solid, piece.name, printer)
    top = mesh(piece.solid, piece.name)
    high = top.vertices[:, 2].max()
    corners = top.vertices[abs(top.vertices[:, 2] - high) < 1e-6]
    xs, ys = (
        sorted({round(float(x), 4) for x in corners[:, 0]}),
        sorted({round(float(y), 4) for y in corners[:, 1]}),
    )
    size = bed_size(printer)
    assert (xs[-1] - xs[0], xs[-2] - xs[1]) == pytest.approx((size.x + POST, size.x - POST))
    assert (ys[-1] - ys[0], ys[-2] - ys[1]) == pytest.approx((size.y + POST, size.y - POST))
    assert xs[-1] - xs[0] <= 150.0  # what a common caliper opens to, common practice


def test_the_bed_coupon_shrinks_with_the_bed_and_says_when_there_is_no_room() -> None:
    assert (bed_size(Printer()).x, bed_size(Printer()).y) == (120.0, 120.0)
    assert (bed_size(Printer(bed=(100.0, 200.0))).x, bed_size(Printer(bed=(100.0, 200.0))).y) == (
        80.0,
        120.0,
    )
    with pytest.raises(CheckFailed, match=r"needs a bed of 60 mm each way .* it is \[59, 200\]"):
        bed_size(Printer(bed=(59.0, 200.0)))
    assert bed_size(Printer(bed=(60.0, 200.0))).x == 40.0


@pytest.mark.kernel
def test_numbers_stand_up_and_keep_their_insides_open(usual: Any) -> None:
    from fab.parts.coupons.raised import letters

    assert [written(step) for step in (5, 10, 0, -5, -15)] == ["O5", "1O", "O", "-O5", "-15"]
    ring = letters("O", (0.0, 0.0), usual.printer)[0]
    hole = Polygon([seg.start for seg in ring.holes[0].segments])
    assert hole.buffer(-usual.printer.nozzle).area > 0  # a nozzle goes round inside


def widths(coupon: Any, kerf_mm: float) -> tuple[float, float, float]:
    """Stack of the upright strips, of the lying ones, and a window, as a beam of this width leaves
    them.
    """
    cut = {piece.name: grown(piece.outline, -kerf_mm / 2) for piece in coupon.pieces}
    upright = sum(cut[n].box[2] - cut[n].box[0] for n in cut if n.startswith("upright"))
    lying = sum(cut[n].box[3] - cut[n].box[1] for n in cut if n.startswith("lying"))
    window = cut["plate"].holes[0].box
    return upright, lying, window[2] - window[0]


@given(kerf_mm=st.floats(0.02, 0.5), thickness=st.floats(0.5, 12.0))
@settings(deadline=None, max_examples=25)
def test_a_kerf_is_found_again(kerf_mm: float, thickness: float) -> None:
    """Cut the coupon with a beam of known width (outlines shrunk by half of it), measure, and get
    that width.
    """
    stock = Stock(thickness=thickness)
    size = kerf_size(stock)
    upright, lying, window = widths(kerf_coupon("opal-3", stock, Laser()), kerf_mm)
    found = reading.kerf(
        "opal-3",
        [upright, lying],
        size.strips,
        size.strip_mm,
        windows=[window],
        window_mm=size.window_mm,
    )
    assert found.value == pytest.approx(kerf_mm, abs=0.0006)
    assert found.key == ("stock", "opal-3", "kerf")
    assert found.plus_minus < 0.0021


def test_pieces_of_the_kerf_coupon_lie_apart_and_marks_lie_on_them() -> None:
    laser = Laser(part_gap=3.0)
    coupon = kerf_coupon("opal-3", Stock(), laser)
    shapes = {piece.name: to_shapely(piece.outline) for piece in coupon.pieces}
    assert len(shapes) == 21
    names = list(shapes)
    for k, one in enumerate(names):
        assert box(0, 0, coupon.width, coupon.height).buffer(1e-6).covers(shapes[one])
        assert all(shapes[one].distance(shapes[other]) >= 3.0 - 1e-9 for other in names[k + 1 :])
    for piece in coupon.pieces:
        solid_part = shapes[piece.name].buffer(-1.0)
        assert all(
            solid_part.covers(
                Polygon([*path, path[0]]).boundary if len(path) > 3 else box(*_span(path))
            )
            for path in piece.marks[:1]
        )
        assert all(solid_part.intersects(box(*_span(path))) for path in piece.marks)


def _span(path: Any) -> Any:
    xs, ys = [x for x, _ in path], [y for _, y in path]
    return (min(xs) - 1e-9, min(ys) - 1e-9, max(xs) + 1e-9, max(ys) + 1e-9)


def test_a_kerf_coupon_that_does_not_fit_is_refused() -> None:
    with pytest.raises(
        CheckFailed,
        match=r"kerf coupon of opal-3 is 120 x 78 mm; maximum of the laser's bed: 100 x 100",
    ):
        kerf_coupon("opal-3", Stock(), Laser(bed=(100.0, 100.0)))
    with pytest.raises(
        CheckFailed, match=r"sheet less its margin: 70 x 190 mm .*Cut it from a larger sheet"
    ):
        kerf_coupon("opal-3", Stock(width=80.0, height=200.0), Laser())
    assert (
        kerf_coupon("opal-3", Stock(width=80.0, height=200.0, margin=1.0), Laser()).width == 120.0
    )  # turned


def test_the_uncertainty_of_a_stack() -> None:
    """0.02 mm over ten strips is 0.002 mm; three readings 58.30, 58.32, 58.28: s = 0.02, s / sqrt 3
    = 0.011547.

    Standard error of a mean: textbook formula, worked by hand.
    """
    one = reading.kerf("opal-3", [58.3], 10, 6.0)
    assert (one.value, one.plus_minus) == pytest.approx((0.17, 0.002))
    assert "only one reading" in one.doubts[0]
    three = reading.kerf("opal-3", [58.30, 58.32, 58.28], 10, 6.0)
    assert three.value == pytest.approx(0.17)
    assert three.plus_minus == pytest.approx(math.hypot(0.02, 0.0115470) / 10, rel=1e-5)
    assert three.doubts == ()
    assert reading.kerf("x", [5.83], 1, 6.0).plus_minus == pytest.approx(0.02)


def test_windows_weigh_less_and_a_clash_is_told() -> None:
    """Weights 1 / u^2: 0.002 against 0.02 is 100 to 1."""
    joined = reading.kerf("x", [58.3], 10, 6.0, windows=[10.18], window_mm=10.0)
    assert joined.value == pytest.approx(round((100 * 0.17 + 0.18) / 101, 3))
    clash = reading.kerf("x", [58.3], 10, 6.0, windows=[10.30], window_mm=10.0)
    assert clash.value == pytest.approx(0.17)
    assert any("strips say 0.17 mm, windows 0.3 mm" in doubt for doubt in clash.doubts)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: reading.kerf("x", [60.5], 10, 6.0),
            "measures 60.5 mm, more than the 60 mm of the drawing",
        ),
        (
            lambda: reading.kerf("x", [30.0], 10, 6.0),
            r"kerf of x comes out at 3 mm; stock.x.kerf takes 0 to 2 mm",
        ),
        (lambda: reading.kerf("x", [], 10, 6.0), "no reading of the stack is given"),
        (lambda: reading.kerf("x", [math.nan], 10, 6.0), "a reading of the stack is not a number"),
        (
            lambda: reading.scale("x", [(110.0, 130.0)], 120.0),
            "wrong way round: give outside first",
        ),
        (lambda: reading.scale("x", [(90.0, 70.0)], 120.0), "no printer is so far off"),
        (lambda: reading.clearance("sliding", [-5]), "takes 0 to 2 mm"),
        (lambda: reading.paper("x", [20.0]), "paper.bar_x takes 50 to 150 mm"),
    ],
)
def test_readings_that_can_not_be_are_refused(call: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        call()


def test_a_kerf_that_is_no_lasers_is_doubted() -> None:
    assert any(
        "is a large kerf" in doubt for doubt in reading.kerf("x", [52.0, 52.0], 10, 6.0).doubts
    )


def test_steps_are_hundredths_and_known_to_half_a_step() -> None:
    found = reading.clearance("press", [-5, -10])
    assert found.key == ("printer", "clearance", "press")
    assert found.value == pytest.approx(-0.075)
    assert found.plus_minus == pytest.approx(math.hypot(0.025, 0.025))  # s = 0.03536, over sqrt 2
    assert reading.clearance("sliding", [25]).plus_minus == pytest.approx(0.025)


def test_the_scale_does_not_see_a_wide_line() -> None:
    """Posts 0.2 mm too wide on a printer that is 0.1 % short: outside 130.08, inside 109.68; worked
    by hand.
    """
    found = reading.scale("x", [(130.08, 109.68)], 120.0)
    assert found.key is None
    assert found.value == pytest.approx(120.0 / 119.88)
    assert any("100.1 % of what they are" in line for line in found.says)
    true = reading.scale("y", [(130.21, 109.79)], 120.0)
    assert any("change nothing" in line for line in true.says)


def test_a_paper_bar_keeps_two_decimals() -> None:
    found = reading.paper("y", [97.2, 97.25, 97.2])
    assert found.key == ("paper", "bar_y")
    assert found.value == 97.22
    assert any("dialog scaled" in doubt for doubt in reading.paper("x", [90.0, 90.0]).doubts)


def test_sheets_carry_their_cautions() -> None:
    size = kerf_size(Stock())
    laser = howto.kerf_howto("opal-3", size, "mine.toml").text
    for word in (
        "never PVC",
        "never leave the laser running alone",
        "local codes come first",
        "without kerf compensation",
    ):
        assert word in " ".join(laser.split()), word
    assert "eye protection" in howto.snap_howto("mine.toml").text
    for sheet in (howto.fit_howto("mine.toml"), howto.bed_howto(bed_size(Printer()), "mine.toml")):
        assert "the nozzle and the bed are hot enough to burn" in sheet.text
        assert max(len(line) for line in sheet.text.splitlines()) <= 100
