"""The order list against the list of parts: lines, amounts, costs, filament by its rolls."""

from __future__ import annotations

from collections import defaultdict

from fab.checks.model import Verdict
from fab.proof.differences import PARTS, same
from fab.proof.table import Row, number, rows_of
from fab.proof.tree import Tree

ORDER = "lists/order.csv"
ROUND_G = 0.06  # of a line of the list of parts
ROUND_KG = 0.0006


def orders(tree: Tree) -> list[Verdict]:
    """One verdict; none where the build has no order list."""
    if ORDER not in tree or PARTS not in tree:
        return []
    parts = rows_of(tree, PARTS, ("item", "count", "source", "material", "total_g", "cost"))
    rows = rows_of(tree, ORDER, ("group", "item", "amount", "unit", "cost"))
    left = {row["item"]: row for row in rows}
    wrong = [] if len(left) == len(rows) else ["an item stands twice"]
    grams: dict[str, list[float]] = defaultdict(list)
    for part in parts:
        row = left.pop(part["item"], None)
        if part["source"] == "print":
            grams[part["material"]].append(number(PARTS, part, "total_g"))
        if row is None:
            wrong.append(f"{part['item']} is missing")
            continue
        wrong += _differ(part, row)
    for material, each in grams.items():
        row = left.pop(f"filament {material}", None)
        off = ROUND_KG + len(each) * ROUND_G / 1000
        if row is None:
            wrong.append(f"filament {material} is missing")
        elif abs(number(ORDER, row, "amount") - sum(each) / 1000) > off:
            wrong.append(f"filament {material}: {row['amount']} kg, printed {sum(each):.0f} g")
    wrong += [f"{item} is no part" for item in left]
    return [
        same("proof.list-order", ORDER, wrong, "every part stands in the order list once", "lines")
    ]


def _differ(part: Row, row: Row) -> list[str]:
    """The two entries of one item, where they differ."""
    found = []
    if row["unit"] == "piece" and number(ORDER, row, "amount") != number(PARTS, part, "count"):
        found.append(f"{part['item']}: {row['amount']}, the list of parts has {part['count']}")
    if part["source"] in ("buy", "order"):
        one, other = (float(text) if text else -1.0 for text in (part["cost"], row["cost"]))
        if abs(one - other) > 0.011:
            found.append(f"{part['item']}: cost {row['cost'] or 'none'}, not {part['cost']}")
    return found
