"""Any pieces on any sheets."""

from __future__ import annotations


def fill_mixed(ways, sheets, gap_mm, seconds, seed, stop, progress):  # type: ignore[no-untyped-def]
    raise NotImplementedError
