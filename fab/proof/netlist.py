"""The boards' netlists joined by lists/joints.csv, from the files alone: data lines, supply zones,
ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from fab.checks.model import Verdict, at_most, judge
from fab.proof.table import Row, rows_of, truth
from fab.proof.tree import Tree

JOINTS = "lists/joints.csv"
SUPPLY, GROUND = "VLED", "GND"
Nets = dict[tuple[str, str], str]  # (part, pin) to net


def prove(tree: Tree, rows: Sequence[Row]) -> list[Verdict]:
    """Every LED's data in and out are joined; supply reaches an inlet of its own zone only; OUT
    meets IN.
    """
    paths = tree.names("board/netlist", ".csv")
    if not paths or JOINTS not in tree:
        return []
    boards = {row["name"]: _nets(tree, row["design"]) for row in rows}
    wrong = [word for path in paths for word in _lines(path, _read(tree, path))]
    wrong += _joined(tree, rows, boards)
    says = "; ".join(wrong[:3]) or "data lines are whole, zones are apart, OUT meets IN"
    return [
        judge("proof.netlist", "board/netlist.csv", at_most(float(len(wrong)), 0.0, "nets"), says)
    ]


def _read(tree: Tree, path: str) -> Nets:
    return {
        (row["part"], row["pin"]): row["net"] for row in rows_of(tree, path, ("part", "pin", "net"))
    }


def _nets(tree: Tree, design: str) -> Nets:
    found = [path for path in (f"board/netlist-{design}.csv", "board/netlist.csv") if path in tree]
    return _read(tree, found[0]) if found else {}


def _lines(path: str, nets: Nets) -> list[str]:
    """The data line of one board, LED by LED."""
    leds = sorted({part for part, pin in nets if pin == "DIN"}, key=lambda part: int(part[1:]))
    wrong = []
    for one, after in pairwise(leds):
        if nets.get((one, "DOUT")) != nets[after, "DIN"]:
            wrong.append(f"{path}: {one} does not feed {after}")
    for led in leds:
        drives = [
            end for end, net in nets.items() if net == nets[led, "DIN"] and end != (led, "DIN")
        ]
        if not any(not part.startswith("TP") for part, _ in drives):
            wrong.append(f"{path}: nothing feeds {led}")
        if (nets.get((led, "VDD")), nets.get((led, "GND"))) != (SUPPLY, GROUND):
            wrong.append(f"{path}: {led} is not between {SUPPLY} and {GROUND}")
    return wrong


def _joined(tree: Tree, rows: Sequence[Row], boards: dict[str, Nets]) -> list[str]:
    """Supply rails of all boards, joined pin k to pin n + 1 - k."""
    root = {row["name"]: row["name"] for row in rows if boards[row["name"]]}

    def find(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    wrong = []
    for row in rows_of(tree, JOINTS, ("a", "edge_a", "b", "edge_b", "kind", "supply")):
        if row["kind"] == "none":
            continue
        a, b = boards[row["a"]], boards[row["b"]]
        many = len([pin for part, pin in a if part == f"J{row['edge_a']}"])
        for k in range(1, many + 1):
            one = a.get((f"J{row['edge_a']}", str(k)), "")
            two = b.get((f"J{row['edge_b']}", str(many + 1 - k)), "")
            kinds = {_kind(one), _kind(two)}
            if kinds not in ({"supply"}, {"ground"}, {"out", "in"}, {"io"}):
                wrong.append(f"joint {row['a']}-{row['b']}: pin {k} joins {one} to {two}")
            if kinds == {"supply"} and truth(row["supply"]):
                root[find(row["a"])] = find(row["b"])
    zone = {row["name"]: row["zone"] for row in rows}
    inlets: dict[str, list[str]] = {}
    for row in rows:
        if row["name"] in root and truth(row["inlet"]):
            inlets.setdefault(find(row["name"]), []).append(row["zone"])
    for name in root:
        if inlets.get(find(name)) != [zone[name]]:
            wrong.append(
                f"the supply of panel {name} reaches inlets of zones {inlets.get(find(name), [])}"
            )
    return wrong


def _kind(net: str) -> str:
    if net in (SUPPLY, GROUND):
        return "supply" if net == SUPPLY else "ground"
    return "out" if "_OUT" in net else "in" if "_IN" in net else "io" if "_IO" in net else "?"
