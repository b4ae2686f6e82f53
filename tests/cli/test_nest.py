"""`panejig nest`: drawings in, sheets out; every bad input is one message and exit code 2."""

from __future__ import annotations

import io
import json
import math
import signal
import tomllib
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
import svgelements

from fab.cli.console import Console
from fab.cli.main import main
from fab.sheets.stopping import ctrl_c_asks
from tests.cases import few

SHOP = """name = "bench"
[laser]
part_gap = 2
[stock.opal]
width = 300
height = 200
count = 3
price = 5
margin = 5
kerf = 0.2
"""
# 100 x 40 mm with rounded corners, two holes and a window, drawn as loose lines in any order and
# direction; one line twice, one corner 0.02 mm apart, one line that closes nothing.
PLATE = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="60mm" viewBox="0 0 120 60">
<line x1="15" y1="10" x2="105" y2="10"/><path d="M110 15 V45"/><path d="M105 50 L15 50.02"/>
<line x1="10" y1="45" x2="10" y2="15"/><line x1="15" y1="10" x2="105" y2="10"/>
<path d="M10 15 A5 5 0 0 1 15 10"/><path d="M110 15 A5 5 0 0 0 105 10"/>
<path d="M110 45 A5 5 0 0 1 105 50"/><path d="M15 50 A5 5 0 0 1 10 45"/>
<circle cx="20" cy="30" r="3"/><circle cx="100" cy="30" r="3"/>
<rect x="40" y="22" width="40" height="16" rx="2"/>
<path d="M30 15 L35 20"/></svg>"""
AREA = 100 * 40 - (4 - math.pi) * 25 - 2 * math.pi * 9 - (40 * 16 - (4 - math.pi) * 4)


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop and a drawing in the working folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PANEJIG_TRACE", raising=False)
    Path("bench.toml").write_text(SHOP)
    Path("plate.svg").write_text(PLATE)


def square(name: str, side: float, x: float = 0.0) -> None:
    """A DXF with one square, in lines."""
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 4
    corners = [(x, 0), (x + side, 0), (x + side, side), (x, side)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        document.modelspace().add_line(a, b)
    document.saveas(name)


def run(*words: str) -> int:
    return main(["nest", "--shop", "bench.toml", *words])


def told() -> dict[str, Any]:
    (path,) = Path("out").glob("*/nest.json")
    found: dict[str, Any] = json.loads(path.read_text())
    return found


def test_loose_lines_become_plates_on_a_sheet(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--shape", "plate.svg=4") == 0
    out, err = capsys.readouterr()
    assert err.splitlines() == [
        (
            "plate.svg: an open line of 7.07 mm from (30, 45) to (35, 40), 7.071 mm apart; left"
            " out. Close it to have it cut"
        ),
        "plate.svg: 1 doubled line dropped, at (60, 50)",
    ]
    assert "sheet-01: opal, 300 x 200 mm; 4 x plate; " in out
    assert "opal: Sheets: 1 (proven minimum, " in out
    assert out.splitlines()[-1] == f"Files: {Path('out') / 'plate-sheets'}"
    folder = Path("out/plate-sheets")
    assert {path.name for path in folder.iterdir()} == {
        "nest.json",
        "sheet-01.dxf",
        "sheet-01.svg",
        "picture-01.svg",
        "picture-01.png",
        "sheets.csv",
        "offcuts.toml",
    }
    assert told()["notes"] == err.splitlines()
    picture = folder / "picture-01.png"
    assert picture.stat().st_size < 400_000
    with pytest.importorskip("PIL.Image").open(picture) as image:  # it comes with the PDF library
        assert image.size[0] == 186 * 8
        inks = {colour for _, colour in image.convert("RGB").getcolors(image.width * image.height)}
    assert {
        (0x22, 0x22, 0x22),
        (0xCF, 0xE3, 0xF1),
        (0xD5, 0x5E, 0x00),
    } <= inks  # edges, the piece's tint, the order


def test_the_files_hold_the_parts_as_other_libraries_read_them() -> None:
    """ezdxf and svgelements read the sheet; kerf taken off again, each part has the area of the
    drawing.
    """
    assert run("--shape", "plate.svg=4") == 0
    document = ezdxf.readfile("out/plate-sheets/sheet-01.dxf")  # type: ignore[attr-defined]
    assert document.header["$INSUNITS"] == 4
    edges: list[Any] = []
    holes: list[Any] = []
    for entity in document.modelspace():
        path = ezdxf.path.make_path(entity)
        ring = shapely.Polygon([(p.x, p.y) for p in path.flattening(1e-4)])
        (edges if entity.dxf.layer == "CUT-OUTER" else holes).append(ring)
    assert (len(edges), len(holes)) == (4, 12)
    for edge in edges:
        inside = [hole for hole in holes if edge.contains(hole)]
        assert len(inside) == 3
        nominal = edge.buffer(-0.1, quad_segs=64).area - sum(
            hole.buffer(0.1, quad_segs=64).area for hole in inside
        )
        assert nominal == pytest.approx(
            AREA, abs=1.5
        )  # the drawing itself leaves 0.02 mm along 90 mm open
        assert min(edge.distance(other) for other in edges if other is not edge) > 2.0 - 1e-3
        assert min(edge.bounds) > 5.0 - 1e-3
    middles = [shapely.box(*edge.bounds).centroid for edge in edges]
    for pose in told()["sheets"][0]["poses"]:  # the origin of a plate is its middle
        at = shapely.Point(pose["x"], pose["y"])
        assert min(middle.distance(at) for middle in middles) < 0.02
    drawing = svgelements.SVG.parse("out/plate-sheets/sheet-01.svg", ppi=25.4)
    boxes = [shape.bbox() for shape in drawing.elements() if isinstance(shape, svgelements.Path)]
    sizes = sorted((round(b[2] - b[0], 1), round(b[3] - b[1], 1)) for b in boxes if b is not None)
    assert sum(size in ((100.2, 40.2), (40.2, 100.2)) for size in sizes) == 4


def test_shapes_lie_beside_the_parts_of_a_job() -> None:
    Path("job.toml").write_text(
        'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.cells = [[0, 0], [1, 0]]\n'
    )
    square("diffuser.dxf", 30)
    assert main(["nest", "job.toml", "--shape", "plate.svg=1", "--shape", "diffuser.dxf=2"]) == 0
    assert told()["sheets"][0]["parts"] == {"diffuser": 2, "diffuser-2": 2, "plate": 1}
    first = {path.name: path.read_bytes() for path in Path("out/t-sheets").iterdir()}
    assert main(["nest", "job.toml", "--shape", "plate.svg=1", "--shape", "diffuser.dxf=2"]) == 0
    assert {path.name: path.read_bytes() for path in Path("out/t-sheets").iterdir()} == first


@pytest.mark.parametrize(
    "laser",
    few(
        [
            "arcs = false",
            "arcs = false\ninlet_lead = 2",
            'dxf = "R12"\ntab = 0.6',
            "inlet_lead = 2",
        ],
        3,
    ),
)
def test_sheets_with_arcs_and_without(laser: str) -> None:
    """Every shop's wish is read back: chords, old files, lead-ins and tabs. ezdxf finds arcs but
    where chords are asked for.
    """
    Path("bench.toml").write_text(SHOP.replace("[laser]", f"[laser]\n{laser}"))
    assert run("--shape", "plate.svg=2") == 0
    document = ezdxf.readfile("out/plate-sheets/sheet-01.dxf")  # type: ignore[attr-defined]
    bulges = [
        bulge
        for entity in document.modelspace().query("LWPOLYLINE POLYLINE")
        for bulge in (
            [at[4] for at in entity.get_points()]  # type: ignore[attr-defined]
            if entity.dxftype() == "LWPOLYLINE"
            else [v.dxf.bulge for v in entity.vertices]  # type: ignore[attr-defined]
        )
    ]
    assert any(bulges) == ("arcs" not in laser)


def test_equal_sheets_are_one_file() -> None:
    square("sq.dxf", 90)
    assert run("--shape", "sq.dxf=14") == 0  # 3 x 2 on a sheet, by hand
    assert [(one["sheet"], one["times"], one["parts"]) for one in told()["sheets"]] == [
        ("sheet-01", 2, {"sq": 6}),
        ("sheet-02", 1, {"sq": 2}),
    ]
    assert Path("out/sq-sheets/sheet-01_x2.dxf").is_file()
    (rest,) = tomllib.loads(Path("out/sq-sheets/offcuts.toml").read_text())["offcut"]
    assert rest["name"] == "sq-sheet-02-rest-1"


def svg(path: str) -> bytes:
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300'
        ' 300">'
    )
    return f'{head}<path d="{path}"/></svg>'.encode()


def nan_dxf() -> bytes:
    document = ezdxf.new("R12")  # type: ignore[attr-defined]
    document.modelspace().add_line((0, 0), (123.25, 5))
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().replace("123.25", "nan").encode()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is empty"),
        (b"0\nEOF\n", "there is no line in it. Draw"),
        (b"hello", "this is neither a DXF nor an SVG that can be read"),
        (nan_dxf(), "a coordinate is not a number"),
        (
            svg("M10 10 L NaN 20 L 30 40 Z"),
            "a value that cannot be read: path data at 'NaN 20 L 30 '",
        ),
        (svg("M10 10 L1e999 20 L30 40Z"), "is not a number"),
        (svg("M10 10 L10 10Z"), "there is no line in it"),
        (svg("M10 10h50v50z").replace(b"width=", b'width="0" data-x='), "width or height of 0"),
        (
            svg("M10 10h0.02v0.02h-0.02Z"),
            "its size of 0.02 x 0.02 mm is too small to cut. 0.1 mm is the minimum",
        ),
        (
            svg("M10 10h50v40h-50v-39"),
            "no closed outline found within 0.05 mm: an open line of 179 mm from (10, 290)",
        ),
        (
            svg("M10 10L50 50L50 10L10 50Z"),
            (
                "x.svg: a loop whose box begins at (10, 250) mm crosses itself at (30, 270) mm."
                " Move its corners"
            ),
        ),
        (svg("M10 10h50v50h-50zM30 30h50v50h-50z"), "two outlines cross at"),
        (
            svg("M0 0h295v40h-295Z"),
            (
                "fits no sheet of 'opal'; the largest is 300 x 200 mm, 5 mm of it margin. "
                "It needs a sheet of 305.2 x 50.2 mm or more"
            ),
        ),
    ],
)
def test_what_can_t_be_cut_is_one_message(
    data: bytes, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("x.svg").write_bytes(data)
    assert run("--shape", "x.svg=1") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert says in err
    assert not Path("out").exists()


def test_stock_that_runs_out_says_what_to_buy(capsys: pytest.CaptureFixture[str]) -> None:
    """Six squares of 90 mm to a sheet, by hand: 3 sheets take 18, two more take the other 12."""
    square("sq.dxf", 90)
    assert run("--shape", "sq.dxf=30") == 2
    says = (
        "bench.toml: stock.opal.count: no room for 12 x sq. Buy about 2 more sheets of 300 x 200 mm"
        " and raise the count of 'opal' in the shop."
    )
    assert capsys.readouterr().err.splitlines() == [says]


def test_bad_offcuts_are_told_all_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    bow, dot = "[[0, 0], [90, 90], [90, 0], [0, 90]]", "[[0, 0], [9, 9]]"
    Path("bench.toml").write_text(
        SHOP
        + "".join(
            f'[[offcut]]\nstock = "opal"\nname = "{n}"\noutline = {o}\n'
            for n, o in (("bow", bow), ("dot", dot))
        )
    )
    assert run("--shape", "plate.svg=1") == 2
    err = capsys.readouterr().err
    assert (
        "bench.toml: offcut[0].outline: bow: the side after corner 1 crosses the side after"
        " corner 3" in err
    )
    assert "bench.toml: offcut[1].outline: dot has 2 corners" in err
    Path("job.toml").write_text(
        'job = "t"\nshop.extends = "metric-bench"\nshop.stock.opal-3.count = 0\npanel ='
        ' "hexagon-120"\nlayout.cells = [[0, 0]]\n'
    )
    assert main(["nest", "job.toml"]) == 2
    assert (
        "job.toml:3: shop.stock.opal-3.count: no room for 1 x diffuser." in capsys.readouterr().err
    )


def test_words_that_can_t_be(capsys: pytest.CaptureFixture[str]) -> None:
    for words, says in (
        (
            ["--shape", "plate.svg"],
            "--shape plate.svg: has no number of copies. Write the file, =, and the number:"
            " plate.svg=3.",
        ),
        (
            ["--shape", "plate.svg=0"],
            "--shape plate.svg=0: 0 copies are out of range. Allowed: 1 to 100,000.",
        ),
        (
            ["--shape", "plate.svg=1@ply"],
            '--shape plate.svg=1@ply: "ply" is an unknown stock. It has opal.',
        ),
        (["--shape", "plat.svg=1"], "plat.svg: was not found. Did you mean plate.svg?"),
        ([], "there is nothing to cut. Give a JOB, or --shape FILE=COUNT."),
        (["--shape", "plate.svg=1", "--join", "0"], "--join: 0 mm is out of range."),
        (
            ["--shape", "plate.svg=1", "--name", "../x"],
            "cannot be the name of a folder on every system",
        ),
        (
            ["--shape", "plate.svg=1", "--set", "panel.depth=40"],
            "--set: sets panel: a shop file does not have this key.",
        ),
        (
            ["--shape", "plate.svg=1", "--set", "shop.laser.part_gap=x"],
            "--set shop.laser.part_gap=x",
        ),
        (["--shape", "plate.svg=1", "--nest-seconds", "nan"], "--nest-seconds: nan is not a time."),
    ):
        assert run(*words) == 2
        assert says in capsys.readouterr().err
    assert main(["nest", "--shape", "plate.svg=1"]) == 2
    assert "there is neither a JOB nor --shop" in capsys.readouterr().err
    assert run("reading-nook") == 2
    assert "cannot be used with a job" in capsys.readouterr().err
    assert run("reading-nok") == 2  # the wrong name first: it is no job that could name a shop
    told = capsys.readouterr().err
    assert "'reading-nok' is not a file or a shipped job. Did you mean reading-nook?" in told
    assert "--shop" not in told


def test_set_changes_a_value_of_the_shop() -> None:
    """Two plates of 100 x 40 mm and a gap of 2 mm: the copies lie apart by what --set says,
    measured in the DXF.
    """
    gaps = []
    for gap in (2, 11):
        assert run("--shape", "plate.svg=2", "--set", f"shop.laser.part_gap={gap}") == 0
        (sheet,) = told()["sheets"]
        assert told()["stocks"][0]["gap_mm"] == gap
        first, second = _rings(Path("out/plate-sheets") / f"{sheet['sheet']}.dxf")
        gaps.append(first.distance(second))
    assert gaps[0] == pytest.approx(2, abs=0.05)
    assert gaps[1] == pytest.approx(11, abs=0.05)


def _rings(path: Path) -> list[shapely.Polygon]:
    """The closed outer paths of a DXF, by the DXF library's own flattening."""
    from ezdxf import path as paths

    found = [e for e in ezdxf.readfile(path).modelspace() if e.dxf.layer == "CUT-OUTER"]  # type: ignore[attr-defined]
    return [
        shapely.Polygon([(p.x, p.y) for p in paths.make_path(e).flattening(0.01)]) for e in found
    ]


def test_names_of_any_script_stay_readable(capsys: pytest.CaptureFixture[str]) -> None:
    """Letters that the shipped font lacks are told; SVG, lists and names of files hold them all the
    same.
    """
    Path("plate.svg").rename("Schlüssel-名札.svg")
    assert run("--shape", "Schlüssel-名札.svg=2") == 0
    err = capsys.readouterr().err
    folder = Path("out/Schlüssel-名札-sheets")
    assert folder.is_dir()
    assert "The pictures' font has no letter 名, 札: the PNG shows a box." in err
    assert "2 x Schlüssel-名札" in (folder / "sheet-01.svg").read_text("utf-8")
    assert "Schlüssel-名札 1" in (folder / "picture-01.svg").read_text("utf-8")
    assert list(told()["sheets"][0]["parts"]) == ["Schlüssel-名札"]
    assert "Schlüssel-名札" in (folder / "sheets.csv").read_text("utf-8-sig")
    Path("Schlüssel-名札.svg").rename("Табличка.svg")
    assert run("--shape", "Табличка.svg=1") == 0
    assert "no letter" not in capsys.readouterr().err


def test_a_folder_of_other_things_is_left_alone(capsys: pytest.CaptureFixture[str]) -> None:
    Path("out/plate-sheets").mkdir(parents=True)
    Path("out/plate-sheets/letter.txt").write_text("dear")
    assert run("--shape", "plate.svg=1") == 2
    assert "holds files of yours: letter.txt. Nothing was written" in capsys.readouterr().err
    assert Path("out/plate-sheets/letter.txt").read_text() == "dear"
    assert run("--shape", "plate.svg=1", "--name", "mine") == 0
    assert run("--shape", "plate.svg=2", "--name", "mine") == 0  # a nest of ours is made anew


def test_a_part_of_ours_that_can_t_be_cut_stops_and_a_drawing_warns(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A sharp inner corner is its maker's business; a bed that is too small stops the files."""
    Path("x.svg").write_bytes(svg("M10 10h80v20h-60v60h-20Z"))
    assert run("--shape", "x.svg=1") == 0
    assert "warn  cut.radius  x on sheet-01" in capsys.readouterr().out
    Path("bench.toml").write_text(SHOP.replace("[laser]", "[laser]\nbed = [50, 50]"))
    assert run("--shape", "x.svg=1", "--name", "small") == 1
    assert "cut.bed" in capsys.readouterr().err
    assert not Path("out/small-sheets").exists()
    assert run("--shape", "x.svg=1", "--name", "small", "--allow", "cut.bed") == 0
    assert [one["id"] for one in told_of("small")["checks"] if one["allowed"]] == ["cut.bed"]


def test_booking_is_shown_and_written(capsys: pytest.CaptureFixture[str]) -> None:
    square("sq.dxf", 90)
    assert run("--shape", "sq.dxf=8", "--book") == 0
    out = capsys.readouterr().out.splitlines()
    at = out.index("Booked into bench.toml:")
    assert out[at + 1] == "  stock.opal.count: 3 -> 1"
    assert out[at + 2].startswith("  new offcut 'sq-sheet-02-rest-1': ")
    shop = tomllib.loads(Path("bench.toml").read_text())
    assert shop["stock"]["opal"]["count"] == 1
    assert Path("bench.toml").read_text().startswith(SHOP.replace("count = 3", "count = 1"))
    before = Path("bench.toml").read_bytes()
    assert run("--shape", "sq.dxf=1", "--name", "next") == 0  # goes on the rest that was booked
    assert told_of("next")["sheets"][0]["of"] == "sq-sheet-02-rest-1"
    assert main(["nest", "--shop", "metric-bench", "--shape", "sq.dxf=1@opal-3", "--book"]) == 2
    assert "this shop is included with panejig" in capsys.readouterr().err
    assert Path("bench.toml").read_bytes() == before


def told_of(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Path(f"out/{name}-sheets/nest.json").read_text())
    return found


def test_a_search_is_kept_and_used_again(capsys: pytest.CaptureFixture[str]) -> None:
    """A search of a second over plates and squares; without a terminal nothing of it is told on
    stderr.
    """
    square("sq.dxf", 41)
    words = ("--shape", "plate.svg=3", "--shape", "sq.dxf=5", "--name", "both")
    assert run(*words, "--nest-seconds", "1") == 0
    told_once = capsys.readouterr()
    assert all(line.startswith("plate.svg: ") for line in told_once.err.splitlines())
    lock = json.loads(Path("out/both.nest.json").read_text())
    (entry,) = lock["nests"].values()
    assert entry["seconds"] == 1
    first = Path("out/both-sheets/sheet-01.dxf").read_bytes()
    for more in ((), ("--nest-seconds", "1")):
        assert run(*words, *more) == 0
        assert "from the kept nest" in capsys.readouterr().out
        assert Path("out/both-sheets/sheet-01.dxf").read_bytes() == first
    placed = next(one["placed"] for one in entry["layups"] if len(one["placed"]) > 1)
    # somebody lays a part on another: the proof throws the nest out
    placed[0][2:4] = placed[1][2:4]
    Path("out/both.nest.json").write_text(json.dumps(lock))
    assert run(*words) == 0
    assert "from the kept nest" not in capsys.readouterr().out


def test_ctrl_c_writes_the_best_so_far(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ctrl-C comes with the first sign of progress of a search that would take ten minutes."""
    square("sq.dxf", 41)
    asked: list[str] = []

    def progress(_self: Console, stage: str, _share: float) -> None:
        if not asked:
            signal.raise_signal(signal.SIGINT)
        asked.append(stage)

    monkeypatch.setattr(Console, "progress", progress)
    before = signal.getsignal(signal.SIGINT)
    assert (
        run(
            "--shape",
            "plate.svg=3",
            "--shape",
            "sq.dxf=5",
            "--name",
            "both",
            "--nest-seconds",
            "600",
        )
        == 130
    )
    assert "Stopped: the best nest found so far is written." in capsys.readouterr().err
    assert told_of("both")["sheets"][0]["parts"] == {"plate": 3, "sq": 5}
    (entry,) = json.loads(Path("out/both.nest.json").read_text())["nests"].values()
    assert entry["seconds"] < 600  # so that a later run that asks for more searches again
    assert signal.getsignal(signal.SIGINT) is before


def test_the_second_ctrl_c_is_not_held_up() -> None:
    with ctrl_c_asks() as stop:
        signal.raise_signal(signal.SIGINT)
        assert stop()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)


def test_json_tells_everything(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--shape", "plate.svg=4", "--json", "--book") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["stocks"][0]["parts"] == {"plate": 4}
    assert found["stocks"][0]["lower_bound_sheets"] == 1
    assert found["booked"]["says"][0] == "stock.opal.count: 3 -> 2"
    assert found["stopped"] is False


def test_shared_lines_want_rows_and_do_without_elsewhere() -> None:
    """Equal squares in rows share their lines; on an offcut with a slanted side they keep the
    shop's gap.
    """
    square("sq.dxf", 40)
    shared = SHOP.replace("[laser]", "[laser]\ncommon_line = true")
    Path("bench.toml").write_text(shared)
    assert run("--shape", "sq.dxf=6", "--name", "rows") == 0
    assert told_of("rows")["stocks"][0]["gap_mm"] == 0
    assert any("shared lines: cut once" in note for note in told_of("rows")["sheets"][0]["notes"])
    slanted = '[[offcut]]\nstock = "opal"\noutline = [[0, 0], [200, 3], [190, 150], [0, 140]]\n'
    Path("bench.toml").write_text(shared + slanted)
    assert run("--shape", "sq.dxf=6", "--name", "slanted") == 0
    assert told_of("slanted")["sheets"][0]["offcut"] is True
    assert told_of("slanted")["stocks"][0]["gap_mm"] == 2


@pytest.mark.slow
@pytest.mark.parametrize(("many", "jitter"), [(170_000, 0.0), (170_000, 5.0), (1_000_000, 0.0)])
def test_very_many_corners(many: int, jitter: float, capsys: pytest.CaptureFixture[str]) -> None:
    """A fine circle is cut in few lines; one whose radius jumps by 5 mm at every corner, or with a
    million corners, is refused with one message.
    """
    points = (
        (
            150 + (90 + jitter * (k % 7) / 7) * math.cos(2 * math.pi * k / many),
            150 + (90 + jitter * (k % 7) / 7) * math.sin(2 * math.pi * k / many),
        )
        for k in range(many)
    )
    Path("x.svg").write_bytes(svg("M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in points) + "Z"))
    code = run("--shape", "x.svg=1")
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1
    assert code == (2 if jitter or many == 1_000_000 else 0)
    assert "x.svg: " in err
