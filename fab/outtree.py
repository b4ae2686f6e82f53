"""A whole tree of files, written aside, forced to the disk, and swapped in at once.

A crash, a full disk or Ctrl-C before the swap leaves the last good build untouched. Two builds of one job at once:
the second waits for the lock a while, then says so.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from fab.errors import OutputError

WAIT_S = 60.0
SYNCS = 16  # files that are forced to the disk at once
RESERVED = {"con", "prn", "aux", "nul", "conin$", "conout$", *(f"{port}{k}" for port in ("com", "lpt") for k in "0123456789¹²³")}


@contextlib.contextmanager
def locked(folder: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold the lock of an output folder. The lock goes with the process, so a killed build leaves none."""
    import filelock

    _make(folder.parent)
    lock = filelock.FileLock(folder.parent / f".{folder.name}.lock")
    try:
        lock.acquire(timeout=wait_s)
    except filelock.Timeout as error:
        raise OutputError(f"another build is writing {folder}; try again when it is done") from error
    except OSError as error:
        raise OutputError(f"{folder.parent} can't be written: {error.strerror or error}") from error
    try:
        yield
    finally:
        lock.release()


def swap_in(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write all files beside `folder`, fsync them, then put the new tree in its place.

    Raises OutputError with what the disk said; the old tree is whole then.
    """
    if folder.is_symlink():
        raise OutputError(f"{folder} is a link; builds only go into real folders")
    new, old = folder.parent / f".{folder.name}.new", folder.parent / f".{folder.name}.old"
    try:
        recover(folder)
        _make(folder.parent)
        shutil.rmtree(new, ignore_errors=True)
        folders = {new}
        new.mkdir()
        for name, data in files.items():
            path = new / safe(name)
            if path.parent not in folders:
                path.parent.mkdir(parents=True, exist_ok=True)
                folders.add(path.parent)
            path.write_bytes(data)
        sync_files([new / safe(name) for name in files])
        for made in folders:
            sync_folder(made)
        shutil.rmtree(old, ignore_errors=True)
        if folder.exists():
            os.replace(folder, old)
        os.replace(new, folder)
        sync_folder(folder.parent)
        shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        with contextlib.suppress(OSError):
            recover(folder)
        shutil.rmtree(new, ignore_errors=True)
        raise OutputError(
            f"{folder} can't be written: {error.strerror or error}. The last build there is untouched."
        ) from error
    except BaseException:
        with contextlib.suppress(OSError):
            recover(folder)
        shutil.rmtree(new, ignore_errors=True)
        raise


def recover(folder: Path) -> None:
    """What a build that died left: put the last good tree back when it died between the two moves of a swap, and take
    away what is left of its work. Only for whoever holds the lock."""
    new, old = folder.parent / f".{folder.name}.new", folder.parent / f".{folder.name}.old"
    if old.is_dir() and not folder.exists():
        os.replace(old, folder)
    for left in (new, old):
        shutil.rmtree(left, ignore_errors=True)


def safe(name: str) -> PurePosixPath:
    """A relative path of ours that works on every platform; refuses what would leave the tree."""
    path = PurePosixPath(name)
    bad = path.is_absolute() or ".." in path.parts or any(part.split(".")[0].rstrip().lower() in RESERVED for part in path.parts)
    bad = bad or not path.parts or any(part[-1] in ". " for part in path.parts)  # a dot or blank at the end is dropped somewhere
    if bad or any(mark in name for mark in '<>:"\\|?*') or any(ord(mark) < 32 for mark in name):
        raise OutputError(f"{name!r} can't be a file name everywhere")
    return path


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder} can't be made: {error.strerror or error}. Choose another --out.") from error


def sync_files(paths: Sequence[Path]) -> None:
    """Force files to the disk, several at once: the disk takes many together in hardly more time than one."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(SYNCS) as pool:
        for _ in pool.map(_sync_file, paths):
            pass


def _sync_file(path: Path) -> None:
    handle = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Force a folder's entries to the disk where the platform can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
