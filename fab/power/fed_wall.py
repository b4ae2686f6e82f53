"""A wall with its wiring and the values it was wired for, as checks and remedies read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.corridor import edge_rooms
from fab.power.model import EdgeRoom, Wired


@dataclass(frozen=True)
class FedWall:
    """A wired wall; `designs` by name, as panels of the layout name them."""

    wired: Wired
    layout: Layout
    power: PowerParams
    designs: Mapping[str, PanelParams]

    @cached_property
    def rooms(self) -> tuple[EdgeRoom, ...]:
        """The room outside every open edge."""
        return edge_rooms(self.layout, self.designs)

    def design(self, panel: str) -> PanelParams:
        """The values of a panel's design."""
        return self.designs[self.layout.by_name[panel].design]
