"""The words of the wall room, as frozen values.

Wall frame (X right, Y up), mm, degrees, grams, newtons.

place     where a panel's screw would sit, and which rules forbid it
hanger    a keyhole in a base together with the screw it hangs on
group     panels that hang together; each group is hung and reckoned for itself
rule      what a choice of hangers must keep; its name is the tail of a check's id
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fab.errors import Fault
from fab.outlines.contour import Point
from fab.parts.keyhole import Keyhole
from fab.units import GRAVITY_M_S2

# the centre of mass keeps this from the outer screws; common practice, no source
CENTRE_MARGIN_MM = 10.0
ALONE_MM = 0.5  # a single screw is so far over the centre of mass, at least
# a panel on one screw may hang this far out of level; common practice, no source
TILT_LIMIT_DEG = 1.0


def newtons(grams: float) -> float:
    """Weight of a mass."""
    return grams * GRAVITY_M_S2 / 1000.0


@dataclass(frozen=True)
class PanelMass:
    """A finished panel with all that hangs on it: grams, and its centre of mass in the panel frame,
    z from the wall.
    """

    grams: float
    x: float
    y: float
    z: float


@dataclass(frozen=True)
class JointStrength:
    """The load that one clip of a joint may carry, all factors inside, and how it gives.

    Cautious where nothing is measured.

    From memory of printed snaps, on the low side: a foot 8 mm wide and 3 mm deep bears 30 N at
    little over 1 N/mm2; the hook lets go at some 10 N. The header's play keeps it out of the load.
    """

    across_n: float = 30.0  # pull that parts the two panels
    along_n: float = 30.0  # shear along the edge
    lift_n: float = 5.0  # pull on the hook, out of the wall
    across_n_mm: float = 150.0
    along_n_mm: float = 150.0
    screw_n_mm: float = 200.0  # a screw in its plug with the keyhole's edge on it
    source: str = "cautious default, nothing measured"


@dataclass(frozen=True)
class Place:
    """The place of a panel's screw; `stops` names the rules that forbid it."""

    panel: str
    x: float
    y: float
    up_deg: float  # the wall's up in the panel frame
    # in the frame of the base, which may be turned in the panel by whole edges
    keyhole: Keyhole | None
    low_y: float  # lowest corner of the panel: it turns about it when the screw gives
    stops: tuple[str, ...] = ()
    aside_mm: float = 0.0  # of the keyhole, to the right of the panel's centre
    # its height over the centre, where it is not the highest that is free
    rest_mm: float | None = None


@dataclass(frozen=True)
class Hanger:
    """A chosen place and the load of its screw, of a rigid wall on screws that give alike."""

    panel: str
    x: float
    y: float
    up_deg: float
    keyhole: Keyhole
    shear_n: float
    pull_n: float
    soft_n: float  # the same load when the joints give: the wall as a frame of panels
    uneven_n: float  # the most of it when one hole is off by `hang.drill_mm`, the wall rigid
    # the upward part of the lesser of the two; under 0: the keyhole would be lifted off
    least_n: float
    aside_mm: float = 0.0
    rest_mm: float | None = None

    @property
    def load_n(self) -> float:
        """The load along the wall that all figures take: the worst of a rigid, a yielding and an
        unevenly drilled wall.
        """
        return max(self.shear_n, self.soft_n, self.uneven_n)


@dataclass(frozen=True)
class JointLoad:
    """The load of the busiest clip of one joint."""

    joint: int  # index into the layout's joints
    across_n: float  # pull that parts the panels; 0 when both clips are pressed
    along_n: float
    lift_n: float  # out of the wall


@dataclass(frozen=True)
class GroupLoad:
    """One group as a rigid body: weight and centre of mass."""

    panels: tuple[str, ...]
    weight_n: float
    x: float
    y: float
    z: float
    upright: bool  # too narrow for screws beside each other: the slots' sides keep it straight
    margin: float  # from the centre of mass to the nearer outer screw, across; negative: outside
    tilt_deg: float  # how far it hangs out of level; 0 on two screws and more


@dataclass(frozen=True)
class Hung:
    """The wall on its screws."""

    hangers: tuple[Hanger, ...]  # in the layout's order
    groups: tuple[GroupLoad, ...]
    joints: tuple[JointLoad, ...]  # in the layout's order of joints
    far: Mapping[str, int]  # panel to its nearest hanger, counted in joints
    least: int  # no choice with fewer hangers keeps the rules: a proof, not a guess
    method: str  # "exhaustive", "programme" or "search"; the weakest that was needed
    broken: tuple[str, ...]  # rules that no choice keeps; their checks fail
    lacking: tuple[Fault, ...] = ()  # why no choice of places keeps them, and what would
    proven: bool = True  # that no choice keeps the broken rules; else none was found

    @property
    def gap(self) -> int:
        """Hangers more than the proven bound; 0 means that fewer are impossible."""
        return len(self.hangers) - self.least

    @cached_property
    def by_panel(self) -> Mapping[str, Hanger]:
        """Each hanger by its panel's name."""
        return {hanger.panel: hanger for hanger in self.hangers}

    @cached_property
    def spots(self) -> Mapping[str, tuple[float, float | None]]:
        """Panel to how far aside its keyhole stands and how high, where it is not in the middle at
        the top.
        """
        return {
            h.panel: (h.aside_mm, h.rest_mm)
            for h in self.hangers
            if h.aside_mm or h.rest_mm is not None
        }

    @cached_property
    def up(self) -> Mapping[str, float]:
        """Panel with a hanger to the direction of the wall's up in the panel frame: what
        `base_uses` asks for.
        """
        return {hanger.panel: hanger.up_deg for hanger in self.hangers}

    @cached_property
    def marks(self) -> tuple[tuple[str, Point], ...]:
        """Every screw: panel, and where the shank rests in the wall frame."""
        return tuple((hanger.panel, (hanger.x, hanger.y)) for hanger in self.hangers)
