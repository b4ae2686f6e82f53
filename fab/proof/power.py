"""Zones, headers, currents and volts from the lists alone, as a network of conductances.

Each inlet is its Norton equivalent: a current V / R beside a conductance 1 / R between the rails of
its panel. What remains is one matrix of conductances, solved with a small leak to earth that fixes
its free potential. Resistances: a pin with its contacts, or a wire of a jumper with two contacts,
copper of both boards, cable. Copper: 1.7241e-8 ohm m (IEC 60028).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fab.checks.model import Verdict, at_most, judge
from fab.proof.differences import HEADERS, JOINTS, PANELS, PARTS, SUPPLY, same
from fab.proof.job import JobValues
from fab.proof.table import Row, number, rows_of, truth
from fab.proof.tree import Tree

CABLES = "lists/cables.csv"
VOLT, AMPERE = 0.002, 0.002  # lists have three decimals
COPPER_OHM_M = 1.7241e-8
LEAK_S = 1e-7  # siemens
STEPS = 40


@dataclass(frozen=True)
class SolvedWall:
    """Volts between the rails of each panel; amperes through supply and ground of each joint, from
    a to b.
    """

    volts: Any
    supply: Any
    ground: Any


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on zones, headers and currents of lists/*.csv."""
    if PANELS not in tree or JOINTS not in tree:
        return []
    panels = rows_of(tree, PANELS, ("name", "design", "leds", "zone", "inlet", "volts"))
    joints = rows_of(tree, JOINTS, ("a", "b", "kind", "supply_a", "ground_a", "pin_a"))
    found = [_zones(panels, joints)]
    brightness = job.at("power.brightness")
    wire = _wire_mm(tree)
    known = {"none", "", *HEADERS} | ({"jumper"} if wire else set())
    if not isinstance(brightness, int | float) or any(row["kind"] not in known for row in joints):
        return found
    loads = [_load(row, job, brightness) for row in panels]
    state = solve(panels, joints, loads, job, wire or 0.0)
    found.append(_volts(panels, state))
    found.append(_currents(joints, state, job))
    if CABLES in tree:
        found.append(_cables(tree, panels, loads))
    return found


def _wire_mm(tree: Tree) -> float | None:
    """Length of the jumpers' wires by the list of parts; None for none, or more than one length."""
    if PARTS not in tree:
        return None
    lengths = {
        float(match[1])
        for row in rows_of(tree, PARTS, ("item",))
        if (match := re.match(r"jumper cable ([\d.]+) mm", row["item"]))
    }
    return lengths.pop() if len(lengths) == 1 else None


def passes_supply(row: Row) -> bool:
    """True when a joint's header or jumper passes the supply on."""
    return row["kind"] in SUPPLY or (row["kind"] == "jumper" and truth(row.get("supply", "no")))


def _zones(panels: Sequence[Row], joints: Sequence[Row]) -> Verdict:
    """Supply passes from the inlet to every panel of its zone, and to no other."""
    links: dict[str, list[str]] = {row["name"]: [] for row in panels}
    for row in joints:
        if passes_supply(row):
            links[row["a"]].append(row["b"])
            links[row["b"]].append(row["a"])
    zone = {row["name"]: row["zone"] for row in panels}
    fed: dict[str, str] = {}
    wrong = []
    for row in panels:
        if not truth(row["inlet"]):
            continue
        stack = [row["name"]]
        while stack:
            name = stack.pop()
            if fed.get(name, row["name"]) != row["name"]:
                wrong.append(f"panel {name} is fed by the inlets of {fed[name]} and {row['name']}")
                break
            if name in fed:
                continue
            fed[name] = row["name"]
            if zone[name] != row["zone"]:
                wrong.append(
                    f"panel {name} is fed by the inlet of {row['name']} (zone {row['zone']}),"
                    f" listed in zone {zone[name]}"
                )
            stack += links[name]
    wrong += [
        f"no supply reaches panel {row['name']}"
        for row in panels
        if row["zone"] and row["name"] not in fed
    ]
    return same(
        "proof.power-zones",
        JOINTS,
        wrong,
        "supply reaches every panel from the inlet of its zone alone",
        "panels",
    )


def _load(row: Row, job: JobValues, brightness: float) -> float:
    """Amperes at the supply's volts."""
    design, leds = job.design(row["design"]), int(row["leds"])
    controller_a = design.at("board.controller_a") if leds else 0.0
    return float(leds * design.at("led.full_a") * brightness + controller_a)


def solve(
    panels: Sequence[Row],
    joints: Sequence[Row],
    loads: Sequence[float],
    job: JobValues,
    wire_mm: float = 0.0,
) -> SolvedWall:
    """The steady state of the wall; `wire_mm` is the length of a jumper's wires."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    n, index = len(panels), {row["name"]: k for k, row in enumerate(panels)}
    designs = [job.design(row["design"]) for row in panels]
    volts, asked = float(job.at("power.supply_v")), np.array(loads)
    i: list[int] = []
    j: list[int] = []
    g: list[float] = []

    def bridge(a: int, b: int, siemens: float) -> None:
        i.extend((a, b, a, b))
        j.extend((a, b, b, a))
        g.extend((siemens, siemens, -siemens, -siemens))

    supply, ground = np.zeros(len(joints)), np.zeros(len(joints))
    for k, row in enumerate(joints):
        a, b = index[row["a"]], index[row["b"]]
        one, two = designs[a], designs[b]
        pin = max(one.at("header.pin_ohm"), two.at("header.pin_ohm"))
        if row["kind"] == "jumper":
            poorer = max(one.at("jumper.wire_ohm_per_m"), two.at("jumper.wire_ohm_per_m"))
            pin = one.at("jumper.contact_ohm") + two.at("jumper.contact_ohm")
            pin += poorer * wire_mm / 1000
        copper = _copper(one) + _copper(two)
        if passes_supply(row):
            supply[k] = 1 / (
                pin / min(one.at("header.power_pins"), two.at("header.power_pins")) + copper
            )
            bridge(a, b, supply[k])
        if row["kind"] in HEADERS or row["kind"] == "jumper":
            ground[k] = 1 / (
                pin / min(one.at("header.ground_pins"), two.at("header.ground_pins")) + copper
            )
            bridge(n + a, n + b, ground[k])
    pushed = np.zeros(2 * n)
    for k, row in enumerate(panels):
        if truth(row["inlet"]):
            ohm = job.at("power.cable_mm") / 1000 * job.at("power.cable_ohm_per_m") + 2 * _copper(
                designs[k]
            )
            bridge(k, n + k, 1 / ohm)
            pushed[k] += volts / ohm
            pushed[n + k] -= volts / ohm
    for node in range(2 * n):
        i.append(node)
        j.append(node)
        g.append(LEAK_S)
    matrix = coo_matrix((g, (i, j)), shape=(2 * n, 2 * n)).tocsc()
    drawn, across = asked, np.full(n, volts)
    for _ in range(STEPS if job.at("power.load") == "power" else 1):
        drawn = asked * volts / across if job.at("power.load") == "power" else asked
        level = spsolve(matrix, pushed + np.concatenate([-drawn, drawn]))
        across = np.maximum(level[:n] - level[n:], 0.1)
    one_end, other = ([index[row[key]] for row in joints] for key in ("a", "b"))
    rails = level[:n], level[n:]
    flows = [
        (rail[one_end] - rail[other]) * s for rail, s in zip(rails, (supply, ground), strict=True)
    ]
    return SolvedWall(rails[0] - rails[1], flows[0], flows[1])


def _copper(design: JobValues) -> float:
    """One rail of a board from an edge to its middle, ohm."""
    sheet_ohm = COPPER_OHM_M / (design.at("board.copper_um") * 1e-6)
    return float(sheet_ohm * design.at("board.power_squares"))


def _volts(panels: Sequence[Row], state: SolvedWall) -> Verdict:
    worst, where = 0.0, ""
    for row, volts in zip(panels, state.volts.tolist(), strict=True):
        if row["volts"] and abs(number(PANELS, row, "volts") - volts) > worst:
            worst, where = (
                abs(number(PANELS, row, "volts") - volts),
                f" at panel {row['name']}: {volts:.3f} V",
            )
    return judge(
        "proof.power-volts",
        PANELS,
        at_most(worst, VOLT, "V"),
        f"volts differ from the network's{where}",
    )


def _currents(joints: Sequence[Row], state: SolvedWall, job: JobValues) -> Verdict:
    worst, where = 0.0, ""
    header = job.design("panel")
    pins = (float(header.at("header.power_pins")), float(header.at("header.ground_pins")))
    same_pins = not job.at("designs", {})
    for row, supply, ground in zip(
        joints, state.supply.tolist(), state.ground.tolist(), strict=True
    ):
        wanted = {"supply_a": supply, "ground_a": ground}
        if same_pins:
            wanted["pin_a"] = max(abs(supply) / pins[0], abs(ground) / pins[1])
        for key, value in wanted.items():
            if row[key] and abs(number(JOINTS, row, key) - value) > worst:
                worst, where = (
                    abs(number(JOINTS, row, key) - value),
                    f" at joint {row['a']}-{row['b']}, {key}: {value:.3f} A",
                )
    return judge(
        "proof.power-currents",
        JOINTS,
        at_most(worst, AMPERE, "A"),
        f"a current differs from the network's{where}",
    )


def _cables(tree: Tree, panels: Sequence[Row], loads: Sequence[float]) -> Verdict:
    """Each cable carries what the panels of its zone draw, from the panel with the inlet; a fuse
    carries that too.
    """
    drawn = {row["name"]: load for row, load in zip(panels, loads, strict=True)}
    zone = {row["name"]: row["zone"] for row in panels}
    inlets = {
        row["zone"]: (row["name"], row["inlet_edge"]) for row in panels if truth(row["inlet"])
    }
    wrong = []
    for row in rows_of(tree, CABLES, ("zone", "panels", "inlet", "edge", "current_a")):
        named = [name for name, its in zone.items() if its == row["zone"]]
        if sorted(row["panels"].split()) != sorted(" ".join(named).split()):
            wrong.append(f"zone {row['zone']} lists panels {row['panels']}")
        if inlets.get(row["zone"]) != (row["inlet"], row["edge"]):
            wrong.append(f"zone {row['zone']} has its inlet at {row['inlet']}/{row['edge']}")
        current = sum(drawn.get(name, 0.0) for name in named)
        if abs(current - number(CABLES, row, "current_a")) > 0.02 * current + AMPERE:
            wrong.append(
                f"the cable of zone {row['zone']} carries {current:.3f} A, not {row['current_a']} A"
            )
        if row.get("fuse_a") and float(row["fuse_a"]) < current:
            wrong.append(
                f"the fuse of zone {row['zone']}, {row['fuse_a']} A, is less than {current:.3f} A"
            )
    return same("proof.power-cables", CABLES, wrong, "cables carry what their zones draw", "cables")
