"""The connectors that may join the boards at each joint of a wall, before any is chosen."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from fab.layout.groups import Parts
from fab.layout.joint_table import Mate
from fab.layout.model import Layout
from fab.parts.jumpersizes import pole_a, pole_ohm
from fab.parts.plan import Plan


@dataclass(frozen=True)
class Pole:
    """One pole of a jumper between two designs: both contacts and the wire."""

    ohm: float
    most_a: float


@dataclass(frozen=True)
class Links:
    """The joints of a layout, by index, that a header or a jumper can join."""

    mates: Mapping[int, Mate]  # joints whose header a push or a lift mates
    jumpable: frozenset[int] = frozenset()  # joints that a jumper can join where no header does
    # by the designs of panels a and b
    poles: Mapping[tuple[str, str], Pole] = field(default_factory=dict)
    every: bool = False  # a jumper at every joint of `jumpable`, needed or not

    @property
    def headers(self) -> frozenset[int]:
        """Joints whose header can be mated."""
        return frozenset(self.mates)


def every_header(layout: Layout) -> Links:
    """Every joint takes a header: a wall whose order of pushes is not looked at."""
    return Links(
        {
            k: Mate("push", 0, joint.b, (joint.normal_deg + 180.0) % 360.0)
            for k, joint in enumerate(layout.joints)
        }
    )


def poles_of(layout: Layout, plans: Mapping[str, Plan]) -> dict[tuple[str, str], Pole]:
    """The poles of all pairs of designs that meet in a joint, both ways round."""
    pairs = {
        (layout.by_name[joint.a].design, layout.by_name[joint.b].design) for joint in layout.joints
    }
    pairs = {pair for pair in pairs if not any(plans[name].params.board.none for name in pair)}
    return {
        (a, b): Pole(pole_ohm(plans[a], plans[b]), pole_a(plans[a], plans[b])) for a, b in pairs
    }


def fewest_links(
    count: int,
    pairs: Mapping[int, tuple[int, int]],
    there: Collection[int],
    able: Sequence[int],
    zone_of: Sequence[int] | None = None,
) -> list[int]:
    """Fewest joints of `able` to join what `there` leaves apart: inside each zone, then all.

    `pairs`: joint to its two panels, 0 .. count - 1. Taken in the order of `able`.
    """
    chosen: list[int] = []
    scopes = [set(pairs)]
    if zone_of is not None:
        scopes.insert(0, {k for k, (a, b) in pairs.items() if zone_of[a] == zone_of[b]})
    for scope in scopes:
        parts = Parts(count)
        for k in (*scope.intersection(there), *chosen):
            parts.join(*pairs[k])
        chosen += [k for k in able if k in scope and parts.join(*pairs[k])]
    return chosen
