"""The book in a real browser: no errors, no requests, nothing cut off, the view draws, ticks stay,
links lead somewhere.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from fab.files.dochtml import html
from tests.book.opened import listened
from tests.book.test_escape import everything

pytestmark = pytest.mark.browser

# what graphics without a card tell of themselves
DRIVERS = (
    "GPU stall",
    "GL Driver",
    "software WebGL",
)
PAGES = [
    ("desktop", True),
    pytest.param(("phone", True), marks=pytest.mark.slow),
    pytest.param(("desktop", False), marks=pytest.mark.slow),
    ("phone", False),
]


@pytest.mark.parametrize(
    "page", PAGES, indirect=True, ids=lambda value: f"{value[0]}-{'js' if value[1] else 'nojs'}"
)
def test_it_opens_clean_and_nothing_is_cut_off(page: Any) -> None:
    page.wait_for_timeout(300)
    assert [fault for fault in page.faults if not any(word in fault for word in DRIVERS)] == []
    wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide[0] <= wide[1] + 1
    assert page.locator("figure svg").count() > 8
    drawn = page.locator(".viewer canvas").count() == 1
    assert drawn == page.scripts
    assert page.locator("#wall svg").is_visible()  # with the live view and without


@pytest.mark.slow
def test_a_fault_of_the_page_is_seen_by_these_tests(browser: Any, tmp_path: Path) -> None:
    """The listeners of this file hear an error, a warning, an uncaught error and a request, blocked
    or not.
    """
    for k, bad in enumerate(
        (
            "<script>console.error('odd')</script>",
            "<script>console.warn('odd')</script>",
            "<script>nothing()</script>",
            "<img src='http://127.0.0.1:9/x.png'>",
            "<link rel='stylesheet' href='http://127.0.0.1:9/x.css'>",
            (
                "<style>@font-face { font-family: x; src: url(http://127.0.0.1:9/x.ttf) } p {"
                " font-family: x }</style><p>x</p>"
            ),
        )
    ):
        (tmp_path / f"{k}.html").write_text(
            f"<!DOCTYPE html><title>x</title>{bad}", encoding="utf-8"
        )
        context = browser.new_context()
        opened = listened(context.new_page())
        opened.goto((tmp_path / f"{k}.html").as_uri())
        opened.wait_for_timeout(200)
        assert opened.faults, bad
        context.close()


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
    doubles = page.evaluate(
        "(() => { const seen = {}, twice = []; document.querySelectorAll('[id]').forEach(e => { if"
        " (seen[e.id]) twice.push(e.id); seen[e.id] = 1; }); return twice; })()"
    )
    assert doubles == []
    broken = page.eval_on_selector_all(
        "img", "all => all.filter(i => !i.complete || !i.naturalWidth).length"
    )
    assert broken == 0


@pytest.mark.parametrize(
    "page",
    [("desktop", True), pytest.param(("phone", True), marks=pytest.mark.slow)],
    indirect=True,
)
def test_a_panel_of_the_plan_leads_to_its_row_and_its_base(
    page: Any, built: dict[str, Path]
) -> None:
    folder = built["reading-nook"]
    with (folder / "lists" / "panels.csv").open(newline="") as file:
        name, kind = next(
            (row["name"], row["base"])
            for row in csv.DictReader(file)
            if row["base"].startswith("inlet-turned")
        )
    page.locator(f"#wall a[href='#panel-{name}']").click()
    row = page.locator("tr:target")
    assert row.locator("th, td").nth(2).inner_text() == name
    box = row.bounding_box()
    assert 0 <= box["y"] <= page.viewport_size["height"]
    link = row.locator("a[href^='../print/']").get_attribute("href")
    assert link.startswith(f"../print/base-{kind}_x")
    assert (folder / "book" / link).resolve().is_file()
    row.locator("a[href='#wall']").click()
    assert page.url.endswith("#wall")


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_ticks_survive_a_reload(page: Any, built: dict[str, Path]) -> None:
    """Kept under the hash of the inputs, so that another build begins without them."""
    box = page.locator("input[data-tick]").first
    box.check()
    page.reload()
    again = page.locator("input[data-tick]").first
    assert again.is_checked()
    assert "ticked" in (again.evaluate("b => b.closest('tr').className") or "")
    assert page.locator("tr.ticked").count() == 1
    digest = json.loads((built["reading-nook"] / "manifest.json").read_text(encoding="utf-8"))[
        "inputs_sha256"
    ]
    (key,) = page.evaluate("Object.keys(localStorage)")
    assert len(key.removeprefix("ticks:")) >= 16
    assert digest.startswith(key.removeprefix("ticks:"))
    again.uncheck()
    page.reload()
    assert not page.locator("input[data-tick]").first.is_checked()


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_all_is_reached_by_keyboard(page: Any) -> None:
    """Skip link first; from a panel in the picture to its row; view and boxes take the focus and
    show it.
    """
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate(
                "(() => { const e = document.activeElement; return [e.tagName.toLowerCase(),"
                " e.getAttribute('href') || e.getAttribute('type') || '',"
                " getComputedStyle(e).outlineStyle]; })()"
            )
        )
    assert reached[0][1] == "#main"
    assert {"#panel-A", "#panel-I", "range", "checkbox", "button"} <= {
        where for _, where, _ in reached
    }
    assert "canvas" in {tag for tag, _, _ in reached}
    assert {ring for _, _, ring in reached} <= {"solid", "auto"}
    page.locator("a[href='#panel-G']").focus()
    page.keyboard.press("Enter")
    assert page.url.endswith("#panel-G")
    row = page.locator("#panel-G input")
    row.focus()
    page.keyboard.press("Space")
    assert row.is_checked()


# Of each text in a picture: contrast to what is painted below its middle (WCAG 2.2, relative
# luminance), text, picture.
CONTRAST = """() => {
    const linear = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
    const light = c => {
        const f = c.map(v => linear(v / 255));
        return .2126 * f[0] + .7152 * f[1] + .0722 * f[2];
    };
    const ratio = (a, b) => {
        const [x, y] = [light(a), light(b)];
        return (Math.max(x, y) + .05) / (Math.min(x, y) + .05);
    };
    const parts = t => {
        const m = t.match(/[\\d.]+/g).map(Number);
        return [m.slice(0, 3), m.length > 3 ? m[3] : 1];
    };
    const told = [];
    document.querySelectorAll("figure svg text").forEach(text => {
        text.scrollIntoView({ block: "center" });
        const box = text.getBoundingClientRect(), 
            hit = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        const below = e => e instanceof SVGGeometryElement
            && text.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_PRECEDING;
        const sheet = hit.findIndex(e => e.classList.contains("sheet"));
        const under = hit.slice(0, sheet).filter(below);
        let ground = [255, 255, 255];
        under.reverse().forEach(e => {
            const s = getComputedStyle(e);
            if (s.fill === "none") return;
            const [c, a] = parts(s.fill), o = a * s.fillOpacity;
            ground = ground.map((g, k) => g * (1 - o) + c[k] * o);
        });
        const title = text.closest("svg").querySelector("title").textContent;
        told.push([ratio(parts(getComputedStyle(text).fill)[0], ground), text.textContent, title]);
    });
    return told;
}"""


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_texts_in_pictures_can_be_read(page: Any) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1. The rule engine below can't tell for pictures."""
    told = page.evaluate(CONTRAST)
    assert len(told) > 300
    assert [(round(ratio, 2), text, picture) for ratio, text, picture in told if ratio < 4.5] == []
    page.add_style_tag(content="figure svg text { fill: #c9c5bb !important; }")
    assert min(ratio for ratio, _, _ in page.evaluate(CONTRAST)) < 1.8  # it does see pale letters


@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_it_prints_dark_on_white_without_what_only_a_screen_has(page: Any) -> None:
    """Also for those who like their screen dark: the list of chapters and the live view stay out,
    the still is there.
    """
    page.emulate_media(media="print", color_scheme="dark")
    assert not page.locator("nav").first.is_visible()
    assert not page.locator(".viewer canvas").is_visible()
    assert not page.locator("a.up").is_visible()
    assert page.locator("#wall svg").is_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    for words in ("p", "figcaption", "dt", "th", "footer p", ".caution"):
        ink = page.evaluate("w => getComputedStyle(document.querySelector(w)).color", words)
        assert max(map(int, ink.removeprefix("rgb(").removesuffix(")").split(","))) < 110, (
            words
        )  # #6e6e6e is 5 to 1 on white
    caution = page.evaluate("getComputedStyle(document.querySelector('.caution')).backgroundColor")
    assert min(map(int, caution.removeprefix("rgb(").removesuffix(")").split(","))) > 200


def _faults_of_access(page: Any) -> list[tuple[str, str, str]]:
    """WCAG 2.2 AA as far as a machine can tell: axe-core, an open rule engine."""
    axe = pytest.importorskip("axe_core_python.sync_playwright")
    # nothing in them to hear; contrast is asked above
    found = axe.Axe().run(page, context={"exclude": [["figure svg path"], ["figure svg text"]]})
    return [
        (v["id"], v["impact"], v["nodes"][0]["html"][:160])
        for v in found["violations"]
        if v["impact"] != "minor"
    ]


@pytest.mark.slow
@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_fault_of_access(page: Any, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    page.reload()
    # what is folded is hidden, and its colours are looked for on whatever lies there
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert _faults_of_access(page) == []


def test_no_serious_fault_of_access_in_any_kind_of_block(browser: Any, tmp_path: Path) -> None:
    """The same for a page of one block a kind, in both schemes; and pale letters are a fault."""
    (tmp_path / "page.html").write_bytes(html(everything(lambda word: f"the {word}")))
    page = browser.new_page()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.goto((tmp_path / "page.html").as_uri())
        assert _faults_of_access(page) == []
    page.add_style_tag(content="figcaption, p { color: #555 !important; }")
    assert "color-contrast" in {rule for rule, _, _ in _faults_of_access(page)}
    page.close()
