"""Drawings with too many lines are refused by a count of their bytes, and the count is never too
large.
"""

from __future__ import annotations

import io
import math
import random
from typing import Any

import ezdxf
import pytest

from fab.errors import InputError
from fab.files.line_count import dxf_entities, dxf_places, path_steps, point_steps
from fab.files.read_dxf import MOST_PARTS
from fab.files.read_outline import read_outline
from fab.files.svg_tree import MOST_ELEMENTS

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'


def ring(count: int) -> list[tuple[float, float]]:
    return [
        (50 + 40 * math.cos(2 * math.pi * k / count), 50 + 40 * math.sin(2 * math.pi * k / count))
        for k in range(count)
    ]


def path(points: Any, letter: Any = "L", between: Any = " ") -> str:
    return "M" + letter.join(f"{x:.3f}{between}{y:.3f}" for x, y in points) + "Z"


def svg(inner: str) -> bytes:
    return f"{HEAD}{inner}</svg>".encode()


@pytest.mark.parametrize(
    "inner",
    [
        f'<path d="{path(ring(9_000))}"/>',
        f'<path d="{path(ring(9_000), " L ", ", ")}"/>',
        f'<path d="{path(ring(9_000), "  ", ",")}"/>',  # lines without letters
        f'<g><polygon points="{" ".join(f"{x:.3f},{y:.3f}" for x, y in ring(9_000))}"/></g>',
        "".join(f'<path d="{path(ring(90))}"/>' for _ in range(100)),
        # one curve, many chords
        f'<path d="M0 0{"".join(f"C{k % 9} 9 9 {k % 7} 5 {k % 5}" for k in range(1_000))}Z"/>',
        f'<path d="M0 0{"a3 2 0 1 1 5 5a3 2 0 1 1-5-5" * 400}Z"/>',
    ],
    ids=["letters", "blanks", "bare", "polygon", "many paths", "cubics", "arcs"],
)
def test_a_picture_with_more_lines_than_are_read_is_refused(inner: str) -> None:
    with pytest.raises(
        InputError,
        match=(
            r"x\.svg: its curves have (at least )?[\d,]+ corners; at most 8,000 are read\. Simplify"
        ),
    ):
        read_outline(svg(inner), "x.svg", most=8_000)


def test_what_is_not_drawn_is_not_counted() -> None:
    many = f'<path d="{path(ring(9_000))}"/>'
    hidden = f'<defs>{many}</defs><g display="none">{many}</g><clipPath>{many}</clipPath>'
    assert (
        len(read_outline(svg(f'{hidden}<path d="M0 0h50v50h-50Z"/>'), "x.svg", most=100).segments)
        == 4
    )


@pytest.mark.parametrize("seed", range(40))
def test_the_count_is_never_more_than_the_lines_that_are_drawn(seed: int) -> None:
    """Random path data with and without blanks, commas, signs and repeated letters, drawn by the
    reader itself.
    """
    rng = random.Random(seed)
    takes = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}
    words = [rng.choice("Mm"), "1.5", rng.choice([" ", ",", " , "]), "2"]
    steps = 0
    for _ in range(rng.randrange(1, 30)):
        letter = rng.choice(list("LL" if seed % 2 else takes))
        words.append(letter if rng.random() < 0.5 else letter.lower())
        for _ in range(rng.randrange(1, 4)):  # the letter may be left out
            numbers = [f"{rng.uniform(-90, 90):.{rng.randrange(3)}f}" for _ in range(takes[letter])]
            if letter == "A":
                numbers[3:5] = [rng.choice("01"), rng.choice("01")]
            words.append(rng.choice([" ", ",", "\n"]) + rng.choice([" ", ", "]).join(numbers))
            steps += 1
        words.append(rng.choice(["", "", "Z "]))
    data = "".join(words)
    closings = data.count("Z")
    assert path_steps(data) <= steps + closings
    read_outline(svg(f'<path d="{data}"/>'), "x.svg")  # and it is a path


def test_points_of_a_polygon_are_counted() -> None:
    assert point_steps("0,0 5 5, 9,0") == 2


@pytest.mark.parametrize(("version", "old"), [("R2000", False), ("R12", True)])
def test_places_and_entities_of_a_dxf_are_counted(version: str, old: bool) -> None:
    """A library that did not write the counter: its empty file has a few places in its header and
    its views.
    """

    def counted(corners: int) -> tuple[int, int]:
        document = ezdxf.new(version)  # type: ignore[attr-defined]
        space = document.modelspace()
        space.add_circle((50, 50), 9)
        (space.add_polyline2d if old else space.add_lwpolyline)(ring(corners), close=True)
        space.add_line((10, 10), (20, 10))
        stream = io.StringIO()
        document.write(stream)
        data = stream.getvalue().encode()
        return dxf_places(data), dxf_entities(data)

    few, many = counted(100), counted(1_100)
    assert many[0] - few[0] == 1_000
    assert many[1] - few[1] == (1_000 if old else 0)


def test_a_dxf_of_too_many_places_or_single_lines_is_refused_unread() -> None:
    row = "0\nLINE\n8\n0\n10\n1.5\n20\n0\n11\n2.5\n21\n{}\n"
    head, tail = "0\nSECTION\n2\nENTITIES\n", "0\nENDSEC\n0\nEOF\n"
    with pytest.raises(
        InputError, match=r"x\.dxf: its curves have 9,000 corners; at most 8,000 are read"
    ):
        read_outline(
            (head + "".join(row.format(k + 0.5) for k in range(9_000)) + tail).encode(),
            "x.dxf",
            most=8_000,
        )
    flood = (head + row.format(1) * (MOST_PARTS + 1) + tail).encode()
    says = (
        rf"it holds {MOST_PARTS // 1000},0\d\d single lines, arcs and corners; at most"
        rf" {MOST_PARTS:,} are read\. Join"
    )
    with pytest.raises(InputError, match=says):
        read_outline(flood, "x.dxf")


def _saved(document: Any) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def test_a_flood_of_blocks_is_refused_unread() -> None:
    """Each block that is set holds something: two for one."""
    insert = "0\nINSERT\n8\n0\n2\nB\n10\n1.5\n20\n0\n"
    flood = f"0\nSECTION\n2\nENTITIES\n{insert * (MOST_PARTS // 2)}0\nENDSEC\n0\nEOF\n"
    with pytest.raises(InputError, match=rf"it holds {MOST_PARTS // 1000},0\d\d single lines"):
        read_outline(flood.encode(), "x.dxf")


def test_a_spline_is_counted_before_it_is_drawn() -> None:
    """By hand: 300 control points of degree 3 are 297 spans, each of four chords or more."""
    document = ezdxf.new("R2000", units=4)  # type: ignore[attr-defined]
    document.modelspace().add_open_spline([(x, x % 7, 0) for x in range(300)])
    with pytest.raises(InputError, match="at least 1,188 corners; at most 1,000 are read"):
        read_outline(_saved(document), "x.dxf", most=1_000)
    assert len(read_outline(_saved(document), "x.dxf").segments) >= 1_188


def test_a_spline_through_very_many_points_is_refused() -> None:
    """It took all memory of the machine: 3 times 8 bytes for each pair of points."""
    document = ezdxf.new("R2000", units=4)  # type: ignore[attr-defined]
    spline = document.modelspace().add_spline(ring(60))
    assert len(read_outline(_saved(document), "x.dxf").segments) >= 4 * 59
    spline.fit_points = [(x, x % 7, 0) for x in range(3_001)]
    with pytest.raises(InputError, match="a spline goes through 3,001 points; at most 3,000"):
        read_outline(_saved(document), "x.dxf")


def test_an_arc_counts_as_two_corners() -> None:
    """By hand: a circle is two arcs, a bow is one; refused by the bytes and by what is read."""
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    for k in range(30):
        document.modelspace().add_circle((20 * k, 0), 9)
        document.modelspace().add_lwpolyline(
            [(20 * k, 50, 1), (20 * k + 9, 50, 0)], "xyb", close=True
        )
    stream = io.StringIO()
    document.write(stream)
    data = stream.getvalue().encode()
    with pytest.raises(InputError, match=r"curves have 2\d\d corners; at most 209 are read"):
        read_outline(data, "x.dxf", most=30 * (4 + 3) - 1)
    assert sum(one.corners for one in read_outline(data, "x.dxf").drawn) == 30 * (4 + 3)
    circles = "".join(f'<circle cx="{k}" cy="9" r="3"/>' for k in range(30))
    with pytest.raises(InputError, match="at least 120 corners; at most 119 are read"):
        read_outline(svg(circles), "x.svg", most=119)


def test_an_svg_of_too_many_elements_is_refused_unread() -> None:
    page = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">'
    flood = f"{page}{'<path/>' * MOST_ELEMENTS}</svg>".encode()
    with pytest.raises(
        InputError, match=rf"has {MOST_ELEMENTS + 1:,} elements; at most {MOST_ELEMENTS:,} are read"
    ):
        read_outline(flood, "x.svg")


@pytest.mark.parametrize(
    ("inner", "says"),
    [
        (f"<style>{'@namespace ' * 100_000}</style>", "rules with @"),
        (f"<style>{'@font-face{' * 100_000}</style>", ""),
        (f"<style>{'/*' * 500_000}</style>", ""),
        (f"<style>{'a' * 1_000_000}</style>", ""),
        (f"<style>{'a{' * 500_000}</style>", ""),
        (f"<style>{'*{fill:red}' * 200_000}</style>", "more than 2 MB"),
        (f"<style>{'*{fill:red}' * 1_000}</style>{'<g/>' * 2_000}", "1,000,000 rules for its"),
        (f'<rect width="{"1" * 1_000_000}x" height="9"/>', "length '1111"),
        (f'<g transform="{"scale(1) " * 100_000}"/>', "transform 'scale"),
        ('<g class=""/>' * 90_000 + '<!-- a="" -->' * 910_001, "1,000,00. attributes"),
    ],
    ids=[
        "at",
        "font",
        "comment",
        "word",
        "braces",
        "large",
        "rules",
        "digits",
        "transforms",
        "attributes",
    ],
)
def test_text_that_matches_no_pattern_takes_no_longer(inner: str, says: str) -> None:
    """Each took hours, or the memory of the machine, before the patterns were bounded."""
    data = svg(f'{inner}<path d="M0 0h9v9h-9Z"/>')
    if says:
        with pytest.raises(InputError, match=says):
            read_outline(data, "x.svg")
    else:
        assert len(read_outline(data, "x.svg").segments) == 4


def blocks(deep: int, columns: int, layer: str = "0") -> bytes:
    """A square, and a square in `deep` blocks that is set in columns and rows on a layer."""
    document = ezdxf.new("R2000", units=4)  # type: ignore[attr-defined]
    document.layers.add("FROZEN").freeze()
    document.modelspace().add_lwpolyline(ring(4), close=True)
    document.blocks.new("b0").add_lwpolyline(ring(4), close=True)
    for k in range(1, deep + 1):
        document.blocks.new(f"b{k}").add_blockref(f"b{k - 1}", (0, 0))
    given = {"column_count": columns, "row_count": columns, "layer": layer}
    given |= {"column_spacing": 99, "row_spacing": 99}
    document.modelspace().add_blockref(f"b{deep}", (0, 0), given)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def test_blocks_are_counted_before_any_is_taken_apart() -> None:
    with pytest.raises(InputError, match=r"at least 270,00\d corners; at most 180,000 are read"):
        read_outline(blocks(0, 300), "x.dxf")
    with pytest.raises(InputError, match="blocks are nested more than 16 deep"):
        read_outline(blocks(40, 1), "x.dxf")
    assert len(read_outline(blocks(0, 300, "FROZEN"), "x.dxf").segments) == 4
    assert len(read_outline(blocks(14, 2), "x.dxf").segments) == 20
