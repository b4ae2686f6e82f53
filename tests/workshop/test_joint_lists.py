"""Every list, picture and count of a wall against its table of joints, and the table against the
pushes and zones.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from typing import Any

import networkx as nx
import pytest

from fab.book.pictures import wall_page
from fab.decisions import decide
from fab.outlines.page import Group
from fab.outputs.electrics import electrics
from fab.params.job import HangParams, Job, JointParams, LayoutParams, PowerParams
from fab.params.shop import Shop, Stock, WallType
from fab.power.plan_page import plan_page
from fab.power.tables import joint_rows
from fab.wall.model import PanelMass
from tests.cases import few
from tests.power.walls import design as panel_of
from tests.wall.walls import random_cells

FLOWER = [(0, 0), (1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)]
BLOCK = [(q, r) for q in range(-2, 3) for r in range(-2, 3) if abs(q + r) <= 2]
RING = [cell for cell in BLOCK if cell not in FLOWER]
WALLS = [("flower", 6, FLOWER), ("block of 19", 6, BLOCK), ("ring", 6, RING)]
WALLS += [
    (f"random {sides} {seed}", sides, random_cells(random.Random(seed), sides, 9 + 4 * seed))
    for sides in (3, 4, 6)
    for seed in (1, 2)
]


def decided(sides: Any, cells: Any, **joint: Any) -> Any:
    panel = panel_of(sides) if sides != 3 else replace(panel_of(3), across_flats=None, edge=160.0)
    job = Job(
        shop=Shop(
            stock={"opal-3": Stock()}, wall={"plaster": WallType(shear_n=900.0, pull_n=900.0)}
        ),
        panel=panel,
        layout=LayoutParams(cells=tuple(cells)),
        joint=JointParams(**joint),
        hang=HangParams(factor=1.0),
        power=PowerParams(),
    )
    return decide(
        job, lambda plans, layout: {p.name: PanelMass(250.0, 0.0, 0.0, 15.0) for p in layout.panels}
    )


def titles(items: Any) -> Any:
    for item in items:
        if isinstance(item, Group):
            yield item.title or ""
            yield from titles(item.items)


@pytest.mark.parametrize("jumper", ["needed", "all"])
@pytest.mark.parametrize(("name", "sides", "cells"), few(WALLS, 0, 2, 4))
def test_all_say_what_the_table_says(name: str, sides: int, cells: Any, jumper: str) -> None:
    design = decided(sides, cells, jumper=jumper)
    layout, table, wired = design.layout, design.table, design.wired
    kinds = Counter(row.kind for row in table.rows)
    assert len(table.rows) == len(layout.joints)
    # list of joints
    rows = joint_rows(layout, wired)
    assert Counter(row["kind"] for row in rows) == kinds
    # counts and list of parts
    headers = kinds["header"] + kinds["header without supply"]
    assert (design.counts.headers, design.counts.jumpers) == (headers, kinds["jumper"])
    bought: Counter[str] = Counter()
    for line in electrics(design):
        bought[line.part] += line.count
        if line.item == "header, all pins":
            assert line.count == kinds["header"]
        if line.item == "header, supply pins pulled":
            assert line.count == kinds["header without supply"]
    assert (bought["header"], bought["jumper"]) == (headers, kinds["jumper"])
    assert bought["pin row"] == 2 * kinds["jumper"]
    # pictures
    told = [title for title in titles(plan_page(layout, wired).items) if " to " in title]
    assert sum(": all pins" in title for title in told) == kinds["header"]
    assert sum(": no supply pins" in title for title in told) == kinds["header without supply"]
    assert sum(": jumper" in title for title in told) == kinds["jumper"]
    assert wall_page(design).items
    # pushes and lifts of the order of hanging
    pushed = [k for push in design.order.pushes for k in push.joints]
    lowered = [k for lift in design.order.lifts for k in lift.joints]
    assert sorted(pushed + lowered) == list(table.headers)
    for number, push in enumerate(design.order.pushes, 1):
        assert table.mated_by("push", number) == push.joints
        for k in push.joints:
            assert table.rows[k].moves in push.moving
            assert table.rows[k].heading_deg == push.heading_deg
    # openings of the bases
    assert sum(map(len, table.jumper_edges.values())) == 2 * kinds["jumper"]
    for use in design.uses:
        edges = {
            (edge + use.steps) % layout.by_name[use.panel].cell.sides for edge in use.kind.jumpers
        }
        assert edges == set(table.jumper_edges.get(use.panel, ()))
    # currents flow through joints that join boards, and nowhere else
    for wiring, row in zip(wired.wiring, table.rows, strict=True):
        assert (wiring.supply_a == 0.0) or row.supply
        assert (wiring.ground_a == 0.0) or row.joined
    # every board is joined, every zone by supply
    graph = nx.Graph([(layout.joints[k].a, layout.joints[k].b) for k in table.joined])
    graph.add_nodes_from(layout.by_name)
    assert nx.is_connected(graph)
    supplied = nx.Graph(
        [(layout.joints[r.joint].a, layout.joints[r.joint].b) for r in table.rows if r.supply]
    )
    supplied.add_nodes_from(layout.by_name)
    assert {frozenset(part) for part in nx.connected_components(supplied)} == {
        frozenset(z.panels) for z in wired.zones
    }
