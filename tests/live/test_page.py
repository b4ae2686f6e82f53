"""The page in a real browser: it follows, marks, tells faults, tries, and nothing in it runs or
jumps.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.live.conftest import Watched, job_text

pytestmark = pytest.mark.browser

RANGED = True
SIZES = {"desktop": (1280, 900), "phone": (390, 844)}
HOSTILE = "<img src=x onerror=window.hit=1>"


@pytest.fixture(scope="module")
def page(browser: Any, watched: Watched) -> Iterator[Any]:
    """The page of the module's watch, with a list of all that went wrong in it."""
    opened = _opened(browser, watched, "desktop", "light")
    yield opened
    assert opened.faults == []
    opened.close()


def _opened(browser: Any, watched: Watched, size: str, scheme: str) -> Any:
    width, height = SIZES[size]
    opened = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)
    opened.faults = []
    opened.on(
        "console",
        lambda told: opened.faults.append(told.text) if told.type in ("error", "warning") else None,
    )
    opened.on("pageerror", lambda error: opened.faults.append(str(error)))
    opened.on(
        "request",
        lambda asked: (
            None
            if asked.url.startswith((watched.address, "data:"))
            else opened.faults.append(asked.url)
        ),
    )
    opened.goto(watched.address)
    opened.wait_for_selector("#stage svg")
    return opened


def saved(page: Any, watched: Watched, layout: str, title: str) -> None:
    """Save a layout, and wait until the page shows all of it."""
    watched.save(job_text(layout, title=title))
    page.wait_for_selector(f"#title:text-is('{title}')")
    page.wait_for_selector("body[data-busy=false]")


def letters(page: Any) -> list[str]:
    found = page.locator("#stage svg text").all_text_contents()
    return sorted(text for text in found if len(text) == 1 and text.isalpha())


def figure(page: Any, name: str) -> str:
    row = page.locator("#rows div").filter(has=page.locator(f"dt:text-is('{name}')"))
    return str(row.locator("dd").inner_text())


def test_a_button_pressed_before_the_first_state_raises_nothing(
    browser: Any, watched: Watched
) -> None:
    opened = browser.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    opened.route("**/state.json", lambda route: route.fulfill(body="null"))
    opened.goto(watched.address)
    opened.click("#larger")
    opened.wait_for_selector("#status:text-is('Waiting.')")
    assert faults == []
    opened.close()


def test_a_save_changes_picture_and_figures_with_marks(page: Any, watched: Watched) -> None:
    saved(page, watched, 'map = "A B"', "two")
    assert letters(page) == ["A", "B"]
    saved(page, watched, 'map = "A B C"', "three")
    assert letters(page) == ["A", "B", "C"]
    assert figure(page, "Panels") == "2 → 3"
    assert page.locator("#stage svg .changed").count() > 0
    assert page.locator("#changed").inner_text().startswith("New: C")
    page.locator("#before").check()
    assert letters(page) == ["A", "B"]
    page.locator("#before").uncheck()
    assert letters(page) == ["A", "B", "C"]


def test_a_broken_file_is_told_over_the_old_picture_and_goes(page: Any, watched: Watched) -> None:
    saved(page, watched, 'map = "A B"', "good")
    watched.save(job_text().replace("brightness", "brightnes"))
    page.wait_for_selector("#faults:not([hidden]):has-text('line 14')")
    told = page.locator("#faults").inner_text()
    assert "line 14" in told
    assert "brightnes = 0.2" in told
    assert "power.brightness" in told
    assert letters(page) == ["A", "B"]
    assert float(page.locator("#stage figure").evaluate("f => getComputedStyle(f).opacity")) < 0.5
    box, stage = page.locator("#faults").bounding_box(), page.locator("#stage").bounding_box()
    assert stage["y"] <= box["y"] < stage["y"] + stage["height"]  # on top of it: nothing moved
    saved(page, watched, 'map = "A B D"', "mended")
    assert not page.locator("#faults").is_visible()
    assert letters(page) == ["A", "B", "D"]


def test_a_slider_tries_and_nothing_is_saved(page: Any, watched: Watched) -> None:
    saved(page, watched, 'map = "A B"', "sliders")
    page.locator("#knob-panel-across_flats").focus()
    before = watched.path.read_text()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.wait_for_selector("#trial-time:has-text('Checked')")
    assert figure(page, "Size on the wall") == "240 x 139 mm → 244 x 141 mm"
    assert "across_flats = 122  # trial; was 120" in page.locator("#toml").inner_text()
    assert watched.path.read_text() == before
    page.locator("#copy").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#copied:not(:empty)")
    watched.save(before.replace('"hexagon-120"', '"hexagon-120"\nacross_flats = 122'))
    page.wait_for_selector("#trial-note", state="hidden")  # what was tried stands in the file now
    assert figure(page, "Size on the wall").endswith("244 x 141 mm")


def test_hostile_words_stay_text(page: Any, watched: Watched) -> None:
    layout = "map = 'A B'\n[[layout.panel]]\nname = '<b>x</b>'\ncell = [0, 1]"
    text = job_text(layout).replace('title = ""', f"title = '{HOSTILE}'")
    watched.save(text)
    page.wait_for_function("() => document.getElementById('title').textContent.startsWith('<img')")
    watched.save(text.replace("[power]", f"[power]\n'{HOSTILE}' = 1"))
    page.wait_for_selector("#faults:not([hidden])")
    assert HOSTILE in page.locator("#faults").inner_text()
    assert page.locator("#title img, #faults img, #stage img, #stage b").count() == 0
    assert page.evaluate("window.hit") is None
    saved(page, watched, 'map = "A B"', "calm")


def test_the_policy_holds_the_page(page: Any) -> None:
    """What a script in the page would try: another address, a script of a string, a style."""
    told = page.evaluate(
        """async () => {
            const seen = [];
            document.addEventListener("securitypolicyviolation", 
                e => seen.push(e.effectiveDirective));
            await fetch("http://127.0.0.1:9/x").catch(() => 0);
            const made = document.createElement("script");
            made.textContent = "window.hit = 1";
            document.body.append(made);
            const image = new Image();
            image.src = "http://127.0.0.1:9/x.png";
            await new Promise(done => setTimeout(done, 200));
            made.remove();
            return [window.hit, seen.sort()];
        }"""
    )
    assert told[0] is None
    assert set(told[1]) == {"connect-src", "img-src", "script-src-elem"}
    page.faults.clear()


def test_scroll_view_and_focus_stay(page: Any, watched: Watched) -> None:
    saved(page, watched, 'map = "A B"', "still")
    page.locator("#tab-wall").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#tab-section").get_attribute("aria-selected") == "true"
    page.locator("#quiet summary").click()
    page.evaluate("scrollTo(0, 300)")
    place = page.locator("#quiet summary").bounding_box()["y"]
    saved(page, watched, 'map = "A B C"', "moved")
    assert page.locator("#tab-section").get_attribute("aria-selected") == "true"
    assert abs(page.locator("#quiet summary").bounding_box()["y"] - place) <= 1
    assert page.locator("#quiet").get_attribute("open") is not None
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
    page.locator("#tab-wall").click()
    page.locator("#quiet summary").click()


SCENE = {
    "meshes": [],
    "kinds": {"base": {"name": "bases", "a": 1, "lift": 0, "out": 0, "c": [0, 0, 0]}},
    "things": [],
    "items": [],
    "panels": [{"name": name, "x": x, "y": 0, "z": 0, "r": 60} for name, x in (("A", 0), ("B", 9))],
    "whole": {"x": 0, "y": 0, "z": 0, "wide": 60, "high": 60},
    "says": "Two panels.",
    "spread": 0.3,
    "lift": 50,
    "front": 1,
}


def test_a_new_scene_is_seen_as_the_old_one_was(page: Any) -> None:
    """Turn, tilt, what is shown and the focus stay; no context of the graphics card is left."""
    page.route("**/scene.json", lambda route: route.fulfill(json=SCENE))
    page.evaluate("state.views.solid = { key: 'one' }; choose('solid')")
    canvas = page.locator("#solid canvas")
    canvas.focus()
    for key in ("ArrowLeft", "ArrowLeft", "ArrowUp", "+"):
        page.keyboard.press(key)
    page.locator("#solid label:has-text('bases') input").uncheck()
    page.locator("#solid label:has-text('Names') input").uncheck()
    page.locator("#solid select").select_option("B")
    canvas.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('#solid canvas').dataset.turn === '0.470'")
    before = canvas.evaluate("one => { window.old = one; return { ...one.dataset }; }")
    page.evaluate("state.views.solid = { key: 'two' }; showView()")
    page.wait_for_function("() => document.querySelector('#solid canvas') !== window.old")
    assert canvas.evaluate("one => ({ ...one.dataset })") == before
    assert page.evaluate("document.activeElement.tagName") == "CANVAS"
    assert not page.locator("#solid label:has-text('bases') input").is_checked()
    assert not page.locator("#solid label:has-text('Names') input").is_checked()
    assert page.locator("#solid select").input_value() == "B"
    assert page.evaluate("window.old.getContext('webgl2').isContextLost()")
    page.unroute("**/scene.json")
    page.evaluate("delete state.views.solid; choose('wall')")


def test_the_room_is_drawn_and_the_legend_can_be_read(page: Any, watched: Watched) -> None:
    """Places without screws, studs and rails in the picture; words of the legend at the page's
    size, however small the picture is.
    """
    room = "\nzones = [[[-90, -40], [-70, -40], [-70, -30]]]\nstuds = [0]\nrails = [50]\n"
    watched.save(job_text('map = "A B"', title="room").rstrip() + room)
    page.wait_for_selector("#title:text-is('room')")
    titles = page.locator("#stage svg title").all_text_contents()
    assert {"keep free of screws", "stud at x 0 mm", "rail at y 50 mm"} <= set(titles)
    words = page.locator("#stage .legend li")
    assert {"inlet, its cable leaves here", "screw", "header"} <= set(words.all_inner_texts())
    assert words.first.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= 14
    saved(page, watched, 'map = "A B"', "no room")


def test_a_trial_names_what_fails(page: Any, watched: Watched) -> None:
    """A light that is uneven: by the checks of light, beside the picture and in the list."""
    saved(page, watched, 'map = "A"', "uneven")
    page.wait_for_selector("#knob-panel-depth")
    page.locator("#knob-panel-depth").evaluate(
        "one => { one.value = 36; one.dispatchEvent(new Event('input')); }"
    )
    page.wait_for_selector("#trial-time:has-text('Checked: light.')")
    assert "light.evenness" in page.locator("#shown li.fail").all_inner_texts()[0]
    page.locator("#trial-end").click()
    assert not page.locator("#trial-note").is_visible()
    assert page.locator("#shown li.fail").count() == 0


def test_all_is_reached_by_keyboard(page: Any) -> None:
    page.reload()
    page.wait_for_selector("#sliders input")
    reached = []
    for _ in range(24):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate(
                "[document.activeElement.id || document.activeElement.className,"
                " getComputedStyle(document.activeElement).outlineStyle]"
            )
        )
    ids = list(dict.fromkeys(name for name, _ in reached))
    wanted = ["skip", "tab-wall", "smaller", "larger", "knob-panel-depth", "knob-layout-turn_deg"]
    assert [name for name in ids if name in wanted] == wanted
    assert {style for name, style in reached if name in wanted} <= {"solid", "auto"}


@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        ("desktop", "light"),
        ("phone", "dark"),
        pytest.param("desktop", "dark", marks=pytest.mark.slow),
        pytest.param("phone", "light", marks=pytest.mark.slow),
    ],
)
def test_it_fits_the_screen_and_can_be_read(
    browser: Any, page: Any, watched: Watched, size: str, scheme: str
) -> None:
    """Nothing wider than the screen; no serious fault of access, contrast among them (WCAG 2.2 AA
    as axe-core asks it), with a fault on top as well.
    """
    axe = pytest.importorskip("axe_core_python.sync_playwright")
    saved(page, watched, 'map = "A B"', f"{size} {scheme}")
    opened = _opened(browser, watched, size, scheme)
    opened.wait_for_selector("#sliders input")
    watched.save("broken = ")
    opened.wait_for_selector("#faults:not([hidden])")
    wide = opened.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    hidden = {"exclude": [["#stage"]]}  # the pictures: asked of the book; dimmed under a fault
    found = axe.Axe().run(opened, context=hidden)["violations"]
    assert [
        (one["id"], one["nodes"][0]["html"][:120])
        for one in found
        if one["impact"] in ("serious", "critical")
    ] == []
    assert opened.faults == []
    opened.close()
