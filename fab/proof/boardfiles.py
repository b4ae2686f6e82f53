"""Files that a board is ordered by: the holes of its outline against its table, and the resistors
that ask a Type-C supply for its current.
"""

from __future__ import annotations

import math
from collections import Counter

from fab.checks.model import Verdict
from fab.proof.differences import same
from fab.proof.dxf import read_dxf
from fab.proof.table import number, rows_of
from fab.proof.tree import Tree

NEAR_MM = 0.02  # the shift between drawing and table is known to 0.01 mm each way
INLET = "board/inlet.csv"
# A device that takes current pulls CC1 and CC2 to ground by 5.1 kohm each: USB Type-C cable and
# connector specification, Rd; 10 % is the widest that it allows.
PULL_DOWN_OHM, PULL_DOWN_OFF = 5100.0, 0.1


def prove(tree: Tree) -> list[Verdict]:
    """Verdicts on board/outline*.dxf against board/positions*.csv, and on board/inlet.csv."""
    found = []
    for path in tree.names("board/outline", ".dxf"):
        table = path.replace("outline", "positions").replace(".dxf", ".csv")
        if table in tree:
            found.append(_holes(tree, path, table))
    return [*found, *([_pull_downs(tree)] if INLET in tree else [])]


def _holes(tree: Tree, path: str, table: str) -> Verdict:
    """Every hole of the table is a circle of the outline, and no circle is left."""
    circles = [one.circle for one in read_dxf(path, tree.read(path))]
    left = [one for one in circles if one is not None]
    holes = [
        (
            row["designator"],
            number(table, row, "x_mm"),
            number(table, row, "y_mm"),
            number(table, row, "width_mm"),
        )
        for row in rows_of(tree, table, ("designator", "x_mm", "y_mm", "kind", "width_mm"))
        if row["kind"] == "hole"
    ]
    # The drawing counts from its lower left corner, the table from the panel's centre: the shift
    # that most holes agree on.
    shifts = Counter((round(c[0] - x, 2), round(c[1] - y, 2)) for c in left for _, x, y, _ in holes)
    dx, dy = shifts.most_common(1)[0][0] if shifts else (0.0, 0.0)
    wrong = []
    for name, x, y, wide in holes:
        drawn = [
            one
            for one in left
            if math.dist(one[:2], (x + dx, y + dy)) <= NEAR_MM and abs(2 * one[2] - wide) <= NEAR_MM
        ]
        if drawn:
            left.remove(drawn[0])
        else:
            wrong.append(f"hole {name} at {x:g}, {y:g}, {wide:g} wide, is not drawn")
    wrong += [f"a hole at {x:.3f}, {y:.3f} is not in {table}" for x, y, _ in left]
    return same("proof.board-holes", path, wrong, f"holes are those of {table}", "holes")


def _pull_downs(tree: Tree) -> Verdict:
    """One resistor of the right size from each of CC1 and CC2 to ground, and no other on them."""
    ends: dict[str, set[str]] = {}
    ohms: dict[str, set[float]] = {}
    receptacle = False  # a round cable has no such lines
    for row in rows_of(tree, INLET, ("part", "pin", "net", "what")):
        words = row["what"].split()
        receptacle = receptacle or "receptacle" in row["what"]
        if "ohm," in words or "ohm" in words:
            at = words.index("ohm," if "ohm," in words else "ohm")
            ohms.setdefault(row["part"], set()).add(float(words[at - 1]))
            ends.setdefault(row["part"], set()).add(row["net"])
    wrong = []
    for line in ("CC1", "CC2") if receptacle else ():
        on = sorted(part for part, nets in ends.items() if line in nets)
        if len(on) != 1 or ends[on[0]] != {line, "GND"}:
            wrong.append(f"{line} has no resistor of its own to ground")
            continue
        wrong += [
            f"{on[0]} on {line} has {ohm:g} ohm, not {PULL_DOWN_OHM:g}"
            for ohm in sorted(ohms[on[0]])
            if abs(ohm / PULL_DOWN_OHM - 1) > PULL_DOWN_OFF
        ]
    good = "a round cable has no lines CC1 and CC2"
    if receptacle:
        good = f"CC1 and CC2 have {PULL_DOWN_OHM:g} ohm to ground each"
    return same("proof.board-inlet", INLET, wrong, good, "lines")
