"""From a save to what the page is told: what changed, what is wrong, what was there before."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest

from fab.live import maker
from fab.power import wire
from tests.live.conftest import ROOT, Watched, ended, job_text, row, watching

SVG = "{http://www.w3.org/2000/svg}"


def names(state: Any) -> list[str]:
    """The panels' names in the picture."""
    texts = [one.text or "" for one in ET.fromstring(state["wall"]).iter(f"{SVG}text")]
    return sorted(text for text in texts if len(text) == 1 and text.isalpha())


def wired(state: Any) -> bool:
    return bool(state.get("wired")) and not state["faults"] and not state["busy"]


def test_a_save_is_shown_with_what_was_before(watched: Watched) -> None:
    watched.save(job_text('map = "A B"'))
    watched.until(lambda one: wired(one) and names(one) == ["A", "B"])
    watched.save(job_text('map = "A B C"'))
    state = watched.until(lambda one: wired(one) and names(one) == ["A", "B", "C"])
    assert row(state, "Panels") == {"name": "Panels", "text": "3", "before": "2", "stale": False}
    assert row(state, "LEDs")["before"] != ""
    assert state["changed"].startswith("New: C")
    assert 'class="changed"' in state["wall"]
    watched.save(job_text('map = "A B C"') + "# a word\n")
    state = watched.until(lambda one: wired(one) and one["save"] > state["save"])
    assert row(state, "Panels")["before"] == ""
    assert state["changed"] == ""
    assert 'class="changed"' not in state["wall"]


def test_what_is_gone_and_what_grew_is_drawn_dashed(watched: Watched) -> None:
    watched.save(job_text('map = "A B C"'))
    watched.until(lambda one: wired(one) and names(one) == ["A", "B", "C"])
    watched.save(job_text('map = "A B"'))
    state = watched.until(lambda one: wired(one) and names(one) == ["A", "B"])
    assert "Gone: C" in state["changed"]
    assert "C was here before" in state["wall"]
    assert "stroke-dasharray" in state["wall"]


def test_the_size_of_the_wall_stands_beside_it(watched: Watched) -> None:
    """Two hexagons of 120 mm side by side: 240 mm wide, 120 / cos 30 degrees = 138.6 mm high."""
    watched.save(job_text('map = "A B"'))
    state = watched.until(lambda one: wired(one) and names(one) == ["A", "B"])
    texts = [one.text for one in ET.fromstring(state["wall"]).iter(f"{SVG}text")]
    assert {"240 mm", "139 mm"} <= set(texts)


def test_the_room_is_drawn_and_explained(watched: Watched) -> None:
    """A stud and a place without screws: in the picture and in the legend; beside the brightness
    stands what limits it.
    """
    zone = "[[[-100, -200], [-60, -200], [-60, -160], [-100, -160]]]"
    watched.save(job_text('map = "A B"', title="room") + f"studs = [60]\nzones = {zone}\n")
    state = watched.until(lambda one: wired(one) and one["title"] == "room")
    assert {"stud", "no screws"} <= {one["word"] for one in state["legend"]}
    assert "rail" not in {one["word"] for one in state["legend"]}
    assert "stud at x 60 mm" in state["wall"]
    assert "keep free of screws" in state["wall"]
    assert re.match(
        r"\d+ %(, limited by .*| is possible)", row(state, "Highest brightness")["text"]
    )


def test_a_word_does_not_decide_the_wall_anew(
    watched: Watched, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[object] = []
    original = wire.wire
    layout = "cells = [[0, 0], [1, 0], [0, 1]]"
    watched.save(job_text(layout, title="before"))
    before = watched.until(lambda one: wired(one) and one["title"] == "before")

    def counted(*args: Any, **words: Any) -> Any:
        calls.append(args)
        return original(*args, **words)

    monkeypatch.setattr(wire, "wire", counted)
    watched.save(job_text(layout, title="after"))
    state = watched.until(lambda one: wired(one) and one["title"] == "after")
    assert calls == []
    assert [one["text"] for one in state["rows"]] == [one["text"] for one in before["rows"]]
    watched.save(job_text(layout, title="dimmed").replace("brightness = 0.2", "brightness = 0.1"))
    watched.until(lambda one: wired(one) and one["title"] == "dimmed")
    assert calls


@pytest.mark.parametrize(
    ("old", "new", "line", "text", "key"),
    [
        ("brightness = 0.2", "brightnes = 0.2", 14, "brightnes = 0.2", "power.brightnes"),
        ('wall = "plaster"', 'wall = "plaster', 17, 'wall = "plaster', ""),
        ('map = "A B"', 'map = "A ! B"', 11, 'map = "A ! B"', "layout.map"),
        ('wall = "plaster"', 'wall = "brik"', 17, 'wall = "brik"', "hang.wall"),
    ],
)
def test_a_broken_file_leaves_the_last_good_picture(
    watched: Watched, old: str, new: str, line: int, text: str, key: str
) -> None:
    """Refused by the door, by the layout, and by the choice of screws: each with its line."""
    good = job_text('map = "A B"')
    watched.save(good)
    before = watched.until(lambda one: wired(one) and names(one) == ["A", "B"])
    watched.save(good.replace(old, new))
    state = watched.until(lambda one: bool(one["faults"]))
    fault = state["faults"][0]
    assert (fault["file"].endswith("corner.toml"), fault["line"]) == (True, line)
    assert fault["text"].strip() == text
    assert key in fault["key"]
    assert fault["says"]
    assert names(state) == names(before)
    watched.save(good)
    assert watched.until(wired)["faults"] == []


def test_a_failed_check_is_told_with_a_remedy(watched: Watched) -> None:
    """A shell wall thinner than two printed lines (0.45 mm each in this shop): the plan is refused,
    and the value that the remedy names passes.
    """
    thin = job_text().replace('"hexagon-120"', '"hexagon-120"\nshell.wall = 0.6')
    watched.save(thin)
    state = watched.until(lambda one: one["checks"]["counted"]["fail"] > 0 and one["unbuildable"])
    failed = [one for one in state["checks"]["shown"] if one["verdict"] == "fail"]
    remedy = re.search(r"Set panel\.shell\.wall = ([\d.]+)", failed[0]["remedy"])
    assert remedy is not None
    watched.save(thin.replace("0.6", remedy[1].rstrip(".")))
    state = watched.until(lambda one: wired(one) and one["checks"]["counted"]["fail"] == 0)
    assert state["checks"]["counted"]["pass"] > 100


def test_a_file_below_the_job_is_followed_even_when_it_is_broken_from_the_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(maker.Maker, "_built", lambda *_: None)
    panel = tmp_path / "mine.toml"
    panel.write_text('extends = "hexagon-120"\ndepht = 40\n')
    job = tmp_path / "job.toml"
    job.write_text(job_text().replace('"hexagon-120"', '"mine.toml"'))
    found = watching(job, tmp_path / "out")
    try:
        state = found.until(lambda one: bool(one["faults"]))
        assert state["faults"][0]["file"].endswith("mine.toml")
        assert state["faults"][0]["line"] == 2
        panel.write_text('extends = "hexagon-120"\ndepth = 41\n')
        found.until(wired)
    finally:
        ended(found)


def test_many_saves_end_at_the_last_state(watched: Watched) -> None:
    """Twenty in half a second; none waits for the work on another."""
    for k in range(20):
        watched.save(job_text('map = "A B"', title=f"save {k}"))
        time.sleep(0.025)
    state = watched.until(lambda one: one["title"] == "save 19" and wired(one))
    assert state["faults"] == []


@pytest.mark.skipif(os.name != "posix", reason="a signal to a process is Ctrl-C there only")
def test_ctrl_c_ends_it_with_130_and_nothing_is_left(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text("broken = ")
    words = [sys.executable, "-m", "fab", "watch", str(job), "--page", "--out", str(tmp_path / "o")]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout is not None
        assert re.fullmatch(r"Page: http://127\.0\.0\.1:\d+/\n", process.stdout.readline())
        assert "not built" in process.stdout.readline()
        process.send_signal(signal.SIGINT)
        assert process.wait(20) == 130
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_open_without_a_page_is_refused() -> None:
    words = [sys.executable, "-m", "fab", "watch", "reading-nook", "--open"]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 2
    assert "Add --page" in done.stderr
