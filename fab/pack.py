"""One archive to publish or send: the build, the values it was made of, and a licence. It can be opened and rebuilt."""

from __future__ import annotations

import errno
import hashlib
import io
import json
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from fab.errors import Fault, InputError, OutputError
from fab.outtree import safe, swap_in

OLDEST = (1980, 1, 1, 0, 0, 0)  # the first date that a zip can hold; the clock stays out
MOST_FILES, MOST_BYTES = 20_000, 2_000_000_000  # what opening a stranger's pack may unfold to

LICENCES = {
    "none": "",
    "CC0-1.0": "To the extent possible under law, the author has waived all rights to these files.\n"
    "Creative Commons Zero 1.0 Universal: https://creativecommons.org/publicdomain/zero/1.0/\n",
    "CC-BY-4.0": "These files may be used by anyone who names their author.\n"
    "Creative Commons Attribution 4.0 International: https://creativecommons.org/licenses/by/4.0/\n",
    "CC-BY-SA-4.0": "These files may be used by anyone who names their author and shares changes alike.\n"
    "Creative Commons Attribution-ShareAlike 4.0 International: https://creativecommons.org/licenses/by-sa/4.0/\n",
    "CERN-OHL-P-2.0": "These files are licensed under the CERN Open Hardware Licence Version 2 - Permissive.\n"
    "https://ohwr.org/cern_ohl_p_v2.txt\n",
}


def pack(folder: Path) -> bytes:
    """The archive of a build folder: same build, same bytes. Refuses a folder that is not a whole build, and files that
    are not those that the build left: what goes out is what the manifest says, and nothing from elsewhere."""
    try:
        manifest = json.loads(_own(folder, "manifest.json"))
        listed = {str(safe(entry["path"])): entry["sha256"] for entry in manifest["files"]}
        values = json.loads(_own(folder, "lists/values.json"))
        name, licence = str(safe(manifest["job"])), LICENCES.get(str(values.get("licence", "none")), "")
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, OutputError) as error:
        raise InputError([Fault(str(folder), "", "is not a whole build.", "Build the job first, lists included.")]) from error
    files = {"manifest.json": _without_seconds(manifest)}
    faults = []
    for path, digest in listed.items():
        try:
            files[path] = _own(folder, path)
            why = "" if hashlib.sha256(files[path]).hexdigest() == digest else "is not as the build left it"
        except OSError as error:
            why = f"can't be read: {error.strerror or error}"
        if why:
            faults.append(Fault(str(folder / path), "", why, "Build the job again, then pack it."))
    if faults:
        raise InputError(faults)
    if licence:
        files["LICENCE.txt"] = licence.encode()
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path in sorted(files):
            _add(archive, f"{name}/{path}", files[path])
    return stream.getvalue()


def _own(folder: Path, path: str) -> bytes:
    """A file that stands in the folder itself; raises OSError for links, on the way to it too."""
    place = folder / path
    if place.resolve() != folder.resolve() / path:
        raise OSError(errno.ELOOP, "it is a link")
    return place.read_bytes()


def _without_seconds(manifest: dict[str, object]) -> bytes:
    from fab.files.table import json_bytes

    return json_bytes(manifest | {"seconds": {}})


def _add(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    entry = zipfile.ZipInfo(name, OLDEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system, entry.external_attr = 0, 0
    archive.writestr(entry, data)


def unpack(data: bytes, into: Path) -> Path:
    """Open a pack into `into`/<job>/ and return that folder. The pack is data of a stranger: nothing in it is run,
    no path leaves the folder, and its size is bounded before it is unfolded."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_BYTES:
                raise InputError("this pack unfolds to more than a build can be; it was not opened")
            files: dict[str, bytes] = {}
            tops, seen = set(), set()
            for entry in entries:
                if entry.is_dir():
                    continue
                path = PurePosixPath(safe(entry.filename))
                if (entry.external_attr >> 16) & 0o170000 == 0o120000 or len(path.parts) < 2:
                    raise InputError(f"{entry.filename!r} has no place in a pack")
                tops.add(path.parts[0])
                inner = "/".join(path.parts[1:])
                if inner.lower() in seen:  # some systems take a.txt and A.txt for one file
                    raise InputError(f"{entry.filename!r} stands in this pack more than once")
                seen.add(inner.lower())
                files[inner] = _read(archive, entry)
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError, ValueError, UnicodeError) as error:
        raise InputError("this file is not a whole pack") from error
    except OutputError as error:
        raise InputError(f"this pack holds a name that could leave its folder: {error}") from error
    if len(tops) != 1 or "manifest.json" not in files:
        raise InputError("this file is an archive, but not a pack of a build")
    folder = into / tops.pop()
    if folder.exists():
        raise InputError([Fault(str(folder), "", "is already there.", "Open the pack elsewhere with --into.")])
    swap_in(folder, files)
    return folder


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """One member, no longer than it says it is."""
    with archive.open(entry) as file:
        content = file.read(entry.file_size + 1)
    if len(content) > entry.file_size:
        raise InputError(f"{entry.filename!r} is longer than it says")
    return content
