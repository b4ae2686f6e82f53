"""One file, written in one step: a crash leaves the old one or the new one, whole."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from pathlib import Path

from fab.errors import OutputError
from fab.outtree import sync_folder
from fab.params.quoting import clean


def replace_file(path: Path, data: bytes, *, expected: bytes | None = None) -> None:
    """Write a file in one step: aside, fsync, then moved over.

    A link stays a link, rights stay as they were.

    `expected`: refuse when the file no longer holds these bytes.
    """
    real, aside = path.resolve(), ""
    try:
        handle, aside = tempfile.mkstemp(dir=real.parent, prefix=f".{real.name}.", suffix=".new")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if real.exists():
            shutil.copymode(real, aside)
        elif os.name == "posix":
            os.chmod(aside, 0o666 & ~_umask())
        if expected is not None and real.read_bytes() != expected:
            raise OutputError(
                f"{clean(str(path))} changed while it was read; nothing was written. Run the"
                " command again."
            )
        os.replace(aside, real)
        aside = ""
        sync_folder(real.parent)
    except OSError as fault:
        says = (fault.strerror or str(fault)).lower()
        raise OutputError(
            f"{clean(str(path))} cannot be written: {says}. It is unchanged."
        ) from None
    finally:
        if aside:
            with contextlib.suppress(OSError):
                os.unlink(aside)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
