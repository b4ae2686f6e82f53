"""The quick no before the kernel: it must never be a no for two parts that do overlap."""

from __future__ import annotations

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fab.checks import vertical
from fab.checks.nearness import Hulls, apart
from fab.parts.placed import Named, Pose
from fab.solids.mesh import Mesh

from .shapes import Box, boxes

TRAY = (
    (0, 40, 0, 30, 0, 2),
    (0, 2, 0, 30, 2, 10),
    (38, 40, 0, 30, 2, 10),
    (0, 40, 0, 2, 2, 10),
    (0, 40, 28, 30, 2, 10),
)


def named(name: str, mesh: Mesh) -> Named:
    return Named(name, name, None, "", (mesh, Pose()))  # type: ignore[arg-type]


def shared(parts: tuple[Box, ...], block: Box) -> float:
    """Volume that a block shares with boxes, by hand (the boxes of the tray overlap at its corners:
    an upper bound).
    """
    total = 0.0
    for part in parts:
        sides = [min(part[k + 1], block[k + 1]) - max(part[k], block[k]) for k in (0, 2, 4)]
        total += float(np.prod(sides)) if min(sides) > 0 else 0.0
    return total


@settings(max_examples=200, deadline=None)
@example(0.0, 0.0, -6e-5, 1.0, 1.0, 1.0)  # in a corner's material, faces but a hair apart
@given(
    st.floats(-5, 40),
    st.floats(-5, 30),
    st.floats(-3, 12),
    st.floats(0.5, 12),
    st.floats(0.5, 12),
    st.floats(0.5, 6),
)
def test_never_apart_when_they_overlap(
    x: float, y: float, z: float, w: float, d: float, h: float
) -> None:
    block = (x, x + w, y, y + d, z, z + h)
    tray, small = Hulls(named("tray", boxes(*TRAY))), Hulls(named("block", boxes(block)))
    if shared(TRAY, block) > 1e-2:
        assert not apart(tray, small)
        assert not apart(small, tray)


def test_apart_inside_a_tray_and_when_they_touch() -> None:
    tray = Hulls(named("tray", boxes(*TRAY)))
    assert apart(tray, Hulls(named("block", boxes((5, 10, 5, 10, 3, 8)))))
    assert apart(tray, Hulls(named("block", boxes((5, 10, 5, 10, 2, 8)))))  # stands on the floor
    assert not apart(tray, Hulls(named("block", boxes((5, 10, 5, 10, 1.9, 8)))))
    assert not apart(
        tray, Hulls(named("pip", boxes((5, 6, 5, 6, 0.5, 1.5))))
    )  # inside the floor's material


def test_two_bodies_of_one_part_have_hulls_of_their_own() -> None:
    feet = Hulls(named("feet", boxes((4, 8, 4, 8, 3, 9), (30, 34, 20, 24, 3, 9))))
    post = Hulls(named("post", boxes((18, 20, 12, 14, 0, 12))))
    assert len(feet.bodies) == 2
    assert apart(feet, post)


def test_how_far_a_block_sinks() -> None:
    tray = vertical.Solid2(boxes(*TRAY))
    assert vertical.drop(vertical.Solid2(boxes((5, 10, 5, 10, 6, 8))), tray) == 4.0  # to the floor
    assert (
        vertical.drop(vertical.Solid2(boxes((-3, 10, 5, 10, 12.5, 14))), tray) == 2.5
    )  # to the wall's top
    assert vertical.drop(vertical.Solid2(boxes((50, 60, 5, 10, 6, 8))), tray) == float("inf")


def test_what_lies_over_a_block_keeps_it_from_lifting_off() -> None:
    block = vertical.Solid2(boxes((5, 10, 5, 10, 3, 4)))
    lid = vertical.Solid2(boxes((9.5, 20, 5, 10, 8, 9)))
    deep, place = vertical.above(block, lid)
    assert deep == 6.0
    assert 9.5 <= place[0] <= 10.0
    assert vertical.above(block, vertical.Solid2(boxes((10.5, 20, 5, 10, 8, 9))))[0] == 0.0
    assert (
        vertical.above(block, vertical.Solid2(boxes((5, 10, 5, 10, 0, 3))))[0] == 0.0
    )  # it stands on that
