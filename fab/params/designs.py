"""A design by its name in a job: "panel" or no name is the main one."""

from __future__ import annotations


def is_main(design: str) -> bool:
    """True for the main design of a job."""
    return design in ("", "panel")


def table_of(design: str) -> str:
    """The table of its values, as a dotted key: "panel", "designs.porch"."""
    return "panel" if is_main(design) else f"designs.{design}"


def called(design: str) -> str:
    """A panel of the design in a message: "panel", "panel porch"."""
    return "panel" if is_main(design) else f"panel {design}"
