"""`--book`: once, into the maker's own shop file; what was booked stays as it was cut."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main
from fab.decisions import outline
from fab.outputs import cut
from fab.outputs.nested import Nested
from fab.outputs.nestlock import MOST_NESTS, keep_locks, lock_path, read_locks
from fab.params.read import load
from fab.workshop import quiet, searched

SHOP = 'name = "bench"\nextends = "metric-bench"\n[stock.opal-3]\ncount = 2\n'
JOB = (
    'job = "t"\nshop = "bench.toml"\npanel = "hexagon-120"\nlayout.cells = [[0, 0], [1, 0], [0,'
    " 1]]\n"
)


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(SHOP)
    Path("t.toml").write_text(JOB)


def shop() -> dict[str, Any]:
    return tomllib.loads(Path("bench.toml").read_text())


def told(name: str = "t") -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Path(f"out/{name}-sheets/nest.json").read_text())
    return found


def test_a_nest_is_booked_once_and_stays_as_it_was_cut(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nest", "t.toml", "--book"]) == 0
    assert "  stock.opal-3.count: 2 -> 1\n" in capsys.readouterr().out
    assert [one["name"] for one in shop()["offcut"]] == ["t-sheet-01-rest-1"]
    before, files = Path("bench.toml").read_bytes(), Path("out/t-sheets/sheet-01.dxf").read_bytes()
    assert main(["nest", "t.toml", "--book"]) == 0  # the rack has changed; the parts have not
    out = capsys.readouterr().out
    assert (
        "Booked earlier, so not again: opal-3. To cut another set: Nest it with another --name.\n"
        in out
    )
    assert "as it was booked: these sheets are already removed from the rack" in out
    assert Path("bench.toml").read_bytes() == before
    assert Path("out/t-sheets/sheet-01.dxf").read_bytes() == files
    assert (told()["sheets"][0]["of"], told()["stocks"][0]["booked"]) == ("opal-3", True)
    assert (
        main(["nest", "t.toml", "--book", "--name", "second"]) == 0
    )  # another set is another name: it has the rest
    assert (told("second")["sheets"][0]["of"], told("second")["stocks"][0]["booked"]) == (
        "t-sheet-01-rest-1",
        False,
    )
    assert [one["count"] for one in shop()["offcut"]][:1] == [0]
    capsys.readouterr()
    # other parts are not booked
    Path("t.toml").write_text(JOB.replace("[0, 1]]", "[0, 1], [1, 1]]"))
    assert main(["nest", "t.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["stocks"][0]["booked"] is False


def test_a_build_takes_the_sheets_that_were_booked() -> None:
    """The last sheet of the rack is booked: the job can still be built, as it was cut, though none
    is left.
    """
    Path("bench.toml").write_text(SHOP.replace("count = 2", "count = 1"))

    def nested() -> Nested:
        loaded = load(Path("t.toml"))
        return cut.nested(
            outline(loaded.job), searched(loaded, lock_path(Path("t.toml"), Path("out")), quiet)
        )

    first = nested()
    assert main(["nest", "t.toml", "--book"]) == 0
    # somebody took the rest
    Path("bench.toml").write_text(Path("bench.toml").read_text().partition("[[offcut]]")[0])
    assert shop()["stock"]["opal-3"]["count"] == 0
    again = nested()
    assert again.stocks[0].booked
    assert [one.nest.layups for one in again.stocks] == [one.nest.layups for one in first.stocks]
    assert set(first.digests) == set(
        again.digests
    )  # a build that was made before notices the booking
    assert first.digests != again.digests
    assert again.locks == read_locks(
        Path("t.nest.json")
    )  # whoever gets the build alone has them too
    assert main(["nest", "t.toml", "--name", "other"]) == 2


def test_a_mark_that_can_t_be_read_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nest", "t.toml", "--book"]) == 0
    lock = json.loads(Path("t.nest.json").read_text())
    (entry,) = lock["nests"].values()
    for wrong in (
        [["opal-3"]],
        3,
        [[1, 2, 3, 4, 5, 6, 7, 8, 9]],
        [[*entry["rack"][0][:2], [["x", 0]], *entry["rack"][0][3:]]],
    ):
        entry["rack"] = wrong
        Path("t.nest.json").write_text(json.dumps(lock))
        assert main(["nest", "t.toml"]) == 0
        assert told()["sheets"][0]["of"] == "t-sheet-01-rest-1"  # the rack of now
        capsys.readouterr()


def test_what_was_cut_is_read_and_not_found_anew() -> None:
    """Another version may nest otherwise; the sheets that are cut stay where they are."""
    assert main(["nest", "t.toml", "--book"]) == 0
    lock = json.loads(Path("t.nest.json").read_text())
    (entry,) = lock["nests"].values()
    for placed in entry["layups"][0]["placed"]:
        placed[2] += 30.0
    Path("t.nest.json").write_text(json.dumps(lock))
    before = Path("out/t-sheets/sheet-01.dxf").read_bytes()
    assert main(["nest", "t.toml", "--nest-seconds", "2"]) == 0
    assert (told()["stocks"][0]["booked"], told()["stocks"][0]["searched_seconds"]) == (
        True,
        0.0,
    )  # not searched for
    assert Path("out/t-sheets/sheet-01.dxf").read_bytes() != before
    for placed in entry["layups"][0]["placed"]:
        placed[2] += 3000.0  # off the sheet: the proof throws it out
    Path("t.nest.json").write_text(json.dumps(lock))
    assert main(["nest", "t.toml"]) == 0
    assert told()["stocks"][0]["booked"] is False


def test_booked_nests_do_not_give_way_to_searches(tmp_path: Path) -> None:
    path = tmp_path / "x.nest.json"
    keep_locks(path, {"booked": {"rack": []}})
    for k in range(MOST_NESTS + 2):
        keep_locks(path, {f"key-{k}": {"seconds": k}})
    assert list(read_locks(path)) == ["booked", *(f"key-{k}" for k in range(2, MOST_NESTS + 2))]


@pytest.mark.parametrize(
    ("words", "shop_of_job", "says"),
    [
        (
            ["--only", "print"],
            "bench.toml",
            "--book: this build makes no cut files. Add --only cut",
        ),
        (
            [],
            "metric-bench",
            "--book: this shop is included with panejig and is never changed.",
        ),
        (
            ["--set", "shop.stock.opal-3.count=9"],
            "bench.toml",
            "bench.toml: the job or --set changes sheets or offcuts",
        ),
    ],
)
def test_what_can_t_be_booked_is_told_before_anything_is_made(
    words: list[str], shop_of_job: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("t.toml").write_text(JOB.replace("bench.toml", shop_of_job))
    assert main(["build", "t.toml", "--book", *words]) == 2
    assert says in capsys.readouterr().err
    assert not Path("out").exists()
    assert Path("bench.toml").read_text() == SHOP


@pytest.mark.slow
@pytest.mark.kernel
def test_a_build_is_booked_once(capsys: pytest.CaptureFixture[str]) -> None:
    """Built, looked at, booked without being made again; then it stays, and the pack of it makes
    the same sheets.
    """
    words = ["build", "t.toml", "--only", "cut", "--only", "lists"]
    assert main(words) == 0
    sheet = Path("out/t/cut/sheet-01.dxf").read_bytes()
    assert Path("bench.toml").read_text() == SHOP
    assert main([*words, "--book"]) == 0
    out = capsys.readouterr().out
    assert "Nothing changed." in out
    assert "Booked into bench.toml:\n  stock.opal-3.count: 2 -> 1\n" in out
    rests = tomllib.loads(Path("out/t/lists/offcuts.toml").read_text())["offcut"]
    assert shop()["offcut"] == rests
    before = Path("bench.toml").read_bytes()
    for k in range(2):
        assert main([*words, "--book"]) == 0
        out = capsys.readouterr().out
        assert ("Nothing changed." in out) == (k == 1)  # the shop file is another now
        assert "Booked earlier, so not again: opal-3." in out
        assert Path("bench.toml").read_bytes() == before
        assert Path("out/t/cut/sheet-01.dxf").read_bytes() == sheet
    assert main(["build", "out/t/lists/job.toml", "--out", "p", "--only", "cut"]) == 0
    assert Path("p/t/cut/sheet-01.dxf").read_bytes() == sheet
    capsys.readouterr()
    assert main([*words, "--book", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["booked"] == {
        "file": "bench.toml",
        "says": [],
        "before": ["opal-3"],
    }
