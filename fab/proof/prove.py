"""The whole proof of a tree: every concern in turn, and what can't be read named as a failure of its file."""

from __future__ import annotations

import dataclasses
import hashlib
import importlib
import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from fab.checks.model import Verdict, at_most
from fab.errors import Fault, InputError, PanejigError
from fab.proof.job import JobValues
from fab.proof.tree import Tree, Unreadable, tree_at

MANIFEST, VALUES = "manifest.json", "lists/values.json"
FILES = ("prints", "names", "cut", "template", "lists", "power", "loads")  # concerns that need no book
BOOK = ("book",)
# What each concern opens: all of it is handed to another process as it is.
OPENS: Mapping[str, tuple[str, ...]] = {
    "prints": ("print/", "model/", "lists/parts.csv"),
    "names": ("print/base", "lists/panels.csv"),
    "cut": ("cut/", "model/diffuser", "lists/parts.csv", "lists/offcuts.toml"),
    "template": ("wall/", "print/base", "lists/panels.csv"),
    "lists": ("lists/", "board/", "print/base", "cut/sheet", "print/plate"),
    "power": ("lists/",),
    "loads": ("lists/", "wall/holes.csv", "print/"),
    "book": ("lists/", "wall/holes.csv", "book/", "print/"),
}  # fmt: skip
SKIPS = ("model/assembly",)


def prove_folder(folder: Path) -> tuple[dict[str, Any], list[Verdict]]:
    """The manifest and all verdicts of a tree, from its files alone.

    Raises InputError for what is no build's folder: no manifest, no values, links, or files that no build leaves.
    """
    tree = tree_at(folder)
    try:
        manifest = tree.json(MANIFEST)
        values = tree.json(VALUES)
        checked = [
            (str(one["path"]), str(one["sha256"]), one["count"]) for one in manifest["files"]
        ]
        if (
            not isinstance(manifest["counts"], dict)
            or not isinstance(values["shop"], dict)
            or not isinstance(values["panel"], dict)
        ):
            raise ValueError("parts of it are missing")
    except Unreadable as error:
        raise InputError(
            [
                Fault(
                    str(folder / error.path),
                    "",
                    error.why + ".",
                    "Name the folder of a whole build, lists included.",
                )
            ]
        ) from error
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise InputError(
            [
                Fault(
                    str(folder / MANIFEST),
                    "",
                    f"is not the manifest of a build ({error}).",
                    "Name the folder that a build left.",
                )
            ]
        ) from error
    found = _listed(tree, checked)
    return manifest, [*found, *prove(tree, values, (*FILES, *BOOK))]


def prove(tree: Tree, values: Mapping[str, Any], concerns: Sequence[str]) -> list[Verdict]:
    """Verdicts of these concerns."""
    return [verdict for name in concerns for verdict in _one(name, tree, values)]


def prove_bytes(
    files: Mapping[str, bytes], values: Mapping[str, Any], concerns: Sequence[str]
) -> bytes:
    """The same as JSON, to be made by another process."""
    return json.dumps(
        [dataclasses.astuple(one) for one in prove(Tree(files), values, concerns)]
    ).encode()


def from_bytes(data: bytes) -> list[Verdict]:
    return [Verdict(*row) for row in json.loads(data)]


def needed(files: Mapping[str, bytes], concerns: Sequence[str]) -> dict[str, bytes]:
    """The files that these concerns open."""
    starts = (*tuple({start for name in concerns for start in OPENS[name]}), MANIFEST)
    return {
        path: data
        for path, data in files.items()
        if path.startswith(starts) and not path.startswith(SKIPS)
    }


def _one(name: str, tree: Tree, values: Mapping[str, Any]) -> list[Verdict]:
    """One concern. A file that can't be read, or does not hold what its name says, fails with its name."""
    wanted = {"template": "wall/holes.csv", "prints": "print/", "cut": "cut/"}.get(name)
    if wanted and not tree.names(wanted):
        return []
    own = Tree({path: tree.files[path] for path in needed(tree.files, (name,))})  # type: ignore[arg-type]
    try:
        return list(importlib.import_module(f"fab.proof.{name}").prove(own, JobValues(values)))
    except Unreadable as error:
        return [_unreadable(error.path, error.why)]
    except PanejigError:
        raise
    except (
        ArithmeticError,
        LookupError,
        TypeError,
        ValueError,
        AttributeError,
        RecursionError,
    ) as error:
        at = own.read_last[0] if own.read_last else MANIFEST
        return [
            _unreadable(
                at,
                f"does not hold what a build writes there ({type(error).__name__}: {error})"[:300],
            )
        ]
    except Exception as error:
        if type(error).__module__.startswith(("shapely", "numpy", "scipy")):
            at = own.read_last[0] if own.read_last else MANIFEST
            return [_unreadable(at, f"holds a shape that can't be ({error})"[:300])]
        raise


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
    """Every file of the manifest is there. One that was changed is told; whether that is harmless, the rest says."""
    missing = [path for path, _, _ in checked if path not in tree]
    found = [
        at_most(
            "proof.files",
            path,
            1.0,
            0.0,
            "files",
            "is listed in the manifest and missing",
            remedy="Build again.",
        )
        for path in missing[:20]
    ]
    if not missing:
        found.append(
            at_most(
                "proof.files",
                MANIFEST,
                0.0,
                0.0,
                "files",
                f"all {len(checked)} files of the manifest are there",
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
