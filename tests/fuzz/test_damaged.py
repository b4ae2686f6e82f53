"""Fuzz of the doors that strangers' files come in by: damaged files are taken or told, nothing
else.

Each runs briefly by default and for thousands of files in CI (`slow`); by hand for as long as one
likes:

    PANEJIG_FUZZ=100000 python -m pytest -n 2 -m slow tests/fuzz

What they found is kept below as rows of its own.
"""

from __future__ import annotations

import io
import os
import tomllib
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fab.errors import InputError, OutputError, PanejigError
from fab.files.dxf import dxf
from fab.files.read_outline import read_outline
from fab.files.svg import svg
from fab.outlines.contour import Outline, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.loops import join
from fab.outlines.shapes import regular, slot
from fab.params.read import load
from fab.params.writeback import rewrite, write

ROOT = Path(__file__).parents[2]
LONG = int(os.environ.get("PANEJIG_FUZZ", "1500"))
KERF = ("stock", "opal-3", "kerf")


def brief(examples: int) -> settings:
    """The same files each time, so that a run says something of the change; other ones with
    PANEJIG_FUZZ.
    """
    same = "PANEJIG_FUZZ" not in os.environ
    return settings(
        max_examples=examples,
        deadline=None,
        derandomize=same,
        suppress_health_check=list(HealthCheck),
    )


def _drawings() -> dict[str, bytes]:
    """Files as drawing programs leave them: ours, and one with blocks, splines, ellipses, text and
    a hatch.
    """
    plate = Outline(regular(6, 60, 5), (circle((0, 0), 10), slot((20, 0), (30, 5), 6)))
    drawing = Drawing(
        200,
        200,
        (
            Layer("CUT-OUTER", "#000000", 7, (plate.edge,)),
            Layer("CUT-INNER", "#ff0000", 1, plate.holes),
        ),
    )
    theirs = ezdxf.new("R2010", units=4)  # type: ignore[attr-defined]
    block = theirs.blocks.new("part")
    block.add_circle((0, 0), 4)
    block.add_lwpolyline([(0, 0), (9, 0, 0, 0, 0.4), (9, 9), (0, 9)], close=True)
    model = theirs.modelspace()
    model.add_blockref("part", (30, 30), dxfattribs={"xscale": 2, "rotation": 15})
    model.add_spline([(0, 0), (5, 9), (12, 3), (20, 0)])
    model.add_ellipse((50, 0), (10, 0), 0.5)
    model.add_text("a")
    stream = io.StringIO()
    theirs.write(stream)
    page = (
        b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm"'
        b' viewBox="0 0 80 60"><g transform="translate(3 4) rotate(10)"><path d="M0 0h20v10c3 1-4'
        b' 9-8 2a5 5 0 1 0 -9 3q1 2 3 4z"/><rect width="9" height="5" rx="1"/><circle cx="30"'
        b' cy="9" r="4"/><ellipse cx="1" cy="2" rx="3" ry="4"/><polygon points="1,2 3,4 5 9"/><line'
        b' x1="0" x2="4"/><use href="#a"/><text>x</text></g></svg>'
    )
    return {
        "ours.dxf": dxf(drawing),
        "ours.svg": svg(drawing, line_mm=0.1),
        "theirs.dxf": stream.getvalue().encode(),
        "theirs.svg": page,
    }


DRAWINGS = _drawings()
NUMBERS = st.sampled_from(
    [
        b"0",
        b"-1",
        b"1e400",
        b"nan",
        b"1e-300",
        b"99999999999999999999",
        b"",
        b"\xff",
        b"AcDb",
        b"\n0\n",
        b"<",
        b"&#0;",
        b"z",
        b"  0",
    ]
)


@st.composite
def damaged(draw: st.DrawFn, whole: bytes, most: int = 5) -> bytes:
    """Bytes cut out, doubled, swapped for others, or replaced by numbers that hurt."""
    data = bytearray(whole)
    for _ in range(draw(st.integers(1, most))):
        if not data:
            break
        start = draw(st.integers(0, len(data) - 1))
        stop = draw(st.integers(start, min(start + 40, len(data))))
        data[start:stop] = draw(
            st.one_of(st.just(bytes(data[start:stop]) * 2), st.binary(max_size=6), NUMBERS)
        )
    return bytes(data)


def outline_is_taken_or_told(data: bytes) -> None:
    """Nothing but an InputError with a message is raised."""
    try:
        found = read_outline(data, "a file")
        join(found.segments)
    except InputError as refused:
        assert str(refused)  # noqa: PT017


def shop_is_changed_in_one_value_or_told(data: bytes, value: float, folder: Path) -> None:
    path = folder / "shop.toml"
    path.write_bytes(data)
    try:
        write(rewrite(path, KERF, value))
    except (InputError, OutputError):
        assert path.read_bytes() == data
        return
    before, after = (tomllib.loads(text.decode("utf-8-sig")) for text in (data, path.read_bytes()))
    assert after["stock"]["opal-3"].pop("kerf") is not None
    before.get("stock", {}).get("opal-3", {}).pop("kerf", None)
    assert after == before or "opal-3" not in before.get("stock", {})


def job_is_taken_or_told(data: bytes, folder: Path) -> None:
    from fab.decisions import outline

    path = folder / "job.toml"
    path.write_bytes(data)
    try:
        outline(load(path).job)
    except PanejigError as refused:
        message = str(refused)
        assert message
        assert not any(ord(mark) < 32 and mark != "\n" for mark in message)


DRAWN = st.sampled_from(sorted(DRAWINGS)).flatmap(lambda name: damaged(DRAWINGS[name]))
SHOP = damaged((ROOT / "params" / "shops" / "metric-bench.toml").read_bytes(), 3)
JOB = damaged((ROOT / "params" / "mixed-wall.toml").read_bytes(), 4)


@brief(40)
@given(DRAWN)
def test_a_damaged_drawing(data: bytes) -> None:
    outline_is_taken_or_told(data)


@brief(40)
@given(SHOP, st.floats(0, 1.9))
def test_a_damaged_shop(tmp_path: Path, data: bytes, value: float) -> None:
    shop_is_changed_in_one_value_or_told(data, value, tmp_path)


@brief(40)
@given(JOB)
def test_a_damaged_job(tmp_path: Path, data: bytes) -> None:
    job_is_taken_or_told(data, tmp_path)


def test_a_layout_that_lost_its_marker_is_told() -> None:
    """Found by the long run: the library stopped at an assertion of its own."""
    name = b"AcDbLayout\n  1\nLayout1"
    damaged = DRAWINGS["theirs.dxf"].replace(name, b"2\n 78\n300\n147\n1.0\n100\n" + name)
    assert read_outline(damaged, "a file") == read_outline(
        DRAWINGS["theirs.dxf"], "a file"
    )  # no layout is cut
    # as read for files that are not plain
    with pytest.raises(InputError, match=r"a file: .* \(it is damaged\)"):
        read_outline("999\né\n".encode() + damaged, "a file")


def test_an_arc_of_numbers_that_overflow_is_told() -> None:
    with pytest.raises(InputError, match="a file: "):
        read_outline(
            b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0A1e308 1e308 0 0 1 1e308'
            b' -1e308"/></svg>',
            "a file",
        )


@pytest.mark.slow
@brief(LONG)
@given(DRAWN)
def test_many_damaged_drawings(data: bytes) -> None:
    outline_is_taken_or_told(data)


@pytest.mark.slow
@brief(LONG)
@given(SHOP, st.floats(0, 1.9))
def test_many_damaged_shops(tmp_path: Path, data: bytes, value: float) -> None:
    shop_is_changed_in_one_value_or_told(data, value, tmp_path)


@pytest.mark.slow
@brief(LONG)
@given(JOB)
def test_many_damaged_jobs(tmp_path: Path, data: bytes) -> None:
    job_is_taken_or_told(data, tmp_path)


FOUND: list[tuple[str, Callable[[Path], None]]] = [
    ("a loop that crosses itself", lambda _: outline_is_taken_or_told(DRAWINGS["theirs.svg"])),
    ("outlines that cross", lambda _: outline_is_taken_or_told(DRAWINGS["theirs.dxf"])),
]


@pytest.mark.parametrize("run", [row[1] for row in FOUND], ids=[row[0] for row in FOUND])
def test_what_was_found(run: Callable[[Path], None], tmp_path: Path) -> None:
    run(tmp_path)
