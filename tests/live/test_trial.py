"""Trials: values turned from the page, their ranges, and the lines that keep them."""

from __future__ import annotations

import time
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.checks.snap import all_faults
from fab.decisions import plans_of
from fab.live import look as looks
from fab.live import ranges, sliders, snippet
from fab.params.read import load
from tests.live.conftest import PATIENCE_S, Watched, job_text, row

RANGED = True  # by the plan alone, but for the test of all checks

BY_ALL = ranges.JUDGES


def shown(watched: Watched, text: str) -> Any:
    """The state of a text, once its zones are known."""
    watched.save(text)
    title = tomllib.loads(text)["title"]
    return watched.until(lambda one: one.get("title") == title and not one["busy"])


def test_a_trial_shows_figures_and_picture_and_writes_nothing(watched: Watched) -> None:
    """Two hexagons of 130 mm: 260 mm wide, 130 / cos 30 degrees = 150.1 mm high."""
    text = job_text(title="sizes")
    before = shown(watched, text)
    for whole in (False, True):
        found = watched.asked("trial", {"values": {"panel.across_flats": 130}, "whole": whole})
        assert row(found, "Size on the wall")["text"] == "260 x 150 mm"
        assert row(found, "Size on the wall")["before"] == "240 x 139 mm"
        assert "A was here before" in found["wall"]
        assert found["wired"] is whole
    assert watched.path.read_text() == text
    assert watched.fetched() == before


def test_a_trial_that_can_not_be_is_told(watched: Watched) -> None:
    shown(watched, job_text(title="far"))
    found = watched.asked("trial", {"values": {"panel.depth": 5000}, "whole": True})
    assert found["faults"][0]["key"] == "panel.depth"
    assert "wall" not in found


def ranged(watched: Watched) -> dict[str, Any]:
    """The sliders of the state that is shown, once no check is left that could narrow them."""
    save, end = watched.fetched()["save"], time.monotonic() + 4 * PATIENCE_S
    while time.monotonic() < end:
        found = watched.fetched("ranges.json")
        if found and found["save"] == save and not any(one["working"] for one in found["sliders"]):
            return {one["key"]: one for one in found["sliders"]}
        time.sleep(0.05)
    raise AssertionError(f"the ranges were never worked out: {found}")


def failed(watched: Watched, key: str, value: float) -> list[str]:
    """Checks that fail in a trial, light included."""
    asked = {"values": {key: value}, "whole": True, "light": True}
    checks = watched.asked("trial", asked)["checks"]
    return [one["id"] for one in checks["shown"] if one["verdict"] == "fail"]


def test_the_sliders_by_the_plan(watched: Watched) -> None:
    shown(watched, job_text('map = "A"', title="seven"))
    found = ranged(watched)
    assert list(found) == [
        "panel.across_flats",
        "panel.depth",
        "panel.shell.wall",
        "panel.gap",
        "panel.led.pitch",
        "power.brightness",
        "layout.turn_deg",
    ]
    assert found["panel.depth"]["stops"][0].startswith("fit.")


@pytest.mark.slow
def test_ranges_end_where_a_trial_fails(watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every end passes the trial, and one step beyond fails it by the check that the slider names:
    the depth by the light, brightness by the supply.
    """
    monkeypatch.setattr(ranges, "JUDGES", BY_ALL)
    knobs = [one for one in sliders.KNOBS if one.key in ("panel.depth", "power.brightness")]
    monkeypatch.setattr(sliders, "KNOBS", knobs)
    text = job_text('map = "A"', title="light").replace(
        "brightness = 0.2", "brightness = 0.2\nsupply_a = 0.3\ninlets = 1"
    )
    assert shown(watched, text)["checks"]["counted"]["fail"] == 0
    depth, bright = ranged(watched).values()
    assert depth["stops"][0].startswith("light.")
    assert failed(watched, "panel.depth", depth["least"]) == []
    beyond = failed(watched, "panel.depth", round(depth["least"] - depth["step"], 4))
    assert set(depth["stops"][0].split(", ")) <= set(beyond)
    assert bright["most"] < 1
    assert failed(watched, "power.brightness", bright["most"]) == []
    assert failed(watched, "power.brightness", round(bright["most"] + 0.05, 4))


@pytest.fixture(scope="module")
def corner(tmp_path_factory: pytest.TempPathFactory) -> looks.Look:
    """Two hexagons, laid out."""
    path = tmp_path_factory.mktemp("corner") / "corner.toml"
    path.write_text(job_text())
    return looks.shape(load(path))


def test_a_range_of_the_plan_ends_one_step_before_a_value_that_fails(corner: looks.Look) -> None:
    """By the checks of the plan themselves, asked anew on both sides of each end."""
    job, seen = corner.loaded.job, 0
    for one in (one for one in sliders.sliders(corner) if one.plan):

        def fails(value: float, key: str = one.key) -> frozenset[str]:
            return ranges.tried(ranges.by_plan, job, key, value, frozenset())

        narrow = sliders.narrowed(one, sliders.passing, fails)
        spec = sliders.spec_of(job, one.key)
        for end, step, told in zip(
            (narrow.least, narrow.most), (-one.step, one.step), narrow.stops, strict=True
        ):
            assert not _fails(corner, one.key, end), one
            beyond = round(end + step, 6)
            if (spec.least or 0) <= beyond <= (spec.most or 0) and beyond < 120:
                assert _fails(corner, one.key, beyond), one
                assert told
                seen += 1
    assert seen >= 3


def _fails(look: looks.Look, key: str, value: float) -> bool:
    try:
        job = load(look.loaded.sources[0], [f"{key}={value}"]).job
        return any(all_faults(plan) for plan in plans_of(job).values())
    except Exception:
        return True


@pytest.mark.parametrize("search", [sliders.passing, sliders.spanning])
@given(least=st.integers(-300, 0), most=st.integers(0, 300), ends=st.integers(0, 400), at=st.data())
def test_the_range_of_an_interval_is_the_interval(
    search: sliders.Search, least: int, most: int, ends: int, at: Any
) -> None:
    """Where all that passes is one interval, its ends are found, as by asking every step."""
    step = at.draw(st.sampled_from([1.0, 0.5, 0.05]))
    asked: list[float] = []

    def passes(value: float) -> bool:
        asked.append(value)
        return least * step - 1e-6 <= value <= most * step + 1e-6

    found = search(0.0, step, (-ends * step, ends * step), passes)
    assert found[0] == pytest.approx(max(least, -ends) * step, abs=1e-5)
    assert found[1] == pytest.approx(min(most, ends) * step, abs=1e-5)
    assert len(asked) < 60


JOBS = {
    "a table": '[panel]\nextends = "hexagon-120"\n',
    "a value that is there": '[panel]\nextends = "hexagon-120"\ndepth = 40 # flat\n',
    "a table below": '[panel]\nextends = "hexagon-120"\n\n[panel.shell]\nwall = 1.8\n',
    "two that are there": '[panel]\ndepth = 40\nextends = "hexagon-120"\nshell = {wall = 1.8}\n',
}
REST = '[layout]\nmap = "A B"\n[hang]\nwall = "plaster"\n'
VALUES = [("panel.depth", "41.5"), ("panel.shell.wall", "2.25"), ("power.brightness", "0.15")]


@pytest.mark.parametrize("panel", JOBS)
def test_the_lines_put_in_place_by_hand_give_the_values(tmp_path: Path, panel: str) -> None:
    """What the remarks say is done: each line at its place, those that it names taken out."""
    path = tmp_path / "my job.toml"
    before = f'job = "x"\nshop = "metric-bench"\n{JOBS[panel]}{REST}'
    path.write_text(before)
    text = snippet.lines(path, VALUES, {"panel.depth": "40"})
    assert ("was 40" in text) is ("# flat" not in before)
    assert path.read_text() == before
    path.write_text(by_hand(before, text))
    job = load(path).job
    assert (job.panel.depth, job.panel.shell.wall, job.power.brightness) == (41.5, 2.25, 0.15)


def by_hand(text: str, lines: str) -> str:
    """A maker who does what the remarks say; places are those of the file as it stands."""
    found = [[line] for line in text.splitlines()]
    place = 0
    for line in lines.splitlines():
        if line.startswith("# my job.toml, line "):
            place = int(line.split(",")[1].split()[1])
            assert found[place - 1][0].strip() == line.partition("in place of: ")[2]
            found[place - 1] = []
        elif line.startswith("# my job.toml, after line "):
            place = int(line.split(",")[1].split()[2])
        elif line.strip():
            found[place - 1].append(line)
    return "\n".join(line for lines in found for line in lines) + "\n"


def test_where_no_line_can_be_put_in_the_values_are_told(tmp_path: Path) -> None:
    """A file that can't be changed by lines: remarks alone, which change nothing when pasted."""
    path = tmp_path / "job.toml"
    path.write_text(f'job = "x"\nshop = "metric-bench"\npanel = "hexagon-120"\n{REST}')
    text = snippet.lines(path, VALUES, {})
    assert tomllib.loads(text) == {}
    assert all(f"# {key} = {value}" in text for key, value in VALUES)


def test_nothing_turned_gives_no_lines(tmp_path: Path) -> None:
    assert snippet.lines(tmp_path / "x.toml", [], {}) == ""
