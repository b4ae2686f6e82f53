"""One file of a build."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

PRINT_SIZES = {"mm": (210.0, 297.0), "in": (215.9, 279.4)}  # ISO 216 A4; ANSI A (Letter)


@dataclass(frozen=True)
class OutFile:
    """A file: its place in the tree, what it is for, and its bytes."""

    path: str  # "print/base-plain_x5.stl", always with /
    role: str  # print plate model cut-sheet cut-part template holes board list book
    data: bytes
    part: str = ""
    count: int = 1

    @property
    def entry(self) -> dict[str, object]:
        """The file's line in the manifest."""
        return {
            "path": self.path,
            "role": self.role,
            "part": self.part,
            "count": self.count,
            "sha256": hashlib.sha256(self.data).hexdigest(),
            "bytes": len(self.data),
        }
