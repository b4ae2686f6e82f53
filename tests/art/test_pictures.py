"""Pictures of strangers: what comes in, what is cleaned with a word, what is refused.

Nothing is run, fetched or followed.
"""

from __future__ import annotations

import io
import itertools
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from fab.decisions import plans_of
from fab.errors import InputError
from fab.files.glyphs import shipped_font, text_rings
from fab.outlines import clip2d
from fab.params.read import Loaded
from fab.parts.art import printed_art
from fab.parts.artplace import picture as placed_picture

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' width="100mm" height="60mm" viewBox="0 0 100 60">'
)
SQUARE = '<path d="M10,10 h20 v20 h-20 z"/>'


def svg(body: str) -> dict[str, bytes]:
    return {"p.svg": f"{HEAD}{body}</svg>".encode()}


def read(wall: Any, files: Any, more: Any = "") -> Any:
    (name,) = files
    return wall("", f'[[panel.art]]\nfile = "{name}"\n{more}', files).job.panel.art[0]


def area(art: Any) -> Any:
    return placed_picture(art).area


# -- what comes in
# -------------------------------------------------------------------------------------------------


def test_an_svg_keeps_its_size_and_its_way_up(wall: Callable[..., Loaded]) -> None:
    art = read(wall, svg('<path d="M10,10 h30 v20 h-15 v-10 h-15 z"/>'))
    assert area(art) == pytest.approx(30 * 20 - 15 * 10)
    # below in the drawing: y down there
    low = [corner for ring in art.shape for corner in ring if corner[1] < -9.9]
    assert {corner[0] for corner in low} == {0.0, 15.0}


def test_a_dxf_in_inches_with_a_hole(wall: Callable[..., Loaded]) -> None:
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 1
    document.modelspace().add_lwpolyline([(0, 0), (2, 0), (2, 1), (0, 1)], close=True)
    document.modelspace().add_circle((1, 0.5), 0.25)
    stream = io.StringIO()
    document.write(stream)
    art = read(wall, {"p.dxf": stream.getvalue().encode()})
    assert area(art) == pytest.approx(25.4**2 * (2 - 3.14159265 * 0.0625), rel=1e-3)


def test_width_and_rule_are_the_jobs_choice(wall: Callable[..., Loaded]) -> None:
    overlapping = svg('<path d="M0,0 h20 v20 h-20 z"/><path d="M10,5 h20 v20 h-20 z"/>')
    odd, full = read(wall, overlapping), read(wall, overlapping, 'rule = "nonzero"\nwidth = 60')
    assert area(odd) == pytest.approx(800 - 2 * 150)
    assert area(full) == pytest.approx((800 - 150) * 4)
    assert odd.notes == (
        (
            "lines cross themselves or each other, 1 times: filled where an odd number of them lie"
            " round"
        ),
    )


def test_letters_of_the_shipped_font_are_as_high_as_asked(wall: Callable[..., Loaded]) -> None:
    art = wall("", '[[panel.art]]\nletters = "HH"\ncapital = 25').job.panel.art[0]
    ys = [corner[1] for ring in art.shape for corner in ring]
    assert max(ys) - min(ys) == pytest.approx(25, abs=0.05)


def test_letters_of_a_font_file(wall: Callable[..., Loaded]) -> None:
    files = {"own.ttf": shipped_font()}
    one = wall("", '[[panel.art]]\nletters = "Ag"', files).job.panel.art[0]
    two = wall("", '[[panel.art]]\nletters = "Ag"\nfont = "own.ttf"', files).job.panel.art[0]
    assert one.shape == two.shape


def test_a_job_that_holds_its_art_needs_no_file(
    wall: Callable[..., Loaded], tmp_path: Path
) -> None:
    from fab.params.read import load
    from fab.values import job_toml

    loaded = wall("", '[[panel.art]]\nfile = "p.svg"\nwidth = 40\n', svg(SQUARE))
    alone = tmp_path / "alone"
    alone.mkdir()
    (alone / "job.toml").write_bytes(job_toml(loaded.job))
    assert load(alone / "job.toml").inputs_sha256 == loaded.inputs_sha256


def test_the_hash_of_the_inputs_covers_the_picture(wall: Callable[..., Loaded]) -> None:
    rest = '[[panel.art]]\nfile = "p.svg"\n'
    one, same = (wall("", rest, svg(SQUARE)).inputs_sha256 for _ in range(2))
    assert one == same != wall("", rest, svg(SQUARE.replace("h20", "h21"))).inputs_sha256


@pytest.mark.slow
@pytest.mark.kernel
def test_raised_and_sunk_art_changes_the_volume_by_its_area_times_its_depth(
    wall: Callable[..., Loaded],
) -> None:
    from fab.layout.model import BaseKind
    from fab.parts.base import base
    from fab.parts.shell import shell
    from fab.solids.kernel import volume

    # such a shell takes a screw in every corner
    bare = plans_of(wall(sets=["panel.shell.screws=6"]).job)["panel"]
    plan = plans_of(
        wall(
            "",
            '[[panel.art]]\nfile = "p.svg"\non = "shell"\nedge = 0\nwork = "sunk"\ndepth = 0.5\nat'
            ' = [0, 26]\nwidth = 8\n[[panel.art]]\nfile = "p.svg"\non = "base"\nwork ='
            ' "raised"\ndepth = 1.0\nat = [10, 20]\nwidth = 10\n',
            svg(SQUARE),
        ).job
    )["panel"]
    kind = BaseKind("plain", "panel", False, None, "")
    assert volume(base(plan, kind)) - volume(base(bare, kind)) == pytest.approx(
        10 * 10 * 1.0, rel=1e-3
    )
    assert volume(shell(bare)) - volume(shell(plan)) == pytest.approx(8 * 8 * 0.5, rel=1e-3)


def test_what_is_thinner_than_a_printed_line_is_left_out_and_told(
    wall: Callable[..., Loaded],
) -> None:
    from fab.checks.art import art_checks
    from fab.decisions import lay_out

    body = SQUARE + '<path d="M40,10 h0.2 v30 h-0.2 z"/>'
    loaded = wall(
        "", '[[panel.art]]\nfile = "p.svg"\non = "base"\nwork = "sunk"\nback = true\n', svg(body)
    )
    plan = plans_of(loaded.job)["panel"]
    shapes, lost = printed_art(plan, plan.params.art[0])
    assert len(shapes) == 1
    assert lost == pytest.approx(0.2 * 30, rel=1e-3)
    told = {v.id: v for v in art_checks((), lay_out(loaded.job), {"panel": plan})}
    assert told["art.printed-lines"].measured == pytest.approx(lost / 406, rel=1e-3)


# -- cleaned with a word
# -------------------------------------------------------------------------------------------

CLEANED = [
    ("<script>alert(1)</script>" + SQUARE, "1 <script> left out: nothing is run here"),
    (
        '<image xlink:href="http://x.org/a.png" width="9" height="9"/>' + SQUARE,
        "1 <image> left out",
    ),
    (
        '<use xlink:href="http://x.org/a.svg#b"/>' + SQUARE,
        "1 <use> of what is not in the file: left out",
    ),
    ("<text>name</text>" + SQUARE, "1 <text> left out"),
    (
        '<foreignObject><body xmlns="http://www.w3.org/1999/xhtml"/></foreignObject>' + SQUARE,
        "1 <foreignobject> left out",
    ),
    (
        SQUARE + '<path d="M60,10 L80,30"/>',
        "1 open line left out: an open line of 28.28 mm from",
    ),
    ('<path d="M10,10 L40,40 L40,10 L10,40 Z"/>', "lines cross themselves"),
    (SQUARE.replace("<path", '<path onclick="alert(1)"'), ""),
]


@pytest.mark.parametrize(("body", "says"), CLEANED, ids=[f"{k}" for k in range(len(CLEANED))])
def test_what_is_no_outline_is_left_out_and_told(
    wall: Callable[..., Loaded], body: Any, says: str
) -> None:
    art = read(wall, svg(body))
    assert says in "; ".join(art.notes) if says else art.notes == ()
    assert area(art) > 100


# -- refused
# --------------------------------------------------------------------------------------------------

BOMB = b"""<?xml version="1.0"?><!DOCTYPE svg [
<!ENTITY a "1 1 "><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;"><!ENTITY d "&c;&c;&c;&c;&c;&c;&c;&c;&c;&c;">]>
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><polygon points="&d;"/></svg>"""
OUTSIDE = b"""<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg"><text>&x;</text></svg>"""

REFUSED = [
    (BOMB, "declares entities of its own"),
    (OUTSIDE, "declares entities of its own"),
    (f"{HEAD}{'<g>' * 5_000}{SQUARE}{'</g>' * 5_000}</svg>".encode(), "nested too deeply"),
    (f"{HEAD}<path d='M10,10 h nan'/></svg>".encode(), "cannot be read"),
    (f"{HEAD}<path d='M1e400,10 h5 v5 z'/></svg>".encode(), "not a number"),
    (f"{HEAD}</svg>".encode(), "there is no line in it"),
    (f"{HEAD}<path d='M0,0 L50,50'/></svg>".encode(), "encloses no area"),
    (b"<svg", "cannot be read"),
    (b"\x89PNG\r\n\x1a\n" + bytes(500), "neither a DXF nor an SVG"),
]


@pytest.mark.parametrize(
    ("data", "says"), REFUSED, ids=[says.replace(" ", "-") for _, says in REFUSED]
)
def test_what_can_not_be_read_is_refused_with_the_file(
    refused: Callable[..., str], data: Any, says: str
) -> None:
    told = refused("", '[[panel.art]]\nfile = "p.svg"', {"p.svg": data})
    assert says in told, told[:300]
    assert "p.svg" in told


def test_too_many_corners_are_refused(
    refused: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fab.params.picture.MOST_POINTS", 3_000)
    body = f"{HEAD}<path d='M0,0 {'l1,0.5 l-1,0.6 ' * 1_600} z'/></svg>".encode()
    assert "at least 3,201 corners; at most 3,000 are read" in refused(
        "", '[[panel.art]]\nfile = "p.svg"', {"p.svg": body}
    )


def test_ten_million_corners_are_refused_by_the_size_of_the_file(
    refused: Callable[..., str], tmp_path: Path
) -> None:
    with open(tmp_path / "p.svg", "wb") as stream:
        stream.truncate(10_000_000 * 8)
    assert "has 80,000,000 bytes; at most 16,777,216 are read" in refused(
        "", '[[panel.art]]\nfile = "p.svg"'
    )


def test_paths_stay_in_the_folder(refused: Callable[..., str]) -> None:
    assert "leads out of this file's folder" in refused("", '[[panel.art]]\nfile = "../p.svg"')
    assert "leads out of this file's folder" in refused(
        "", '[[panel.art]]\nletters = "A"\nfont = "../f.ttf"'
    )


@pytest.mark.parametrize(
    ("rest", "says"),
    [
        ("[[panel.art]]\nat = [0, 0]", "there is neither a file nor letters"),
        ('[[panel.art]]\nletters = "A"\nwork = "raised"', "cannot be used on the diffuser"),
        ('[[panel.art]]\nletters = "A"\non = "shell"\nwork = "raised"', "needs an edge"),
        (
            '[[panel.art]]\nletters = "A"\non = "base"\nwork = "raised"\nback = true',
            "keep the base off the wall",
        ),
        ('[[panel.art]]\nletters = "\u4e2d"', "has no letter \u4e2d"),
    ],
)
def test_art_that_can_not_be_is_refused(refused: Callable[..., str], rest: str, says: str) -> None:
    assert says in refused("", rest)


def test_art_of_the_wall_lies_on_diffusers_alone(refused: Callable[..., str]) -> None:
    assert "art of the whole wall lies on the diffusers" in refused(
        '[[art]]\nletters = "A"\non = "base"\nwork = "sunk"\n'
    )


# -- fonts
# --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("cut", [0, 3, 12, 100, 5_000, 100_000])
def test_a_broken_font_is_refused(cut: int) -> None:
    with pytest.raises(InputError, match=r"own.ttf"):
        text_rings("Ag", 10.0, shipped_font()[:cut], "own.ttf")


def test_a_damaged_font_is_read_or_refused_and_never_worse() -> None:
    """Wrong bytes anywhere, or in its tables at the head: some fonts are read, many are not."""
    ends = set()
    for seed, hits in itertools.product(range(4), (3, 30, 400)):
        rng, data = random.Random(seed), bytearray(shipped_font())
        for _ in range(hits):
            data[rng.randrange(0, len(data) if seed % 2 else 2_000)] = rng.randrange(256)
        try:
            rings = text_rings("Aag8", 10.0, bytes(data), "own.ttf")
        except InputError:
            ends.add("refused")
            continue
        ends.add("read")
        assert math.isfinite(clip2d.nonzero(rings[:50]).area)
    assert ends == {"read", "refused"}


def test_loose_lines_that_cross_are_refused_with_file_key_and_place(
    refused: Callable[..., str],
) -> None:
    """Lines out of order are joined to a bow tie; by hand its lines meet at (25, 25) mm from below,
    75 from above.
    """
    lines = ("M50 0L0 50", "M0 0L50 50", "M0 50L0 0", "M50 50L50 0")
    bow = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="99mm" height="100mm" viewBox="0 0 99'
        f' 100"><path d="{"".join(lines)}"/></svg>'
    )
    told = refused('[[art]]\nfile = "p.svg"\n', files={"p.svg": bow.encode()})
    assert (
        "p.svg: art[0].file: a loop whose box begins at (0, 50) mm crosses itself at (25, 75) mm."
        " Move" in told
    )


@pytest.mark.parametrize("rule", ["odd", "nonzero"])
def test_a_star_with_millions_of_crossings_is_refused(
    refused: Callable[..., str], rule: str
) -> None:
    rng = random.Random(3)
    corners = " ".join(f"L{rng.uniform(0, 100):.3f} {rng.uniform(0, 100):.3f}" for _ in range(4000))
    star = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100'
        f' 100"><path d="M0 0 {corners}z"/></svg>'
    )
    told = refused(f'[[art]]\nfile = "p.svg"\nrule = "{rule}"\n', files={"p.svg": star.encode()})
    assert "p.svg: art[0].file: its lines cross more than" in told
