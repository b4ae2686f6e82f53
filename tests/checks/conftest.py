"""Assemblies that several tests read: made once a run and worker."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from fab.layout.model import BaseKind
from fab.parts.assembly import beside_edge, joint_parts, panel_parts, printed
from fab.parts.placed import Named, Printed
from fab.parts.plan import Plan

from .designs import plan_with

KIND = BaseKind("inlet-hanger-A", "panel", True, 77.0, "A")


@dataclass(frozen=True)
class Set:
    """One design, made and put together."""

    plan: Plan
    kind: BaseKind
    made: Printed
    parts: tuple[Named, ...]

    @property
    def neighbour(self) -> list[Named]:
        return beside_edge(self.plan, self.made, 1)

    @property
    def joint(self) -> list[Named]:
        return joint_parts(self.plan, self.made, self.plan, self.made)


def put_together(plan: Plan, kind: BaseKind = KIND) -> Set:
    made = printed(plan, kind)
    return Set(plan, kind, made, tuple(panel_parts(plan, kind, made)))


@pytest.fixture(scope="session")
def screwed() -> Set:
    """A small hexagon whose shell is held by screws."""
    return put_together(plan_with({"edge": 72.0}))


@pytest.fixture(scope="session")
def snapped() -> Set:
    """A square with snaps and press edges."""
    return put_together(
        plan_with(
            {
                "sides": 4,
                "edge": 84.0,
                "shell.fixing": "snap",
                "switch.on": True,
                "switch.height": 9.5,
            }
        ),
        BaseKind("hanger-A", "panel", False, 77.0, "A"),
    )


@pytest.fixture(scope="session")
def on_feet() -> Set:
    """A triangle that stands off the wall; its keyhole has room at a corner only."""
    kind = BaseKind("inlet-hanger-A", "panel", True, 300.0, "A")
    return put_together(plan_with({"sides": 3, "edge": 90.0, "base.feet": 8.0}), kind)
