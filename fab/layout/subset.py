"""A part of a layout: some of its panels as a layout of their own."""

from __future__ import annotations

from collections.abc import Collection

from fab.layout.groups import connected
from fab.layout.model import Layout, OpenEdge


def part_of(layout: Layout, names: Collection[str]) -> Layout:
    """Return the panels of these names and the joints between them; other edges are open."""
    held = set(names)
    panels = tuple(panel for panel in layout.panels if panel.name in held)
    joints = tuple(joint for joint in layout.joints if joint.a in held and joint.b in held)
    joined = {(joint.a, joint.edge_a) for joint in joints} | {
        (joint.b, joint.edge_b) for joint in joints
    }
    edges = tuple(
        OpenEdge(panel.name, edge)
        for panel in panels
        for edge in range(panel.cell.sides)
        if (panel.name, edge) not in joined
    )
    groups = connected([panel.name for panel in panels], [(joint.a, joint.b) for joint in joints])
    return Layout(panels, joints, edges, groups)
