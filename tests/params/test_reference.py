"""The reference page: every key, once, made from the declarations."""

from __future__ import annotations

import re

import pytest

from fab.errors import InputError
from fab.params.keys import all_keys, nearest
from fab.params.panel import PanelParams
from fab.params.reference import describe, entries, find, markdown_page, text_page


def test_every_key_of_the_declarations_is_on_the_page() -> None:
    page, marked = text_page(), markdown_page()
    for key in all_keys():
        if key.path[0] == "designs" and len(key.path) > 1:
            continue  # told once, as keys of panel
        assert key.spec.doc in page
        assert f"`{key.path[-1]}`" in marked or f"## `{key.dotted}`" in marked
    names = [row["key"] for row in entries()]
    assert len(names) == len(set(names))
    assert "panel.led.pitch" in names


def test_markdown_tables_are_even() -> None:
    for row in markdown_page().splitlines():
        if row.startswith("|"):
            assert len(re.findall(r"(?<!\\)\|", row)) == 7, row


@pytest.mark.parametrize(
    ("word", "lines"),
    [
        (
            "panel.depth",
            [
                "panel.depth",
                "from wall to rim.",
                "kind     length, mm",
                "48 mm; more in steps of 0.5 mm",
                "allowed  5 to 500 mm",
            ],
        ),
        ("[panel.led]", ["panel.led", "pitch", "lumen"]),
        ("shop.stock.opal-3.kerf", ["shop.stock.<name>.kerf", "source   0.15 to 0.23 mm"]),
        ("shop.stock", ["shop.stock", "thickness"]),
        ("shop.stock.kerf", ["shop.stock.<name>.kerf"]),
        ("designs.tri.depth", ["panel.depth"]),
        ("layout.panel[2].cell", ["layout.panel[].cell"]),
        ("kerf", ["shop.stock.<name>.kerf"]),
        ("led.pitch", ["panel.led.pitch"]),
        ("pitch", ["panel.led.pitch", "panel.header.pitch"]),
        ("panel.edge", ["default  none (derived when left out)"]),
        ("panel", ["base.floor", "led.pitch"]),
        ("designs", ["designs"]),
    ],
)
def test_a_key_is_told(word: str, lines: list[str]) -> None:
    told = describe(word)
    for line in lines:
        assert line in told


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("panel.dpeth", "panel.depth"),
        ("kerff", "shop.stock.<name>.kerf"),
        ("panel.led.pich", "panel.led.pitch"),
        ("qqqqqq", "`panejig params`"),
        ("", "`panejig params`"),
        ("...", "`panejig params`"),
        ("a\x1b[2J", "`panejig params`"),
    ],
)
def test_an_unknown_key_is_told_with_the_nearest(word: str, near: str) -> None:
    with pytest.raises(InputError, match="unknown key") as caught:
        find(word)
    assert near in str(caught.value)
    assert "\x1b" not in str(caught.value)


@pytest.mark.parametrize(
    ("path", "wrong", "near"),
    [
        (("panel",), "dpeth", "Did you mean panel.depth?"),
        (("panel",), "extend", "Did you mean panel.extends?"),
        (("panel",), "pitch", "panel.led.pitch or panel.header.pitch"),
        (("designs", "tri"), "pitch", "designs.tri.led.pitch or designs.tri.header.pitch"),
        (("panel",), "colour", "shop.laser.inner.colour"),
        (("panel",), "qqqq", "Known here: name, sides"),
    ],
)
def test_the_nearest_key(path: tuple[str, ...], wrong: str, near: str) -> None:
    assert near in nearest(PanelParams, path, wrong)
