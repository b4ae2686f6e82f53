"""What a concern of the proof is handed in a build: enough, and nothing that makes it new without
need.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from fab.graph.product import digest
from fab.params.read import load
from fab.proof import prove
from fab.proof.tree import Tree
from fab.values import plain

ROOT = Path(__file__).parents[2]
JOBS = ("reading-nook", pytest.param("mixed-wall", marks=pytest.mark.slow))


class Watched(dict[str, Any]):
    """A table that notes what is asked of it."""

    def __init__(self, values: Mapping[str, Any], seen: set[str], at: str = "") -> None:
        super().__init__(values)
        self.seen, self.at = seen, at

    def __contains__(self, key: object) -> bool:
        self.seen.add(f"{self.at}{key}")
        return super().__contains__(key)

    def __getitem__(self, key: str) -> Any:
        self.seen.add(f"{self.at}{key}")
        found = super().__getitem__(key)
        return Watched(found, self.seen, f"{key}.") if not self.at and key == "shop" else found


def tree_of(folder: Path) -> tuple[dict[str, bytes], dict[str, Any], dict[str, Any]]:
    """Files, manifest and values of a build."""
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return files, json.loads(files[prove.MANIFEST]), json.loads(files[prove.VALUES])


@pytest.mark.slow
@pytest.mark.parametrize("job", JOBS)
def test_a_concern_says_the_same_of_what_it_is_handed_as_of_the_whole_build(
    built: dict[str, Path], job: str
) -> None:
    files, manifest, values = tree_of(built[job])
    for name in prove.FILES:
        whole = prove.prove(Tree(files), values, (name,))
        handed = prove.given(files, manifest, values, name)
        data = [prove.prove_bytes(*piece, (name,)) for piece in handed]
        assert [verdict for one in data for verdict in prove.from_bytes(one)] == whole, name
        assert whole or name in ("names", "loads"), name


@pytest.mark.parametrize("job", JOBS)
def test_a_concern_asks_for_no_value_that_it_is_not_handed(
    built: dict[str, Path], job: str
) -> None:
    """`JobValues.at` gives another value for one that is missing, so a list that is too short would
    tell nobody.
    """
    files, _, values = tree_of(built[job])
    for name, told in prove.ASKS.items():
        seen: set[str] = set()
        prove._one.__wrapped__(name, Tree(files), Watched(values, seen))  # type: ignore[attr-defined]
        assert {one for one in seen if one != "shop"} <= set(told), name
        assert seen or not told


@pytest.mark.parametrize(
    ("change", "same"),
    [("shop.stock.opal-3.kerf=0.21", True), ("shop.printer.bed_margin=6", False)],
)
def test_a_laser_value_proves_no_print_again(
    built: dict[str, Path], change: str, same: bool
) -> None:
    files, manifest, _ = tree_of(built["reading-nook"])
    path = ROOT / "params" / "reading-nook.toml"
    values, other = (plain(load(path, sets).job) for sets in ([], [change]))
    assert other != values
    lines = [line | {"sha256": "0" * 64} for line in manifest["files"]]
    now = manifest | {"inputs_sha256": "0" * 64, "files": lines, "checks": []}
    before = digest(prove.given(files, manifest, values, "plates"))
    assert (digest(prove.given(files, now, other, "plates")) == before) is same
    assert digest(prove.given(files, now, other, "lists")) != before


def test_a_print_is_proven_again_when_it_or_its_model_changes_and_no_other_is(
    built: dict[str, Path],
) -> None:
    files, manifest, values = tree_of(built["reading-nook"])
    before = [digest(one) for one in prove.given(files, manifest, values, "prints")]
    parts = [path for path in sorted(files) if path.startswith("print/") and path.endswith(".stl")]
    assert len(before) == len(parts) > 3
    for place, path in enumerate(parts):
        for changed in (path, f"model/{path[6:].partition('_x')[0]}.step"):
            now = files | {changed: files[changed] + b" "}
            after = [
                digest(one) for one in prove.given(now, manifest | {"checks": []}, {}, "prints")
            ]
            assert [k for k, one in enumerate(before) if one != after[k]] == [place]


def test_bytes_that_are_no_verdicts_are_refused() -> None:
    """A damaged entry of a store must not pass as a proof that found nothing."""
    for data in (b"", b"[]", b"{}", b'{"verdicts": [[1]]}'):
        with pytest.raises((ValueError, KeyError, TypeError)):
            prove.from_bytes(data)
    assert prove.from_bytes(prove.prove_bytes({}, {}, ())) == []
