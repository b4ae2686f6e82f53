"""Jumpers in the book: which joints get one, a back view, and the last step before the wall is
lifted.
"""

from __future__ import annotations

from fab.book.facts import BookFacts
from fab.book.shadedart import shaded_page, shape
from fab.design import Design
from fab.files.document import Block, Step, Table
from fab.outlines.page import Page
from fab.parts.jumpersizes import wire_length
from fab.parts.placed import Pose
from fab.parts.plan import Plan
from fab.products import Made
from fab.solids.shaded import Shaded, ShadedShape, shaded
from fab.units import some

FROM_BACK = (-0.35, -0.6, -1.2)
OUT_MM = 20.0  # the cable is drawn this far off its place
MOST_ROWS = 100


def blocks(facts: BookFacts) -> list[Block]:
    """Return the step with its picture and table; nothing for a wall without jumpers."""
    design = facts.design
    if not design.table.jumpers:
        return []
    count = len(design.table.jumpers)
    cables = "; ".join(
        f"{number} x {wire:g} mm{_supply(supply=supply)}"
        for (_, _, wire, supply), number in design.cables.items()
    )
    steps = [
        Step(
            "Plug in the jumpers",
            jumper_page(facts, name),
            "With all panels joined and all clips in, hold both plugs over the openings of a joint,"
            " keyed sides towards the joint. Push them on by turns, 2 mm at a time, until both"
            " stop. Press the wires into the channel and tape them down.",
            f"{some(count, 'jumper')} ({cables}, wire between the plugs), adhesive tape.",
            "No wire stands out of the wall face, a straight edge on both bases does not rock, and"
            " a"
            " gentle pull moves no plug.",
            "Pull the plug straight back by its body, straighten the wires and repeat. Replace a"
            " damaged jumper.",
        )
        for name in shown(design)
    ]
    return [*steps, _table(design)]


def _table(design: Design) -> Table:
    joints = design.layout.joints
    rows = []
    for number, k in enumerate(design.table.jumpers[:MOST_ROWS], 1):
        joint = joints[k]
        a, b = (design.plans[design.layout.by_name[name].design] for name in (joint.a, joint.b))
        rows.append(
            (
                str(number),
                f"{joint.a}/{joint.edge_a}",
                f"{joint.b}/{joint.edge_b}",
                f"{wire_length(a, b):g}",
                "all wires" if design.table.rows[k].supply else "supply wires left out",
            )
        )
    more = len(design.table.jumpers) - len(rows)
    caption = "Jumpers" + (
        f": the first {len(rows)}; {more} more in lists/joints.csv" if more > 0 else ""
    )
    return Table(
        caption,
        ("Jumper", "Panel/edge", "Panel/edge", "Wire, mm", "Wires"),
        tuple(rows),
        numeric=(3,),
    )


def _supply(*, supply: bool) -> str:
    return "" if supply else " without supply wires"


def shown(design: Design) -> list[str]:
    """Return the design whose jumper is drawn: that of the first joint with one."""
    return [
        design.layout.by_name[design.layout.joints[k].a].design for k in design.table.jumpers[:1]
    ]


def jumper_page(facts: BookFacts, name: str, width: float = 110.0) -> Page:
    """Back view of a joint: two bases face down, a jumper over their openings."""
    art = facts.pictures["jumper", name]
    says = (
        "Back view, mirrored left to right: two bases side by side, a jumper over the openings and"
        " the channel."
    )
    return shaded_page(art, width, 90.0, "A jumper from the back", says)


def back_view(plan: Plan, base: Made) -> Shaded:
    """Two bases face down, a jumper over their openings."""
    from fab.parts.jumper import pin_row, plug, wires
    from fab.solids.meshing import mesh

    assert base.spec.kind is not None
    own = Pose(turn_deg=-360.0 * base.spec.kind.jumpers[0] / plan.cell.sides).mesh(base.mesh)
    out = Pose(shift=(0.0, 0.0, -OUT_MM))
    cable = [out.mesh(mesh(solid, "jumper")) for solid in (plug(plan), *wires(plan, 0.5))]
    half = [
        shape(own, "base"),
        shape(mesh(pin_row(plan), "pin row"), "socket"),
        *(shape(one, "jumper") for one in cable),
    ]
    across = Pose(shift=(-2 * plan.cell.apothem, 0.0, 0.0), turn_deg=180.0)
    other = [ShadedShape(across.mesh(one.mesh), one.colour, one.name) for one in half]
    return shaded([*half, *other], FROM_BACK, (0.0, 1.0, 0.0))
