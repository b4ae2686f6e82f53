"""The files in an output folder that are panejig's, and those that are the maker's.

Ours is what the folder's listing (`manifest.json`, `nest.json`) names with a hash that holds, and
the listing itself as long as its seal holds. All else is the maker's: notes that came into it,
files of ours that were changed, links, folders; it is kept. A folder without a listing of ours is
nobody's but the maker's.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from fab.errors import OutputError
from fab.files.table import json_bytes
from fab.seal import OPEN, is_sealed, sealed
from fab.workfolder import Signs, entries, sign

MOST_TOLD = 8  # names in one message
# found nests, which stand beside a job file: ours, never listed, kept in silence
LOCKS = (".nest.json",)
NO_SECONDS = b'\n  "seconds": {}'


@dataclass(frozen=True)
class Standing:
    """The contents of an output folder before it is written again."""

    folder: Path
    listing: Mapping[str, Any]  # of the last build; empty when there is none of ours
    ours: frozenset[str]  # listed, and as they were written
    changed: tuple[str, ...]  # listed, and changed since
    strange: tuple[str, ...]  # in no listing: files, links, empty folders
    seen: Signs

    @property
    def carried(self) -> tuple[str, ...]:
        """The maker's files."""
        return tuple(sorted({*self.changed, *self.strange}))

    @property
    def told(self) -> tuple[str, ...]:
        """The maker's files that a message names when they are kept."""
        return tuple(name for name in self.carried if not name.endswith(LOCKS))


def listing_bytes(listing: Mapping[str, Any]) -> bytes:
    """The file that lists a tree, sealed.

    Its `seconds` stay out of the seal, as they do out of every hash.
    """
    still = {**listing, "seconds": {}} if "seconds" in listing else listing
    whole = sealed(json_bytes({**still, "seal": OPEN}))
    return whole.replace(NO_SECONDS, _seconds(listing), 1)


def is_listing(data: bytes, tool: str) -> bool:
    """True when this is a listing of ours as it was written."""
    return _read(data, tool) is not None


def _read(data: bytes, tool: str) -> dict[str, Any] | None:
    try:
        found: dict[str, Any] = json.loads(data)
        if found["tool"] != tool or not isinstance(found["files"], list):
            return None
        return found if is_sealed(data.replace(_seconds(found), NO_SECONDS, 1)) else None
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def _seconds(listing: Mapping[str, Any]) -> bytes:
    """The lines of a listing that its seal leaves out: no other line begins so."""
    return json_bytes({"seconds": listing.get("seconds", {})})[1:-3]


def standing(folder: Path, name: str, tool: str) -> Standing:
    """The contents of a folder whose listing is called `name`.

    Raises OutputError for what can't be looked through.
    """
    try:
        return _standing(folder, name, tool)
    except OSError as error:
        where = error.filename or folder
        raise OutputError(
            f"{where} cannot be read: {error.strerror or error}. Nothing was written."
        ) from None


def _standing(folder: Path, name: str, tool: str) -> Standing:
    if not os.path.lexists(folder):
        return Standing(folder, {}, frozenset(), (), (), {})
    if folder.is_symlink() or not folder.is_dir():
        says = "is a link" if folder.is_symlink() else "is a file"
        raise OutputError(f"{folder} {says}; a build needs a real folder. Choose another --out.")
    listing = read_listing(folder / name, tool)
    hashes = {str(entry["path"]): str(entry["sha256"]) for entry in listing.get("files", ())}
    seen: dict[str, tuple[int, int, int]] = {}
    ours, changed, strange, filled = set(), [], [], {folder}
    for path in entries(folder):
        inner = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink():
            if path not in filled:
                strange.append(inner)
            filled.add(path.parent)
            continue
        filled.add(path.parent)
        seen[inner] = sign(path)
        if listing and inner == name:
            ours.add(inner)
        elif inner not in hashes:
            strange.append(inner)
        elif _digest(path) == hashes[inner]:
            ours.add(inner)
        else:
            changed.append(inner)
    return Standing(folder, listing, frozenset(ours), tuple(changed), tuple(strange), seen)


def refuse_strangers(folder: Path, name: str, tool: str, works: str) -> None:
    """Raise OutputError for a link, a file, or a maker's folder in a tree's place."""
    listing = folder / name
    try:
        begins = listing.read_bytes()[:80] if listing.is_file() and not folder.is_symlink() else b""
    except OSError:
        # a name that no disk takes, a folder that is closed: told when something is made there
        return
    if os.path.lexists(folder) and f'"tool": "{tool}"'.encode() not in begins:
        refuse_blocked(standing(folder, name, tool), name, None, works)


def refuse_blocked(there: Standing, name: str, wanted: Collection[str] | None, works: str) -> None:
    """Raise OutputError when something of the maker's stands in the new tree's way.

    `wanted`: the first folders that are written anew; None: everything.
    """
    if not there.listing:
        if there.strange:
            raise OutputError(
                _says(there.folder, there.strange, f"panejig did not make this folder. {works}")
            )
        return
    made = {
        entry["path"]
        for entry in there.listing["files"]
        if wanted is None or _top(entry["path"]) in wanted
    }
    refuse_clash(there, made | {name, *(f"{top}/any" for top in wanted or ())}, works)


def refuse_clash(there: Standing, files: Collection[str], works: str) -> None:
    """Raise OutputError when a new file would stand where something of the maker's does."""
    above = {str(parent) for path in files for parent in PurePosixPath(path).parents}

    def clashes(path: str) -> bool:
        under = any(str(parent) in files for parent in PurePosixPath(path).parents)
        return under or path in files or (path in above and not _is_folder(there.folder / path))

    blocked = [path for path in there.carried if clashes(path)]
    if blocked:
        raise OutputError(_says(there.folder, blocked, f"the new build needs their names. {works}"))


def some_names(names: Sequence[str]) -> str:
    """A few names, and how many more there are."""
    more = len(names) - MOST_TOLD
    return ", ".join(names[:MOST_TOLD]) + (f" and {more} more" if more > 0 else "")


def _says(folder: Path, names: Sequence[str], why: str) -> str:
    return f"{folder} holds files of yours: {some_names(names)}. Nothing was written: {why}"


def _top(path: str) -> str:
    return path.partition("/")[0]


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()


def read_listing(path: Path, tool: str) -> Mapping[str, Any]:
    """The entries of a listing of ours; empty when it is none."""
    if path.is_symlink() or not path.is_file():
        return {}
    try:
        found = _read(path.read_bytes(), tool) or {}
        _ = [(entry["path"] + "", entry["sha256"] + "") for entry in found.get("files", ())]
    except (OSError, ValueError, KeyError, TypeError):
        return {}
    return found


def _digest(path: Path) -> str:
    """The hash of a plain file; empty for all else, and for one that can't be read."""
    try:
        return (
            hashlib.sha256(path.read_bytes()).hexdigest()
            if path.is_file() and not path.is_symlink()
            else ""
        )
    except OSError:
        return ""
