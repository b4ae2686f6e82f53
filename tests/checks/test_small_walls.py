"""Walls of one and two panels at any size, turn, wall and cable: each passes every check that needs
no solid, or is refused by a limit whose told change works.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from fab.checks.changes import changes_told
from fab.decisions import plans_of
from fab.errors import PanejigError
from fab.params.changing import with_values
from fab.params.job import Job
from fab.params.new_job import draft
from fab.params.read import load
from fab.verdicts import judge_job, light_verdicts
from tests.cases import few

from .sizes import LAYER_MM, LINE_MM, LINES, RANGES, SHEETS
from .sizes import drawn as sizes

SHAPES = {6: "hexagon", 4: "square", 3: "triangle"}
WALLS = {
    6: [((0, 0),), ((0, 0), (1, 0)), ((0, 0), (-1, 1))],
    4: [((0, 0),), ((0, 0), (1, 0)), ((0, 0), (0, 1))],
    3: [((0, 0),), ((1, 0),), ((0, 0), (1, 0)), ((1, 0), (1, 1))],
}
TURNS = (0, 7.5, 15, 30, 45, 60, 90, 120, 180, 270)
# Where physics ends: short edges at thick lines, a cable or feet behind a small panel, what a weak
# wall or a screw on high feet carries, and the floor of a small panel on feet.
LIMITED = {
    "fit.clip-room",
    "fit.foot-clip",
    "fit.cable-bend",
    "hang.screw-load",
    "hang.screw-bend",
    "hang.places",
    "hang.centre",
}


def job_of(folder: Path, sides: int, size: float, cells: object, words: list[str]) -> Job:
    """A job as `panejig new` makes it, with values set."""
    for name, data in draft("small", SHAPES[sides], cells, "metric-bench", str(size)).items():  # type: ignore[arg-type]
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    bed = ["shop.printer.bed=[600, 600]", "shop.printer.height=600"]
    return load(folder / "small.toml", [*bed, *words]).job


def drawn(folder: Path, number: int) -> Job:
    dice = random.Random(f"small-{number}")
    sides = dice.choice(sorted(RANGES))
    _, low, high = RANGES[sides]
    nozzle, feet = dice.choice(sorted(LINE_MM)), dice.choice([0, 0, 0, 7, 12, 20])
    words = [
        f"shop.printer.nozzle={nozzle}",
        f"shop.printer.extrusion_width={LINE_MM[nozzle]}",
        f"shop.printer.layer={LAYER_MM[nozzle]}",
        f"shop.stock.opal-3.thickness={dice.choice(SHEETS)}",
        f"panel.shell.wall={round(dice.choice(LINES) * LINE_MM[nozzle], 3)}",
        f"panel.gap={round(dice.uniform(0, 3), 1)}",
        f"panel.base.feet={feet}",
        f"panel.inlet.kind={dice.choice(['usb-c', 'usb-c', 'round'])}",
        f"panel.inlet.cable_d={dice.choice([4, 5, 6])}",
        f"hang.wall={dice.choice(['plaster', 'plasterboard', 'brick', 'wood'])}",
        f"layout.turn_deg={dice.choice(TURNS)}",
    ]
    size = round(low + (high - low) * dice.random() ** 2)
    return job_of(folder, sides, size, dice.choice(WALLS[sides]), words)


def broken(job: Job) -> dict[str, str]:
    """What fails, by id, each with its remedy; a wall that is refused as "refused"."""
    try:
        return {one.id: one.remedy for one in judge_job(job) if one.verdict == "fail"}
    except PanejigError as error:
        return {"refused": str(error)}


def passes_or_is_cured(job: Job) -> None:
    found = broken(job)
    assert set(found) <= LIMITED | {"refused"}, found
    for check, words in found.items():
        if check in ("hang.screw-load", "hang.screw-bend"):
            continue  # cured by other plugs or a thicker screw: nothing that the job alone tells
        assert changes_told(words), (check, words)
        for change in changes_told(words):
            after = broken(with_values(job, change))
            assert check not in after, (check, change, after)


@pytest.mark.parametrize("number", few(range(40)))
def test_a_new_job_is_lit_to_its_corners(number: int, tmp_path: Path) -> None:
    """The depth of every shape follows size, nozzle and sheet: no preset holds it."""
    size = list(sizes(40, seed=5))[number]
    words = [
        f"shop.printer.nozzle={size.nozzle}",
        f"shop.printer.extrusion_width={LINE_MM[size.nozzle]}",
        f"shop.printer.layer={LAYER_MM[size.nozzle]}",
        f"shop.stock.opal-3.thickness={size.sheet}",
        f"panel.shell.wall={round(size.lines * LINE_MM[size.nozzle], 3)}",
        f"panel.gap={size.gap}",
    ]
    job = job_of(tmp_path, size.sides, size.size, WALLS[size.sides][0], words)
    found = light_verdicts(job, plans_of(job), remedies=False, coarse=True)
    assert [one.id for one in found if one.verdict == "fail"] == [], size


@pytest.mark.parametrize("number", few(range(308), *range(5)))
def test_a_drawn_small_wall_passes_or_is_cured(number: int, tmp_path: Path) -> None:
    passes_or_is_cured(drawn(tmp_path, number))


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_the_smallest_panel_hangs_at_every_turn(sides: int, tmp_path: Path) -> None:
    """Bases that lie on the wall: the inlet goes where it leaves room for the keyhole."""
    _, size, _ = RANGES[sides]
    for turn in (0, 15, 30, 75, 90):
        job = job_of(tmp_path, sides, size, WALLS[sides][0], [f"layout.turn_deg={turn}"])
        assert broken(job) == {}, (sides, turn)


@pytest.mark.parametrize(
    ("sides", "size", "turn", "feet"), [(4, 73, 0, 7), (4, 70, 0, 20), (6, 82, 60, 7)]
)
def test_an_inlet_that_takes_the_place_of_the_keyhole_is_turned(
    sides: int, size: float, turn: float, feet: float, tmp_path: Path
) -> None:
    words = [f"layout.turn_deg={turn}", f"panel.base.feet={feet}", "panel.gap=2"]
    assert broken(job_of(tmp_path, sides, size, WALLS[sides][0], words)) == {}


@pytest.mark.parametrize(("sides", "cells"), [(3, WALLS[3][3]), (4, WALLS[4][2])])
def test_a_slanting_pair_hangs_by_keyholes_aside(sides: int, cells: object, tmp_path: Path) -> None:
    """In the middle of each panel the screws stand too near to the centre of mass."""
    _, size, _ = RANGES[sides]
    for turn in (15, 30, 120):
        job = job_of(tmp_path, sides, size + 3, cells, [f"layout.turn_deg={turn}"])
        assert broken(job) == {}, (sides, turn)


@pytest.mark.parametrize(("edge", "turn"), [(90, 90), (90, 180), (99, 60)])
def test_a_small_triangle_on_feet_is_told_what_gives_it_a_keyhole(
    edge: float, turn: float, tmp_path: Path
) -> None:
    words = [f"layout.turn_deg={turn}", "panel.base.feet=7"]
    job = job_of(tmp_path, 3, edge, WALLS[3][0], words)
    assert broken(job)
    passes_or_is_cured(job)
