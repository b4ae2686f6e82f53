"""All texts of several builds, of the parameters and of failing checks, against the rules of
`texts.py`; the rules against sentences that are known to be bad.
"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from fab.book.glossary import WORDS, chapter
from fab.checks.model import told
from fab.checks.plan import plan_checks
from fab.checks.rules import RULES as PLAN_RULES
from fab.errors import InputError
from fab.files.document import Para, Table
from fab.params.keys import Key, all_keys
from fab.params.one_value import Bad
from fab.params.panel import PanelParams
from fab.params.read import load
from fab.params.shop import Shop, Stock
from fab.params.values import convert
from fab.units import figure, percent, some
from fab.verdicts import judge_job
from tests.book.pages import opened
from tests.book.texts import MANY, faults
from tests.cases import few
from tests.tools.messages import messages, of_source

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
    "Remaining width of the bed: -92 mm (minimum 0 mm).",
    "Gap, clip to board: 12.3456 mm",
    "beside it the bed has -92 mm left",
    "Lowest voltage: nan V",
    "no nest needs fewer than 1",
    "the axis of the the socket",
    "between A and B there are 2 mm",
    "the busiest pin",
    "The rest is left out..",
)
COUNTED = re.compile(
    r"\{(?!some\(|fixed\(|most)[^{}]*\} (?:more )?(?:"
    + "|".join(("LEDs", "errors", "copies", "pixels", "variants", "bodies", MANY))
    + r")\b(?! each)"
)
# counts that are never 1, or stand in a text that says so
NEVER_ONE = (
    *("header.pins", "MOST", "len(design.panels)", "len(boards)", "len(segments)", "0 to"),
    *("len(contour.segments)", "len(mark.text)", "len(lifts)", "found.groups", "len(lacking)"),
    *("{most}", "{count} corners", "{elements}", "{kind} files", "int(many)", "rows[0][1].leds"),
    *("led.count", "{count} triangles", "len(order)", "panels.csv", "boards of", "'jumper, '"),
    *("len(layout.joints)", "plan.fixings", "{pins} wires", "base_turn_edges", "{many} corners"),
    *("{len(told) - 1} rows", "len(left)", "len(pages)", "{many} variants"),
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
    for text in said:
        sentence = text.partition("): ")[2]
        assert sentence[:1].isupper() or sentence[:1].isdigit(), text
        assert sentence.rstrip()[-1] in ".!?)", text
    labels = [rule.says for rule in PLAN_RULES if not rule.bare]
    assert all(
        label[0].isupper() and not label.endswith((" is", " by", " are")) for label in labels
    )


def test_no_sentence_of_the_source_breaks_a_rule() -> None:
    """Every text that a user may read, as it stands in the source."""
    found = messages()
    assert len(found) > 3000
    wrong = [str(one) for one in found if faults([one.text])]
    assert wrong == []


def test_no_sentence_of_the_source_has_a_plural_of_its_own() -> None:
    """`units.some` makes plurals: a count before a plural noun would say "1 panels"."""
    found = [
        str(one)
        for one in messages()
        if not one.file.startswith("book/")
        and COUNTED.search(one.text)
        and not any(word in one.text for word in NEVER_ONE)
    ]
    assert found == []


@pytest.mark.parametrize("text", ["{len(x)} panels", "{n} more errors", "{count} LEDs lie there"])
def test_a_plural_of_its_own_is_found(text: str) -> None:
    assert COUNTED.search(text)


def test_the_tool_finds_sentences_and_leaves_code_alone() -> None:
    source = """
'''A docstring is no message.'''
def f(x):
    "Nor is this one."
    raise ValueError("the hole is too small: " f"{x} mm", "a-key", "one")
css = "a { color: red; b: c }"
path = "lists/parts.csv"
"""
    assert [one.text for one in of_source(source)] == ["the hole is too small: {x} mm"]


def _numbers() -> list[Key]:
    """Return all keys that hold one number with a unit."""
    kinds = ("length", "number", "count")
    return [key for key in all_keys() if key.spec.kind in kinds and key.spec.unit]


def test_every_number_of_a_refusal_has_its_unit() -> None:
    """A value out of range is told with the unit, and so are its bounds."""
    keys = _numbers()
    assert len(keys) > 100
    for key in keys:
        spec = key.spec
        assert spec.most is not None
        with pytest.raises(Bad) as caught:
            convert(spec, int(spec.most) + 1 if spec.kind == "count" else spec.most + 0.5)
        said = f"{caught.value} {caught.value.works}"
        assert said.count(f" {spec.unit}") >= 3 or "Write a share" in said, said
        assert faults([said]) == []


def test_what_messages_name_stands_in_the_glossary() -> None:
    """Words of the trade that more than two messages use."""
    rooms = ("checks/", "wall/", "power/", "params/", "cli/")
    said = " ".join(one.text for one in messages() if one.file.startswith(rooms))
    words = {word for word, _ in WORDS}
    trade = (
        *("base", "batten", "bed", "blank cover", "board", "cap", "carrying board", "clip"),
        *("controller", "coupon", "cradle", "crush rib", "diffuser", "edge", "fit", "floor"),
        *("hanger", "header", "inlet", "joint", "jumper", "kerf", "lap", "ledge", "level shifter"),
        *("nest", "offcut", "open edge", "panel", "pin row", "plate", "pocket", "port"),
        *("press rib", "rebate", "roll", "sheet", "shell", "socket", "standoff", "stock", "stud"),
        *("template", "tongue", "wall plug", "window", "zone"),
    )
    used = [word for word in trade if len(re.findall(rf"\b{word}s?\b", said)) > 2]
    assert len(used) > 35
    assert set(used) <= words


FAILING = (
    ("power.brightness=1", "power.supply_a=0.5"),
    ("power.inlets=1", "power.brightness=0.9", "power.cable_mm=9000"),
    ("panel.header.pins=5", "panel.header.power_pins=4", "power.brightness=0.8"),
    ("hang.wall='plasterboard'", "hang.factor=40"),
    ("hang.reach=1", "hang.avoid=['A', 'B', 'C']", "hang.factor=12"),
    ("power.ambient_c=75",),
    ("shop.printer.bed=[90, 90]",),
    ("shop.printer.extrusion_width=1.1", "panel.base.wall=1"),
    ("panel.depth=14", "panel.base.feet=2"),
    ("panel.gap=0", "panel.corner_radius=20", "panel.clips=8"),
    ("power.supply_v=12", "power.logic_v=1.8", "power.level_shifter='none'"),
    ("hang.must=['Z']",),
    ("power.inlet=['A', 'A']",),
)


@pytest.mark.parametrize("sets", few([(sets,) for sets in FAILING], 1, 3, 6, 11), ids=" ".join)
def test_no_failing_job_breaks_a_rule(sets: tuple[str, ...]) -> None:
    """Jobs that cannot be built, judged by all that needs no solid: each fails or is refused."""
    try:
        job = load(Path("params/reading-nook.toml"), sets=sets).job
        said = [told(verdict) for verdict in judge_job(job)]
        assert any(text.startswith(("FAIL", "WARN")) for text in said)
    except InputError as error:
        said = [str(fault) for fault in error.faults]
    assert faults(said) == []
    for text in said:
        assert text.rstrip()[-1] in ".!?)", text
        sentence = text.partition("): ")[2]
        assert not sentence or re.match(r"[A-Z\d\"]|[a-z]+\.[a-z]+ ", sentence), text


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


def test_a_book_explains_the_words_that_it_uses() -> None:
    said = (Para("Two panels on a batten."), Table("Feet", ("part",), (("standoffs",),)))
    words = chapter(said).blocks[1]
    assert isinstance(words, Table)
    assert [word for word, _ in words.rows] == ["batten", "foot", "panel", "standoff"]
