"""Any wall that a maker draws can be built: random walls pass every check, as `panejig new` writes
them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.checks.model import Verdict
from fab.decisions import decide
from fab.layout.find import find_layout
from fab.params.read import load
from fab.parts.plan import cell_of
from fab.verdicts import early_verdicts
from fab.weigh import rough_masses
from fab.workshop import build, check, design_of, open_store

from .any_walls import AnyWall, any_wall

MANY, SOLID = 300, 20
QUICK = (4, 6)  # small ones


def told(verdicts: tuple[Verdict, ...]) -> list[str]:
    return [
        f"{v.id} {v.subject}: {v.says} [{v.measured} / {v.limit}] {v.remedy}"
        for v in verdicts
        if v.verdict == "fail"
    ]


def failures(wall: AnyWall, folder: Path) -> list[str]:
    """Checks of the plan, the power, the heat and the hanging that fail; weights come from the
    store.
    """
    loaded = load(wall.write(folder))
    return told(early_verdicts(design_of(loaded, open_store())))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("walls")


@pytest.mark.slow
def test_the_walls_are_connected_and_of_all_kinds(folder: Path) -> None:
    walls = [any_wall(number) for number in range(64)]
    assert len({wall.name for wall in walls}) == 64
    for wall in walls:
        job = load(wall.write(folder)).job
        layout = find_layout(job.layout, lambda name, job=job: cell_of(job.design(name)))  # type: ignore[misc]
        assert len(layout.groups) == 1
        assert len(layout.panels) == wall.panels
        if "ring" in wall.name and "mixed" not in wall.name:
            assert len(layout.joints) >= len(layout.panels)


@pytest.mark.parametrize("number", QUICK)
def test_a_few_random_walls_pass_weighed_roughly(number: int, folder: Path) -> None:
    job = load(any_wall(number).write(folder)).job
    assert told(early_verdicts(decide(job, rough_masses))) == []


@pytest.mark.slow
@pytest.mark.parametrize("number", range(MANY))
def test_many_random_walls_pass(number: int, folder: Path) -> None:
    assert failures(any_wall(number), folder) == []


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.parametrize("number", range(0, MANY, MANY // SOLID))
def test_random_walls_pass_on_their_solids(number: int, folder: Path) -> None:
    assert told(check(load(any_wall(number).write(folder)))) == []


@pytest.mark.slow
@pytest.mark.kernel
def test_walls_are_built_whole_and_proven_from_their_files(folder: Path) -> None:
    """One whose screw mark lies on a page's edge, and a flower on feet whose inlet is at its
    middle.
    """
    loaded = [load(any_wall(23).write(folder))]
    text = (
        'job = "flower"\nshop = "metric-bench"\n[panel]\nextends = "hexagon-120"\nbase = {feet ='
        " 6}\n[layout]\nmap = '''\n A B\nC D E\n F G\n'''\n[power]\ninlet ="
        ' ["D"]\n[hang]\nwall = "plaster"\n'
    )
    (folder / "flower.toml").write_text(text)
    loaded.append(load(folder / "flower.toml"))
    for one in loaded:
        made = build(one, folder / "out", only=frozenset({"lists", "wall", "book"}))
        assert [v for v in made.verdicts if v.verdict == "fail"] == []
        assert any(v.id.startswith("proof.") for v in made.verdicts)
