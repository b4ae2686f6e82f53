"""The file in which found nests are kept: <job>.nest.json beside the job.

A search that stops by the clock never finds the same twice; a build that finds its nest here makes
the same files on every run and machine. A nest that was booked stays as it was cut, though its
sheets are off the rack. The file may be put under version control; taking it away costs a new
search, and makes what was booked unknown.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fab.errors import OutputError
from fab.files.table import json_bytes
from fab.params import presets
from fab.params.replacing import replace_file

if TYPE_CHECKING:
    from fab.sheets.lock import Locks

MOST_NESTS = 24  # the oldest give way; booked ones stay
MOST_BYTES = 64 * 1024 * 1024
_SAYS = (
    "nests that panejig found by a search, or booked, kept so that a build repeats them; delete"
    " this file to start again"
)


def lock_path(job: Path, out: Path) -> Path:
    """The file that keeps the nests of a job: beside it; beside the output for a shipped job or a
    folder that is closed.
    """
    name, folder = f"{job.stem}.nest.json", job.absolute().parent
    shipped = presets.home()
    closed = (shipped is not None and folder == shipped) or not os.access(folder, os.W_OK)
    return (out if closed else folder) / name


def refuse_strange(path: Path) -> None:
    """Raise OutputError when a file of that name is there that is not ours: it would be written
    over.
    """
    if path.is_symlink() and not path.exists():
        raise OutputError(
            f"{path} is a broken link. Found nests are kept under that name: remove the link."
        )
    if not path.exists():
        return
    try:
        if path.stat().st_size <= MOST_BYTES and json.loads(path.read_bytes())["says"] == _SAYS:
            return
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        pass
    raise OutputError(
        f"{path} is not a file of panejig. Found nests are kept under that name: move the file"
        " away."
    )


def read_locks(path: Path) -> Locks:
    """Nests by the hash of their inputs.

    A file that is not there, or is none of ours, holds none.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            return {}
        found = json.loads(path.read_bytes())
        nests = found["nests"]
        return {str(key): entry for key, entry in nests.items() if isinstance(entry, Mapping)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def keep_locks(path: Path, found: Locks) -> Locks:
    """Add nests to the file, newest last, and return all that it holds now. Raises OutputError."""
    refuse_strange(path)
    before = read_locks(path)
    after = {**{key: entry for key, entry in before.items() if key not in found}, **found}
    searched = [key for key, entry in after.items() if "rack" not in entry]
    for key in searched[: max(len(searched) - MOST_NESTS, 0)]:
        del after[key]
    if any(before.get(key) != entry for key, entry in found.items()):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise OutputError(
                f"{path.parent} cannot be created: {fault.strerror or fault}. Choose another --out."
            ) from None
        replace_file(path, lock_bytes(after))
    return after


def lock_bytes(found: Locks) -> bytes:
    """The file that holds these nests."""
    return (json.dumps({"says": _SAYS, "nests": found}) + "\n").encode()


def digest(entry: Mapping[str, Any] | None) -> str:
    """The hash that tells a kept nest apart; empty for none."""
    return hashlib.sha256(json_bytes(entry)).hexdigest() if entry is not None else ""
