"""Single readers of the proof, each held against what it can't know: letters drawn here, a circuit
solved by hand.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from fab.files.stl import stl
from fab.layout.model import BaseKind
from fab.outlines.strokes import strokes
from fab.params.panel import PanelParams
from fab.parts.base import base
from fab.parts.planning import plan
from fab.proof import pushes
from fab.proof import screws as screws_of
from fab.proof.job import JobValues, WallPanel
from fab.proof.mesh import read_stl
from fab.proof.models import Model, differing
from fab.proof.names import KNOWN, SYMMETRIC, reading
from fab.proof.picture import shown
from fab.proof.power import COPPER_OHM_M, solve
from fab.proof.screws import _round_holes
from fab.proof.tree import Tree
from fab.solids.meshing import mesh
from fab.values import plain
from tests.checks.designs import SHOP


def letter(char: str, height: float) -> shapely.Geometry:
    """A letter as bases carry it: strokes two printed lines wide."""
    lines = [
        shapely.LineString(stroke) for stroke in strokes(char, height, "start") if len(stroke) > 1
    ]
    return shapely.union_all([line.buffer(0.45) for line in lines])


@pytest.mark.slow
@pytest.mark.parametrize("height", [5.0, 7.0])  # the least and the usual one
def test_every_letter_reads_as_itself_and_its_mirror_image_does_not(height: float) -> None:
    for char in KNOWN:
        shape = letter(char, height)
        assert reading(shape, char) == "", char
        # too near to their images
        if char not in SYMMETRIC and (char, height) != ("B", 5.0) and char != "1":
            assert reading(affinity.scale(shape, -1.0, 1.0), char), f"{char} mirrored"


@pytest.mark.parametrize("pair", ["AF", "DF", "EK", "GT", "HL", "P7", "W3"])
def test_one_letter_is_not_taken_for_another(pair: str) -> None:
    assert reading(letter(pair[0], 7.0), pair[1])
    assert reading(letter(pair[1], 7.0), pair[0])


def test_a_jumper_is_two_contacts_and_a_wire() -> None:
    """Two panels, one inlet, one jumper of 60 mm: by Ohm's law, each way the far panel's current
    over its poles.
    """
    design = plain(PanelParams(across_flats=120.0))
    job = JobValues(
        {
            "panel": design,
            "power": {"supply_v": 5.0, "cable_mm": 0.0, "cable_ohm_per_m": 0.1, "load": "current"},
        }
    )
    panels = [
        {"name": "A", "design": "panel", "inlet": "True"},
        {"name": "B", "design": "panel", "inlet": "False"},
    ]
    joints = [{"a": "A", "b": "B", "kind": "jumper", "supply": "True"}]
    found = solve(panels, joints, [0.4, 0.5], job, 60.0)
    pole = 2 * design["jumper"]["contact_ohm"] + design["jumper"]["wire_ohm_per_m"] * 0.06
    copper = COPPER_OHM_M / (design["board"]["copper_um"] * 1e-6) * design["board"]["power_squares"]
    each_way = [
        pole / design["header"][f"{rail}_pins"] + 2 * copper for rail in ("power", "ground")
    ]
    assert found.supply[0] == pytest.approx(0.5, rel=1e-4)
    assert found.ground[0] == pytest.approx(-0.5, rel=1e-4)
    assert found.volts[0] - found.volts[1] == pytest.approx(0.5 * sum(each_way), rel=1e-4)


def test_kinds_of_base_are_counted_by_their_whole_names() -> None:
    """Two bases at edge 0, one turned: the name of the first begins that of the other."""
    uses = {("A", "base-inlet"): 1, ("B", "base-inlet"): 1, ("C", "base-inlet-turned-1"): 1}
    model = Model(uses, 0, 0, 9)
    bases = {"base-inlet": 2, "base-inlet-turned-1": 1}
    assert differing(model, {"base": 3}, bases) == []
    assert differing(model, {"base": 4}, bases | {"base-inlet": 3}) == [
        "base: 3 in the model, 4 counted",
        "base-inlet: 2 in the model, 3 counted",
    ]


def test_screws_of_a_base_are_read_with_its_own_design(monkeypatch: pytest.MonkeyPatch) -> None:
    """The name of a base of design `a-b` begins like one of `a`, that of main base `inlet` too."""
    floors: dict[str, float] = {}
    monkeypatch.setattr(screws_of, "read_stl", lambda path, data: path)
    monkeypatch.setattr(
        screws_of,
        "_round_holes",
        lambda path, design: (0, floors.setdefault(path, design.at("base.floor"))),
    )
    rows = [
        {"design": "a", "base": "plain", "leds": "0"},
        {"design": "a-b", "base": "plain", "leds": "0"},
        {"design": "panel", "base": "a-inlet", "leds": "0"},
    ]
    words = ("a-plain", "a-b-plain", "a-inlet")
    files = {f"print/base-{word}_x1.stl": b"" for word in words}
    tree = Tree({**files, "lists/parts.csv": b"item,count\nscrew M3 countersunk,6\n"})
    designs = {"a": {"base": {"floor": 1}}, "a-b": {"base": {"floor": 2}}}
    job = JobValues({"panel": {"base": {"floor": 3}}, "designs": designs})
    assert [one.verdict for one in screws_of.screws(tree, rows, job)] == ["pass"]
    assert list(floors.values()) == [2, 3, 1]  # in the order of the names


def test_a_step_that_joins_a_cover_stands_in_no_row() -> None:
    """Push 2 joins a cover by clips alone: its joint has no header, so no step is listed."""
    panels = [
        WallPanel(name, "panel", 4, 40.0, x, 0.0, 0.0)
        for name, x in (("A", 0), ("B", 80), ("C", 160))
    ]
    head = "a,b,kind,why,mated_by,step,moves,heading_deg\n"
    pushed = "A,B,header,,push,1,A,0\nB,C,header,,push,3,C,180\n"
    cover = "C,D,none,a panel without a board,,,,\n"

    def wrong(rows: str) -> float:
        (found,) = pushes.prove(Tree({"lists/joints.csv": (head + rows).encode()}), panels)
        return found.measured

    assert wrong(pushed + cover) == 0
    assert wrong(pushed) == 1


def picture(parts: list[shapely.Geometry], shift: float = 0.0) -> bytes:
    """A sheet of 200 x 100 mm at 4 points a millimetre, drawn by a picture library."""
    import io

    from PIL import Image, ImageDraw

    page = Image.new("RGB", (1000, 600), (255, 255, 255))
    draw = ImageDraw.Draw(page)
    draw.rectangle((100, 100, 900, 500), fill=(250, 250, 250), outline=(30, 30, 30), width=3)
    for part in parts:
        corners = [(100 + 4 * (x + shift), 500 - 4 * y) for x, y in part.exterior.coords]
        draw.polygon(corners, fill=(207, 227, 241), outline=(30, 30, 30))
        draw.line(corners, fill=(30, 30, 30), width=2)
    out = io.BytesIO()
    page.save(out, "PNG")
    return out.getvalue()


def test_a_picture_is_held_against_the_drawing() -> None:
    parts = [shapely.box(10, 10, 60, 50), shapely.Point(120, 50).buffer(30)]

    def fails(data: bytes) -> list[str]:
        return [
            one.says for one in shown("p.png", data, parts, (200.0, 100.0)) if one.verdict == "fail"
        ]

    assert fails(picture(parts)) == []
    assert "edge" in fails(picture(parts, 4.0))[0]
    assert "edge" in fails(picture(parts[:1]))[0]
    assert "patch" in fails(picture([*parts, shapely.box(160, 10, 190, 40)]))[0]
    assert "no sheet" in fails(_blank())[0]


def _blank() -> bytes:
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(np.full((80, 80, 3), 255, np.uint8)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.parametrize("flats", [90.0, 120.0])
def test_holes_for_screws_of_any_thickness_are_found(flats: float) -> None:
    """The pilots of thin screws begin high in their standoffs."""
    made = plan(PanelParams(across_flats=flats), SHOP)
    body = mesh(base(made, BaseKind("hanger-A", "panel", False, 90.0, "A")))
    read = read_stl("base", stl(body, "base"))
    board, shell = _round_holes(read, JobValues(plain(made.params)))
    assert board == len(made.fixings.board_holes) - 1  # one of them fits over the peg of the mark
    assert shell == len(made.fixings.shell_screws)
