"""What a search found is kept beside the job, and used again while its inputs agree."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from fab.cli.main import main
from fab.decisions import outline
from fab.errors import OutputError
from fab.outputs.cut import nested
from fab.outputs.nested import Search
from fab.outputs.nestlock import MOST_NESTS, digest, keep_locks, lock_path, read_locks
from fab.params import presets
from fab.params.read import load

JOB = (
    'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.cells = [[0, 0], [1, 0], [0,'
    " 1]]\n"
)


def test_a_found_nest_serves_the_next_run_and_not_another_job(tmp_path: Path) -> None:
    (tmp_path / "t.toml").write_text(JOB)
    known = outline(load(tmp_path / "t.toml").job)
    path = lock_path(tmp_path / "t.toml", tmp_path / "out")
    assert path == tmp_path / "t.nest.json"
    found = nested(known, Search(0.5))
    keep_locks(path, found.locks)
    again = nested(known, Search(found=read_locks(path)))
    assert again.stocks[0].nest.kept
    assert again.stocks[0].nest.layups == found.stocks[0].nest.layups
    kept = {key: digest(entry) for key, entry in read_locks(path).items()}
    assert again.digests == kept | {again.stocks[0].parts_sha256: ""}  # that one is not booked
    assert again.digests.items() >= kept.items() <= found.digests.items()
    job = replace(known.job, nest=replace(known.job.nest, spares=1))
    other = nested(replace(known, job=job), Search(found=read_locks(path)))
    assert not other.stocks[0].nest.kept
    assert set(other.digests.values()) == {""}


def test_the_file_takes_what_it_is_given_and_lets_the_oldest_go(tmp_path: Path) -> None:
    path = tmp_path / "sub" / "t.nest.json"
    for k in range(MOST_NESTS + 3):
        keep_locks(path, {f"key-{k}": {"seconds": k}})
    assert list(read_locks(path)) == [f"key-{k}" for k in range(3, MOST_NESTS + 3)]
    keep_locks(path, {"key-5": {"seconds": 99}})
    assert list(read_locks(path))[-1] == "key-5"
    before = path.stat().st_mtime_ns
    keep_locks(path, {"key-5": {"seconds": 99}})
    assert path.stat().st_mtime_ns == before


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be created: Not a directory"):
        keep_locks(tmp_path / "file" / "out" / "t.nest.json", {"key": {"seconds": 1}})


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"nests": 3}', '{"nests": {"a": 3}}', "[" * 100_000]
)
def test_a_file_that_is_none_of_ours_holds_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / "t.nest.json").write_text(text)
    assert read_locks(tmp_path / "t.nest.json") == {}


def test_a_shipped_job_keeps_its_nests_beside_the_output(tmp_path: Path) -> None:
    shipped = presets.path_of("job", "reading-nook")
    assert shipped is not None
    assert lock_path(shipped, tmp_path) == tmp_path / "reading-nook.nest.json"


@pytest.mark.slow
@pytest.mark.kernel
def test_build_uses_the_nest_that_was_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """nest searches, build takes it over; its bytes are the same each time, and a lock taken away
    is noticed.
    """
    (tmp_path / "t.toml").write_text(JOB)
    job, out = str(tmp_path / "t.toml"), str(tmp_path / "o")

    def built() -> tuple[str, bytes, dict[str, str]]:
        assert main(["build", job, "--out", out, "--only", "cut", "--only", "lists"]) == 0
        kept = json.loads((tmp_path / "o/t/manifest.json").read_text())["nest_kept"]
        return capsys.readouterr().out, (tmp_path / "o/t/cut/sheet-01.dxf").read_bytes(), kept

    quick = built()
    assert set(quick[2].values()) == {""}
    assert main(["nest", job, "--out", out, "--nest-seconds", "1"]) == 0
    capsys.readouterr()
    taken = built()
    assert "Nothing changed" not in taken[0]
    assert set(taken[2].values()) != {""}
    again = built()
    assert "Nothing changed" in again[0]
    assert again[1:] == taken[1:]
    alone = tmp_path / "o/t/lists/job.toml"  # whoever has the build alone
    assert main(["build", str(alone), "--out", str(tmp_path / "p"), "--only", "cut"]) == 0
    assert (tmp_path / "p/t/cut/sheet-01.dxf").read_bytes() == taken[1]
    os.unlink(tmp_path / "t.nest.json")
    assert built()[1:] == quick[1:]
