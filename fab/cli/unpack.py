"""`panejig unpack` stands beside `pack`; commands are found by their module's name."""

from __future__ import annotations

from fab.cli.pack import unpack

__all__ = ["unpack"]
