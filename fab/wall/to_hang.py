"""A wall before its hangers are chosen: everything that the choice hangs on, as one value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from fab.errors import refused
from fab.layout.model import Layout, PlacedPanel
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.plan import Plan
from fab.wall.model import JointStrength, PanelMass


def wall_type(kinds: Mapping[str, WallType], name: str) -> WallType:
    """The wall type behind `hang.wall`; refused with the names that there are."""
    if name in kinds:
        return kinds[name]
    known = ", ".join(sorted(kinds)) or "none: add a [shop.wall.NAME] table"
    raise refused(f'unknown kind of wall "{name}"', f"The shop has: {known}.", key="hang.wall")


def located(hang: HangParams, layout: Layout) -> HangParams:
    """The hanging with its studs in the wall frame, wherever their x was counted from."""
    x0, _, x1, _ = layout.box
    start = {"origin": 0.0, "left": x0, "middle": (x0 + x1) / 2}[hang.studs_from]
    return replace(hang, studs=tuple(start + stud for stud in hang.studs), studs_from="origin")


@dataclass(frozen=True)
class MountedBase:
    """A base as it hangs: bases that are alike in all of this have their keyhole at one place."""

    design: str
    steps: int  # edges that it is turned by in its panel: its inlet is at its edge 0
    up_deg: float  # the wall's up in the frame of the base
    inlet: bool
    opened: tuple[int, ...]  # its edges with an opening for a jumper, sorted


def mounted_base(panel: PlacedPanel, edge: int | None, opened: Sequence[int]) -> MountedBase:
    """Return the base of a panel whose inlet leaves by an edge (None: it has none), with openings
    at the `opened` edges; edges are the panel's.
    """
    sides, steps = panel.cell.sides, edge or 0
    up = round((90.0 - panel.turn_deg - steps * 360.0 / sides) % 360.0, 9) % 360.0
    turned = tuple(sorted((one - steps) % sides for one in opened))
    return MountedBase(panel.design, steps, up, edge is not None, turned)


@dataclass(frozen=True)
class WallToHang:
    """A wall before its hangers are chosen."""

    layout: Layout
    plans: Mapping[str, Plan]  # by name of design
    masses: Mapping[str, PanelMass]  # by name of panel
    hang: HangParams
    wall: WallType
    joint: JointStrength = field(default_factory=JointStrength)
    inlets: Mapping[str, int] = field(default_factory=dict)  # panel to the open edge it leaves by
    # panel to its edges whose base has an opening for a jumper
    jumpers: Mapping[str, Sequence[int]] = field(default_factory=dict)

    def base_of(self, panel: PlacedPanel) -> MountedBase:
        """The base of a panel, as it hangs."""
        edge = self.inlets.get(panel.name)
        return mounted_base(panel, edge, self.jumpers.get(panel.name, ()))

    def mounted(self, base: MountedBase) -> Plan:
        """The plan of a base, turned in its panel."""
        return self.plans[base.design].mounted(base.steps)

    def plan_of(self, panel: str) -> Plan:
        """The plan of a panel, by its name."""
        return self.plans[self.layout.by_name[panel].design]

    def under(self, hang: HangParams) -> WallToHang:
        """The same wall with other wishes for its hanging."""
        return replace(self, hang=hang)
