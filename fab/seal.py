"""A seal: a line in a file that says that panejig wrote it, and that nobody changed it since.

The seal is a hash over the whole file with the hash itself taken as zeros, so it can stand wherever
the format has room for a remark: a comment of an SVG, HTML or ZIP, a key of a JSON. A file of ours
that a maker has changed is the maker's file, and is not sealed any more.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

MARK = b"panejig-seal:"
OPEN = MARK.decode() + "0" * 64  # what stands in a file until it is sealed
_SEAL = re.compile(re.escape(MARK) + rb"([0-9a-f]{64})")
_ROOM = 1024  # a seal stands near the end of its file
MOST_BYTES = 2_000_000_000  # a larger file is none of ours


def sealed(data: bytes) -> bytes:
    """The data with the hash in the place that `OPEN` holds.

    Raises ValueError when there is no such place.
    """
    head, mark, tail = data.rpartition(OPEN.encode())
    if not mark:
        raise ValueError("there is no place for a seal")
    return head + MARK + hashlib.sha256(data).hexdigest().encode() + tail


def is_sealed(data: bytes) -> bool:
    """True when these bytes are a file as panejig wrote it."""
    seals = list(_SEAL.finditer(data, max(len(data) - _ROOM, 0)))
    if not seals:
        return False
    found = seals[-1]
    first, last = found.span(1)
    before = data[:first] + b"0" * 64 + data[last:]
    return hashlib.sha256(before).hexdigest().encode() == found[1]


def is_ours(path: Path) -> bool:
    """True when the file is as panejig wrote it. Raises OSError for one that can't be read."""
    return path.stat().st_size <= MOST_BYTES and is_sealed(path.read_bytes())


def sealed_page(data: bytes) -> bytes:
    """An SVG or HTML with a seal as the last comment."""
    return sealed(data.rstrip(b"\n") + f"\n<!-- {OPEN} -->\n".encode())
