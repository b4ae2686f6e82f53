"""new: a job of one's own, from flags or from answers; nothing is ever written over."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main
from fab.errors import OutputError
from fab.params.read import load
from fab.params.wallmap import drawn


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_flags_make_a_job_with_copies_beside_it(capsys: pytest.CaptureFixture[str]) -> None:
    words = [
        "--shape",
        "square",
        "--panels",
        "3",
        "--shop",
        "inch-bench",
        "--size",
        "4 in",
        "--into",
        "walls",
    ]
    assert main(["new", "den", *words]) == 0
    told = capsys.readouterr()
    made = sorted(
        path.relative_to("walls").as_posix() for path in Path("walls").rglob("*") if path.is_file()
    )
    assert made == [
        "den.toml",
        "panels/edge90-square.toml",
        "schema/job.schema.json",
        "schema/panel.schema.json",
        "schema/shop.schema.json",
        "shops/inch-bench.toml",
    ]
    assert sorted(told.out.split()) == sorted(str(Path("walls") / name) for name in made)
    assert f"panejig check {Path('walls') / 'den.toml'}" in told.err
    job = load(Path("walls/den.toml")).job
    assert (
        job.panel.edge,
        job.panel.sides,
        len(drawn(job.layout.map, job.panel.sides)),
        job.shop.units,
    ) == (101.6, 4, 3, "in")


def test_without_a_terminal_the_usual_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "den"]) == 0
    job = load(Path("den.toml")).job
    assert (
        job.panel.across_flats,
        len(drawn(job.layout.map, job.panel.sides)),
        job.shop.units,
    ) == (120, 7, "mm")


def test_cells_are_taken_as_they_are() -> None:
    assert main(["new", "den", "--cells", "0,0 1,0; -1, 2"]) == 0
    job = load(Path("den.toml")).job
    assert job.layout.map == "A\n .\nB C\n"
    assert job.layout.groups == "separate"


@pytest.mark.parametrize("cells", ["0,0 1", "a", "", "0;0", "0,0,0", "0.5,1"])
def test_cells_that_are_none_are_told(cells: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "den", "--cells", cells]) == 2
    assert "is not a list of cells" in capsys.readouterr().err
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["my den"], 'For example "my-den"'),
        (["../den"], "not allowed here"),
        (["den", "--shop", "mine"], "Shops: inch-bench, metric-bench"),
        (["den", "--size", "2"], "less than 5 mm"),
        (["den", "--cells", "0,0", "--panels", "2"], "Give one of them"),
        (["den", "--cells", "0,0 0,0"], "more than once"),
    ],
)
def test_wrong_words_write_nothing(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", *words]) == 2
    assert says in capsys.readouterr().err
    assert list(Path().iterdir()) == []


HEART = """<svg xmlns="http://www.w3.org/2000/svg"
width="900mm" height="800mm" viewBox="0 0 900 800">
<path fill="none" stroke="black"
d="M450 780 C 0 450 20 60 250 40 C 380 30 440 130 450 180
C 460 130 520 30 650 40 C 880 60 900 450 450 780 Z"/></svg>"""


def svg(shape: str, size: str = 'width="90mm" height="80mm"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 90 80">{shape}</svg>'


@pytest.mark.parametrize(("shape", "count"), [("hexagon", 23), ("square", 34), ("triangle", 83)])
def test_all_panels_inside_an_outline_are_taken(
    shape: str, count: int, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("heart.svg").write_text(HEART)
    assert main(["new", "den", "--shape", shape, "--within", "heart.svg", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    job = load(Path("den.toml")).job
    assert len(drawn(job.layout.map, job.panel.sides)) == told["within"]["panels"] == count
    assert told["map"] == job.layout.map
    assert main(["new", "less", "--shape", shape, "--within", "heart.svg", "--margin", "4 cm"]) == 0
    told_on_terminal = capsys.readouterr().err
    assert "left over:" in told_on_terminal
    assert 0 < len(drawn(load(Path("less.toml")).job.layout.map, job.panel.sides)) < count


def test_a_dxf_and_a_turn_and_groups_that_do_not_touch(capsys: pytest.CaptureFixture[str]) -> None:
    import ezdxf

    document = ezdxf.new(units=4)  # type: ignore[attr-defined]
    for left in (0, 540):
        document.modelspace().add_lwpolyline(
            [(left, 0), (left + 200, 0), (left + 200, 100), (left, 100)], close=True
        )
    document.saveas("two.dxf")
    words = ["--shape", "square", "--within", "two.dxf", "--turn", "best"]
    assert main(["new", "den", *words]) == 0
    job = load(Path("den.toml")).job
    assert job.layout.groups == "separate"
    assert "2 groups that do not touch" in capsys.readouterr().err
    assert len(drawn(job.layout.map, 4)) == 4
    assert main(["new", "turned", *words[:-1], "12"]) == 2
    assert "no square of 90 mm lies inside" in capsys.readouterr().err


def test_a_design_that_the_maker_changed_is_the_one_that_is_fitted_in() -> None:
    Path("heart.svg").write_text(HEART)
    assert main(["new", "one", "--within", "heart.svg"]) == 0
    design = Path("panels/hexagon-120.toml")
    design.write_text(design.read_text().replace("across_flats = 120", "across_flats = 100"))
    assert main(["new", "two", "--within", "heart.svg"]) == 0
    one, two = (load(Path(f"{name}.toml")).job for name in ("one", "two"))
    assert two.panel.across_flats == 100
    assert len(drawn(two.layout.map, 6)) > len(drawn(one.layout.map, 6))


def test_what_is_told_to_fit_does_fit(capsys: pytest.CaptureFixture[str]) -> None:
    Path("small.svg").write_text(svg('<rect x="5" y="5" width="80" height="60"/>'))
    assert main(["new", "den", "--within", "small.svg"]) == 2
    found = re.search(r"--size (\d+); or draw it ([\d.]+) times as large", capsys.readouterr().err)
    assert found is not None
    assert main(["new", "den", "--within", "small.svg", "--size", found[1]]) == 0
    assert (
        main(
            [
                "new",
                "wide",
                "--within",
                "small.svg",
                "--width",
                str(80 * float(found[2])),
                "--size",
                "120",
            ]
        )
        == 0
    )
    assert main(["new", "over", "--within", "small.svg", "--size", str(int(found[1]) + 1)]) == 2


@pytest.mark.parametrize(
    ("drawing", "says", "works"),
    [
        (
            svg('<polyline points="0,0 80,0 80,70" />'),
            "the outline is not closed: an open line of 150 mm",
            "Join the two ends",
        ),
        (
            svg('<polygon points="0,0 80,70 80,0 0,70" />'),
            "crosses itself at (40, 45) mm",
            "no line crosses another",
        ),
        (
            svg('<rect width="80" height="60"/>', ""),
            "the SVG states its size in pixels only",
            "--width 900",
        ),
        (
            svg('<rect width="80" height="60"/>', 'width="90" height="80px"'),
            "the SVG states its size in pixels only",
            "--width 900",
        ),
        (svg(""), "there is no line in it", "Draw the outline"),
        ("<svg", "cannot be read", "plain SVG"),
        ("no drawing", "neither a DXF nor an SVG", "Export it"),
        (svg('<rect width="80" height="60"/>', 'width="90m" height="80mm"'), "", ""),
    ],
)
def test_outlines_that_can_not_be_used(
    drawing: str, says: str, works: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("bad.svg").write_text(drawing)
    assert main(["new", "den", "--within", "bad.svg"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("bad.svg: ")
    assert says in told
    assert works in told
    assert [path.name for path in Path().iterdir()] == ["bad.svg"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--within", "none.svg"], "none.svg: was not found"),
        (["--within", "heart.svg", "--panels", "3"], "--within: cannot be used with --panels"),
        (["--margin", "3"], "--margin: needs an outline"),
        (["--within", "heart.svg", "--margin", "-3"], "--margin: "),
        (["--within", "heart.svg", "--margin", "400"], "nothing is left of the outline"),
        (["--within", "heart.svg", "--turn", "much"], '--turn: "much" is not a turn'),
        (["--within", "heart.svg", "--width", "90000"], "room for more than 1,000 panels"),
        (["--within", "heart.svg", "--width", "big"], "--width: "),
        (["--within", "heart.svg", "--size", "2"], "--size: 2 mm is less than 5 mm"),
    ],
)
def test_words_of_within_that_can_not_be(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("heart.svg").write_text(HEART)
    assert main(["new", "den", *words]) == 2
    assert says in capsys.readouterr().err
    assert [path.name for path in Path().iterdir()] == ["heart.svg"]


def test_a_job_is_never_written_over(capsys: pytest.CaptureFixture[str]) -> None:
    Path("den.toml").write_text("mine")
    assert main(["new", "den"]) == 2
    assert "den.toml: already exists. Choose another name" in capsys.readouterr().err
    assert [path.name for path in Path().iterdir()] == ["den.toml"]
    assert Path("den.toml").read_text() == "mine"


def test_a_second_job_keeps_the_shop_that_the_maker_changed(
    capsys: pytest.CaptureFixture[str],
) -> None:
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
    assert "cannot be written" in capsys.readouterr().err


def test_a_full_disk_leaves_nothing_behind(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
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


def test_questions_are_asked_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
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
    assert asked == ["Shape", "Number of panels", "Shop", "Edge (empty: as in the design)"]
    job = load(Path("den.toml")).job
    assert (
        job.panel.sides,
        job.panel.edge,
        len(drawn(job.layout.map, job.panel.sides)),
        job.shop.units,
    ) == (3, 127, 4, "in")
