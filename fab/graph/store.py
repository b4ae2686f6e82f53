"""Products that were made before, kept under a key of everything they depend on.

One file a product in the user's cache folder: a mark, sha256 of key and content, then the content.
A damaged entry and one under another key's name count as absent. Safe to delete at any time, safe
with two runs at once (entries are written aside and moved in).
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from pathlib import Path

# what every entry begins with: a file without it is none of ours, and stays
MARK = b"panejig product\n"
HEAD = len(MARK) + 32  # and a sha256
_KEPT = re.compile(r"[0-9a-f]{62}|\.new-\w{8}")
MOST_BYTES = 1_500_000_000  # when the store grows over this, the entries unused for longest go


class Store:
    """Get and put bytes under a key; `folder=None` keeps nothing.

    Without `read` only what this run made is found.
    """

    def __init__(self, folder: Path | None, *, read: bool = True) -> None:
        self.folder = folder
        self.reads = read
        self.own: set[str] = set()  # keys that this run put there
        self.damaged: list[str] = []

    def has(self, key: str) -> bool:
        """Return whether an entry is there, damaged or not."""
        return (
            self.folder is not None and (self.reads or key in self.own) and self._path(key).exists()
        )

    def get(self, key: str) -> bytes | None:
        """Return what is kept under a key; None when it is absent or damaged."""
        if self.folder is None or not (self.reads or key in self.own):
            return None
        path = self._path(key)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        content = data[HEAD:]
        if data[:HEAD] != _head(key, content):
            self.damaged.append(key)
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return content

    def put(self, key: str, content: bytes) -> bool:
        """Keep the content; False when it can't be: a full folder is no reason to fail."""
        if self.folder is None:
            return False
        path = self._path(key)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(_head(key, content) + content)
                os.replace(name, path)
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise
        except OSError:
            return False
        self.own.add(key)
        return True

    def prune(self, most_bytes: int = MOST_BYTES) -> int:
        """Drop the entries unused for longest until the store fits; returns how many went."""
        if self.folder is None or not self.folder.is_dir():
            return 0
        entries = []
        for path in self.folder.glob("??/*"):
            with contextlib.suppress(OSError):
                if _KEPT.fullmatch(path.name) and _is_entry(path):
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


def _head(key: str, content: bytes) -> bytes:
    return MARK + hashlib.sha256(key.encode() + b"\n" + content).digest()


def _is_entry(path: Path) -> bool:
    """True when a file is one that a store wrote, or began to."""
    with path.open("rb") as file:
        begins = file.read(len(MARK))
    return not path.is_symlink() and MARK.startswith(begins)


def default_folder() -> Path:
    """The user's cache folder by the platform's conventions; PANEJIG_CACHE overrides it."""
    named = os.environ.get("PANEJIG_CACHE")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("panejig", appauthor=False)) / "products"
