"""One archive to publish or send: the build, the values it was made of, and a licence.

It can be opened and rebuilt.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import IO

from fab.built import LISTING
from fab.errors import Fault, InputError, OutputError, PanejigError, refused
from fab.makerfiles import listing_bytes
from fab.outputs.model import OutFile
from fab.outtree import make_folder, safe, sync_files, sync_folder
from fab.packcheck import (
    MOST_FILES,
    MOST_LISTING,
    NOT_A_PACK,
    Checked,
    check_directory,
    checked,
    pieces,
)
from fab.seal import OPEN, sealed
from fab.workfolder import work_folder

OLDEST = (1980, 1, 1, 0, 0, 0)  # the first date that a zip can hold; the clock stays out

LICENCES = {
    "none": "",
    "CC0-1.0": (
        "To the extent possible under law, the author has waived all rights to these files.\n"
        "Creative Commons Zero 1.0 Universal: https://creativecommons.org/publicdomain/zero/1.0/\n"
    ),
    "CC-BY-4.0": (
        "These files may be used by anyone who names their author.\nCreative Commons Attribution"
        " 4.0 International: https://creativecommons.org/licenses/by/4.0/\n"
    ),
    "CC-BY-SA-4.0": (
        "These files may be used by anyone who names their author and shares changes"
        " alike.\nCreative Commons Attribution-ShareAlike 4.0 International:"
        " https://creativecommons.org/licenses/by-sa/4.0/\n"
    ),
    "CERN-OHL-P-2.0": (
        "These files are licensed under the CERN Open Hardware Licence Version 2 - Permissive.\n"
        "https://ohwr.org/cern_ohl_p_v2.txt\n"
    ),
}


def pack(folder: Path) -> bytes:
    """The archive of a build folder: same build, same bytes.

    Refuses a folder that is not a whole build, and files that are not those that the build left:
    what goes out is what the manifest says, and nothing from elsewhere.
    """
    try:
        manifest = json.loads(_own(folder, "manifest.json"))
        listed = {str(safe(entry["path"])): entry["sha256"] for entry in manifest["files"]}
        values = json.loads(_own(folder, "lists/values.json"))
        name = str(safe(manifest["job"]))
        licence = LICENCES.get(str(values.get("licence", "none")), "")
    except (
        OSError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        RecursionError,
        OutputError,
    ) as error:
        raise refused(
            "is not a complete build.", "Build the job first, lists included.", where=str(folder)
        ) from error
    if manifest.get("old"):
        says = "has files that were made from other values than the rest."
        raise refused(says, "Build the job without --only, then pack it.", where=str(folder))
    files: dict[str, bytes] = {}
    faults = []
    for path, digest in listed.items():
        try:
            files[path] = _own(folder, path)
            why = (
                ""
                if hashlib.sha256(files[path]).hexdigest() == digest
                else "was changed after the build"
            )
        except OSError as error:
            why = f"cannot be read: {error.strerror or error}"
        if why:
            faults.append(
                Fault("", why, "Build the job again, then pack it.", where=str(folder / path))
            )
    if faults:
        raise InputError(faults)
    lines = list(manifest["files"])
    if licence:
        extra = OutFile("LICENCE.txt", "list", licence.encode(), "licence")
        files[extra.path] = extra.data
        lines = [*(line for line in lines if line["path"] != extra.path), extra.entry]
    files[LISTING] = listing_bytes({**manifest, "files": lines, "seconds": {}})
    if len(files) > MOST_FILES or len(files[LISTING]) > MOST_LISTING:
        raise refused(
            "is larger than `panejig unpack` can open.",
            "Pack its folders by hand.",
            where=str(folder),
        )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path in sorted(files):
            _add(archive, f"{name}/{path}", files[path])
        archive.comment = OPEN.encode()
    return sealed(stream.getvalue())


def _own(folder: Path, path: str) -> bytes:
    """A file that stands in the folder itself; raises OSError for links, on the way to it too."""
    place = folder / path
    if place.resolve() != folder.resolve() / path:
        raise OSError(errno.ELOOP, "it is a link")
    return place.read_bytes()


def _add(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    entry = zipfile.ZipInfo(name, OLDEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system, entry.external_attr = 0, 0
    archive.writestr(entry, data)


def look(archive: Path | IO[bytes]) -> Checked:
    """The contents of a pack, when every name, size and hash in it is right.

    Raises InputError; writes nothing.
    """
    with _opened(archive) as held:
        return checked(held)


def unpack(archive: Path | IO[bytes], into: Path) -> Path:
    """Open a pack into `into`/<job>/ and return that folder.

    The pack is data of a stranger: nothing in it is run, all of it is looked through before a byte
    is written, and the folder appears whole or not at all.
    """
    with _opened(archive) as held:
        pack = checked(held)
        folder = into / pack.job
        if os.path.lexists(folder):
            raise refused(
                "is already there.", "Unpack it elsewhere with --into.", where=str(folder)
            )
        make_folder(into, "--into")
        try:
            with work_folder(folder) as work:
                _unfold(held, pack, work / "tree")
                os.rename(work / "tree", folder)  # never in the place of anything
                sync_folder(into)
        except OSError as error:
            raise OutputError(
                f"{folder} cannot be written: {error.strerror or error}. Nothing was unpacked."
            ) from error
    return folder


def _unfold(archive: zipfile.ZipFile, pack: Checked, tree: Path) -> None:
    """Write every member below `tree`, in pieces, and force it to the disk."""
    folders = {tree}
    for path, (entry, digest) in pack.members.items():
        place = tree / path
        folders |= {tree / parent for parent in PurePosixPath(path).parents}
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("xb") as file:
            for piece in pieces(archive, entry, digest):
                file.write(piece)
    sync_files([tree / path for path in pack.members])
    for folder in sorted(folders):
        sync_folder(folder)


@contextlib.contextmanager
def _opened(archive: Path | IO[bytes]) -> Iterator[zipfile.ZipFile]:
    """The archive, with whatever is wrong with its bytes told as one thing."""
    try:
        with (
            archive.open("rb") if isinstance(archive, Path) else contextlib.nullcontext(archive)
        ) as file:
            check_directory(file)
            with zipfile.ZipFile(file) as held:
                yield held
    except PanejigError:
        raise
    except Exception as error:  # a damaged archive brings the library to any of its own assertions
        raise InputError(NOT_A_PACK) from error
