"""The server's answers have the shapes that the page's scripts are told in types."""

from __future__ import annotations

import json
import time
import urllib.request
from typing import Any

from tests.live.conftest import PATIENCE_S, Watched, job_text
from tests.shapes import Shapes

RANGED = True


def ranges_of(watched: Watched) -> Any:
    """The sliders, once there are any."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        found = watched.fetched("ranges.json")
        if found and found["sliders"]:
            return found
        time.sleep(0.03)
    raise AssertionError("no slider was shown")


def test_answers_have_the_shapes_that_the_scripts_expect(watched: Watched) -> None:
    shapes = Shapes.read("fab/live/assets/state.d.ts")
    state = watched.until(lambda one: one.get("wired") and not one["busy"])
    assert shapes.faults(state, "State") == []
    assert shapes.faults(ranges_of(watched), "Ranges") == []
    for values in ({"panel.depth": 24}, {"panel.depth": 5000}):
        found = watched.asked("trial", {"values": values, "whole": True, "light": True})
        assert shapes.faults(found, "Trial") == []
    with urllib.request.urlopen(watched.address + "events", timeout=10) as events:
        news = json.loads(events.readline().removeprefix(b"data: "))
    assert shapes.faults(news, "News") == []
    watched.save(job_text('map = "A ? B"'))
    state = watched.until(lambda one: bool(one["faults"]))
    assert shapes.faults(state, "State") == []
    assert {kind for kind, _ in shapes.seen} >= {"Trial", "Check", "Line", "LegendEntry", "Slider"}
