"""The whole proof of a tree: every concern in turn, and what can't be read named as a failure of
its file.
"""

from __future__ import annotations

import dataclasses
import hashlib
import importlib
import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from fab import __version__
from fab.checks.model import Verdict, at_most, judge
from fab.errors import InputError, PanejigError, refused
from fab.proof.job import JobValues
from fab.proof.tree import PRINTED, Tree, Unreadable, tree_at

Data = TypeVar("Data")
MANIFEST, VALUES = "manifest.json", "lists/values.json"
# concerns that need no book
FILES = ("prints", "plates", "models", "names", "cut", "template", "lists", "power", "loads")
BOOK = ("book",)
# What each concern opens: all of it is handed to another process as it is.
OPENS: Mapping[str, tuple[str, ...]] = {
    "prints": ("print/", "model/"),
    "plates": ("print/", "lists/parts.csv"),
    "models": ("model/assembly.step", "lists/parts.csv", "lists/panels.csv"),
    "names": ("print/base", "lists/panels.csv"),
    "cut": ("cut/", "model/diffuser", "lists/parts.csv", "lists/art.csv", "lists/offcuts.toml"),
    "template": ("wall/", "print/base", "lists/panels.csv"),
    "lists": ("lists/", "board/", "print/base", "cut/sheet", "print/plate"),
    "power": ("lists/",),
    "loads": ("lists/", "wall/holes.csv", "print/"),
    "book": ("lists/", "wall/holes.csv", "book/", "print/"),
}
# What a concern asks of the manifest and of the job's values, where that is not all of them. It is
# handed nothing else, so its verdicts hold as long as this and the files that it opens stay.
TOLD: Mapping[str, str] = {"prints": "", "plates": "files", "models": "counts", "names": ""}
ASKS: Mapping[str, tuple[str, ...]] = {
    "prints": (),
    "plates": ("shop.printer",),
    "models": (),
    "names": ("panel", "designs"),
}
SKIPS = ("model/assembly",)  # large: no concern but the one of models reads them
MOST_SIDES = 64
LARGEST = 1e9  # of any value of a job


def prove_folder(folder: Path) -> tuple[dict[str, Any], list[Verdict]]:
    """The manifest and all verdicts of a tree, from its files alone.

    Raises InputError for what is no build's folder: no manifest, no values, links, or files that no
    build leaves.
    """
    tree = tree_at(folder)
    try:
        manifest = tree.json(MANIFEST)
        checked = _checked(manifest)
    except Unreadable as error:
        raise _refused(folder, error.path, error.why + ".") from error
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        why = f"is not the manifest of a build ({type(error).__name__}: {error})."
        raise _refused(folder, MANIFEST, why) from error
    try:
        values = tree.json(VALUES)
        _refuse_strange(values)
    except Unreadable as error:
        raise _refused(folder, error.path, error.why + ".") from error
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        why = f"does not hold the values of a job ({type(error).__name__}: {error})."
        raise _refused(folder, VALUES, why) from error
    found = [*_version(manifest), *_listed(tree, checked)]
    return manifest, [*found, *prove(tree, values, (*FILES, *BOOK))]


def _refused(folder: Path, path: str, why: str) -> InputError:
    return refused(
        why, "Give the folder of a complete build, with its lists.", where=str(folder / path)
    )


def _checked(manifest: Any) -> list[tuple[str, str, Any]]:
    """Path, hash and count of every listed file."""
    if not isinstance(manifest["counts"], dict):
        raise ValueError("counts are no table")
    for one in (*manifest.get("nest", []), *manifest.get("checks", [])):
        if not isinstance(one, dict):
            raise ValueError("a line of nest or checks is no table")
    return [(str(one["path"]), str(one["sha256"]), one["count"]) for one in manifest["files"]]


def _refuse_strange(values: Any) -> None:
    """Raises ValueError for values that no job can have: they could keep a reader busy
    without end.
    """
    designs = [values["panel"], *values.get("designs", {}).values()]
    if not isinstance(values["shop"], dict) or not all(isinstance(one, dict) for one in designs):
        raise ValueError("parts of it are missing")
    for design in designs:
        if not (isinstance(design["sides"], int) and 3 <= design["sides"] <= MOST_SIDES):
            raise ValueError(f"a panel of {design['sides']!r} sides")
    stack: list[Any] = [values]
    while stack:
        one = stack.pop()
        if isinstance(one, dict | list):
            stack += one.values() if isinstance(one, dict) else one
        elif isinstance(one, float | int) and not abs(one) <= LARGEST:
            raise ValueError(f"a value of {one!r}")


def _version(manifest: Mapping[str, Any]) -> list[Verdict]:
    """A build by another version, or by another program, is proven too; the report names it."""
    by = " ".join(str(manifest.get(key, "?"))[:60] for key in ("tool", "version"))
    if by == f"panejig {__version__}":
        return []
    says = f"was made by {by}; it is proven by the rules of panejig {__version__}"
    return [Verdict("proof.version", "warn", MANIFEST, 1.0, 0.0, "versions", says)]


def prove(tree: Tree, values: Mapping[str, Any], concerns: Sequence[str]) -> list[Verdict]:
    """Verdicts of these concerns."""
    return [
        verdict
        for name in concerns
        for piece in pieces(tree.files, name)
        for verdict in _one(name, Tree(piece), values)
    ]


def prove_bytes(
    files: Mapping[str, bytes], values: Mapping[str, Any], concerns: Sequence[str]
) -> bytes:
    """The same as JSON, to be made by another process."""
    found = prove(Tree(files), values, concerns)
    return json.dumps({"verdicts": [dataclasses.astuple(one) for one in found]}).encode()


def from_bytes(data: bytes) -> list[Verdict]:
    """The verdicts that another process sent as JSON. Raises an error for bytes that are none."""
    return [Verdict(*row) for row in json.loads(data)["verdicts"]]


def needed(files: Mapping[str, Data], name: str) -> dict[str, Data]:
    """The files that a concern opens."""
    starts = (*OPENS[name], MANIFEST)
    return {
        path: data
        for path, data in files.items()
        if path.startswith(starts) and (name == "models" or not path.startswith(SKIPS))
    }


def pieces(files: Mapping[str, Data], name: str) -> list[dict[str, Data]]:
    """The files that a concern opens, in groups that are proven each by itself: a print and its
    model; of other concerns all in one group. The manifest is in each.
    """
    opened = needed(files, name)
    if name != "prints":
        return [opened]
    found = [(path, PRINTED.fullmatch(path)) for path in sorted(opened)]
    groups = [(path, f"model/{part[1]}.step", MANIFEST) for path, part in found if part]
    return [{path: opened[path] for path in group if path in opened} for group in groups]


def given(
    files: Mapping[str, bytes], manifest: Mapping[str, Any], values: Mapping[str, Any], name: str
) -> list[tuple[dict[str, bytes], Any]]:
    """The parts of a build that one concern is handed, one a piece: files that it opens, the
    manifest among them, and values of the job.

    Hashes of files are in none: only the list of files of a finished build has them.
    """
    opened, told = needed(files, name), dict(manifest)
    told["files"] = [
        {key: value for key, value in line.items() if key != "sha256"}
        for line in manifest["files"]
        if name not in TOLD or line["path"] in opened
    ]
    if name in TOLD:
        told = {key: value for key, value in told.items() if key == TOLD[name]}
    handed = opened | {MANIFEST: json.dumps(told).encode()}
    return [(piece, asked(values, name)) for piece in pieces(handed, name)]


def asked(values: Mapping[str, Any], name: str) -> Any:
    """The values of a job that a concern asks for."""
    if name not in ASKS:
        return values
    found: dict[str, Any] = {}
    for dotted in ASKS[name]:
        first, _, second = dotted.partition(".")
        if first in values:
            found[first] = {second: values[first][second]} if second else values[first]
    return found


def _one(name: str, tree: Tree, values: Mapping[str, Any]) -> list[Verdict]:
    """One concern, or a piece of it. A file that can't be read, or does not hold what its name
    says, fails with its name.
    """
    wanted = {"template": "wall/holes.csv", "plates": "print/", "cut": "cut/"}.get(name)
    if wanted and not tree.names(wanted):
        return []
    own = Tree(needed(tree.files, name))
    try:
        return list(importlib.import_module(f"fab.proof.{name}").prove(own, JobValues(values)))
    except Unreadable as error:
        return [_unreadable(error.path, error.why)]
    except PanejigError:
        raise
    # whatever a broken or hostile file makes of its reader: told with the file read last
    except Exception as error:
        at = own.read_last[0] if own.read_last else MANIFEST
        why = f"does not hold what a build writes there ({type(error).__name__}: {error})"
        return [_unreadable(at, why[:300])]


def _unreadable(path: str, why: str) -> Verdict:
    return Verdict(
        "proof.readable",
        "fail",
        path,
        math.nan,
        0.0,
        "faults",
        why,
        "Build again; do not use this file.",
    )


def _listed(tree: Tree, checked: Sequence[tuple[str, str, Any]]) -> list[Verdict]:
    """Every file of the manifest is there.

    One that was changed is told; whether that is harmless, the rest says.
    """
    missing = [path for path, _, _ in checked if path not in tree]
    found = [
        judge(
            "proof.files",
            path,
            at_most(1.0, 0.0, "files"),
            "is listed in the manifest and missing",
            remedy="Build again.",
        )
        for path in missing[:20]
    ]
    if not missing:
        found.append(
            judge(
                "proof.files",
                MANIFEST,
                at_most(0.0, 0.0, "files"),
                f"files of the manifest, all present: {len(checked)}",
            )
        )
    for path, digest, _ in checked:
        if path in tree and hashlib.sha256(tree.read(path)).hexdigest() != digest:
            found.append(
                Verdict(
                    "proof.changed",
                    "warn",
                    path,
                    1.0,
                    0.0,
                    "files",
                    "was changed after the build; it is proven as it is now",
                )
            )
    return found
