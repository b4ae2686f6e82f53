"""The table of joints: what joins the boards of two panels; who mates it, when, which way.

The only source of lists, pictures, counts and sums. Kinds of a joint:

    header                  all pins; supply, ground and data pass
    header without supply   between two zones: its supply pins are pulled
    jumper                  a cable from the back, where no straight push mates a header
    none                    nothing joins the two boards there
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from fab.layout.model import Layout

Kind = Literal["header", "header without supply", "jumper", "none"]
Step = Literal["push", "lift", "jumper", ""]
KINDS: tuple[Kind, ...] = ("header", "header without supply", "jumper", "none")

BLANK = "a panel without a board"
NO_PUSH = "no straight push mates it"


@dataclass(frozen=True)
class Mate:
    """A header's mating move: in `step` (from 1) panel `moves` moves towards `heading_deg`."""

    by: Step
    step: int
    moves: str
    heading_deg: float  # wall frame, front view


@dataclass(frozen=True)
class JointRow:
    """One joint of the layout."""

    joint: int  # index into the layout's joints
    kind: Kind
    supply: bool  # supply passes: both panels lie in one zone
    why: str  # of kind none: why nothing joins the boards
    by: Step  # what mates it; "" where nothing does
    step: int  # number of that push, lift or jumper, from 1; 0 where nothing does
    moves: str  # the panel of the joint that moves; "" for jumpers and none
    heading_deg: float | None  # which way it moves, wall frame, front view

    @property
    def joined(self) -> bool:
        """True where a header or a jumper joins the two boards."""
        return self.kind != "none"

    @property
    def is_header(self) -> bool:
        """True for a header, with its supply pins or without."""
        return self.kind in ("header", "header without supply")


@dataclass(frozen=True)
class JointTable:
    """One row per joint, in the layout's order of joints."""

    layout: Layout
    rows: tuple[JointRow, ...]

    @cached_property
    def counts(self) -> Mapping[Kind, int]:
        """Joints by kind; all four kinds are there."""
        kinds = [row.kind for row in self.rows]
        return {kind: kinds.count(kind) for kind in KINDS}

    @cached_property
    def headers(self) -> tuple[int, ...]:
        """Joints with a header, with or without supply, by index."""
        return tuple(row.joint for row in self.rows if row.is_header)

    @cached_property
    def jumpers(self) -> tuple[int, ...]:
        """Joints with a jumper, by index, in the order in which they are plugged."""
        return tuple(row.joint for row in self.rows if row.kind == "jumper")

    @cached_property
    def joined(self) -> tuple[int, ...]:
        """Joints that join two boards, by index."""
        return tuple(row.joint for row in self.rows if row.joined)

    @cached_property
    def without(self) -> tuple[int, ...]:
        """Joints between two boards that nothing joins, by index."""
        return tuple(row.joint for row in self.rows if not row.joined and row.why != BLANK)

    @cached_property
    def jumper_edges(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges with a jumper, panel frame; only panels that have one."""
        found: dict[str, list[int]] = {}
        for joint in (self.layout.joints[k] for k in self.jumpers):
            found.setdefault(joint.a, []).append(joint.edge_a)
            found.setdefault(joint.b, []).append(joint.edge_b)
        return {
            panel.name: tuple(sorted(found[panel.name]))
            for panel in self.layout.panels
            if panel.name in found
        }

    def at(self, panel: str, edge: int) -> JointRow | None:
        """The row of the joint at one edge; None for an open edge."""
        return self._at.get((panel, edge))

    def mated_by(self, by: Step, step: int) -> tuple[int, ...]:
        """Joints that one push or lift mates, by index."""
        return self._by.get((by, step), ())

    @cached_property
    def _at(self) -> Mapping[tuple[str, int], JointRow]:
        found = {}
        for row in self.rows:
            joint = self.layout.joints[row.joint]
            found[joint.a, joint.edge_a] = found[joint.b, joint.edge_b] = row
        return found

    @cached_property
    def _by(self) -> Mapping[tuple[Step, int], tuple[int, ...]]:
        found: dict[tuple[Step, int], tuple[int, ...]] = {}
        for row in self.rows:
            if row.joined:
                found[row.by, row.step] = (*found.get((row.by, row.step), ()), row.joint)
        return found


def joint_table(
    layout: Layout,
    mates: Mapping[int, Mate],
    jumpers: Collection[int],
    zone_of: Mapping[str, int],
    blank: Collection[str] = (),
) -> JointTable:
    """Return the table.

    `mates`: joints whose header some step mates; `jumpers`: joints with a jumper in its place.

    `zone_of`: fed panel to its zone; `blank`: panels without a board.
    """
    covers, rows = set(blank), []
    plugged = {k: number for number, k in enumerate(sorted(jumpers), 1)}
    for k, joint in enumerate(layout.joints):
        mate = mates.get(k)
        supply = zone_of.get(joint.a, -1) == zone_of.get(joint.b, -2)
        if {joint.a, joint.b} & covers:
            rows.append(JointRow(k, "none", False, BLANK, "", 0, "", None))
        elif k in plugged:
            rows.append(JointRow(k, "jumper", supply, "", "jumper", plugged[k], "", None))
        elif mate is not None:
            kind: Kind = "header" if supply else "header without supply"
            rows.append(
                JointRow(k, kind, supply, "", mate.by, mate.step, mate.moves, mate.heading_deg)
            )
        else:
            rows.append(JointRow(k, "none", False, NO_PUSH, "", 0, "", None))
    return JointTable(layout, tuple(rows))
