"""A part of a layout: some of its panels as a layout of their own."""

from __future__ import annotations

from collections.abc import Collection

from fab.layout.model import Layout, OpenEdge


def part_of(layout: Layout, names: Collection[str]) -> Layout:
    """Return the panels of these names with the joints between them; edges towards the others are
    open.
    """
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
    links: dict[str, list[str]] = {panel.name: [] for panel in panels}
    for joint in joints:
        links[joint.a].append(joint.b)
        links[joint.b].append(joint.a)
    seen: set[str] = set()
    groups = []
    for panel in panels:
        if panel.name in seen:
            continue
        group, stack = {panel.name}, [panel.name]
        while stack:
            fresh = [name for name in links[stack.pop()] if name not in group]
            group.update(fresh)
            stack += fresh
        seen |= group
        groups.append(tuple(one.name for one in panels if one.name in group))
    return Layout(panels, joints, edges, tuple(groups))
