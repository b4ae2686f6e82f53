"""Layers of tables: the upper one wins key by key; arrays are replaced whole."""

from __future__ import annotations

from fab.params.tree import Leaf, Node, TableNode

EITHER = ("across_flats", "edge")  # two ways to say one size
DRAWN = ("map", "cells")  # two ways to say where the main panels lie; no other pair excludes itself


def overlay(under: TableNode, over: TableNode) -> TableNode:
    """`over` on `under`. What is given in one of two ways above takes the other way below out."""
    items: dict[str, Node] = dict(under.items)
    for one, other in (EITHER, EITHER[::-1], DRAWN, DRAWN[::-1]):
        if one in over.items and other not in over.items:
            items.pop(other, None)
    for key, node in over.items.items():
        below = items.get(key)
        items[key] = (
            overlay(below, node)
            if isinstance(below, TableNode) and isinstance(node, TableNode)
            else node
        )
    return TableNode(items, over.where)


def without(table: TableNode, key: str) -> TableNode:
    """The table less one key."""
    return TableNode({name: node for name, node in table.items.items() if name != key}, table.where)


def replaced(table: TableNode, key: str, node: Node) -> TableNode:
    """The table with another node behind a key."""
    return TableNode({**table.items, key: node}, table.where)


def lifted(job: TableNode) -> TableNode:
    """A job's table with `panel = "hexagon-120"` written as `{extends = "hexagon-120"}`."""
    for key in ("shop", "panel"):
        if key in job.items:
            job = replaced(job, key, _lifted(job.items[key]))
    designs = job.items.get("designs")
    if isinstance(designs, TableNode):
        items = {name: _lifted(node) for name, node in designs.items.items()}
        job = replaced(job, "designs", TableNode(items, designs.where))
    return job


def _lifted(node: Node) -> Node:
    if isinstance(node, Leaf) and isinstance(node.value, str):
        return TableNode({"extends": node}, node.where)
    return node
