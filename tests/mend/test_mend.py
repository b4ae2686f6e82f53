"""Mending: remedies read from words are the remedies that are tried, and a mended job passes and
keeps its comments.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from fab.checks.changes import changes_told
from fab.checks.model import Verdict
from fab.cli.main import cli
from fab.errors import InputError
from fab.mend import fails, may_change, mend, with_tried, works
from fab.params import jobedit
from fab.params.changing import value_of, with_values
from fab.params.job import Job
from fab.params.new_job import draft
from fab.params.read import load
from fab.params.replacing import replace_file
from fab.verdicts import judge_all, judge_job, told


def written(
    folder: Path,
    more: str = "",
    size: str = "110",
    cells: Any = ((0, 0), (1, 0)),
    shape: str = "hexagon",
) -> Path:
    """A new job with lines put under [panel]."""
    for name, data in draft("hall", shape, list(cells), "metric-bench", size).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    job = folder / "hall.toml"
    job.write_text(job.read_text().replace("\n[layout]", f"{more}\n\n[layout]"))
    return job


@pytest.mark.parametrize(
    ("words", "changes"),
    [
        ("Set panel.depth = 40.", [(("panel.depth", "40"),)]),
        (
            "Set panel.depth = 40.5, or led.count = 36 (then dots 0.1, evenness 0.2).",
            [(("panel.depth", "40.5"),), (("led.count", "36"),)],
        ),
        (
            "No single change is enough. Set panel.gap = 1 and designs.a-b.clip.width = 6.5.",
            [(("panel.gap", "1"), ("designs.a-b.clip.width", "6.5"))],
        ),
        ('Set panel.shell.fixing = "snap".', [(("panel.shell.fixing", '"snap"'),)]),
        ("Give the panel a shorter name.", []),
    ],
)
def test_what_a_remedy_tells_is_read_from_its_words(words: str, changes: list[Any]) -> None:
    assert changes_told(words) == changes


def test_values_are_set_and_refused_like_those_of_a_file() -> None:
    job = with_values(Job(), [("panel.edge", "90"), ("panel.base.feet", "8"), ("hang.reach", "1")])
    assert (value_of(job, "panel.edge"), value_of(job, "panel.base.feet"), job.hang.reach) == (
        90.0,
        8.0,
        1,
    )
    assert with_values(job, [("panel.across_flats", "120")]).panel.edge is None
    for key, value in (("panel.depth", "-3"), ("panel.depht", "3"), ("panel.depth", "true")):
        with pytest.raises(InputError):
            with_values(job, [(key, value)])


@pytest.mark.parametrize(
    ("key", "value", "may"),
    [
        ("panel.depth", "40", True),
        ("power.brightness", "0.2", True),
        ("shop.printer.bridge", "15", False),
        ("hang.factor", "2", False),
        ("power.supply_a", "5", False),
        ("light.dots", "0.1", False),
        ("hang.reach", "1", True),
        ("hang.reach", "5", False),
    ],
)
def test_measurements_and_limits_are_never_touched(key: str, value: str, may: bool) -> None:
    assert may_change(Job(), ((key, value),)) is may


def test_a_check_that_was_not_reached_did_not_pass() -> None:
    def one(check: str, word: str) -> Verdict:
        return Verdict(check, word, "panel", 0.0, 1.0, "mm", "")  # type: ignore[arg-type]

    broken = one("fit.a", "fail")
    assert works(broken, (broken,), (one("fit.a", "pass"), one("power.b", "fail")))
    assert not works(
        broken, (broken, one("power.b", "pass")), (one("fit.a", "pass"), one("power.b", "fail"))
    )
    assert not works(broken, (broken,), (broken,))


def test_a_remedy_that_breaks_another_check_is_not_told(tmp_path: Path) -> None:
    job = load(written(tmp_path, cells=((0, 0),))).job
    bad = Verdict("fit.a", "fail", "panel", 0.0, 1.0, "mm", "", "Set panel.depth = 20.")
    told = with_tried(job, (bad, *judge_job(job)), judge_job)[0]
    assert told.remedy.startswith("No single change repairs it without breaking another check")
    assert "panel.depth" in told.remedy


def test_two_changes_of_one_value_are_told_as_the_one_that_counts() -> None:
    """The first mends one check and breaks another, whose remedy mends both."""
    deep = Verdict("fit.a", "fail", "panel", 0.0, 1.0, "mm", "", "Set panel.depth = 40.")
    other = Verdict("fit.b", "fail", "panel", 0.0, 1.0, "mm", "", "Set panel.depth = 45.")

    def judge(job: Job) -> tuple[Verdict, ...]:
        fine = replace(deep, verdict="pass"), replace(other, verdict="pass")
        depth = job.panel.depth or 0.0
        return (deep, fine[1]) if depth < 40 else (fine[0], other if depth < 45 else fine[1])

    job = with_values(Job(), [("panel.edge", "90"), ("panel.depth", "35")])
    found, _ = with_tried(job, judge(job), judge, judge)
    assert found.remedy == "Set panel.depth = 45."
    mended = mend(job, judge)
    assert mended.good
    assert [(step.key, step.value) for step in mended.steps] == [("panel.depth", "45")]


@pytest.mark.slow
def test_a_wall_too_heavy_for_its_screws_is_told_of_panels_that_are_light_enough(
    tmp_path: Path,
) -> None:
    path = written(tmp_path, size="190", cells=[(k, 0) for k in range(6)])
    hang = 'wall = "plasterboard"\nreach = 6\navoid = ["B", "C", "D", "E"]'
    path.write_text(path.read_text().replace('wall = "plaster"', hang))
    load_of = {one.id: one for one in judge_job(load(path).job)}["hang.screw-load"]
    assert load_of.verdict == "fail"
    (size,) = (
        float(value)
        for change in changes_told(load_of.remedy)
        for key, value in change
        if key == "panel.across_flats"
    )
    for wide, verdict in ((size, "pass"), (size + 1, "fail")):
        lighter = judge_all(with_values(load(path).job, [("panel.across_flats", str(wide))]))
        assert {one.id: one.verdict for one in lighter}["hang.screw-load"] == verdict


@pytest.mark.slow
def test_mending_ends_in_a_job_that_passes(tmp_path: Path) -> None:
    path = written(tmp_path, "clip.leg_length = 6 # mine\nboard.height = 11")
    job = load(path).job
    assert fails(judge_job(job))
    found = mend(job, judge_job)
    assert found.good
    assert not fails(judge_job(found.job))
    assert all(step.key.startswith("panel.") for step in found.steps)
    assert found.job.shop == job.shop


@pytest.mark.parametrize(
    "remedy",
    [
        "Buy a larger printer.",
        "Set shop.printer.bridge = 15.",  # a measurement: never touched
        "Set panel.depth = 60.",  # the check fails all the same
    ],
)
def test_what_can_not_be_mended_is_told(remedy: str) -> None:
    broken = Verdict("fit.a", "fail", "panel", 0.0, 1.0, "mm", "", remedy)
    job = Job()
    found = mend(job, lambda _job: (broken,))
    assert not found.good
    assert (found.job, found.steps, found.left) == (job, (), (broken,))


@pytest.mark.slow
def test_a_panel_that_no_bed_holds_becomes_smaller_and_the_shop_stays(tmp_path: Path) -> None:
    job = load(written(tmp_path, size="500", cells=((0, 0),))).job
    assert {check for check, _ in fails(judge_job(job))} == {"print.bed"}
    found = mend(job, judge_job)
    assert found.good
    assert not fails(judge_job(found.job))
    assert [step.key for step in found.steps] == ["panel.across_flats"]
    assert found.job.shop == job.shop


def test_comments_and_order_stay(tmp_path: Path) -> None:
    path = written(tmp_path, "depth = 22 # as deep as the shelf\nled.pitch = 14")
    before = path.read_text()
    edit = jobedit.edited(
        path, [("panel.depth", "37.5"), ("hang.reach", "1"), ("panel.clip.width", "6")]
    )
    assert path.read_text() == before
    replace_file(edit.path, edit.new, expected=edit.old)
    after = path.read_text()
    assert "depth = 37.5 # as deep as the shelf" in after
    for line in before.splitlines():
        assert line in after or line.startswith("depth")
    values = tomllib.loads(after)
    assert (values["panel"]["clip"]["width"], values["hang"]["reach"]) == (6, 1)
    assert [row for row in edit.diff if row.startswith("-")] == [
        "- depth = 22 # as deep as the shelf"
    ]


def test_the_other_way_to_say_the_size_goes(tmp_path: Path) -> None:
    path = written(tmp_path)
    edit = jobedit.edited(path, [("panel.edge", "70")])
    values = tomllib.loads(edit.new.decode())["panel"]
    assert values["edge"] == 70
    assert "across_flats" not in values


def test_write_needs_mend(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["check", str(written(tmp_path)), "--write"])
    assert result.exit_code != 0


@pytest.mark.slow
def test_a_remedy_that_breaks_the_light_is_told_with_what_mends_it(tmp_path: Path) -> None:
    """LEDs moved off the board's edge leave the corners dark: a deeper panel goes with it. Light is
    looked at though another check fails.
    """
    more = "depth = 48\nclip = {leg = 1.45, hook = 0.9}\nled = {margin = 2.86}"
    job = load(written(tmp_path, more, "124", ((0, 0),), "square")).job
    found = judge_job(job)
    (verdict,) = [one for one in told(job, found) if one.id == "fit.led-margin"]
    (change,) = changes_told(verdict.remedy)
    before = judge_all(job)
    assert works(verdict, before, judge_all(with_values(job, change))), verdict.remedy
    plain = next(one.remedy for one in found if one.id == "fit.led-margin")
    assert not works(verdict, before, judge_all(with_values(job, changes_told(plain)[0])))
    assert len(change) == 2
