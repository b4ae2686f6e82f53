"""Checks that the designs of a wall match where they touch, told with both values.

What an edge is to its neighbour: its length, the gap, the height of the header's axis, window and
pins, and all that a clip grips. Depth, LEDs, board and what sits above the windows may differ. A
blank cover has no header to match.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from fab.checks.model import Verdict, at_most, judge
from fab.checks.remedy import SIZE, in_full
from fab.layout.model import Layout
from fab.parts.features import features
from fab.parts.given import shell_is_worked
from fab.parts.openings import FLAT_WORK
from fab.parts.plan import Plan
from fab.units import fixed

SAME_MM = 0.01


@dataclass(frozen=True)
class Trait:
    """One thing that two edges must have alike."""

    says: str
    value: Callable[[Plan], float]
    keys: tuple[str, ...]  # parameters that set it, the most likely first
    header: bool = False  # only where there is a header
    unit: str = "mm"


TRAITS = (
    Trait("length of an edge", lambda p: p.cell.edge, (SIZE,)),
    Trait("gap between panels", lambda p: p.params.gap, ("gap",)),
    Trait("thickness of the floor", lambda p: p.floor.top_z, ("base.floor",)),
    Trait(
        "distance from the joint to the inside of the base wall",
        lambda p: p.edge.wall_u,
        ("shell.wall", "base.wall"),
    ),
    Trait(
        "distance from the edge's middle to the middle of a clip",
        lambda p: p.clip.offset,
        ("clip.offset", "clip.width", "header.pins", "inlet.plug_w"),
    ),
    Trait("clips", lambda p: float(p.params.clips_per_edge), ("clips_per_edge",), unit="clips"),
    Trait("width of a clip's pocket", lambda p: p.clip.slot_w, ("clip.width",)),
    Trait(
        "distance from the joint to the inner end of a clip's pocket",
        lambda p: p.clip.cavity_u,
        ("clip.leg", "clip.hook"),
    ),
    Trait(
        "height at which a clip catches",
        lambda p: p.clip.catch_z,
        ("clip.leg_length", "clip.leg", "clip.hook"),
    ),
    Trait("top of a clip's bar", lambda p: p.clip.bar_top_z, ("clip.bar", "clip.sunk")),
    Trait(
        "height of the header's axis",
        lambda p: p.heights.axis_z,
        ("board.height", "header.socket_height"),
        True,
    ),
    Trait(
        "width of the header's window",
        lambda p: p.edge.window_w,
        ("header.pins", "header.pitch", "header.play"),
        True,
    ),
    Trait(
        "height of the header's window",
        lambda p: p.edge.window_h,
        ("header.body", "header.play"),
        True,
    ),
    Trait(
        "pins of the header", lambda p: float(p.params.header.pins), ("header.pins",), True, "pins"
    ),
    Trait("pitch of the pins", lambda p: p.params.header.pitch, ("header.pitch",), True),
    Trait(
        "supply pins",
        lambda p: float(p.params.header.power_pins),
        ("header.power_pins",),
        True,
        "pins",
    ),
    Trait(
        "return pins",
        lambda p: float(p.params.header.ground_pins),
        ("header.ground_pins",),
        True,
        "pins",
    ),
)


def edge_checks(layout: Layout, plans: Mapping[str, Plan]) -> tuple[Verdict, ...]:
    """`fit.edges` for every pair of designs that meet, `openings.joint` for what stands out at a
    joint.
    """
    pairs: dict[tuple[str, str], str] = {}
    for joint in layout.joints:
        a, b = (layout.by_name[name].design for name in (joint.a, joint.b))
        if a != b:
            pairs.setdefault((min(a, b), max(a, b)), f"{joint.a} and {joint.b}")
    found = [
        verdict for pair, first in sorted(pairs.items()) for verdict in _pair(plans, pair, first)
    ]
    return (*found, *_standing_out(layout, plans))


def _pair(plans: Mapping[str, Plan], pair: tuple[str, str], first: str) -> Iterator[Verdict]:
    """Every trait that differs; one verdict that passes when none does."""
    a, b = plans[pair[0]], plans[pair[1]]
    blank = a.params.board.none or b.params.board.none
    main = next(iter(plans))
    subject, good = f"joint of {pair[0]} and {pair[1]}", True
    for trait in TRAITS:
        if blank and trait.header:
            continue
        here, there = trait.value(a), trait.value(b)
        if abs(here - there) > SAME_MM:
            good = False
            odd, other = (
                (0, there) if pair[1] == main or _like(plans, main, trait, there) else (1, here)
            )
            keys = " or ".join(in_full(pair[odd], key, (a, b)[odd]) for key in trait.keys)
            says = (
                f"{trait.says}: {fixed(here)} {trait.unit} in {pair[0]}, {fixed(there)}"
                f" {trait.unit} in {pair[1]}. The two designs meet between panels {first}."
            )
            yield judge(
                "fit.edges",
                subject,
                at_most(abs(here - there), SAME_MM, trait.unit),
                says,
                remedy=f"Change {keys} until it is {fixed(other)} {trait.unit} there too.",
            )
    if good:
        says = (
            f"The edges of {pair[0]} and {pair[1]} agree in all that two joined edges must share."
        )
        yield judge("fit.edges", subject, at_most(0.0, SAME_MM), says)


def _like(plans: Mapping[str, Plan], main: str, trait: Trait, value: float) -> bool:
    """True when the main design has a trait so: what differs from it is the odd one."""
    return abs(trait.value(plans[main]) - value) <= SAME_MM


def _standing_out(layout: Layout, plans: Mapping[str, Plan]) -> Iterator[Verdict]:
    """Raised letters on the outside of a shell whose edge has a neighbour."""
    raised: dict[str, dict[int, tuple[float, str]]] = {}
    for name, plan in plans.items():
        for item in features(plan) if shell_is_worked(plan.params) else ():
            if (
                item.part == "shell"
                and item.what in FLAT_WORK
                and item.out > 0
                and item.edge is not None
            ):
                raised.setdefault(name, {})[item.edge] = (item.out, item.key)
    if not raised:
        return
    for joint in layout.joints:
        for panel, edge in ((joint.a, joint.edge_a), (joint.b, joint.edge_b)):
            design = layout.by_name[panel].design
            out, key = raised.get(design, {}).get(edge, (0.0, ""))
            if key:
                plan = plans[design]
                sunk = 'work = "sunk"' if key.startswith("art") else "sunk = true"
                says = (
                    f"Letters or art stand {fixed(out)} mm out of edge {edge} of panel {panel};"
                    f" the gap to its neighbour is {fixed(plan.params.gap)} mm."
                )
                yield judge(
                    "openings.joint",
                    f"panel {panel}",
                    at_most(out, max(plan.params.gap - 0.2, 0.0)),
                    says,
                    remedy=(
                        f"Set {in_full(design, key, plan)}.{sunk}, or give the panel a design of"
                        " its own."
                    ),
                )
