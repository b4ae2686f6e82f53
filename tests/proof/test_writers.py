"""A wrong writer is caught by the build itself: it says which proof failed, with file and place,
and swaps nothing in.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fab import decisions
from fab.cli.main import main
from fab.outputs import cut
from fab.sheets import cut as sheets_cut

from .writers import BOOK_FAULTS, FAULTS, Fault

JOB = str(Path(__file__).parents[2] / "params" / "reading-nook.toml")
TOGETHER = (
    "sheets without kerf, single parts with it",
    "template at 97 %",
    "right and up swapped in the holes",
    "names swapped in the address table",
    "currents halved",
    "caps short",
    "clips short in the manifest",
    "loads halved",
    "a mirrored base",
    "a copy missing on a plate",
    "a picture without a part",
)


@pytest.fixture(autouse=True)
def nothing_remembered() -> Iterator[None]:
    """What a wrong writer made must not stay behind in this process."""
    yield
    forget()


def forget() -> None:
    """What a good build left in this process would hide a wrong writer."""
    for kept in (cut._both, sheets_cut._plan):
        kept.cache_clear()


def refused(
    faults: list[Fault], out: Path, patch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    forget()
    for name in ("_wired", "_hung"):
        patch.setattr(decisions, name, getattr(decisions, name).__wrapped__)
    for _, plant, _, _ in faults:
        plant(patch)
    assert main(["build", JOB, "--out", str(out)]) == 1
    told = capsys.readouterr()
    text = told.out + told.err
    assert "Traceback" not in text
    for name, _, check, place in faults:
        said = [line for line in text.splitlines() if check in line and place in line]
        assert said, f"{name}: {text}"
    assert not (out / "reading-nook").exists()  # nothing was swapped in


def test_many_wrong_writers_are_all_named_and_nothing_is_swapped_in(
    built: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert built["reading-nook"]  # its parts are in the store
    refused([one for one in FAULTS if one[0] in TOGETHER], tmp_path, monkeypatch, capsys)


@pytest.mark.slow
@pytest.mark.parametrize("fault", [*FAULTS, *BOOK_FAULTS], ids=lambda fault: fault[0])
def test_each_wrong_writer_is_named(
    built: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    fault: Fault,
) -> None:
    assert built["reading-nook"]
    refused([fault], tmp_path, monkeypatch, capsys)
