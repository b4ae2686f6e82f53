"""`extends`: the files and presets under a job's shop and panels.

A table names one file below it: a preset by its name, or a TOML file beside it or in a folder below
it. That file may name another, eight deep at the most. No path leads out of the folder of the file
that holds it, neither by `..`, nor by a link: the job of a stranger reads nothing else.
"""

from __future__ import annotations

import posixpath
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path

from fab.errors import Fault, InputError, refused
from fab.params import presets
from fab.params.allowed_paths import MOST_NAME, beside, path_inside
from fab.params.files import read_bytes
from fab.params.job import Job
from fab.params.merge import EITHER, overlay, replaced, without
from fab.params.one_value import Bad
from fab.params.panel import PanelParams
from fab.params.presets import Kind
from fab.params.quoting import clean, has_unseen, show, show_key
from fab.params.shop import Shop
from fab.params.spec import specs
from fab.params.toml import parse
from fab.params.tree import Leaf, Source, TableNode, Where

MOST_LAYERS = 8
_MODELS: dict[Kind, type] = {"shop": Shop, "panel": PanelParams, "job": Job}


@dataclass(frozen=True, slots=True)
class File:
    """A file of a layer and the folder that it may name files in."""

    path: Path
    source: Source


@dataclass
class Layers:
    """Reads the files under one job; collects faults and keeps every file that was read."""

    faults: list[Fault] = field(default_factory=list)
    files: list[File] = field(default_factory=list)
    others: list[Path] = field(default_factory=list)  # drawings and tables that the values name
    _read: dict[Path, TableNode | None] = field(default_factory=dict)

    def open(self, file: File, *, key: str = "", where: str = "") -> TableNode | None:
        """The tree of a file, read once; None when it has faults."""
        if file.path not in self._read:
            self._read[file.path] = None
            try:
                table = parse(
                    read_bytes(file.path, file.source.shown, key=key, where=where), file.source
                )
                self._read[file.path] = table
            except InputError as error:
                self.faults += error.faults
            self.files.append(file)
        return self._read[file.path]

    def under_job(self, job: TableNode, file: File) -> TableNode:
        """The job's table with shop, panel and designs laid over what they extend."""
        top = (file.path.resolve(),)
        layered: tuple[tuple[str, Kind], ...] = (("shop", "shop"), ("panel", "panel"))
        for key, kind in layered:
            node = job.items.get(key)
            if isinstance(node, TableNode):
                job = replaced(job, key, self._whole(node, kind, (key,), file, top))
        designs = job.items.get("designs")
        if isinstance(designs, TableNode):
            items = {
                name: (
                    self._whole(node, "panel", ("designs", name), file, top)
                    if isinstance(node, TableNode)
                    else node
                )
                for name, node in designs.items.items()
            }
            job = replaced(job, "designs", TableNode(items, designs.where))
        return job

    def _whole(
        self,
        table: TableNode,
        kind: Kind,
        path: tuple[str, ...],
        file: File,
        chain: tuple[Path, ...],
    ) -> TableNode:
        if kind == "panel":
            table = self._one_size(table, path)
        name = table.items.get("extends")
        if name is None:
            return table
        over = without(table, "extends")
        try:
            under = self._named(name, kind, path, file, chain)
        except InputError as error:
            self.faults += error.faults
            return over
        return overlay(under, over) if under is not None else over

    def _named(
        self, name: object, kind: Kind, path: tuple[str, ...], file: File, chain: tuple[Path, ...]
    ) -> TableNode | None:
        key = show_key((*path, "extends"))
        if not isinstance(name, Leaf) or not isinstance(name.value, str):
            where = name.where if isinstance(name, (Leaf, TableNode)) else Where(file.source)
            value = show(name.value) if isinstance(name, Leaf) else "a table"
            raise _refused(
                where,
                key,
                f"{value} is not a name.",
                'Write a preset or a file: extends = "metric-bench".',
            )
        below = self._find(name, kind, key, file)
        if below.path in chain:
            ring = " -> ".join(
                clean(place.name) for place in (*chain[chain.index(below.path) :], below.path)
            )
            raise _refused(
                name.where,
                key,
                f"the files extend each other in a circle: {ring}.",
                "Remove `extends` from one of them.",
            )
        if len(chain) >= MOST_LAYERS + 1:
            says = f"files extend each other more than {MOST_LAYERS} deep."
            raise _refused(name.where, key, says, "Combine several of the files.")
        tree = self.open(below, key=key, where=str(name.where))
        if tree is None:
            return None
        if other := _other_kind(tree, kind):
            works = f"Name a {kind} file, or one of the presets: {', '.join(presets.names(kind))}."
            raise _refused(
                name.where, key, f"{show(name.value)} is a {other} file, not a {kind}.", works
            )
        return self._whole(tree, kind, path, below, (*chain, below.path))

    def _find(self, name: Leaf, kind: Kind, key: str, file: File) -> File:
        text = name.value
        if not text.strip():
            raise _refused(
                name.where, key, "is empty.", f"Presets: {', '.join(presets.names(kind))}."
            )
        if len(text) > MOST_NAME or has_unseen(text):
            raise _refused(
                name.where, key, f"{show(text)} is not a file name.", "Name a preset or a file."
            )
        if "/" not in text and "\\" not in text and not text.endswith(".toml"):
            return self._preset(name, kind, key, file)
        return self._file(name, key, file)

    def _preset(self, name: Leaf, kind: Kind, key: str, file: File) -> File:
        path = presets.path_of(kind, name.value)
        if path is not None:
            shown = posixpath.join(path.parent.name, path.name)
            return File(path.resolve(), Source(f"preset {shown}", shown))
        works = ""
        for other in presets.KINDS:
            if other != kind and name.value in presets.names(other):
                works = f"That is a {other}, not a {kind}. "
        if (file.path.parent / f"{name.value}.toml").is_file():
            works += f'For the file beside it write "{name.value}.toml". '
        close = get_close_matches(name.value, presets.names(kind), n=1)
        works += (
            f"Did you mean {close[0]}?"
            if close
            else f"Presets: {', '.join(presets.names(kind))}; or a file: ./mine.toml."
        )
        raise _refused(name.where, key, f"unknown {kind} preset {show(name.value)}.", works)

    def _file(self, name: Leaf, key: str, file: File) -> File:
        text = name.value
        shown, told = beside(text, file.source.shown), beside(text, file.source.name)
        try:
            return File(path_inside(text, file.path.parent, shown), Source(shown, told))
        except Bad as bad:
            raise _refused(name.where, key, bad.says, bad.works) from None

    def _one_size(self, table: TableNode, path: tuple[str, ...]) -> TableNode:
        one, other = EITHER
        if one in table.items and other in table.items:
            says = f"{one} and {other} are both in this file: each sets the size."
            where, key = table.items[other].where, show_key((*path, other))
            self.faults += _refused(where, key, says, "Keep one of the two.").faults
            return without(table, other)
        return table


def _other_kind(tree: TableNode, kind: Kind) -> str:
    """The kind of a file that has hardly a key of the kind that it should be."""
    keys = tree.items.keys() - {"extends"}
    if len(keys) < 2 or len(keys & specs(_MODELS[kind]).keys()) * 2 > len(keys):
        return ""
    return next(
        (
            other
            for other, model in _MODELS.items()
            if other != kind and keys <= specs(model).keys()
        ),
        "",
    )


def _refused(where: Where, key: str, says: str, works: str) -> InputError:
    return refused(says, works, where=str(where), key=key)
