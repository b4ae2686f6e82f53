"""An assembly as STEP: the kernel may order colours as it likes, the bytes are the same."""

from __future__ import annotations

import re
from typing import Any

import pytest

from fab.errors import BrokenGeometry
from fab.outlines.shapes import rectangle
from fab.proof.models import read_model
from fab.solids import assembled, kernel

RED, BLUE = (0.9, 0.1, 0.1), (0.1, 0.1, 0.9)


@pytest.fixture(scope="module")
def groups() -> Any:
    plate = kernel.prism(rectangle(10.0, 10.0, (0.0, 0.0)), 0.0, 2.0)
    peg = kernel.prism(rectangle(2.0, 2.0, (0.0, 0.0)), 2.0, 5.0)
    pair = kernel.group([peg, kernel.moved(peg, 3.0, 0.0, 0.0)])
    return [
        assembled.Pieces(
            name,
            [
                assembled.PlacedSolid("plate", f"{name} plate", plate, RED, 30.0 * k, 20.0 * k),
                assembled.PlacedSolid("peg", f"{name} peg 0", peg, BLUE, 0.0, 20.0 * k, 3.0),
                assembled.PlacedSolid("peg", f"{name} peg 1", peg, BLUE, 0.0, 20.0 * k, -3.0),
                assembled.PlacedSolid("pair", f"{name} pair", pair, RED, 0.0, 20.0 * k),
            ],
        )
        for k, name in enumerate(("A", "B", "L'é"))
    ]


def test_names_and_colours_are_read_back_as_text(groups: Any) -> None:
    model = read_model("x", assembled.assembly_step("wall", groups))
    assert model.uses == {
        (group, part): count
        for group in ("A", "B", "L?")
        for part, count in (("plate", 1), ("peg", 2), ("pair", 1))
    }
    assert (model.nameless, model.plain, model.colours) == (0, 0, 2)


def test_places_are_read_back_by_the_kernel(groups: Any, tmp_path: Any) -> None:
    """A peg of B: its box, by hand."""
    import cadquery as cq

    path = tmp_path / "wall.step"
    path.write_bytes(assembled.assembly_step("wall", groups))
    boxes = {
        (round(box.xmin, 6), round(box.ymin, 6), round(box.zmin, 6))
        for box in (s.BoundingBox() for s in cq.importers.importStep(str(path)).solids().vals())
    }
    assert (19.0, 2.0, 2.0) in boxes
    assert len(boxes) == 15


def test_the_order_of_colours_does_not_reach_the_bytes(groups: Any) -> None:
    """The heads of the styles swapped in the file, and the items of one: as another run might."""
    data = assembled.assembly_step("wall", groups)
    start = data.find(assembled.STYLES)
    lines = data[data.rfind(b"#", 0, start) : data.rfind(b"ENDSEC;")].splitlines(keepends=True)
    first = int(re.match(rb"#(\d+)", lines[0])[1])
    parts: list[list[bytes]] = []
    part: list[bytes] = []
    for line in lines:
        if assembled.STYLES in line and part:
            parts.append(part)
            part = []
        part.append(line)
    parts.append(part)
    assert len(parts) == 3
    mixed = [line for part in reversed(parts) for line in part]
    order = {int(re.match(rb"#(\d+)", line)[1]): first + k for k, line in enumerate(mixed)}
    text = b"".join(
        re.sub(rb"#(\d+)", lambda ref: b"#%d" % order.get(int(ref[1]), int(ref[1])), line)
        for line in mixed
    )
    # the pair's items the other way round
    text = re.sub(rb"\((#\d+),(#\d+)\)(,#\d+\);\n#\d+ = STYLED)", rb"(\2,\1)\3", text)
    other = data.replace(b"".join(lines), text)
    assert other != data
    assert assembled._styles_in_order(other) == data


def test_an_empty_group_is_refused() -> None:
    with pytest.raises(BrokenGeometry, match="nothing to write"):
        assembled.assembly_step("wall", [assembled.Pieces("A", [])])
