"""`panejig coupon` and `panejig measure`, as a maker types them."""

from __future__ import annotations

import io
import json
import re
import shlex
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import trimesh

from fab.cli.main import main
from fab.params import presets
from fab.params.shopfile import shop_of

METRIC = presets.path_of("shop", "metric-bench")


@pytest.fixture
def bench(tmp_path: Any, monkeypatch: Any) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "bench.toml"
    assert METRIC is not None
    path.write_bytes(METRIC.read_bytes())
    return path


def run(capsys: Any, *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def test_the_kerf_coupon_of_a_shop(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "coupon", "bench.toml", "--kind", "kerf", "--stock", "opal-3")
    folder = bench.parent / "out" / "coupons-bench"
    names = sorted(path.name for path in folder.iterdir() if path.name != "coupons.json")
    assert code == 0
    assert names == [
        "kerf-opal-3-how.svg",
        "kerf-opal-3-how.txt",
        "kerf-opal-3.dxf",
        "kerf-opal-3.svg",
    ]
    assert all(name in out for name in names)
    document = ezdxf.readfile(folder / "kerf-opal-3.dxf")  # type: ignore[attr-defined]
    cuts = [entity for entity in document.modelspace() if entity.dxf.layer.startswith("CUT")]
    assert (document.header["$INSUNITS"], len(cuts)) == (4, 25)  # 20 strips, a plate with 4 windows
    assert all(entity.closed for entity in cuts)  # type: ignore[attr-defined]
    upright = [c for c in cuts if _wide(c) == pytest.approx(6.0) and c.dxf.layer == "CUT-OUTER"]
    assert len(upright) == 10  # true size: no kerf in the lines
    root = ET.parse(folder / "kerf-opal-3.svg").getroot()
    assert (root.get("width"), root.get("height")) == ("130mm", "88mm")


def _wide(entity: Any) -> float:
    xs = [x for x, *_ in entity.get_points()]
    return max(xs) - min(xs)


def test_the_sheet_says_a_command_that_works(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every command line of the sheet, run against a copy of the shop."""
    run(capsys, "coupon", "bench.toml", "--kind", "kerf", "--stock", "opal-3", "--out", "c")
    text = (bench.parent / "c" / "kerf-opal-3-how.txt").read_text()
    line = next(row.strip() for row in text.splitlines() if row.strip().startswith("panejig "))
    assert " bench.toml " in line
    code, out, _ = run(capsys, *shlex.split(line)[1:])
    assert code == 0
    assert "Written." in out
    assert shop_of(bench).stock["opal-3"].kerf == pytest.approx(0.17, abs=0.001)


def test_the_other_sheets_commands_work_too(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    from fab.parts.coupons import howto
    from fab.parts.coupons.bed import bed_size

    for sheet in (
        howto.fit_howto("bench.toml"),
        howto.seat_howto("opal-3", 16.0, "bench.toml"),
        howto.snap_howto("bench.toml"),
        howto.bed_howto(bed_size(shop_of(bench).printer), "bench.toml"),
    ):
        for line in sheet.types:
            code, out, err = run(capsys, *shlex.split(line)[1:])
            assert code == 0, err
            assert "scale" in line or "already has that value" in out or "Written." in out


@pytest.mark.slow
@pytest.mark.kernel
def test_printed_coupons_are_one_body_each_and_lie_on_a_plate(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(
        capsys, "coupon", "bench.toml", "--kind", "bed", "--kind", "snap", "--out", "c", "--json"
    )
    told = json.loads(out)
    folder = bench.parent / "c"
    assert code == 0
    assert sorted(row["path"] for row in told["files"]) == sorted(
        path.name for path in folder.iterdir() if path.name != "coupons.json"
    )
    for path in folder.glob("*.stl"):
        net = trimesh.load(path)
        assert net.is_watertight  # type: ignore[attr-defined]
        assert net.body_count == 1  # type: ignore[attr-defined]
        assert net.bounds[0][2] == pytest.approx(0.0, abs=1e-6)
    assert {path.name for path in folder.glob("snap-edge-*.stl")} == {
        f"snap-edge-{n:02d}_x2.stl" for n in (5, 10, 15, 20, 25)
    }
    with zipfile.ZipFile(io.BytesIO((folder / "snap-plate-01.3mf").read_bytes())) as package:
        model = package.read("3D/3dmodel.model").decode()
    assert len(re.findall("<item ", model)) == 12  # ten edge pieces, two clips
    assert told["use"]["snap"]["grams"] > 1


@pytest.mark.slow
@pytest.mark.kernel
def test_the_seat_coupon_is_cut_like_a_diffuser_and_its_reading_is_taken(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it should measure, 16 mm, and one kerf more in the lines that the beam's middle runs."""
    assert (
        run(capsys, "measure", "bench.toml", "kerf", "58.3", "--stock", "opal-3", "--write")[0] == 0
    )
    assert run(capsys, "coupon", "bench.toml", "--kind", "seat", "--out", "c")[0] == 0
    (cut,) = [
        e
        for e in ezdxf.readfile(bench.parent / "c" / "seat-opal-3.dxf").modelspace()  # type: ignore[attr-defined]
        if e.dxf.layer == "CUT-OUTER"
    ]
    assert _wide(cut) == pytest.approx(16.0 + shop_of(bench).stock["opal-3"].kerf, abs=1e-6)
    line = next(
        row
        for row in (bench.parent / "c" / "seat-how.txt").read_text().splitlines()
        if "panejig measure" in row
    )
    assert run(capsys, *shlex.split(line.replace("20", "30"))[1:])[0] == 0
    assert shop_of(bench).printer.clearance.seat == 0.3


@pytest.mark.parametrize("kind", ["kerf", pytest.param("bed", marks=pytest.mark.slow)])
def test_two_runs_write_the_same_bytes(
    kind: str, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder in ("one", "two"):
        assert run(capsys, "coupon", "bench.toml", "--kind", kind, "--out", folder)[0] == 0
    for path in (bench.parent / "one").iterdir():
        assert path.read_bytes() == (bench.parent / "two" / path.name).read_bytes(), path.name


def test_a_job_gives_its_shop_and_a_shipped_one_is_only_named(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run(capsys, "coupon", "reading-nook", "--kind", "kerf", "--out", "c")
    assert code == 0
    assert "my-shop.toml in them stands for your own shop file" in err
    job = bench.parent / "wall.toml"
    job.write_text(
        'job = "wall"\nshop = "./bench.toml"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
    )
    code, _, err = run(
        capsys, "coupon", "wall.toml", "--kind", "kerf", "--set", "shop.stock.opal-3.thickness=8"
    )
    text = (bench.parent / "out" / "coupons-wall" / "kerf-opal-3-how.txt").read_text()
    assert code == 0
    assert "measure bench.toml kerf" in text
    assert "a little under 120 mm" in text  # ten strips of 1.5 x 8 mm
    assert "my-shop.toml" not in err


def test_measure_shows_first_and_writes_when_told(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    before = bench.read_text()
    words = ("measure", "bench.toml", "kerf", "58.31", "58.29", "58.33", "--stock", "opal-3")
    code, out, _ = run(capsys, *words)
    assert code == 0
    assert bench.read_text() == before
    assert "kerf of opal-3: 0.169 +- 0.002 mm" in out
    assert "stock.opal-3.kerf in bench.toml:" in out
    assert "0.18 -> 0.169" in out
    assert "- kerf = 0.18 # read off" in out
    assert "+ kerf = 0.169 # read off" in out
    assert "Nothing was written. Add --write to write it." in out
    code, out, _ = run(capsys, *words, "--write", "--json")
    told = json.loads(out)
    assert (code, told["written"], told["before"], told["after"]) == (0, True, "0.18", "0.169")
    assert bench.read_text() == before.replace(
        "kerf = 0.18 # read off", "kerf = 0.169 # read off", 1
    )
    assert "already has that value" in run(capsys, *words, "--write")[1]


def test_a_press_step_may_be_below_zero(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "measure", "bench.toml", "press", "-10", "--write")
    assert code == 0
    assert "press = -0.1" in out
    assert shop_of(bench).printer.clearance.press == -0.1


def test_steps_may_be_lengths(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert "0.3 +- 0.025 mm" in run(capsys, "measure", "bench.toml", "sliding", "0.3")[1]
    assert "0.3 +- 0.025 mm" in run(capsys, "measure", "bench.toml", "sliding", "30")[1]
    assert "0.254 +- 0.025 mm" in run(capsys, "measure", "bench.toml", "sliding", "0.01 in")[1]


def test_readings_may_be_inches(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """2.295 in is 58.293 mm: kerf (60 - 58.293) / 10."""
    out = run(
        capsys,
        "measure",
        "bench.toml",
        "kerf",
        "2.295 in",
        "--stock",
        "opal-3",
        "--resolution",
        "0.001 in",
    )[1]
    assert "kerf of opal-3: 0.171 +- 0.003 mm" in out


def test_a_tight_sliding_fit_is_doubted(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    out = run(capsys, "measure", "bench.toml", "sliding", "10")[1]
    assert "Note: sliding (0.1 mm) is now tighter than location (0.2 mm): measure both" in out


def test_scales_are_told_and_not_written(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(
        capsys, "measure", "bench.toml", "scale-x", "130.08", "109.68", "130.08", "109.68"
    )
    assert code == 0
    assert "correction of the printer along X: 1.001" in out
    code, _, err = run(capsys, "measure", "bench.toml", "scale-x", "130.08", "109.68", "--write")
    assert code == 2
    assert "no file has a key for scale-x" in err
    assert (
        "3 readings cannot be read as pairs"
        in run(capsys, "measure", "bench.toml", "scale-y", "1", "2", "3")[2]
    )


def test_paper_bars_go_into_the_shop(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "measure", "bench.toml", "paper-x", "97.2", "97.2", "--write")
    run(capsys, "measure", "bench.toml", "paper-y", "99.5", "99.5", "--write")
    paper = shop_of(bench).paper
    assert (paper.bar_x, paper.bar_y) == (97.2, 99.5)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            ("measure", "bench.toml", "kerf", "58,3", "--stock", "opal-3"),
            'has a decimal comma. Use a point: "58.3"',
        ),
        (
            ("measure", "bench.toml", "kerf", "58.3"),
            "--stock: is missing: every stock has its own kerf. This shop has",
        ),
        (
            ("measure", "bench.toml", "kerf", "58.3", "--stock", "opl"),
            '"opl" is an unknown stock',
        ),
        (
            ("measure", "bench.toml", "kerf", "61", "--stock", "opal-3"),
            "more than the 60 mm of the drawing",
        ),
        (
            ("measure", "bench.toml", "sliding", "25", "--stock", "opal-3"),
            "cannot be used with sliding",
        ),
        (("measure", "bench.toml", "kerf", "nan", "--stock", "opal-3"), "nan"),
        (
            ("measure", "metric-bench", "sliding", "30", "--write"),
            "metric-bench is a shipped shop and is never changed",
        ),
        (("measure", "nowhere.toml", "sliding", "30"), "nowhere.toml: was not found"),
        (("measure", "bench", "sliding", "30"), "is not a file or a shipped shop"),
        (
            ("measure", "bench.toml", "kerf", "58.3", "--stock", "opal-3", "--resolution", "0"),
            "is not a resolution",
        ),
        (
            ("coupon", "bench.toml", "--kind", "kerf", "--stock", "opl"),
            '"opl" is an unknown stock',
        ),
        (("coupon", "bench.toml", "--set", "panel.depth=3"), "--set: changes values of a job"),
        (("coupon", "nowhere.toml"), "nowhere.toml: was not found"),
    ],
)
def test_what_can_not_be_is_told_in_one_message(
    bench: Any, capsys: pytest.CaptureFixture[str], words: Any, says: str
) -> None:
    before = bench.read_text()
    code, out, err = run(capsys, *words)
    assert code == 2
    assert says in err
    assert out == ""
    assert "Traceback" not in err
    assert bench.read_text() == before


def test_an_output_that_is_a_file_is_told(bench: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "coupon", "bench.toml", "--kind", "kerf", "--out", "bench.toml")
    assert code == 2
    assert "cannot be created" in err


@pytest.mark.parametrize(("kind", "place"), [("hours", "printer"), ("minutes", "laser")])
def test_a_real_time_goes_into_the_shop_file_and_comments_stay(
    bench: Any, capsys: pytest.CaptureFixture[str], kind: str, place: str
) -> None:
    before = bench.read_text()
    code, out, _ = run(capsys, "measure", "bench.toml", kind, "5:30/5", "--write")
    assert code == 0
    assert "Written." in out
    assert getattr(shop_of(bench), place).time_factor == 1.1
    lines = bench.read_text().splitlines()
    lines.remove("time_factor = 1.1")
    assert lines == before.splitlines()
    # not written: shown alone
    code, out, _ = run(capsys, "measure", "bench.toml", kind, "5/5.5", "--json")
    assert (code, json.loads(out)["value"]) == (0, 1.0)
    assert getattr(shop_of(bench), place).time_factor == 1.1


@pytest.mark.parametrize("word", ["5", "5/0", "nan/2", "5:99/5", "9000/1"])
def test_a_time_that_can_not_be_writes_nothing(
    bench: Any, capsys: pytest.CaptureFixture[str], word: str
) -> None:
    before = bench.read_bytes()
    code, _, err = run(capsys, "measure", "bench.toml", "hours", "5/5", word, "--write")
    assert code == 2
    assert "Traceback" not in err
    assert bench.read_bytes() == before


def test_stock_and_window_have_nothing_to_do_with_hours(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(capsys, "measure", "bench.toml", "hours", "5/5", "--stock", "opal-3")[0] == 2
