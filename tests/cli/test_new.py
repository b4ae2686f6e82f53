"""new: a job of one's own, from flags or from answers; nothing is ever written over."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main
from fab.errors import OutputError
from fab.params.read import load


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_flags_make_a_job_with_copies_beside_it(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--shape", "square", "--panels", "3", "--shop", "inch-bench", "--size", "4 in", "--into", "walls"]
    assert main(["new", "den", *words]) == 0
    told = capsys.readouterr()
    made = sorted(path.relative_to("walls").as_posix() for path in Path("walls").rglob("*") if path.is_file())
    assert made == ["den.toml", "panels/edge90-square.toml", "schema/job.schema.json", "schema/panel.schema.json",
                    "schema/shop.schema.json", "shops/inch-bench.toml"]  # fmt: skip
    assert sorted(told.out.split()) == sorted(str(Path("walls") / name) for name in made)
    assert f"Next: panejig check {Path('walls') / 'den.toml'}" in told.err
    job = load(Path("walls/den.toml")).job
    assert (job.panel.edge, job.panel.sides, len(job.layout.cells), job.shop.units) == (101.6, 4, 3, "in")


def test_without_a_terminal_the_usual_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "den"]) == 0
    job = load(Path("den.toml")).job
    assert (job.panel.across_flats, len(job.layout.cells), job.shop.units) == (120, 7, "mm")


def test_cells_are_taken_as_they_are() -> None:
    assert main(["new", "den", "--cells", "0,0 1,0; -1, 2"]) == 0
    assert load(Path("den.toml")).job.layout.cells == ((0, 0), (1, 0), (-1, 2))


@pytest.mark.parametrize("cells", ["0,0 1", "a", "", "0;0", "0,0,0", "0.5,1"])
def test_cells_that_are_none_are_told(cells: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "den", "--cells", cells]) == 2
    assert "is no list of cells" in capsys.readouterr().err
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["my den"], 'For example "my-den"'),
        (["../den"], "not allowed here"),
        (["den", "--shop", "mine"], "Shops: inch-bench, metric-bench"),
        (["den", "--size", "2"], "less than 5 mm"),
        (["den", "--cells", "0,0", "--panels", "2"], "Give one of the two"),
        (["den", "--cells", "0,0 0,0"], "more than once"),
    ],
)
def test_wrong_words_write_nothing(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", *words]) == 2
    assert says in capsys.readouterr().err
    assert list(Path().iterdir()) == []


def test_a_job_is_never_written_over(capsys: pytest.CaptureFixture[str]) -> None:
    Path("den.toml").write_text("mine")
    assert main(["new", "den"]) == 2
    assert "den.toml: is there already. Choose another name" in capsys.readouterr().err
    assert [path.name for path in Path().iterdir()] == ["den.toml"]
    assert Path("den.toml").read_text() == "mine"


def test_a_second_job_keeps_the_shop_that_the_maker_changed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "one"]) == 0
    shop = Path("shops/metric-bench.toml")
    shop.write_text(shop.read_text().replace("kerf = 0.18", "kerf = 0.21"))
    capsys.readouterr()
    assert main(["new", "two", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["written"] == ["two.toml"]
    assert str(shop) in found["kept"]
    assert load(Path("two.toml")).job.shop.stock["opal-3"].kerf == 0.21


def test_a_folder_that_can_not_be_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    Path("file").write_text("x")
    assert main(["new", "den", "--into", "file"]) == 2
    assert "can't be written" in capsys.readouterr().err


def test_a_full_disk_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from fab.cli import writing

    class Full:
        def __init__(self, path: Path, mode: str) -> None:
            path.touch()

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *_: object) -> None:
            return None

        def write(self, data: bytes) -> None:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing, "open", Full, raising=False)
    with pytest.raises(OutputError, match="No space left"):
        writing.write_new(Path("x"), {"a": b"1"})
    assert [path for path in Path().rglob("*") if path.is_file()] == []


def test_questions_are_asked_on_a_terminal(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    answers = iter(["triangle", "4", "inch-bench", "5 in"])
    asked: list[str] = []

    def prompt(text: str, **words: Any) -> Any:
        asked.append(text)
        assert words["err"] is True  # questions are no result
        answer = next(answers)
        return int(answer) if answer.isdigit() else answer

    for stream in (sys.stdin, sys.stderr):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("fab.cli.new.click.prompt", prompt)
    assert main(["new", "den"]) == 0
    assert asked == ["Shape", "How many panels", "Shop", "Edge (empty: as the design)"]
    job = load(Path("den.toml")).job
    assert (job.panel.sides, job.panel.edge, len(job.layout.cells), job.shop.units) == (3, 127, 4, "in")
