"""The way through a build at a glance: each stage with its parts, tools and machine time."""

from __future__ import annotations

from fab.book.facts import BookFacts
from fab.files.document import Block, Table
from fab.outputs.nested import total_seconds
from fab.units import some

CAPTION = "The stages of the build"


def blocks(facts: BookFacts) -> list[Block]:
    """One row a stage, in the order of the chapters, each with a link to its own."""
    design, counts = facts.design, facts.counts
    lit = bool(design.wired.zones)
    printed = sum(line.count for line in facts.lines if line.source == "print")
    hours = sum(line.hours or 0.0 for line in facts.lines if line.source == "print")
    minutes = total_seconds(facts.nested) / 60
    pushes = len(design.order.pushes)
    panels = some(len(design.layout.panels), "panel")
    iron = ", soldering iron" if design.wired.inlets else ""
    rows = [
        ("Measure your machines", "calibrate", "test pieces", "calipers", ""),
        ("Buy and order", "buy", "the shopping list", "", ""),
        ("Print", "print", some(printed, "part"), "3D printer", f"about {hours:.0f} h"),
        (
            "Cut",
            "cut",
            some(counts["sheets"], "sheet"),
            "laser cutter",
            f"about {max(minutes, 1.0):.0f} min",
        ),
    ]
    if lit:
        boards = some(len(design.layout.panels) - len(design.blank), "board")
        rows.append(("Light one panel", "one-panel", boards, "multimeter, bench supply", ""))
    rows.append(("Put each panel together", "assemble", panels, f"screwdriver{iron}", ""))
    if design.layout.joints:
        words = (some(pushes, "push"), some(counts["clips"], "clip"))
        rows.append(("Join the panels", "join", ", ".join(words), "soft cloth, straight edge", ""))
    rows.append(
        (
            "Lift and hang",
            "hang",
            some(counts["hangers"], "screw"),
            "detector, drill, spirit level, plumb line, screwdriver",
            "",
        )
    )
    if lit:
        rows.append(
            ("Light the wall", "first-light", some(counts["inlets"], "supply"), "multimeter", "")
        )
    return [
        Table(
            CAPTION,
            ("stage", "take", "tools", "machine time"),
            tuple((stage, take, tools, time) for stage, _, take, tools, time in rows),
            links=tuple((f"#{anchor}", "", "", "") for _, anchor, *_ in rows),
        )
    ]
