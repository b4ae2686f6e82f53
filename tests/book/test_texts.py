"""All texts of several builds, of the parameters and of failing checks, against the rules of
`texts.py`; the rules against sentences that are known to be bad.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from fab.book.glossary import WORDS
from fab.checks.model import told
from fab.checks.plan import plan_checks
from fab.checks.rules import RULES as PLAN_RULES
from fab.errors import InputError
from fab.params.panel import PanelParams
from fab.params.shop import Shop, Stock
from fab.units import figure, percent, some
from tests.book.pages import opened
from tests.book.texts import faults

SHOP = Shop(stock={"opal-3": Stock()})
BAD = (
    "1 panels, 1 screws, 6 pages of A4 after this one",
    "there are 3 panel in the wall",
    "the hole is 6mm wide",
    "43% used",
    "it can't be",
    "the load was reckoned",
    "local codes come before this paper.",
    "the bed, less the panel's body and the margin all round, has left -92 mm",
)


@pytest.mark.parametrize("text", BAD)
def test_the_rules_find_what_is_known_to_be_bad(text: str) -> None:
    assert faults([text])


@pytest.mark.parametrize(
    "text", ["1 panel, 2 screws", "M3 x 10 mm", "1.5 panels", "54 %", "1 : 10"]
)
def test_the_rules_leave_what_is_good(text: str) -> None:
    assert faults([text]) == []


def _texts(folder: Path) -> Iterator[str]:
    """Every text of a build's page, of its pictures, and of its checks."""
    for part in opened(folder / "book" / "index.html").all:
        yield from (text for _, text in part.texts)
        yield from (cell for grid in part.grids for row in grid.rows for cell in row)
        for picture in part.pictures:
            yield from (picture.says, picture.caption, *picture.texts)
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    for check in manifest["checks"]:
        yield from (check["says"], check["remedy"])


@pytest.mark.parametrize(
    "job", ["reading-nook", pytest.param("bedside-lamp", marks=pytest.mark.slow)]
)
def test_no_text_of_a_build_breaks_a_rule(job: str, built: Mapping[str, Path]) -> None:
    texts = list(_texts(built[job]))
    assert len(texts) > 500
    assert faults(texts) == []


@pytest.mark.parametrize("designs", [3, pytest.param(12, marks=pytest.mark.slow)])
def test_no_failing_plan_check_breaks_a_rule(designs: int) -> None:
    """Results are label, figure, limit: of random designs, many of which cannot be."""
    from fab.parts.planning import plan

    rng = random.Random(7)
    said: list[str] = []
    for _ in range(designs):
        size = rng.uniform(45, 330)
        params = PanelParams(
            sides=rng.choice((3, 4, 6)),
            edge=size,
            depth=rng.uniform(16, 60),
            corner_radius=rng.uniform(0, 20),
        )
        try:
            made = plan(params, SHOP)
        except InputError as error:
            said += [f"{fault.says} {fault.works}" for fault in error.faults]
            continue
        said += [told(verdict) for verdict in plan_checks("panel", made)]
    assert len(said) > 100
    assert any(text.startswith("FAIL") for text in said)
    assert faults(said) == []
    assert all(" needed)" not in text for text in said)
    labels = [rule.says for rule in PLAN_RULES if not rule.bare]
    assert all(
        label[0].isupper() and not label.endswith((" is", " by", " are")) for label in labels
    )


def test_counts_and_measures_in_words() -> None:
    """English plurals; a blank before a unit (ISO 80000-1, 7.1.4)."""
    assert [some(1, "body"), some(2, "body"), some(3, "switch"), some(2, "foot")] == [
        "1 body",
        "2 bodies",
        "3 switches",
        "2 feet",
    ]
    assert some(1200, "pixel") == "1,200 pixels"
    assert some(0, "warning") == "0 warnings"
    assert [some(n, "tray") for n in (1, 2)] == ["1 tray", "2 trays"]
    assert figure(46994.169, "mm3") == "46994 mm³"
    assert figure(0.21, "mm") == "0.21 mm"
    assert figure(1.0, "panels") == "1 panel"
    assert figure(75.0, "degC") == "75 °C"
    assert figure(8e-6, "mm") == "0.000008 mm"
    assert figure(float("inf"), "mm") == "none"
    assert percent(0.435) == "44 %" or percent(0.435) == "43 %"


def test_the_glossary_has_the_words_of_the_trade_in_order() -> None:
    words = [word for word, _ in WORDS]
    assert words == sorted(words)
    assert {"base", "board", "cap", "clip", "header", "jumper", "zone", "kerf", "mark"} <= set(
        words
    )
    assert all(text.endswith(".") for _, text in WORDS)
