"""A pack, looked through before a byte of it is written: it is data of a stranger.

Its directory, names, listing and hashes are held against what a pack of a build is. Memory is
bounded whatever the archive holds: its directory is measured before it is read, its members are
read in small pieces.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO

from fab.built import LISTING, TOOL
from fab.errors import InputError, OutputError
from fab.makerfiles import is_listing
from fab.outtree import safe
from fab.params.cross_checks import RESERVED
from fab.params.quoting import has_unseen, short
from fab.params.spec import NAME_PATTERN

NOT_A_PACK = "this file is not a complete pack. Give the archive that `panejig pack` made."
MOST_FILES = 20_000
MOST_BYTES = 2_000_000_000  # of all files together
MOST_DIRECTORY = 3_000_000  # bytes of the archive's own list of members
MOST_LISTING = 3_000_000  # bytes of the manifest
MOST_VALUES = 200_000  # single values in it
MOST_DEPTH = 8  # folders within each other
MOST_NAME = 200  # characters of a path
PIECE = 1 << 16
# the record at a ZIP's end (APPNOTE 4.3.16), its longest remark
_END = b"PK\x05\x06"
_END_SIZE = 22
_REMARK = 65_535
# before it stands this one in an archive of over 4 GB (4.3.15)
_FAR_END = b"PK\x06\x07"
_FAR_SIZE = 20
_KINDS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # others may ask for gigabytes to unfold
_LINK, _KIND_OF_FILE, _LOCKED = 0o120000, 0o170000, 0x1


@dataclass(frozen=True)
class Checked:
    """A pack that may be opened."""

    job: str
    members: Mapping[str, tuple[zipfile.ZipInfo, str]]  # path in the build to its member and sha256
    size: int


def check_directory(file: IO[bytes]) -> None:
    """Refuse an archive with a directory larger than any build's, before reading any of it."""
    size = file.seek(0, 2)
    file.seek(max(size - _END_SIZE - _REMARK - _FAR_SIZE, 0))
    tail = file.read()
    at = tail.rfind(_END)
    if at < 0 or len(tail) - at < _END_SIZE:
        raise InputError(NOT_A_PACK)
    members = int.from_bytes(tail[at + 10 : at + 12], "little")
    directory = int.from_bytes(tail[at + 12 : at + 16], "little")
    far = tail[max(at - _FAR_SIZE, 0) : at].startswith(_FAR_END)
    if far or members > MOST_FILES or directory > MOST_DIRECTORY:
        raise InputError(
            "the unpacked size of this pack is larger than any build; it was not opened"
        )


def checked(archive: zipfile.ZipFile) -> Checked:
    """The pack, when its names, its listing and every hash are right.

    Raises InputError; writes nothing.
    """
    entries = archive.infolist()
    size = sum(entry.file_size for entry in entries)
    if len(entries) > MOST_FILES or size > MOST_BYTES:
        raise InputError(
            "the unpacked size of this pack is larger than any build; it was not opened"
        )
    top, files = _placed(entries)
    if LISTING not in files:
        raise InputError("this file is an archive, but not a pack of a build")
    data = _listing(archive, files[LISTING])
    listed = _listed(data, top)
    for path in files:
        if path not in listed and path != LISTING:
            raise InputError(f"{_shown(path)} is in this pack, but not in its list of files")
    for path in listed:
        if path not in files:
            raise InputError(f"{_shown(path)} is in this pack's list of files, but not in the pack")
    listed[LISTING] = hashlib.sha256(data).hexdigest()
    members = {path: (entry, listed[path]) for path, entry in files.items()}
    for entry, digest in members.values():
        for _ in pieces(archive, entry, digest):
            pass
    return Checked(top, members, size)


def pieces(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, digest: str) -> Iterator[bytes]:
    """One member, piece by piece.

    Raises InputError at its end when it is not what its hash says.
    """
    found = hashlib.sha256()
    with archive.open(entry) as file:
        while piece := file.read(PIECE):
            found.update(piece)
            yield piece
    if found.hexdigest() != digest:
        raise InputError(f"{_shown(entry.filename)} differs from the hash in its pack")


def _placed(entries: list[zipfile.ZipInfo]) -> tuple[str, dict[str, zipfile.ZipInfo]]:
    """The top folder, and the members by their path below it."""
    files: dict[str, zipfile.ZipInfo] = {}
    tops, seen, folders = set(), set(), set()
    for entry in entries:
        path = _path(entry.orig_filename)
        tops.add(path.parts[0])
        if entry.is_dir():
            continue
        kind = (entry.external_attr >> 16) & _KIND_OF_FILE
        if kind == _LINK or len(path.parts) < 2:
            raise InputError(f"{_shown(entry.orig_filename)} does not belong in a pack")
        if entry.compress_type not in _KINDS or entry.flag_bits & _LOCKED:
            raise InputError(
                f"{_shown(entry.orig_filename)} is packed in a way that panejig never uses"
            )
        inner = "/".join(path.parts[1:])
        alike = _alike(inner)
        if alike in seen:  # some systems take a.txt and A.txt for one file
            raise InputError(f"{_shown(entry.orig_filename)} is in this pack more than once")
        seen.add(alike)
        folders |= {_alike(str(parent)) for parent in PurePosixPath(inner).parents}
        files[inner] = entry
    both = sorted(seen & folders)
    if both:
        raise InputError(f"{_shown(both[0])} is both a file and a folder in this pack")
    if len(tops) != 1:
        raise InputError("this file is an archive, but not a pack of a build")
    top = tops.pop()
    if not re.fullmatch(NAME_PATTERN, top) or len(top) > 60 or top.lower() in RESERVED:
        raise InputError(
            f"{_shown(top)} cannot be the name of a job: the folder in a pack has that name"
        )
    return top, files


def _path(name: str) -> PurePosixPath:
    """A member's path. Refused is one that could leave its folder, hide, or look like another."""
    try:
        path = safe(name.removesuffix("/"))
    except OutputError:
        raise InputError(
            f"this pack holds a name that could leave its folder: {_shown(name)}"
        ) from None
    if len(path.parts) > MOST_DEPTH or len(name) > MOST_NAME:
        raise InputError(
            f"{_shown(name)} has a deeper path, or a longer name, than any file of a build"
        )
    if any(part.startswith(".") for part in path.parts):
        raise InputError(f"{_shown(name)} is a hidden file: a pack has none")
    if has_unseen(name) or any(
        unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn") for letter in name
    ):
        raise InputError(f"{_shown(name)} has invisible characters in its name")
    if "//" in name or name.startswith("./") or "/./" in name:
        raise InputError(f"{_shown(name)} does not belong in a pack")
    return path


def _alike(path: str) -> str:
    """The same for names that some system takes for one."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", path).casefold())


def _listing(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    if entry.file_size > MOST_LISTING:
        raise InputError(
            "the manifest of this pack is larger than any manifest of a build; it was not opened"
        )
    with archive.open(entry) as file:
        data = file.read(entry.file_size + 1)
    if len(data) > MOST_LISTING or sum(map(data.count, (b",", b"[", b"{"))) > MOST_VALUES:
        raise InputError(
            "the manifest of this pack is larger than any manifest of a build; it was not opened"
        )
    return data


def _listed(data: bytes, job: str) -> dict[str, str]:
    """Path to hash, out of a manifest that is as panejig wrote it."""
    if not is_listing(data, TOOL):
        raise InputError(
            "this file is an archive, but not a pack of a build: panejig did not write its manifest"
        )
    manifest = json.loads(data)
    try:
        listed = {str(entry["path"]): str(entry["sha256"]) for entry in manifest["files"]}
    except (KeyError, TypeError):
        raise InputError("this file is an archive, but not a pack of a build") from None
    if manifest.get("job") != job:
        raise InputError("this pack's folder does not have the name of the job in its manifest")
    return listed


def _shown(name: str) -> str:
    """A name in a message, with an escape for what can't be seen."""
    seen = "".join(
        letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in short(name)
    )
    return f"'{seen}'"
