"""Layers of tables: the upper one wins key by key, arrays and arrays of tables are replaced
whole.
"""

from __future__ import annotations

from fab.params.tree import Leaf, Node, Table

EITHER = ("across_flats", "edge")  # two ways to say one size
DRAWN = ("map", "cells")  # two ways to say where the main panels lie; no other pair excludes itself


def overlay(under: Table, over: Table) -> Table:
    """`over` on `under`. What is given in one of two ways above takes the other way below out."""
    items: dict[str, Node] = dict(under.items)
    for one, other in (EITHER, EITHER[::-1], DRAWN, DRAWN[::-1]):
        if one in over.items and other not in over.items:
            items.pop(other, None)
    for key, node in over.items.items():
        below = items.get(key)
        items[key] = (
            overlay(below, node) if isinstance(below, Table) and isinstance(node, Table) else node
        )
    return Table(items, over.where)


def without(table: Table, key: str) -> Table:
    """The table less one key."""
    return Table({name: node for name, node in table.items.items() if name != key}, table.where)


def replaced(table: Table, key: str, node: Node) -> Table:
    """The table with another node behind a key."""
    return Table({**table.items, key: node}, table.where)


def lifted(job: Table) -> Table:
    """A job's table with `panel = "hexagon-120"` written out as `panel = {extends =
    "hexagon-120"}`.
    """
    for key in ("shop", "panel"):
        if key in job.items:
            job = replaced(job, key, _lifted(job.items[key]))
    designs = job.items.get("designs")
    if isinstance(designs, Table):
        items = {name: _lifted(node) for name, node in designs.items.items()}
        job = replaced(job, "designs", Table(items, designs.where))
    return job


def _lifted(node: Node) -> Node:
    if isinstance(node, Leaf) and isinstance(node.value, str):
        return Table({"extends": node}, node.where)
    return node
