"""The book in a real browser: no errors, no requests, nothing cut off, the view draws, ticks stay, links lead somewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

WIDTHS = {"desktop": (1280, 900), "phone": (390, 844)}


@pytest.fixture
def page(browser: Any, built: dict[str, Path], request: pytest.FixtureRequest) -> Any:
    """The demo's book at a width, with a list of everything that went wrong."""
    width, scripts = request.param
    context = browser.new_context(viewport={"width": WIDTHS[width][0], "height": WIDTHS[width][1]}, java_script_enabled=scripts, has_touch=width == "phone")
    opened = context.new_page()
    opened.faults = []
    opened.on("console", lambda message: opened.faults.append(message.text) if message.type in ("error", "warning") else None)
    opened.on("pageerror", lambda error: opened.faults.append(str(error)))
    opened.on("request", lambda asked: opened.faults.append(asked.url) if not asked.url.startswith(("file:", "data:")) else None)
    opened.goto((built["reading-nook"] / "book" / "index.html").as_uri())
    yield opened
    context.close()


COUNT = """c => { const g = c.getContext('webgl2'), p = new Uint8Array(c.width * c.height * 4);
    g.readPixels(0, 0, c.width, c.height, g.RGBA, g.UNSIGNED_BYTE, p);
    let n = 0, h = 0; for (let i = 0; i < p.length; i += 4) { if (p[i] < 250) n++; h = (h * 31 + p[i]) | 0; } return [n / (p.length / 4), h]; }"""  # share of pixels that are painted, and a sum of all
BOTH = [("desktop", True), ("phone", True), ("desktop", False), ("phone", False)]


@pytest.mark.parametrize("page", BOTH, indirect=True, ids=lambda value: f"{value[0]}-{'js' if value[1] else 'nojs'}")
def test_it_opens_clean_and_nothing_is_cut_off(page: Any) -> None:
    page.wait_for_timeout(300)
    faults = [fault for fault in page.faults if "GPU stall" not in fault and "GL Driver" not in fault]
    assert faults == []
    if page.context.pages and page.locator("html").count():
        wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]") if _scripts(page) else None
        if wide:
            assert wide[0] <= wide[1] + 1
    assert page.locator("figure svg").count() > 8


def _scripts(page: Any) -> bool:
    try:
        return bool(page.evaluate("1 + 1") == 2)
    except Exception:
        return False


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_every_link_and_picture_resolves(page: Any, built: dict[str, Path]) -> None:
    folder = built["reading-nook"] / "book"
    links = page.eval_on_selector_all("a[href]", "all => all.map(a => a.getAttribute('href'))")
    assert len(links) > 30
    ids = set(page.eval_on_selector_all("[id]", "all => all.map(a => a.id)"))
    for link in links:
        if link.startswith("#"):
            assert link[1:] in ids, link
        else:
            assert (folder / link).resolve().is_file(), link
    doubles = page.evaluate("(() => { const seen = {}, twice = []; document.querySelectorAll('[id]').forEach(e => { if (seen[e.id]) twice.push(e.id); seen[e.id] = 1; }); return twice; })()")
    assert doubles == []
    broken = page.eval_on_selector_all("img", "all => all.filter(i => !i.complete || !i.naturalWidth).length")
    assert broken == 0


@pytest.mark.parametrize("page", [("desktop", True), ("phone", True)], indirect=True)
def test_the_view_draws_and_turns(page: Any) -> None:
    canvas = page.locator(".viewer canvas")
    canvas.scroll_into_view_if_needed()
    share, before = canvas.evaluate(COUNT)
    assert share > 0.05
    canvas.focus()
    for _ in range(4):
        page.keyboard.press("ArrowLeft")
    _painted(page)
    assert canvas.evaluate(COUNT)[1] != before
    slider = page.locator(".viewer input[type=range]")
    turned = canvas.evaluate(COUNT)[1]
    slider.evaluate("s => { s.value = 80; s.dispatchEvent(new Event('input')); }")
    _painted(page)
    assert canvas.evaluate(COUNT)[1] != turned
    page.mouse.move(*_middle(canvas))
    _painted(page)
    assert page.locator(".viewer .name").inner_text() != ""


@pytest.mark.parametrize("page", [("phone", True)], indirect=True)
def test_fingers_turn_and_pinch_the_view(page: Any) -> None:
    canvas = page.locator(".viewer canvas")
    canvas.scroll_into_view_if_needed()
    session = page.context.new_cdp_session(page)
    x, y = _middle(canvas)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": a, "y": b, "id": k} for k, (a, b) in enumerate(points)]})

    seen = [canvas.evaluate(COUNT)]
    touch("touchStart", (x, y))
    touch("touchMove", (x + 60, y + 20))
    touch("touchMove", (x + 90, y + 30))
    touch("touchEnd")
    _painted(page)
    seen.append(canvas.evaluate(COUNT))
    touch("touchStart", (x - 30, y), (x + 30, y))
    touch("touchMove", (x - 60, y), (x + 60, y))
    touch("touchMove", (x - 90, y), (x + 90, y))
    touch("touchEnd")
    _painted(page)
    seen.append(canvas.evaluate(COUNT))
    assert seen[0] != seen[1]
    assert seen[2][0] > seen[1][0]  # a pinch outwards makes it larger


@pytest.mark.slow
@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_parts_go_off_and_on_and_the_whole_wall_is_shown(page: Any) -> None:
    canvas = page.locator(".viewer canvas")
    canvas.scroll_into_view_if_needed()
    whole = canvas.evaluate(COUNT)
    page.get_by_role("checkbox", name="shell", exact=True).uncheck()
    _painted(page)
    assert canvas.evaluate(COUNT) != whole
    page.get_by_role("checkbox", name="shell", exact=True).check()
    _painted(page)
    assert canvas.evaluate(COUNT) == whole
    page.get_by_role("checkbox", name="one panel only").uncheck()
    page.get_by_role("button", name="Front view").click()
    _painted(page)
    page.mouse.move(*_middle(canvas))
    _painted(page)
    named = {page.locator(".viewer .name").inner_text()}
    box = canvas.bounding_box()
    for k in range(1, 20):
        page.mouse.move(box["x"] + box["width"] * k / 20, box["y"] + box["height"] * 0.65)
        _painted(page)
        named.add(page.locator(".viewer .name").inner_text())
    assert len({name.rpartition(" ")[2] for name in named if name}) >= 4  # several panels of the row


@pytest.mark.parametrize("page", [("desktop", True), ("phone", True)], indirect=True)
def test_a_panel_of_the_plan_leads_to_its_row_and_its_base(page: Any, built: dict[str, Path]) -> None:
    page.locator("#wall a[href='#panel-G']").click()
    row = page.locator("tr:target")
    assert row.locator("th, td").nth(2).inner_text() == "G"
    box = row.bounding_box()
    assert 0 <= box["y"] <= page.viewport_size["height"]
    link = row.locator("a[href^='../print/']").get_attribute("href")
    assert link == "../print/base-inlet_x2.stl"
    assert (built["reading-nook"] / "book" / link).resolve().is_file()
    row.locator("a[href='#wall']").click()
    assert page.url.endswith("#wall")


def _painted(page: Any) -> None:
    """Wait for two frames: what was asked for is drawn then, however busy the machine."""
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def _middle(canvas: Any) -> tuple[float, float]:
    box = canvas.bounding_box()
    return (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_ticks_survive_a_reload(page: Any) -> None:
    box = page.locator("input[data-tick]").first
    box.check()
    page.reload()
    again = page.locator("input[data-tick]").first
    assert again.is_checked()
    assert "ticked" in (again.evaluate("b => b.closest('tr').className") or "")
    again.uncheck()
    page.reload()
    assert not page.locator("input[data-tick]").first.is_checked()


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
def test_no_serious_fault_of_access(page: Any, scheme: str) -> None:
    """WCAG 2.2 AA as far as a machine can tell: axe-core, an open rule engine."""
    axe = pytest.importorskip("axe_core_python.sync_playwright")
    page.emulate_media(color_scheme=scheme)
    page.reload()
    found = axe.Axe().run(page)
    serious = [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"] if v["impact"] in ("serious", "critical")]
    assert serious == []
