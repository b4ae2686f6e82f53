"""Light leaks: a closed panel is dark outside, every opened gap is told with its place; the ray
caster against a plain one.
"""

from __future__ import annotations

import numpy as np
import pytest

from fab.checks import leak, rays
from fab.checks.leak_spots import gap_spots
from fab.parts.placed import Named
from tests.cases import few

from .conftest import Set
from .shapes import boxes


def verdict(one: Set, parts: list[Named]) -> tuple[str, float, str]:
    told = leak.leak_verdicts(one.plan, parts, "panel", inlet=one.kind.inlet)[0]
    return told.verdict, told.measured, told.says


def scene(one: Set) -> list[Named]:
    return [*one.parts, *one.neighbour]


@pytest.mark.parametrize("name", few(["screwed", "snapped", "on_feet"], 0))
def test_a_closed_panel_is_dark(request: pytest.FixtureRequest, name: str) -> None:
    one: Set = request.getfixturevalue(name)
    assert verdict(one, scene(one))[:2] == ("pass", 0)


@pytest.mark.slow
def test_without_its_diffuser_it_is_bright(screwed: Set) -> None:
    word, count, says = verdict(screwed, [p for p in scene(screwed) if p.name != "diffuser"])
    assert word == "fail"
    assert count > 1000
    assert "past the rim" in says


def test_a_diffuser_out_of_its_seat_leaks_at_the_rim(screwed: Set) -> None:
    parts = [p.moved(dx=3.0) if p.name == "diffuser" else p for p in scene(screwed)]
    word, _, says = verdict(screwed, parts)
    assert word == "fail"
    assert "rim" in says


def near_the_edge(one: Set, edge: int) -> list[Named]:
    """LEDs pushed so near to an edge that the outermost look over the board into its window."""
    angle = 2 * np.pi * edge / one.plan.cell.sides
    way = np.array([np.cos(angle), np.sin(angle)])
    lit = next(p for p in one.parts if p.part == "led")
    push = one.plan.rings.board.apothem - 0.5 - float((lit.mesh.vertices[:, :2] @ way).max())
    return [p.moved(dx=push * way[0], dy=push * way[1]) if p is lit else p for p in scene(one)]


def test_a_missing_cap_leaks_through_its_edge(screwed: Set) -> None:
    shut = near_the_edge(screwed, 3)
    assert verdict(screwed, shut)[0] == "pass"
    word, _, says = verdict(screwed, [p for p in shut if p.name != "cap 3"])
    assert word == "fail"
    assert "through edge 3" in says


def test_a_missing_neighbour_leaks_through_the_joint(screwed: Set) -> None:
    shut = near_the_edge(screwed, 1)
    assert verdict(screwed, shut)[0] == "pass"
    alone = [
        p for p in shut if not p.name.startswith("neighbour") and p.part not in ("clip", "header")
    ]
    word, _, says = verdict(screwed, alone)
    assert word == "fail"
    assert "through edge 1" in says


def test_a_shell_that_stands_off_leaks(screwed: Set) -> None:
    parts = [
        p.moved(dz=16.0) if p.part in ("shell", "diffuser") and not p.name.startswith("n") else p
        for p in scene(screwed)
    ]
    assert verdict(screwed, parts)[0] == "fail"


def test_light_on_the_wall_behind_the_panel_is_no_leak(screwed: Set) -> None:
    """A base without a floor: light falls on the wall inside the outline, which is allowed."""
    plan = screwed.plan
    down = np.array([[0.0, 0.0, -1.0], [0.6, 0.0, -0.8], [0.99, 0.0, -0.141]])
    from_top = np.repeat([[0.0, 0.0, 18.0]], 3, axis=0)
    down /= np.linalg.norm(down, axis=1)[:, None]
    assert leak._on_the_wall(plan, from_top, down, beside=False).tolist() == [True, True, False]


def test_rays_agree_with_a_plain_reckoning() -> None:
    """Every ray against every triangle by Moeller and Trumbore's formulas as published (J.

    Graphics Tools 2, 1997).
    """
    rng = np.random.default_rng(5)
    triangles, origins = rng.normal(size=(60, 3, 3)), rng.normal(size=(120, 3)) * 2
    ways = rng.normal(size=(120, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]

    def hit(o: np.ndarray, d: np.ndarray, t: np.ndarray) -> bool:
        e1, e2 = t[1] - t[0], t[2] - t[0]
        p = np.cross(d, e2)
        det = e1 @ p
        s = o - t[0]
        q = np.cross(s, e1)
        u, v, w = s @ p / det, d @ q / det, e2 @ q / det
        return bool(u >= 0 and v >= 0 and u + v <= 1 and w > 0)

    free = [i for i in range(120) if not any(hit(origins[i], ways[i], t) for t in triangles)]
    assert rays.unblocked(origins, ways, triangles).tolist() == free


def test_no_ray_slips_through_a_seam() -> None:
    """From inside a closed box, rays at the very edges between its triangles."""
    box = boxes((-1, 1, -1, 1, -1, 1))
    corners = box.vertices[box.triangles]
    middles = ((corners + np.roll(corners, 1, axis=1)) / 2).reshape(-1, 3)
    aims = np.concatenate([middles, box.vertices])
    ways = aims / np.linalg.norm(aims, axis=1)[:, None]
    assert len(rays.unblocked(np.zeros_like(ways), ways, rays.soup([box]))) == 0


def test_a_blank_cover_has_nothing_to_leak() -> None:
    from .designs import plan_with

    plan = plan_with({"board.none": True})
    assert leak.checks(plan, None, None) == ()  # type: ignore[arg-type]


@pytest.mark.parametrize("edge", range(6))
def test_every_open_edge_has_its_cap_checked(screwed: Set, edge: int) -> None:
    """The spots that rays are aimed at lie on all edges alike."""
    spots = gap_spots(screwed.plan, inlet=False)
    angle = 2 * np.pi * edge / 6
    out = spots[:, 0] * np.cos(angle) + spots[:, 1] * np.sin(angle)
    assert (out > screwed.plan.cell.apothem - 3.0).sum() == (
        spots[:, 0] > screwed.plan.cell.apothem - 3.0
    ).sum()
