"""One archive to publish or send: the build, the values it was made of, and a licence. It can be opened and rebuilt."""

from __future__ import annotations

import io
import json
import zipfile
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
    """The archive of a build folder: same build, same bytes. Refuses a folder that is not a whole build."""
    try:
        manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
        paths = sorted([entry["path"] for entry in manifest["files"]] + ["manifest.json"])
        values = json.loads((folder / "lists" / "values.json").read_text(encoding="utf-8"))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError([Fault(str(folder), "", "is not a whole build.", "Build the job first, lists included.")]) from error
    name = str(manifest["job"])
    licence = LICENCES.get(str(values.get("licence", "none")), "")
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path in paths:
            data = (folder / safe(path)).read_bytes()
            if path == "manifest.json":
                data = _without_seconds(manifest)
            _add(archive, f"{name}/{path}", data)
        if licence:
            _add(archive, f"{name}/LICENCE.txt", licence.encode())
    return stream.getvalue()


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
            tops = set()
            for entry in entries:
                if entry.is_dir():
                    continue
                path = PurePosixPath(safe(entry.filename))
                if (entry.external_attr >> 16) & 0o170000 == 0o120000 or len(path.parts) < 2:
                    raise InputError(f"{entry.filename!r} has no place in a pack")
                tops.add(path.parts[0])
                files["/".join(path.parts[1:])] = _read(archive, entry)
    except (zipfile.BadZipFile, EOFError, RuntimeError, NotImplementedError) as error:
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
