"""A folder beside the place where a tree will stand, in which it is written first.

    out/wall/                      what is there
    out/.wall.panejig-3f9a/mark    says that this folder is ours, and for which tree; without it
                                   nothing is taken away
    out/.wall.panejig-3f9a/tree/   the new tree; after the exchange the old one, until it is taken
                                   apart
    out/.wall.panejig-3f9a/seen    written just before the exchange: what the old tree held, and
                                   which folder it is

It is taken away at the end, on an error, on Ctrl-C; after a kill by the next command that writes
there.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path

from fab.leaving import undone
from fab.seal import OPEN, is_sealed, sealed

# path in a tree to number, size and time of what stands there
Signs = Mapping[str, tuple[int, int, int]]
# the flag that swaps two names: RENAME_EXCHANGE, RENAME_SWAP
_EXCHANGE = {"renameat2": 2, "renamex_np": 2}
_HERE = -100  # AT_FDCWD


@contextlib.contextmanager
def work_folder(target: Path) -> Iterator[Path]:
    """A fresh folder of ours beside `target`; gone afterwards, however the block ends."""
    work = target.parent / f".{target.name}.panejig-{os.urandom(8).hex()}"
    with undone(lambda: _clear(work, target)):
        try:
            work.mkdir(0o700)
            (work / "mark").write_bytes(_mark(target))
            yield work
        finally:
            try:
                _clear(work, target)
            except KeyboardInterrupt:
                _clear(work, target)
                raise


def recover(target: Path) -> None:
    """Take away what a command that died left beside `target`; what is not marked as ours stays.

    Only for whoever holds the lock.
    """
    for work in sorted(target.parent.glob(f".{_plain(target.name)}.panejig-*")):
        if work.is_symlink() or not work.is_dir():
            continue
        with contextlib.suppress(OSError):
            if is_sealed((work / "mark").read_bytes()):
                _clear(work, target)
        with contextlib.suppress(OSError):
            work.rmdir()  # killed before it was marked; only goes when it is empty


def exchange(work: Path, target: Path, seen: Signs) -> None:
    """Swap work/tree and `target`: at once where the system can."""
    old = target.lstat() if os.path.lexists(target) else None
    if old is None:
        os.rename(work / "tree", target)
        return
    aside = work / "seen.new"
    aside.write_text(json.dumps({"folder": old.st_ino, "files": seen}))
    os.replace(aside, work / "seen")
    if not _swapped(work / "tree", target):
        os.rename(target, work / "old")
        os.rename(work / "tree", target)
        os.rename(work / "old", work / "tree")


def signs_of(folder: Path) -> dict[str, tuple[int, int, int]]:
    """All that stands in a tree but folders, links unfollowed, in order.

    Raises OSError for what can't be looked at.
    """
    found = {}
    for path in entries(folder):
        if not _is_folder(path):
            found[path.relative_to(folder).as_posix()] = sign(path)
    return found


def sign(path: Path) -> tuple[int, int, int]:
    """The figures that tell a file from another in its place, or from itself when changed."""
    there = path.lstat()
    return (there.st_ino, there.st_size, there.st_mtime_ns)


def entries(folder: Path) -> Iterator[Path]:
    """Everything below a folder, a folder after what is in it; links are not followed."""
    for path in sorted(folder.iterdir()):
        if _is_folder(path):
            yield from entries(path)
        yield path


def _clear(work: Path, target: Path) -> None:
    """Take the work folder away. An old tree in it gives back first what is in no list."""
    tree, old, seen = work / "tree", work / "old", work / "seen"
    if old.is_dir():  # died between two renames
        if not os.path.lexists(target):
            os.rename(old, target)
        elif not tree.exists():
            os.rename(old, tree)
    if tree.is_dir() and seen.is_file():
        told = json.loads(seen.read_bytes())
        if tree.lstat().st_ino == told["folder"]:
            _rescue(tree, target, {path: tuple(signs) for path, signs in told["files"].items()})
    for part in (tree, old):
        _remove(part)
    # the mark last: without it nobody would take away the rest
    for part in (work / "seen.new", seen, work / "mark"):
        part.unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        work.rmdir()


def _rescue(tree: Path, target: Path, seen: Signs) -> None:
    """Move files that came into the old tree, or changed, during the swap."""
    for path in list(entries(tree)):
        name = path.relative_to(tree).as_posix()
        if _is_folder(path) or seen.get(name) == sign(path) or _same(path, target / name):
            continue
        place, k = target / name, 1
        while os.path.lexists(place):
            place, k = target / f"{name}.{k}", k + 1
        place.parent.mkdir(parents=True, exist_ok=True)
        os.rename(path, place)


def _same(one: Path, other: Path) -> bool:
    """True when two names are of one file."""
    return os.path.lexists(other) and os.path.samestat(one.lstat(), other.lstat())


def _remove(folder: Path) -> None:
    """Take a folder away, also one that is closed against its owner."""
    _open(folder)
    shutil.rmtree(folder, ignore_errors=True)


def _open(folder: Path) -> None:
    with contextlib.suppress(OSError):
        folder.chmod(stat.S_IRWXU)
        for path in folder.iterdir():
            if _is_folder(path):
                _open(path)


def _is_folder(path: Path) -> bool:
    return stat.S_ISDIR(path.lstat().st_mode)


def _mark(target: Path) -> bytes:
    return sealed(f"a folder of panejig's for work at {target.name}\n{OPEN}\n".encode())


def _plain(name: str) -> str:
    """A name in which no letter means anything to `glob`."""
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in name)


def _swapped(one: Path, other: Path) -> bool:
    """Swap two names in one step; False where system or disk can't."""
    import ctypes

    try:
        library = ctypes.CDLL(None, use_errno=True)
        a, b = os.fsencode(one), os.fsencode(other)
        if hasattr(library, "renameat2"):
            return bool(library.renameat2(_HERE, a, _HERE, b, _EXCHANGE["renameat2"]) == 0)
        if hasattr(library, "renamex_np"):
            return bool(library.renamex_np(a, b, _EXCHANGE["renamex_np"]) == 0)
    except (OSError, TypeError):
        pass
    return False
