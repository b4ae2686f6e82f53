"""The hand-over of a wall as files: brief, netlist, places of LEDs, shopping list; from one
decided job, no solids.
"""

from __future__ import annotations

import csv
import io
import json
import math
from typing import Any

import pytest

from fab.decisions import outline
from fab.files.docpdf import document_pdf
from fab.outputs import boardpage, brief, pixels
from fab.outputs.board import NETLIST, circuit_of
from fab.params.read import load
from fab.parts.board_source import board_layout
from fab.power.circuit import inlet_circuit
from tests.conftest import ROOT


class Wall:
    """What is decided before anything is weighed, with the little more that these files ask for."""

    def __init__(self, *sets: str, job: str = "mixed-wall") -> None:
        self.known = outline(load(ROOT / "params" / f"{job}.toml", sets).job)

    def __getattr__(self, name: str) -> Any:
        if name == "blank":
            return frozenset()
        if name == "with_rows":
            return frozenset()
        if name == "panels_of":
            return dict.fromkeys(self.known.plans, 1)
        return getattr(self.known, name)


@pytest.fixture(scope="module")
def wall() -> Wall:
    return Wall("power.control=one", "panel.switch.on=true", "panel.shell.fixing=snap")


def test_every_led_lies_where_panel_and_board_put_it(wall: Any) -> None:
    """Complex numbers in place of the layout's own turn; both files agree; the longer side is 1."""
    made = {one.path: one.data for one in pixels.files(wall, wall.route)}
    rows = list(csv.DictReader(io.StringIO(made["lists/pixels.csv"].decode("utf-8-sig"))))
    told = json.loads(made["lists/pixels.json"])
    for row, same in zip(rows, told["pixels"], strict=True):
        assert row["panel"] == same[1]
        numbers = [float(row[key]) for key in ("index", "panel_index", "x_mm", "y_mm", "x", "y")]
        assert numbers == pytest.approx([same[0], *same[2:]], abs=1e-6)
    assert [int(row["index"]) for row in rows] == list(range(len(rows)))
    seen: dict[str, int] = {}
    for row in rows:
        panel = wall.layout.by_name[row["panel"]]
        led = board_layout(wall.plans[panel.design]).leds[int(row["panel_index"])]
        spin = complex(
            math.cos(math.radians(panel.turn_deg)), math.sin(math.radians(panel.turn_deg))
        )
        at = complex(panel.x, panel.y) + complex(led.x, led.y) * spin
        assert (float(row["x_mm"]), float(row["y_mm"])) == pytest.approx(
            (at.real, at.imag), abs=1e-3
        )
        assert int(row["panel_index"]) == seen.get(row["panel"], 0)
        seen[row["panel"]] = seen.get(row["panel"], 0) + 1
    xs, ys = [float(row["x"]) for row in rows], [float(row["y"]) for row in rows]
    assert min(*xs, *ys) == 0
    assert max(*xs, *ys) == 1
    assert list(dict.fromkeys(row["panel"] for row in rows)) == list(wall.route.order)
    for one in told["panels"]:
        for beside in one["neighbours"]:
            back = next(p for p in told["panels"] if p["panel"] == beside["panel"])["neighbours"]
            assert {
                "edge": beside["panel_edge"],
                "panel": one["panel"],
                "panel_edge": beside["edge"],
                "joined": beside["joined"],
            } in back


def test_the_brief_names_what_a_board_needs(wall: Any) -> None:
    for name in wall.lit_designs:
        data = document_pdf(brief.document(wall, name), 210.0, 297.0)
        text = repr(brief.blocks(wall, name))
        assert data.startswith(b"%PDF")
        for word in (
            "J0",
            "H1",
            "the mark",
            "white",
            "IPC-2221",
            "IPC-7351",
            "SW0" if name == "panel" else "TP1",
            "not a circuit",
        ):
            assert word in text, word
    assert data == document_pdf(brief.document(wall, name), 210.0, 297.0)


def test_pin_1_lies_at_the_counter_clockwise_end_of_every_edge(wall: Any) -> None:
    plan = wall.plans["panel"]
    for socket in board_layout(plan).sockets:
        x, y = boardpage.first_pin(plan, socket)
        assert socket.x * y - socket.y * x > 0  # counter-clockwise of the socket's middle


def test_a_netlist_has_columns_and_an_inlet_two_pull_downs(wall: Any) -> None:
    assert NETLIST == ("part", "pin", "net", "what")
    made = circuit_of(wall, "panel")
    assert {pin.part for pin in made.pins} == set(made.what)
    small = inlet_circuit(wall.plans["panel"])
    for line in ("CC1", "CC2"):
        (resistor,) = [pin.part for pin in small.pins if pin.net == line and pin.part != "J1"]
        assert {pin.net for pin in small.of(resistor)} == {line, "GND"}
        assert small.what[resistor].startswith("resistor 5100 ohm")


def test_switches_reach_the_netlist(wall: Any) -> None:
    parts = {pin.part for pin in circuit_of(wall, "panel").pins}
    assert {f"SW{k}" for k in range(wall.plans["panel"].cell.sides)} <= parts
