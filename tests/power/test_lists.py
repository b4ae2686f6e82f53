"""Rows for the lists, cables on the wall, and the plan picture."""

from __future__ import annotations

import csv
import io
import itertools
import json
import math
import re
from dataclasses import replace
from typing import Any

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, get_parts, prepare, union_all

from fab.files.pagesvg import page_svg
from fab.files.table import csv_bytes, json_bytes
from fab.outlines.inks import ink
from fab.outlines.page import Fill, Group, Text
from fab.params.shop import Shop, Stock
from fab.parts.leds import led_grid
from fab.parts.planning import plan
from fab.power.cables import FUSES_A, OFF_MM, cable_runs, fuse_for, wind
from fab.power.cautions import CAUTIONS
from fab.power.loads import loads as loads_of
from fab.power.loads import usb_class
from fab.power.plan_page import CIVIDIS, colour, plan_page
from fab.power.tables import (
    ADDRESS_COLUMNS,
    CABLE_COLUMNS,
    JOINT_COLUMNS,
    WHAT_IF_COLUMNS,
    address_rows,
    cable_rows,
    joint_rows,
    what_if_rows,
)
from fab.power.whatif import what_if
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, random_cells, wall

PANEL = design()
DESIGNS = {"panel": PANEL}


def wired_wall(cells: Any = NINE, power: Any = None, leds: Any = 37, sides: Any = 6) -> Any:
    layout = wall(cells, design(sides))
    power = power or asking()
    return layout, wire(layout, loads(layout, leds), power, {"panel": design(sides)}), power


def test_loads_count_the_leds_of_the_board() -> None:
    """Current at full white is LEDs times `led.full_a`; the controller draws besides."""
    layout = wall(NINE)
    plans = {"panel": plan(PANEL, Shop(stock={"opal-3": Stock()}))}
    found = loads_of(layout, plans)
    leds = len(led_grid(plans["panel"]))
    assert leds > 7
    assert {load.leds for load in found} == {leds}
    assert found[0].at(0.5) == pytest.approx(0.08 + 0.5 * leds * 0.036)
    assert {load.leds for load in loads_of(layout, plans, {"panel": 12})} == {12}


def test_current_classes_of_type_c() -> None:
    """0.5, 0.9, 1.5 and 3 A at 5 V: IEC 63002 clause 4.4 as quoted by its preview."""
    assert [usb_class(a) for a in (0.3, 0.5, 0.6, 1.5, 2.9)] == [0.5, 0.5, 0.9, 1.5, 3.0]
    assert usb_class(3.1) is None


def test_every_column_is_documented_and_every_row_has_it() -> None:
    layout, wired, power = wired_wall()
    runs = cable_runs(layout, wired, power, DESIGNS)
    for columns, rows in (
        (ADDRESS_COLUMNS, address_rows(layout, wired)),
        (JOINT_COLUMNS, joint_rows(layout, wired)),
        (CABLE_COLUMNS, cable_rows(wired, runs)),
        (WHAT_IF_COLUMNS, what_if_rows(what_if(layout, wired, power, DESIGNS))),
    ):
        assert rows
        assert all(list(row) == list(columns) for row in rows)
        assert all(words for words in columns.values())
        read = list(
            csv.DictReader(
                io.StringIO(csv_bytes(list(columns), [tuple(r.values()) for r in rows]).decode())
            )
        )
        assert len(read) == len(rows)
        assert json.loads(json_bytes({"rows": rows}))["rows"] == rows


def test_addresses_count_leds_through_and_name_neighbours_both_ways() -> None:
    layout, wired, _ = wired_wall()
    rows = {row["name"]: row for row in address_rows(layout, wired)}
    first = 0
    for panel in layout.panels:
        row = rows[panel.name]
        assert row["first_led"] == first
        assert (row["cell_1"], row["cell_2"]) == panel.lattice
        assert math.dist((row["x_mm"], row["y_mm"]), (panel.x, panel.y)) < 1e-3  # type: ignore[arg-type]
        first += row["leds"]  # type: ignore[assignment, operator]
    assert first == 9 * 37
    told = {
        (name, int(own), other, int(edge))
        for name, row in rows.items()
        for own, other, edge in re.findall(r"(\d+):(\w+)/(\d+)", row["neighbours"])  # type: ignore[arg-type]
    }
    assert len(told) == 2 * len(layout.joints)
    assert all((other, edge, name, own) in told for name, own, other, edge in told)
    assert sum(row["inlet"] for row in rows.values()) == len(wired.zones)  # type: ignore[misc]
    assert {row["zone"] for row in rows.values()} == {zone.index for zone in wired.zones}
    # one controller: LEDs count as the data line runs
    line = [panel.name for panel in reversed(layout.panels)]
    along = {row["name"]: row for row in address_rows(layout, wired, line)}
    first = 0
    for name in line:
        assert along[name]["first_led"] == first
        first += along[name]["leds"]  # type: ignore[assignment, operator]


def test_headers_by_kind_add_up_to_the_joints() -> None:
    layout, wired, _ = wired_wall()
    counts = wired.table.counts
    assert sum(counts.values()) == len(layout.joints)
    across = sum(wired.zone_of[joint.a] is not wired.zone_of[joint.b] for joint in layout.joints)
    assert counts["header without supply"] == across > 0


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(
    count=st.integers(1, 14),
    seed=st.integers(0, 10_000),
    x=st.integers(-900, 900),
    y=st.integers(-1500, -800),
    sides=st.sampled_from([3, 4, 6]),
)
def test_cables_keep_off_the_panels_and_end_at_the_socket(
    count: int, seed: int, x: int, y: int, sides: int
) -> None:
    power = asking(socket=((float(x), float(y)),))
    layout, wired, power = wired_wall(random_cells(count, seed, sides), power, 20, sides)
    cells = union_all([Polygon(p.corners) for p in layout.panels])
    assume(cells.distance(Point(x, y)) > 30)
    for run in cable_runs(layout, wired, power, DESIGNS):
        line = LineString(run.way)
        assert line.intersection(cells).length < 1e-6
        assert run.way[-1] == (x, y)
        assert run.way[0] == (run.x, run.y)
        assert run.socket == 1
        assert run.length_mm == pytest.approx(line.length)
        assert run.length_mm >= math.dist(run.way[0], run.way[-1]) - 1e-6  # type: ignore[operator]
        assert run.clips == math.ceil(run.length_mm / 250.0)  # type: ignore[operator]


def shortest_way(start: Any, end: Any, cells: Any) -> float:
    """Length of the shortest way that keeps 4 mm off the panels: around the corners that see each
    other.
    """
    room = cells.buffer(OFF_MM, join_style="mitre")
    rings = [r for part in get_parts(room) for r in (part.exterior, *part.interiors)]
    solid = room.buffer(-1e-6)
    prepare(solid)
    seen = nx.Graph()
    for a, b in itertools.combinations({start, end, *(c for r in rings for c in r.coords)}, 2):
        if not solid.intersects(LineString([a, b])):
            seen.add_edge(a, b, weight=math.dist(a, b))
    return float(nx.shortest_path_length(seen, start, end, weight="weight"))


@pytest.mark.parametrize("sides", [3, 4, 6])
@pytest.mark.parametrize("seed", [4, 5])
def test_cables_take_the_shortest_way_to_a_socket_around_the_panels(sides: int, seed: int) -> None:
    """At most a tenth over the shortest of all; no point in the middle of a straight stretch; of
    two sockets the nearer one along the wall.
    """
    sockets = ((40.0 * seed - 100.0, -650.0), (-20.0 * seed, 900.0))
    power = asking(socket=sockets)
    layout, wired, power = wired_wall(random_cells(7, seed, sides), power, 20, sides)
    cells = union_all([Polygon(p.corners) for p in layout.panels])
    for run in cable_runs(layout, wired, power, DESIGNS):
        assert run.length_mm is not None
        assert run.clips == math.ceil(run.length_mm / 250.0)
        _, out, *rest = run.way
        assert run.socket is not None
        assert rest[-1] == sockets[run.socket - 1]
        assert LineString(rest).distance(cells) > OFF_MM
        best = min(shortest_way(out, socket, cells) for socket in sockets)
        assert best - 1e-6 <= math.fsum(map(math.dist, run.way[1:], rest)) <= 1.1 * best
        for (ax, ay), (bx, by), (cx, cy) in zip(run.way[1:], rest, rest[1:], strict=False):
            assert abs((bx - ax) * (cy - by) - (by - ay) * (cx - bx)) > 1e-6


def test_a_free_way_is_at_most_a_tenth_longer_than_the_straight_one() -> None:
    """On a grid of eight directions a way is at most 1.0824 times too long (sec 22.5 degrees)."""
    for socket in ((300.0, -700.0), (0.0, -800.0), (700.0, -800.0)):
        layout, wired, power = wired_wall([(0, 0)], asking(socket=(socket,)))
        (run,) = cable_runs(layout, wired, power, DESIGNS)
        assert run.length_mm <= 1.1 * math.dist(socket, (run.x, run.y)) + 20  # type: ignore[operator]


def test_without_a_socket_the_cable_runs_to_the_nearest_side_of_the_wall() -> None:
    layout, wired, power = wired_wall()
    x0, y0, x1, y1 = layout.box
    for run in cable_runs(layout, wired, power, DESIGNS):
        x, y = run.way[-1]
        assert not (x0 < x < x1 and y0 < y < y1)
        assert run.socket is None
        assert run.leaves == wind(run.leaves_deg)


def test_winds_are_as_one_sees_the_wall() -> None:
    assert [wind(a) for a in (0, 90, 180, 270, 300, 338, 359)] == [
        "right",
        "up",
        "left",
        "down",
        "down and right",
        "right",
        "right",
    ]


def test_a_fuse_is_the_next_usual_one_that_opens_before_the_supply_gives_in() -> None:
    assert fuse_for(1.44, 3.0) == 1.6
    assert fuse_for(2.4, 3.0) == 2.5
    assert fuse_for(0.0, 3.0) == FUSES_A[0]
    assert fuse_for(2.4, 2.5) is None
    tenths = [10 ** (k / 10) for k in range(-3, 22)]  # the R10 series of ISO 3, rounded
    assert pytest.approx(tenths, rel=0.02) == FUSES_A


def items_of(items: Any) -> Any:
    for item in items:
        if isinstance(item, Group):
            yield item
            yield from items_of(item.items)
        else:
            yield item


def test_the_plan_tells_everything_in_words_too() -> None:
    """Name, volts and zone of every panel as text; headers by kind; inlets; the legend; and it
    writes as SVG.
    """
    layout, wired, power = wired_wall()
    page = plan_page(layout, wired, cable_runs(layout, wired, power, DESIGNS))
    found = list(items_of(page.items))
    texts = [item.text for item in found if isinstance(item, Text)]
    for name, volts in wired.volts.items():
        assert name in texts
        assert f"{volts:.2f} V" in texts
    for zone in wired.zones:
        assert texts.count(f"zone {zone.index}") == len(zone.panels)
    titles = [item.title for item in found if isinstance(item, Group)]
    assert (
        sum("no supply pins" in title for title in titles)
        == wired.table.counts["header without supply"]
    )
    assert sum("all pins" in title for title in titles) == wired.table.counts["header"]
    assert sum(title.startswith("inlet of zone") for title in titles) == len(wired.zones)
    assert page.width == 180.0
    assert page.height <= 250.0
    for item in found:
        if isinstance(item, Fill):
            for contour in item.contours:
                x0, y0, x1, y1 = contour.box
                assert x0 >= -10
                assert y0 >= -10
                assert x1 <= page.width + 10
                assert y1 <= page.height
    assert page_svg(page) == page_svg(
        plan_page(layout, wired, cable_runs(layout, wired, power, DESIGNS))
    )


def test_a_cable_that_leaves_upwards_ends_below_the_title() -> None:
    layout, wired, power = wired_wall()
    run, *_ = cable_runs(layout, wired, power, DESIGNS)
    top = max(y for panel in layout.panels for _, y in panel.corners)
    page = plan_page(layout, wired, [replace(run, way=((0.0, top), (0.0, top + 60.0)))])
    (title,) = (item for item in page.items if isinstance(item, Text) and "lowest" in item.text)
    cables = [
        one for one in items_of(page.items) if isinstance(one, Group) and one.title[:5] == "cable"
    ]
    heads = [
        c.box[3] for one in cables for i in one.items if isinstance(i, Fill) for c in i.contours
    ]
    assert len(heads) == 1
    assert title.y - max(heads) >= 1.0


@pytest.mark.slow
def test_a_plan_of_a_large_wall_leaves_out_letters_that_nobody_can_read() -> None:
    layout, wired, _ = wired_wall([(q, r) for q in range(30) for r in range(8)])
    texts = [item for item in items_of(plan_page(layout, wired).items) if isinstance(item, Text)]
    assert all(text.size_mm >= 1.3 for text in texts)


def luminance(code: str) -> float:
    parts = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_colour_scale_rises_in_lightness_and_bears_its_letters() -> None:
    """Lightness alone orders the volts, so no colour vision is needed; letters keep a contrast of
    4.5 (WCAG 2, AA).
    """
    shades = [colour(k / 50) for k in range(51)]
    light = [luminance(shade) for shade in shades]
    assert all(a < b for a, b in itertools.pairwise(light))
    assert (shades[0], shades[-1]) == (CIVIDIS[0], CIVIDIS[-1])
    for shade in shades:
        pair = sorted((luminance(shade), luminance(ink(shade))))
        assert (pair[1] + 0.05) / (pair[0] + 0.05) >= 4.5


def test_the_cautions_say_what_must_be_said() -> None:
    words = " ".join(text for text, _ in CAUTIONS).lower()
    for word in (
        "selv",
        "safety mark",
        "fuse",
        "cover",
        "local codes",
        "licensed electrician",
        "mains",
    ):
        assert word in words
    assert all(source for _, source in CAUTIONS)
