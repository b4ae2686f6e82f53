"""The pictures: readable by others, the same every time, and true to the figures."""

from __future__ import annotations

import dataclasses
import io
import math
import re
from collections.abc import Callable

import numpy as np
import pytest

from fab.files.pagesvg import page_svg
from fab.files.png import png
from fab.layout.model import Cell, Layout, PlacedPanel
from fab.light.colours import ramp
from fab.light.diagram import ticks
from fab.light.face import Face, face
from fab.light.levels import region
from fab.light.pictures import curve_page, cut_page, face_png, heat_page, lit
from fab.light.png import stamped
from fab.light.solve import depth_curve
from fab.light.wallpicture import EDGE_MM, POINT_MM, wall_png
from fab.outlines.page import Fill, Page, Text
from fab.params.job import LightParams
from fab.parts.plan import Plan

WHITE = 0.8
MAKE = Callable[..., Plan]
Image = pytest.importorskip("PIL.Image")  # a second reader; it comes with the PDF library


def opened(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data)) as picture:
        picture.load()
        return np.asarray(picture)


@pytest.fixture(scope="module")
def shown(make: MAKE) -> tuple[Plan, Face]:
    plan = make()
    return plan, face(plan, WHITE, brightness=0.3)


@pytest.mark.parametrize("shape", [(7, 5), (1, 1), (40, 31, 3)])
def test_png_is_read_back_point_by_point(shape: tuple[int, ...]) -> None:
    pixels = np.random.default_rng(7).integers(0, 256, shape, dtype=np.uint8)
    assert (opened(png(pixels)) == pixels).all()
    assert png(pixels) == png(pixels.copy())


def test_stamp_writes_inside_and_nowhere_else() -> None:
    blank = np.zeros((40, 200), np.uint8)
    marked = stamped(blank, "linear", (10.0, 30.0), 12.0)
    rows, columns = np.nonzero(marked)
    assert blank.max() == 0
    assert marked.max() == 255
    assert (rows.min() >= 16, rows.max() <= 32, columns.min() >= 8) == (True, True, True)
    assert (
        stamped(blank, "linear", (500.0, 30.0), 12.0).max() == 0
    )  # beside the picture: nothing, no error


def test_face_picture_shows_both_exposures_and_says_simulation(shown: tuple[Plan, Face]) -> None:
    plan, one = shown
    made = face_png(plan, one)
    pixels = opened(made.data)
    assert pixels.shape == (made.height, made.width)
    half = made.width // 2
    rows = round((plan.rings.body.box[3] - plan.rings.body.box[1] + 4) * 2)
    linear, eye = (
        pixels[:rows, side].astype(float) / 255 for side in (slice(0, half), slice(half, None))
    )
    bright = (linear > 0.1) & (linear < 1)
    assert eye[bright] == pytest.approx(linear[bright] ** (1 / 2.2), abs=0.02)
    middle = linear[rows // 2 - 3 : rows // 2 + 3, half // 2 - 3 : half // 2 + 3].mean()
    rim = linear[rows // 2, half // 2 + 108]  # 2 mm inside the window, in the middle of edge 0
    assert rim / middle == pytest.approx(one.figures.rim, abs=0.15)
    assert pixels[rows:].max() > 200  # the stamp
    assert "simulation" in made.caption.lower()
    assert face_png(plan, one).data == made.data


@pytest.mark.slow
def test_pages_are_written_and_the_same_twice(shown: tuple[Plan, Face]) -> None:
    plan, one = shown
    curve = depth_curve(plan, WHITE, points=5)
    for page in (heat_page(plan, one), cut_page(plan, one), curve_page(curve, LightParams())):
        data = page_svg(page)
        assert data.startswith(b"<?xml")
        assert b"simulation" in data
    assert page_svg(heat_page(plan, one)) == page_svg(heat_page(plan, one))


def texts(page: Page) -> list[str]:
    return [item.text for item in page.items if isinstance(item, Text)]


def test_heat_map_has_scale_and_numbers(shown: tuple[Plan, Face]) -> None:
    plan, one = shown
    page = heat_page(plan, one)
    words = texts(page)
    assert str(round(one.peak_at_cap_cd_m2)) in words
    assert "0" in words
    numbers = [int(word) for word in words if word.isdigit() and int(word) < 200]
    assert max(numbers) > 100  # per cent of the middle
    assert len({item.colour for item in page.items if isinstance(item, Fill)}) >= 10
    words_at = [(item.x, item.y) for item in page.items if isinstance(item, Text)]
    assert all(0 <= x <= page.width and 0 <= y <= page.height for x, y in words_at)


def test_the_ramp_gets_lighter_all_the_way() -> None:
    """Told apart without colour: lightness alone rises (relative luminance, IEC 61966-2-1
    weights).
    """
    shades = []
    for k in range(21):
        red, green, blue = (int(ramp(k / 20)[i : i + 2], 16) for i in (1, 3, 5))
        shades.append(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    assert shades == sorted(shades)
    assert shades[-1] - shades[0] > 150


def test_region_is_the_disc_it_should_be() -> None:
    x = np.linspace(-10, 10, 101)
    values = 10 - np.hypot(*np.meshgrid(x, x))
    (loop,) = region(x, x, values, 4.0)
    assert loop.area_mm2 == pytest.approx(math.pi * 36, rel=2e-3)
    ring = region(x, x, -np.abs(values - 4.0), -1.0)  # radius 5 to 7: an island and a hole in it
    assert sorted(round(part.area_mm2 / math.pi) for part in ring) == [-25, 49]
    (all_of_it,) = region(x, x, values * 0 + 1, 0.5)
    assert all_of_it.area_mm2 == pytest.approx(400, rel=1e-3)
    assert region(x, x, values, 99.0) == ()


def test_saddles_close() -> None:
    """A chequered field: every loop closes and the areas inside and outside add up."""
    x = np.linspace(0, 3 * math.pi, 61)
    values = np.outer(np.sin(x), np.sin(x))
    inside = sum(loop.area_mm2 for loop in region(x, x, values, 0.0))
    assert inside == pytest.approx((3 * math.pi) ** 2 * 5 / 9, rel=0.02)
    rng = np.random.default_rng(3)
    noise = rng.normal(size=(25, 25))
    nodes = np.arange(25.0)
    assert sum(loop.area_mm2 for loop in region(nodes, nodes, noise, 0.0)) > 0


def test_ticks_are_round_and_inside() -> None:
    assert ticks(0.0, 0.6) == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    assert ticks(-58.0, 58.0) == [-40.0, -20.0, 0.0, 20.0, 40.0]
    assert ticks(28.5, 51.05) == [30.0, 35.0, 40.0, 45.0, 50.0]


def test_lit_is_the_grid_at_its_nodes_and_dark_outside(shown: tuple[Plan, Face]) -> None:
    _, one = shown
    x, y = one.grid.columns_x[[3, 100]], one.grid.rows_y[[40, 130]]
    assert lit(one, x, y) == pytest.approx(one.grid.values[np.ix_([40, 130], [3, 100])])
    assert lit(one, np.array([500.0]), np.array([0.0]))[0, 0] < 1e-3


def placed(name: str, plan: Plan, x: float, y: float, turn_deg: float) -> PlacedPanel:
    return PlacedPanel(name, "panel", Cell(plan.cell.sides, plan.cell.apothem), x, y, turn_deg)


def spot(from_edge_mm: float) -> int:
    """The picture's row or column of a place, mm from the left or upper edge of the layout."""
    return round((from_edge_mm + EDGE_MM) / POINT_MM - 0.5)


def test_a_point_of_the_wall_is_what_an_eye_can_tell_apart_at_three_metres(make: MAKE) -> None:
    """One minute of arc (Landolt ring of acuity 1.0, ISO 8596): 0.873 mm; the picture shows no less
    and no more.
    """
    assert math.degrees(math.atan(POINT_MM / 3000)) * 60 == pytest.approx(1.0)
    plan = make()
    layout = Layout((placed("A", plan, 0.0, 0.0, 0.0),), (), (), (("A",),))
    made = wall_png(layout, {"panel": plan}, {"panel": face(plan, WHITE)})
    x0, _, x1, _ = layout.box
    assert made.width * POINT_MM == pytest.approx(x1 - x0 + 2 * EDGE_MM, abs=POINT_MM)
    assert "three metres" in made.caption
    away = float(re.search(r"at (\d+) mm from the eye", made.caption)[1])
    assert away / 170 == pytest.approx(3000 / (x1 - x0 + 2 * EDGE_MM), rel=0.01)  # the same angle
    assert "rim and corners included: 0.53" in made.says


@pytest.mark.slow
def test_the_wall_shows_each_panel_where_and_how_it_hangs(make: MAKE) -> None:
    """A lopsided LED: its bright spot sits where the panel's place and turn put it."""
    plan = make(led={"at": ((35.0, 0.0),)})
    one = face(plan, WHITE)
    panels = (placed("A", plan, 0.0, 0.0, 0.0), placed("B", plan, 240.0, 0.0, 90.0))
    made = wall_png(Layout(panels, (), (), (("A",), ("B",))), {"panel": plan}, {"panel": one})
    pixels = opened(made.data).astype(float)
    x0, _, _, y1 = Layout(panels, (), (), ()).box
    for x, y in ((35.0, 0.0), (240.0, 35.0)):
        column, row = spot(x - x0), spot(y1 - y)
        assert pixels[row, column] > 250
    opposite = pixels[spot(y1 + 35), spot(240 - x0)]
    assert opposite < 130
    assert "simulation" in made.caption.lower()


@pytest.mark.slow
def test_a_dimmer_design_is_dimmer_on_the_wall(make: MAKE) -> None:
    """One exposure for the whole wall: half the light is (1/2)^(1/2.2) of the grey."""
    plan = make()
    bright, dim = face(plan, WHITE), face(plan, WHITE, brightness=0.5)
    panels = (
        placed("A", plan, 0.0, 0.0, 0.0),
        dataclasses.replace(placed("B", plan, 120.0, 0.0, 0.0), design="dim"),
    )
    layout = Layout(panels, (), (), (("A", "B"),))
    pixels = opened(
        wall_png(layout, {"panel": plan, "dim": plan}, {"panel": bright, "dim": dim}).data
    )
    x0, _, _, y1 = layout.box
    a, b = (float(pixels[spot(y1), spot(x - x0)]) for x in (0.0, 120.0))
    assert b / a == pytest.approx(0.5 ** (1 / 2.2), abs=0.02)
