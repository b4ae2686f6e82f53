"""A build's way with its folder, without the building, for tests of what is the maker's."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

from fab.makerfiles import listing_bytes, refuse_blocked, refuse_clash, standing
from fab.outtree import swap_in

NAME, TOOL = "manifest.json", "panejig"
Look = dict[str, tuple[str, int, bytes]]


def looked(folder: Path) -> Look:
    """Everything below a folder: what it is, its rights, its bytes; links are not followed."""
    found: Look = {}
    for path in sorted(folder.rglob("*")):
        inner, rights = path.relative_to(folder).as_posix(), path.lstat().st_mode & 0o777
        if path.is_symlink():
            found[inner] = ("link", 0, os.readlink(path).encode())
        elif path.is_dir():
            found[inner] = ("folder", 0, b"")
        else:
            found[inner] = ("file", rights, path.read_bytes())
    return found


def renewed(folder: Path, files: dict[str, bytes]) -> tuple[str, ...]:
    """A build's way with its folder, without the building; returns what was kept."""
    there = standing(folder, NAME, TOOL)
    refuse_blocked(there, NAME, None, "Choose another --out.")
    refuse_clash(there, files, "Choose another --out.")
    lines = [
        {"path": path, "sha256": hashlib.sha256(data).hexdigest()} for path, data in files.items()
    ]
    swap_in(
        folder,
        files | {NAME: listing_bytes({"tool": TOOL, "files": lines})},
        there.carried,
        there.seen,
    )
    return there.told


def whole(folder: Path) -> str:
    """The inputs' hash of the build that is there, when every file is as the manifest says and none
    is over.
    """
    manifest = json.loads((folder / NAME).read_text(encoding="utf-8"))
    listed = {entry["path"]: entry["sha256"] for entry in manifest["files"]}
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there == {*listed, NAME}
    for path, digest in listed.items():
        assert hashlib.sha256((folder / path).read_bytes()).hexdigest() == digest, path
    return str(manifest["inputs_sha256"])
