"""A whole tree of files, written aside, forced to the disk, and swapped in at once.

A crash, a full disk or Ctrl-C before the swap leaves the last good build untouched. Two builds of
one job at once: the second waits for the lock a while, then says so. What in an old tree is the
maker's is decided elsewhere.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from fab.errors import OutputError
from fab.workfolder import Signs, exchange, recover, signs_of, work_folder

__all__ = ["locked", "make_folder", "recover", "safe", "swap_in", "sync_files", "sync_folder"]

WAIT_S = 60.0
SYNCS = 16  # files that are forced to the disk at once
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    "conin$",
    "conout$",
    *(f"{port}{k}" for port in ("com", "lpt") for k in "0123456789¹²³"),
}


@contextlib.contextmanager
def locked(folder: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold the lock of an output folder.

    The lock goes with the process, so a killed build leaves none.
    """
    import filelock

    make_folder(folder.parent)
    path = folder.parent / f".{folder.name}.lock"
    if path.is_symlink() or path.is_dir() or (path.exists() and path.stat().st_size):
        raise OutputError(f"{path} exists and is not a lock file of panejig. Choose another --out.")
    lock = filelock.FileLock(path)
    try:
        lock.acquire(timeout=wait_s)
    except filelock.Timeout as error:
        raise OutputError(
            f"another build is writing to {folder}; try again when it has finished"
        ) from error
    except OSError as error:
        raise OutputError(
            f"{folder.parent} cannot be written: {error.strerror or error}"
        ) from error
    try:
        yield
    finally:
        lock.release()


def swap_in(
    folder: Path, files: Mapping[str, bytes], carried: Sequence[str] = (), seen: Signs | None = None
) -> None:
    """Write all files beside `folder`, force them to the disk, then put the new tree in its place.

    `carried`: paths of the old tree, files, links or empty folders, that stand in the new one too,
    as they are. `seen`: what the old tree held when that was decided; what came into it or changed
    since moves over as well. Raises OutputError with what the disk said; the old tree is whole
    then.
    """
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise OutputError(f"{folder} {no_folder(folder)}; a build needs a real folder")
    make_folder(folder.parent)
    try:
        seen = signs_of(folder) if seen is None and folder.is_dir() else seen or {}
        with work_folder(folder) as work:
            new = work / "tree"
            new.mkdir()
            if folder.is_dir():
                new.chmod(stat.S_IMODE(folder.stat().st_mode) | stat.S_IRWXU)
            made = {new}
            for name, data in files.items():
                path = new / safe(name)
                _folders_for(path, new, made)
                path.write_bytes(data)
            for name in carried:
                _folders_for(new / name, new, made, folder)
                _carry(folder / name, new / name)
            sync_files([new / safe(name) for name in files])
            for one in sorted(made):
                sync_folder(one)
            exchange(work, folder, seen)
            sync_folder(folder.parent)
    except OSError as error:
        raise OutputError(
            f"{folder} cannot be written: {error.strerror or error}. The last build there is"
            " unchanged."
        ) from error


def no_folder(path: Path) -> str:
    """The error for something that stands where a folder should be."""
    return "is a link" if path.is_symlink() else "is a file"


def _folders_for(path: Path, root: Path, made: set[Path], old: Path | None = None) -> None:
    """Make the folders of a path; those of the maker's with the rights and times they had."""
    missing = []
    while (path := path.parent) != root and path not in made:
        missing.append(path)
    for folder in reversed(missing):
        folder.mkdir(exist_ok=True)
        made.add(folder)
        if old is not None:
            with contextlib.suppress(OSError):
                shutil.copystat(old / folder.relative_to(root), folder)
                folder.chmod(folder.stat().st_mode | 0o700)  # we have more to write there


def _carry(old: Path, new: Path) -> None:
    """The same file under a second name, until the first one goes with the old tree: nothing is
    copied or opened, and there is no moment without it. Copied where the disk knows no second
    names.
    """
    if old.is_dir() and not old.is_symlink():
        new.mkdir(exist_ok=True)
        shutil.copystat(old, new)
        return
    if os.path.lexists(new):
        raise FileExistsError(errno.EEXIST, f"{old.name} has no place in the new build")
    try:
        os.link(old, new, follow_symlinks=False)
    except (OSError, NotImplementedError):
        if not (old.is_file() or old.is_symlink()):
            raise
        shutil.copy2(old, new, follow_symlinks=False)
        if not old.is_symlink():
            sync_files([new])


def safe(name: str) -> PurePosixPath:
    """A relative path of ours that works on every platform; refuses what would leave the tree."""
    path = PurePosixPath(name)
    bad = (
        path.is_absolute()
        or ".." in path.parts
        or any(part.split(".")[0].rstrip().lower() in RESERVED for part in path.parts)
    )
    # a dot or blank at the end is dropped somewhere
    bad = bad or not path.parts or any(part[-1] in ". " for part in path.parts)
    if bad or any(mark in name for mark in '<>:"\\|?*') or any(ord(mark) < 32 for mark in name):
        raise OutputError(f"{name!r} cannot be a file name on every system")
    return path


def make_folder(folder: Path, word: str = "--out") -> None:
    """Make a folder and those above it. `word`: the option that names it."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"{folder} cannot be created: {error.strerror or error}. Choose another {word}."
        ) from error


def sync_files(paths: Sequence[Path]) -> None:
    """Force files to the disk, several at once: hardly more time than one takes."""
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
