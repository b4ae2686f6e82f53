"""Products that were made before, kept under a key of everything they depend on.

One file a product in the user's cache folder: sha256 of the content, then the content. A damaged entry counts as
absent. Safe to delete at any time, safe with two builds at once (entries are written aside and moved in).
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

DIGEST = 32  # bytes of a sha256
MOST_BYTES = 1_500_000_000  # when the store grows over this, the entries unused for longest go
KERNEL_LIBRARIES = ("cadquery", "cadquery-ocp", "cadquery_ocp", "ezdxf", "reportlab", "numpy", "scipy", "shapely")


class Store:
    """get and put of bytes under a key; `folder=None` keeps nothing."""

    def __init__(self, folder: Path | None, *, read: bool = True) -> None:
        self.folder = folder
        self.read = read
        self.damaged: list[str] = []
        self.made: list[str] = []  # what had to be made, by name
        self.kept: list[str] = []  # what was found

    def get(self, key: str) -> bytes | None:
        if self.folder is None or not self.read:
            return None
        path = self._path(key)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        content = data[DIGEST:]
        if hashlib.sha256(content).digest() != data[:DIGEST]:
            self.damaged.append(key)
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return content

    def put(self, key: str, content: bytes) -> None:
        """Keep the content; a full or read-only cache folder is no reason to fail a build."""
        if self.folder is None:
            return
        path = self._path(key)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(hashlib.sha256(content).digest() + content)
                os.replace(name, path)
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise

    def once(self, name: str, depends: Any, rooms: tuple[str, ...], make: Callable[[], bytes]) -> bytes:
        """The product `name` for these values and the code of these rooms: found, or made and kept."""
        key = key_of(name, depends, rooms)
        found = self.get(key)
        if found is not None:
            self.kept.append(name)
            return found
        content = make()
        self.made.append(name)
        self.put(key, content)
        return content

    def prune(self, most_bytes: int = MOST_BYTES) -> int:
        """Drop the entries unused for longest until the store fits; returns how many went."""
        if self.folder is None or not self.folder.is_dir():
            return 0
        entries = []
        for path in self.folder.glob("*/*"):
            with contextlib.suppress(OSError):
                stat = path.stat()
                entries.append((stat.st_mtime, stat.st_size, path))
        total, gone = sum(size for _, size, _ in entries), 0
        for _, size, path in sorted(entries):
            if total <= most_bytes:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                gone += 1
            total -= size
        return gone

    def _path(self, key: str) -> Path:
        assert self.folder is not None
        return self.folder / key[:2] / key[2:]


def default_folder() -> Path:
    """The user's cache folder by the platform's conventions; PANEJIG_CACHE overrides it."""
    named = os.environ.get("PANEJIG_CACHE")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("panejig", appauthor=False)) / "products"


def key_of(name: str, depends: Any, rooms: tuple[str, ...]) -> str:
    """Key of a product: its name, the values it depends on, our code and the versions of the libraries that make it."""
    text = json.dumps([name, depends, code_version(rooms), library_versions()], sort_keys=True, default=repr)
    return hashlib.sha256(text.encode()).hexdigest()


@lru_cache(maxsize=64)
def code_version(rooms: tuple[str, ...] = ()) -> str:
    """A hash over the source of these rooms (all of them when none is named): other code makes another product."""
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        place = path.relative_to(root).parts[0].removesuffix(".py")
        if not rooms or place in rooms:
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()


@lru_cache(maxsize=1)
def library_versions() -> tuple[str, ...]:
    from importlib import metadata

    found = []
    for name in KERNEL_LIBRARIES:
        with contextlib.suppress(metadata.PackageNotFoundError):
            found.append(f"{name} {metadata.version(name)}")
    return tuple(found)
