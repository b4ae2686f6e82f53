"""The floor of a base, and how the shell stands over it. All mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from fab.parts.basis import Basis


@dataclass(frozen=True)
class Floor:
    """The floor of a base, and how the shell stands over it. All mm."""

    basis: Basis

    @cached_property
    def top_z(self) -> float:
        """Inner face of the base's floor, over the wall plane."""
        return self.basis.params.base.floor

    @cached_property
    def press_room(self) -> float:
        """Distance by which the shell can sink: 0 without press edges."""
        switch = self.basis.params.switch
        return switch.free + switch.travel + switch.extra if switch.on else 0.0

    @cached_property
    def shell_z(self) -> float:
        """Lower rim of the shell at rest."""
        return self.top_z + self.press_room
