"""The view in three dimensions in a real browser: what it opens on, what hands and keys do, what a
click tells.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.book.opened import COUNT, middle, painted, pinch, touch

pytestmark = pytest.mark.browser
BOTH = pytest.mark.parametrize(
    "page",
    [("desktop", True), pytest.param(("phone", True), marks=pytest.mark.slow)],
    indirect=True,
)
DESK = pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
PHONE = pytest.mark.parametrize("page", [("phone", True)], indirect=True)
NAMES = "all => all.map(one => [one.textContent, one.offsetLeft, one.offsetTop, one.hidden])"


def canvas_of(page: Any) -> Any:
    canvas = page.locator(".viewer canvas")
    canvas.scroll_into_view_if_needed()
    return canvas


def named(page: Any) -> dict[str, tuple[float, float]]:
    """Where the names of the panels stand on the view."""
    found = page.locator(".viewer .names span").evaluate_all(NAMES)
    return {name: (x, y) for name, x, y, hidden in found if not hidden}


def scene_of(page: Any) -> dict[str, Any]:
    text = page.locator("script[type='application/json']").first.inner_text()
    return json.loads(text)


@BOTH
def test_it_opens_on_the_lit_wall_with_a_name_on_every_panel(page: Any) -> None:
    canvas = canvas_of(page)
    share, _ = canvas.evaluate(COUNT)
    assert share > 0.1
    assert set(named(page)) == set("ABCDEFGHI")
    spots = named(page)
    assert spots["H"][0] < spots["D"][0] < spots["G"][0]  # the front is not mirrored
    assert spots["A"][1] < spots["B"][1] < spots["F"][1] < spots["I"][1]
    bright, dark = canvas.evaluate(
        """c => { const g = c.getContext('webgl2'), p = new Uint8Array(4);
        const at = (x, y) => { g.readPixels(x, y, 1, 1, g.RGBA, g.UNSIGNED_BYTE, p); return p[0]; };
        let most = 0;
        for (let x = 0; x < c.width; x += 5) most = Math.max(most, at(x, c.height / 2 | 0));
        return [most, at(2, 2)]; }"""
    )
    assert bright > 240
    assert dark < 40


@pytest.mark.slow
@BOTH
def test_keys_turn_and_tilt_and_never_roll_the_wall(page: Any) -> None:
    """However it is turned, a line that was upright stays upright on the screen: A over F."""
    canvas = canvas_of(page)
    canvas.focus()
    for key in ("ArrowLeft", "ArrowUp", "ArrowRight", "ArrowDown"):
        before = canvas.evaluate(COUNT)[1]
        for _ in range(5):
            page.keyboard.press(key)
        painted(page)
        assert canvas.evaluate(COUNT)[1] != before
        spots = named(page)
        assert spots["A"][1] < spots["I"][1]
    for _ in range(40):
        page.keyboard.press("ArrowDown")  # to the stop
    painted(page)
    assert float(canvas.get_attribute("data-tilt")) >= -1.46
    page.keyboard.press("0")
    painted(page)
    assert canvas.get_attribute("data-turn") == "0.350"
    page.keyboard.press("+")
    painted(page)
    assert float(canvas.get_attribute("data-zoom")) == pytest.approx(1.15)


@DESK
def test_the_slider_pulls_the_wall_apart_and_reset_puts_it_back(page: Any) -> None:
    canvas = canvas_of(page)
    start, where = canvas.evaluate(COUNT), named(page)
    slider = page.locator(".viewer input[type=range]")
    slider.focus()
    page.keyboard.press("End")
    painted(page)
    assert canvas.get_attribute("data-apart") == "1.000"
    spots = named(page)
    assert canvas.evaluate(COUNT) != start
    assert len({round(spots[name][0] - where[name][0]) for name in spots}) > 2
    page.get_by_role("button", name="Reset").click()
    painted(page)
    assert canvas.evaluate(COUNT) == start


@pytest.mark.slow
@DESK
def test_every_kind_of_part_goes_off_and_on(page: Any) -> None:
    """All kinds that hang on the demo's wall are in it, and each is seen from some side."""
    page.set_viewport_size({"width": 720, "height": 480})  # each look is painted without hardware
    canvas = canvas_of(page)
    kinds = set(scene_of(page)["kinds"])
    assert kinds == {
        *("base", "shell", "diffuser", "board", "led", "socket", "header", "clip", "cap", "inlet"),
        *("board screw", "shell screw", "wall screw"),
    }
    page.locator(".viewer input[type=range]").evaluate(
        "s => { s.value = 100; s.dispatchEvent(new Event('input')); }"
    )
    for side, key in (("Front", "ArrowUp"), ("Back", "ArrowUp"), ("Front", "ArrowDown")):
        page.get_by_role("button", name=side, exact=True).click()
        painted(page)
        canvas.focus()
        for _ in range(6):  # inlets are in the lower edges: seen from below
            page.keyboard.press(key)
        painted(page)
        whole = canvas.evaluate(COUNT)
        for box in page.locator(".viewer fieldset input").all():
            if _kind_of(page, box) not in kinds:
                continue
            box.uncheck()
            painted(page)
            if canvas.evaluate(COUNT) != whole:
                kinds.discard(_kind_of(page, box))
            box.check()
        painted(page)
        assert canvas.evaluate(COUNT) == whole
    assert kinds == set()


def _kind_of(page: Any, box: Any) -> str:
    word = box.evaluate("b => b.closest('label').textContent")
    return next(key for key, kind in scene_of(page)["kinds"].items() if kind["name"] == word)


@BOTH
def test_a_click_tells_name_count_and_file(page: Any, built: dict[str, Path]) -> None:
    canvas = canvas_of(page)
    folder = built["reading-nook"]
    with (folder / "lists" / "parts.csv").open(newline="") as file:
        counts = {row["item"]: row["count"] for row in csv.DictReader(file)}
    x, y = named(page)["E"]
    box = canvas.bounding_box()
    page.mouse.click(box["x"] + x, box["y"] + y)
    painted(page)
    said = page.locator(".viewer .name")
    text = said.inner_text()
    assert text.startswith(f"Diffuser, panel E. In the wall: {counts['diffuser']}.")
    link = said.locator("a").get_attribute("href")
    assert (folder / "book" / link).resolve().is_file()
    page.mouse.click(box["x"] + 3, box["y"] + 3)
    painted(page)
    assert said.inner_text() == ""


@DESK
def test_one_panel_alone_is_shown(page: Any) -> None:
    canvas_of(page)
    page.locator(".viewer select").select_option("F")
    painted(page)
    assert set(named(page)) == {"F"}


@PHONE
def test_fingers_turn_and_pinch_the_view(page: Any) -> None:
    canvas = canvas_of(page)
    session = page.context.new_cdp_session(page)
    x, y = middle(canvas)
    before = canvas.evaluate(COUNT)
    touch(session, "touchStart", (x, y))
    touch(session, "touchMove", (x + 60, y + 20))
    touch(session, "touchMove", (x + 90, y + 30))
    touch(session, "touchEnd")
    painted(page)
    turned = canvas.evaluate(COUNT)
    assert turned != before
    pinch(page, canvas)
    assert canvas.evaluate(COUNT)[0] > turned[0]  # a pinch outwards makes it larger
    assert float(canvas.get_attribute("data-zoom")) > 1.5


@DESK
def test_things_stand_where_the_design_puts_them(page: Any, built: dict[str, Path]) -> None:
    """Counts of items against the lists: one header a mated joint, caps, clips a joint, LEDs a lit
    panel; a header in the middle of its two panels.
    """
    scene = scene_of(page)
    counts = json.loads((built["reading-nook"] / "manifest.json").read_text())["counts"]
    number = {kind: sum(1 for i in scene["items"] if i["kind"] == kind) for kind in scene["kinds"]}
    assert number["header"] == counts["headers"]
    assert number["cap"] == counts["caps"]
    assert number["clip"] == counts["joints"]
    assert number["led"] == number["board"] == counts["panels"]
    assert number["wall screw"] == counts["hangers"]
    assert number["inlet"] == counts["inlets"]
    panels = {panel["name"]: panel for panel in scene["panels"]}
    for item in scene["items"]:
        if item["kind"] == "header":
            a, b = (panels[name] for name in item["panels"])
            apart = math.dist((a["x"], a["y"]), (b["x"], b["y"]))
            mid = (
                item["x"] + apart / 2 * math.cos(item["a"]),
                item["y"] + apart / 2 * math.sin(item["a"]),
            )
            assert mid == pytest.approx(((a["x"] + b["x"]) / 2, (a["y"] + b["y"]) / 2), abs=0.01)
