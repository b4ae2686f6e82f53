"""Products that were made before, kept under a key of everything they depend on.

One file a product in the user's cache folder: a mark, sha256 of key and content, then the content. A damaged entry, one
under another key's name, and one that its reader can't make anything of count as absent. Safe to delete at any time, safe with two builds at once (entries are written aside and moved in).
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import json
import os
import re
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from fab.hands import Hands

SOURCES = {".py", ".css", ".js", ".json", ".ttf"}
MARK = b"panejig product\n"  # what every entry begins with: a file without it is none of ours, and stays
HEAD = len(MARK) + 32  # and a sha256
_KEPT = re.compile(r"[0-9a-f]{62}|\.new-\w{8}")
T = TypeVar("T")
_asides = itertools.count()  # never the same name twice in a process: a result may come when nobody waits any more
MOST_BYTES = 1_500_000_000  # when the store grows over this, the entries unused for longest go
KERNEL_LIBRARIES = (
    "cadquery", "cadquery-ocp", "cadquery_ocp", "ezdxf", "reportlab", "numpy", "scipy", "shapely",
    "pillow", "pypdfium2", "svgwrite",
)  # fmt: skip


@dataclass(frozen=True)
class Task:
    """A product and how it is made: its name, the values it depends on, the rooms whose code makes it, and the call."""

    name: str
    depends: Any
    rooms: tuple[str, ...]
    make: Callable[[], bytes]  # picklable, if another process is to make it

    @cached_property
    def key(self) -> str:
        return key_of(self.name, self.depends, self.rooms)


class Store:
    """get and put of bytes under a key; `folder=None` keeps nothing. Without `read` only what this run made is found."""

    def __init__(self, folder: Path | None, *, read: bool = True, helped: bool = False) -> None:
        self.folder = folder
        self.reads = read
        self.helped = helped  # by other processes
        self.own: set[str] = set()  # keys that this run put there
        self.damaged: list[str] = []
        self.made: list[str] = []  # what had to be made, by name
        self.kept: list[str] = []  # what was found

    def get(self, key: str) -> bytes | None:
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
                    file.write(_head(key, content) + content)
                os.replace(name, path)
                self.own.add(key)
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise

    def once(self, name: str, depends: Any, rooms: tuple[str, ...], make: Callable[[], bytes]) -> bytes:
        """The product `name` for these values and the code of these rooms: found, or made and kept."""
        return self.run(Task(name, depends, rooms, make))

    def run(self, task: Task) -> bytes:
        """The product of a task: found, made by a helper, or made here; and kept."""
        found = self.get(task.key)
        if found is not None:
            self.kept.append(task.name)
            return found
        return self._make(task)

    def read(self, task: Task, decode: Callable[[bytes], T]) -> T:
        """What a task's product is read as. A kept one that can't be read is damaged, and made again."""
        content = self.get(task.key)
        if content is not None:
            try:
                found = decode(content)
            except Exception:  # whatever a reader says of bytes that mean nothing
                self.damaged.append(task.key)
            else:
                self.kept.append(task.name)
                return found
        return decode(self._make(task))

    def _make(self, task: Task) -> bytes:
        """A product made by a helper or here, and kept."""
        team = self._team()
        content = team.take(task.key) if team is not None else None
        if content is None:
            content = task.make()
        self.made.append(task.name)
        self.put(task.key, content)
        return content

    def ahead(self, tasks: Iterable[Task]) -> None:
        """Tell what will be asked for, in that order, so that helpers can make what is not there yet.

        A single one is not worth another process.
        """
        team = self._team()
        if team is None:
            return
        missing = {task.key: task.make for task in tasks if not self.there(task)}
        team.give(missing.items() if len(missing) > 1 else ())

    def beside(self, call: Callable[[], bytes]) -> Callable[[], bytes]:
        """A call that a helper makes next, if one is there; what comes back fetches the result. Not kept."""
        team, key = self._team(), f"beside {next(_asides)}"
        if team is None or not team.give_next(key, call):
            return call
        return lambda: call() if (made := team.take(key)) is None else made

    def rest(self) -> None:
        """Nothing more will be asked for."""
        team = self._team()
        if team is not None:
            team.rest()

    def _team(self) -> Hands | None:
        if not self.helped:
            return None
        from fab.hands import hands

        return hands()

    def there(self, task: Task) -> bool:
        """Whether an entry is there, damaged or not."""
        key = task.key
        return self.folder is not None and (self.reads or key in self.own) and self._path(key).exists()

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
    """Whether a file is one that a store wrote, or began to."""
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


def key_of(name: str, depends: Any, rooms: tuple[str, ...]) -> str:
    """Key of a product: its name, the values it depends on, our code and the versions of the libraries that make it."""
    text = json.dumps([name, depends, code_version(rooms), library_versions()], sort_keys=True, default=repr)
    return hashlib.sha256(text.encode()).hexdigest()


@lru_cache(maxsize=1)
def _sources() -> tuple[tuple[str, bytes, bytes], ...]:
    return sources(Path(__file__).parent)


def sources(root: Path) -> tuple[tuple[str, bytes, bytes], ...]:
    """Room, path and content's hash of every file of ours: modules, styles, scripts and fonts, and presets."""
    paths = sorted(path for path in root.rglob("*.*") if path.suffix in SOURCES)
    found = [(path.relative_to(root), hashlib.sha256(path.read_bytes()).digest()) for path in paths]
    return tuple((path.parts[0].removesuffix(".py"), path.as_posix().encode(), content) for path, content in found)


@lru_cache(maxsize=64)
def code_version(rooms: tuple[str, ...] = ()) -> str:
    """A hash over the source of these rooms (all of them when none is named), fonts, styles and scripts included: other
    code makes another product. Presets are inputs and counted with those."""
    return version_of(_sources(), rooms)


def version_of(found: Iterable[tuple[str, bytes, bytes]], rooms: tuple[str, ...]) -> str:
    """The hash of those of the `sources` that are in these rooms; in all but the presets when none is named."""
    digest = hashlib.sha256()
    for place, name, content in found:
        if place in rooms or (not rooms and place != "presets"):
            digest.update(name + content)
    return digest.hexdigest()


@lru_cache(maxsize=1)
def library_versions() -> tuple[str, ...]:
    """Name and version of each library on which the bytes of a product or of a file may depend."""
    from importlib import metadata

    found = []
    for name in KERNEL_LIBRARIES:
        with contextlib.suppress(metadata.PackageNotFoundError):
            found.append(f"{name} {metadata.version(name)}")
    return tuple(found)
