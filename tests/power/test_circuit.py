"""The netlist of a board and of a wall of boards, as a graph of networkx from the rows alone."""

from __future__ import annotations

import csv
import io
from typing import Any

import networkx as nx
import pytest

from fab.files.table import csv_bytes
from fab.params.shop import Shop, Stock
from fab.parts.board_source import board_layout
from fab.parts.planning import plan
from fab.power.circuit import circuit
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, wall

PANEL = design()
PLAN = plan(PANEL, Shop(stock={"opal-3": Stock()}))


def rows(control: Any = "each", shifter: Any = True) -> Any:
    """The pins as they come back from CSV text."""
    made = circuit(PLAN, board_layout(PLAN), control, shifter=shifter)  # type: ignore[arg-type]
    data = csv_bytes(("part", "pin", "net"), [(pin.part, pin.pin, pin.net) for pin in made.pins])
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))


@pytest.mark.parametrize(("control", "shifter"), [("each", True), ("each", False), ("one", False)])
def test_the_data_line_runs_through_every_led_once(control: str, shifter: bool) -> None:
    """Every LED's data in and out are joined to one other part each, from the resistor to the last
    LED.
    """
    nets: dict[str, list[tuple[str, str]]] = {}
    for row in rows(control, shifter):
        nets.setdefault(row["net"], []).append((row["part"], row["pin"]))
    line = nx.DiGraph()
    for ends in nets.values():
        outs = [part for part, pin in ends if pin == "DOUT" or (part == "R1" and pin == "2")]
        ins = [part for part, pin in ends if pin == "DIN"]
        line.add_edges_from((a, b) for a in outs for b in ins)
    many = len(board_layout(PLAN).leds)
    way = nx.dag_longest_path(line)
    assert way == ["R1", *(f"D{k}" for k in range(1, many + 1))]
    assert all(degree <= 1 for _, degree in line.in_degree())
    assert all(degree <= 1 for _, degree in line.out_degree())
    for k in range(1, many + 1):
        pins = {row["pin"]: row["net"] for row in rows(control, shifter) if row["part"] == f"D{k}"}
        assert (pins["VDD"], pins["GND"]) == ("VLED", "GND")


def test_no_pin_has_two_nets_and_no_net_hangs_alone() -> None:
    found = rows()
    assert len({(row["part"], row["pin"]) for row in found}) == len(found)
    for net in {row["net"] for row in found}:
        assert sum(row["net"] == net for row in found) >= 2, net


def test_boards_of_a_wall_join_by_the_table_of_joints_alone() -> None:
    """All boards' nets, joined pin k to pin n + 1 - k where the table has a header, supply pins
    pulled where it says so:
    each panel's supply reaches an inlet of its own zone and no other; ground is one; OUT meets
    IN."""
    layout = wall(NINE)
    wired = wire(layout, loads(layout, 37), asking(supply_a=1.5), {"panel": PANEL})
    assert len(wired.zones) > 1
    graph = nx.Graph()
    board = rows()
    for panel in layout.panels:
        for row in board:
            graph.add_edge((panel.name, row["part"], row["pin"]), (panel.name, row["net"]))
    pins = PANEL.header.pins
    nets = {(row["part"], row["pin"]): row["net"] for row in board}
    for row in wired.table.rows:
        if not row.joined:
            continue
        joint = layout.joints[row.joint]
        for k in range(1, pins + 1):
            a, b = (f"J{joint.edge_a}", str(k)), (f"J{joint.edge_b}", str(pins + 1 - k))
            if nets[a] == "VLED" and not row.supply:
                continue
            graph.add_edge((joint.a, *a), (joint.b, *b))
            if "OUT" in nets[a]:
                assert "IN" in nets[b]
    zone_of = {name: zone.index for zone in wired.zones for name in zone.panels}
    for part in nx.connected_components(graph):
        fed = {node[0] for node in part if node[1] == "VLED"}
        grounds = {node[0] for node in part if node[1] == "GND"}
        assert not (fed and grounds)
        assert len({zone_of[name] for name in fed}) <= 1
        if fed:
            assert sum(zone.inlet_panel in fed for zone in wired.zones) == 1
        assert len(grounds) in (0, len(layout.panels))


def test_a_pulled_pin_left_in_is_seen() -> None:
    """The same graph with all supply pins in: zones short."""
    layout = wall(NINE)
    wired = wire(layout, loads(layout, 37), asking(supply_a=1.5), {"panel": PANEL})
    graph = nx.Graph()
    graph.add_nodes_from(panel.name for panel in layout.panels)
    graph.add_edges_from(
        (layout.joints[row.joint].a, layout.joints[row.joint].b)
        for row in wired.table.rows
        if row.joined
    )
    assert nx.number_connected_components(graph) < len(wired.zones)
