"""A proof of files that were proven before in this run is not repeated.

Each planted fault changes one or two files of the same build. A concern's verdicts depend on the
files that it opens, the values and the manifest; hashes of files are read by nothing but the list
of files, which is not kept.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from fab.checks.model import Verdict
from fab.proof import prove
from fab.proof.tree import Tree

from . import edit


def _sign(file: bytes | Path) -> Any:
    """What tells a file from another: copies of a build are second names of its files, and a
    changed one is a new file.
    """
    if isinstance(file, bytes):
        return file
    there = file.lstat()
    return (there.st_dev, there.st_ino, there.st_size, there.st_mtime_ns)


@pytest.fixture(scope="session", autouse=True)
def proven_once() -> Iterator[None]:
    judge, known = prove._one, dict[Any, list[Verdict]]()

    @functools.wraps(judge)
    def once(name: str, tree: Tree, values: Mapping[str, Any]) -> list[Verdict]:
        manifest = tree.json(prove.MANIFEST)
        lines = [
            {key: value for key, value in line.items() if key != "sha256"}
            for line in manifest.get("files", ())  # some concerns are handed none
        ]
        told = json.dumps([manifest | {"files": lines}, values], sort_keys=True, default=str)
        opened = prove.needed(tree.files, name)
        key = (
            name,
            told,
            *(
                (path, _sign(file))
                for path, file in sorted(opened.items())
                if path != prove.MANIFEST
            ),
        )
        if key not in known:
            known[key] = judge(name, tree, values)
        return known[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(prove, "_one", once)
        yield


@pytest.fixture
def copy(built: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of the demo's build to plant faults in."""
    return edit.linked(built["reading-nook"], tmp_path / "copy")
