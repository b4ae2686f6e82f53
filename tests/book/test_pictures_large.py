"""Pictures, tables and the browser's own print: on a phone, on a screen, on paper.

A letter of at least 9 px is what this project asks for; no standard gives a least size.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.book.opened import painted, pinch
from tests.book.prints import alone_at_a_foot, read
from tests.book.test_print import HEADINGS

pytestmark = pytest.mark.browser
PHONE = pytest.mark.parametrize("page", [("phone", True)], indirect=True)
DESK = pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
BOTH = pytest.mark.parametrize(
    "page",
    [("desktop", True), pytest.param(("phone", True), marks=pytest.mark.slow)],
    indirect=True,
)
LETTERS = """all => all.flatMap(text => {
    const svg = text.closest('svg');
    const wide = svg.getBoundingClientRect().width;
    if (getComputedStyle(text).visibility === 'hidden' || !wide) return [];
    const scale = wide / svg.viewBox.baseVal.width;
    return [[parseFloat(text.getAttribute('font-size')) * scale, text.textContent,
        svg.querySelector('title').textContent]]; })"""


@BOTH
def test_no_letter_is_smaller_than_nine_pixels(page: Any) -> None:
    """In pictures; in the text, every font size of the style sheet."""
    seen = page.locator("figure svg text").evaluate_all(LETTERS)
    assert len(seen) > 150
    assert [one for one in seen if one[0] < 8.99] == []
    small = page.evaluate(
        """() => [...document.querySelectorAll('main *')].filter(e =>
        !e.closest('svg') && e.textContent &&
        parseFloat(getComputedStyle(e).fontSize) < 12).length"""
    )
    assert small == 0


@pytest.mark.slow
@PHONE
def test_every_picture_opens_large_and_zooms_by_fingers(page: Any) -> None:
    """Each; two of them are pinched: the one with the most letters, and one of dots."""
    figures = page.locator("figure:has(> .enlarge)").all()
    shown = [one for one in figures if one.is_visible()]
    assert len(shown) >= 25
    assert page.locator("figure:not(:has(> .enlarge))").count() == 0
    room = page.locator("dialog .room")
    for number, figure in enumerate(shown):
        dots = figure.locator("img").count() == 1
        if number % 12 and not dots and "fit by its name" not in figure.inner_text():
            continue
        figure.locator(".enlarge").click()
        painted(page)
        picture = room.locator("> *")
        small = picture.bounding_box()["width"]
        pinch(page, room)
        assert picture.bounding_box()["width"] > 2.5 * small
        for _ in range(5):
            page.get_by_role("button", name="Zoom in").click()
        letters = room.locator("svg text").evaluate_all(LETTERS)
        assert all(size >= 9 for size, _, _ in letters)
        page.keyboard.press("Escape")
        painted(page)
        assert not page.locator("dialog").is_visible()
        assert figure.locator("svg, img").count() >= 1  # it is back in its place


@DESK
def test_keys_and_wheel_zoom_a_large_picture_and_a_link_in_it_leads_on(page: Any) -> None:
    page.locator("#wall .enlarge").click()
    picture = page.locator("dialog .room > *")
    wide = picture.bounding_box()["width"]
    for key in ("+", "+", "ArrowRight"):
        page.keyboard.press(key)
    assert picture.bounding_box()["width"] == pytest.approx(wide * 1.25**2, rel=0.01)
    page.keyboard.press("0")
    assert picture.bounding_box()["width"] == pytest.approx(wide, rel=0.01)
    page.locator("dialog a[href='#panel-B']").click()
    assert page.url.endswith("#panel-B")
    assert not page.locator("dialog").is_visible()


@PHONE
def test_what_scrolls_sideways_says_so(page: Any) -> None:
    frames = page.locator(".scroll, .sheet").evaluate_all(
        "all => all.filter(f => f.offsetParent).map(f => [f.scrollWidth > f.clientWidth + 2,"
        " !!f.previousElementSibling && f.previousElementSibling.className === 'hint'"
        " && !f.previousElementSibling.hidden, f.tabIndex])"
    )
    assert sum(1 for wide, _, _ in frames if wide) > 5
    assert [one for one in frames if one[0] != one[1]] == []
    assert all(tab == 0 for wide, _, tab in frames if wide)  # and by keyboard
    table = page.locator("#addresses .scroll")
    table.evaluate("t => { t.scrollLeft = 300; }")
    box, first = table.bounding_box(), table.locator("tbody th").first.bounding_box()
    assert first["x"] == pytest.approx(box["x"], abs=1.5)  # the first column stays


@pytest.mark.slow
@pytest.mark.parametrize("page", [("desktop", True)], indirect=True)
def test_the_browsers_print_is_as_good_as_the_books(
    page: Any, built: dict[str, Path], tmp_path: Path
) -> None:
    """A4: about as many pages, no heading alone at a foot, nothing that only a screen has."""
    path = tmp_path / "printed.pdf"
    page.pdf(path=str(path), format="A4", prefer_css_page_size=True)
    book, made = read(path), read(built["reading-nook"] / "book" / "book.pdf")
    assert len(book.pages) <= 1.25 * len(made.pages)
    assert alone_at_a_foot(book, HEADINGS) == []
    assert "Open large" not in book.text
    assert "Scroll sideways" not in book.text
    assert "Parts shown" not in book.text


@DESK
def test_the_appendix_is_folded_until_it_is_asked_for(page: Any) -> None:
    folded = page.locator("#checks-in-full details")
    assert not folded.locator("table").is_visible()
    page.locator("nav a[href='#checks-in-full']").click()
    folded.locator("table").wait_for(state="visible")  # the address changes after the click
