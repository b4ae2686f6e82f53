"""What the book says: page and print alike, its numbers those of the lists and the manifest, no
picture missing.

Outside checks: the page is read by the standard library's parser, the print by pdfium; numbers are
compared with the files that a build writes for machines.
"""

from __future__ import annotations

import csv
import itertools
import json
import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from fab.book.joining import CAPTION
from fab.units import percent, some
from tests.book.pages import Opened, opened, squeezed
from tests.book.prints import read
from tests.book.test_print import APPENDIX, CHAPTERS

ROOT = Path(__file__).parents[2]
FOOT = re.compile(r"^Build book: \S+(?:, appendix)?\s+page \d+")
LETTERS = "ABCDEFGHI"
PLAIN = ("Plate", "Pins", "Turn", "Board on", "Inlet on")  # pictures of few lines
FOUND = ("Checks passed", "Warnings", "Failed, accepted with --allow")
BREAK = re.compile("[\x02\ufffe]")  # what pdfium reads for a hyphen at the end of a line


@dataclass(frozen=True)
class Book:
    """The demo's book beside the lists of its build."""

    folder: Path
    page: Opened
    print: str  # all its text without blanks, feet left out
    manifest: dict[str, Any]

    def rows(self, name: str) -> list[dict[str, str]]:
        with open(self.folder / name, encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def book(built: Mapping[str, Path]) -> Book:
    folder = built["reading-nook"]
    pages = [
        page.get_textpage().get_text_range()
        for name in ("book.pdf", "appendix.pdf")
        for page in pypdfium2.PdfDocument(str(folder / "book" / name))
    ]
    said = BREAK.sub("-", "".join(squeezed(FOOT.sub("", text)) for text in pages))
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    return Book(folder, opened(folder / "book" / "index.html"), said.replace('"', ""), manifest)


def plain(text: str) -> str:
    return squeezed(text).replace('"', "")


def test_every_text_of_the_page_is_in_the_print_as_often(book: Book) -> None:
    """Headings, paragraphs, steps, facts, captions, every row of every table; commands stand in
    quotes on paper.
    """
    said: Counter[str] = Counter()
    for part in book.page.all:
        names = [text for tag, text in part.texts if tag == "dt"]
        said.update(
            plain(name + value) for name, value in zip(names, part.facts().values(), strict=True)
        )
        said.update(plain(text) for tag, text in part.texts if tag not in ("dt", "dd"))
        said.update(plain("".join(row)) for grid in part.grids for row in grid.rows)
    assert len(said) > 250
    assert sum(map(len, said)) > 20_000
    assert {text: times for text, times in said.items() if book.print.count(text) < times} == {}


def test_nothing_stands_in_the_print_alone(book: Book) -> None:
    """Each line that pdfium finds is a piece of a text of the page or of its pictures; the list of
    contents apart.
    """
    texts = [text for part in book.page.all for _, text in part.texts]
    texts += [
        f"{k}. {text}"
        for k in range(1, 9)
        for part in book.page.all
        for tag, text in part.texts
        if tag == "li"
    ]
    texts += ["".join(row) for part in book.page.all for grid in part.grids for row in grid.rows]
    texts += [text for picture in book.page.pictures for text in picture.texts]
    texts += [
        f"Build book: {book.manifest['job']}",
        *(f"page {k}" for k in range(99)),
        *map(str, range(99)),
    ]
    pieces = {plain(text) for text in texts}
    whole = "\n".join(pieces)
    alone = [
        line
        for run in read(book.folder / "book" / "book.pdf").runs
        for line in run.text.splitlines()  # pdfium may read two that stand close as one
        if BREAK.sub("-", plain(line)) not in whole
    ]
    assert alone == []


def test_tables_pictures_and_headings_speak_to_screen_readers(book: Book) -> None:
    """Each column and row is headed, scopes given; each picture has a name; headings go down one
    step at a time.
    """
    grids = [grid for part in book.page.all for grid in part.grids]
    ticked = sum(1 for _, names in book.page.tags if "data-tick" in names)
    heads = [names for tag, names in book.page.tags if tag == "th"]
    boxes = sum(
        1
        for grid in grids
        if grid.caption in ("Shopping list, in pieces", "Parts to print", "Sheets", "Panels")
    )
    assert len(heads) == sum(len(grid.header) + len(grid.rows) - 1 for grid in grids) + boxes
    assert all("scope" in names for names in heads)
    assert all(grid.caption for grid in grids)
    assert ticked == sum(
        len(grid.rows) - 1
        for grid in grids
        if grid.caption in ("Shopping list, in pieces", "Parts to print", "Sheets", "Panels")
    )
    assert all("aria-label" in names for tag, names in book.page.tags if tag == "input")
    assert all(
        "aria-labelledby" in names and "role" in names
        for tag, names in book.page.tags
        if tag == "svg"
    )
    assert all("alt" in names for tag, names in book.page.tags if tag == "img")
    levels = [int(tag[1]) for tag, _ in book.page.tags if tag in ("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


def test_chapters_are_those_of_a_build_in_its_order(book: Book) -> None:
    heads = [text for part in book.page.parts.values() for tag, text in part.texts if tag == "h2"]
    assert tuple(heads) == (*CHAPTERS, *APPENDIX)


def test_what_you_will_build_has_the_numbers_of_the_manifest(book: Book) -> None:
    facts, counts = book.page.parts["what"].facts(), book.manifest["counts"]
    shown = {
        "Panels": "panels",
        "Joints": "joints",
        "Open edges": "open_edges",
        "Inlets": "inlets",
        "Screws in the wall": "hangers",
        "Sheets to cut": "sheets",
    }
    assert {name: int(facts[name]) for name in shown} == {
        name: counts[key] for name, key in shown.items()
    }
    hours = sum(
        float(row["total_hours"])
        for row in book.rows("lists/parts.csv")
        if row["source"] == "print"
    )
    assert facts["Plates to print"] == f"{counts['plates']}, about {hours:.0f} h"
    assert int(facts["LEDs"]) == sum(int(row["leds"]) for row in book.rows("lists/panels.csv"))
    assert int(book.page.parts["hang"].facts()["Screws"]) == counts["hangers"]


def test_what_to_buy_is_the_parts_list(book: Book) -> None:
    rows = [row for row in book.rows("lists/parts.csv") if row["source"] in ("buy", "order")]
    grid = book.page.parts["buy"].grid("Shopping list, in pieces")
    assert sorted(row[:2] + row[4:] for row in grid.rows[1:]) == sorted(
        [row["item"], row["count"], row["note"]] for row in rows
    )
    total = sum(float(row["cost"]) for row in book.rows("lists/parts.csv") if row["cost"])
    (said,) = (
        text for tag, text in book.page.parts["buy"].texts if tag == "p" and "comes to" in text
    )
    told = float(re.search(r"comes to ([\d.]+)", said)[1])
    assert told == pytest.approx(total, abs=0.05)


def test_the_order_list_has_every_line_once_under_its_source(book: Book) -> None:
    """Groups in order; what has no price is named, not counted."""
    orders, parts = book.rows("lists/order.csv"), book.rows("lists/parts.csv")
    groups = [row["group"] for row in orders]
    known = ["printed", "cut", "material", "electronics", "hardware"]
    assert groups == sorted(groups, key=known.index)
    made = [row["item"] for row in orders if not row["item"].startswith("filament ")]
    assert sorted(made) == sorted(row["item"] for row in parts)
    grid = book.page.parts["buy"].grid("Order list by source (lists/order.csv)")
    assert [row[0] for row in grid.rows[1:]] == list(dict.fromkeys(groups))
    assert [int(row[1]) for row in grid.rows[1:]] == [
        groups.count(name) for name in dict.fromkeys(groups)
    ]
    grams = sum(float(row["total_g"]) for row in parts if row["source"] == "print")
    (filament,) = (row for row in orders if row["item"].startswith("filament "))
    assert float(filament["amount"]) == pytest.approx(grams / 1000, abs=0.002)
    text = " ".join(said for _, said in book.page.parts["buy"].texts)
    lacking = [
        row["item"] for row in orders if row["group"] not in ("printed", "cut") and not row["cost"]
    ]
    assert "not counted" in text or not lacking
    assert all(name in text for name in lacking[:12])


def test_hands_have_their_time_per_stage_from_counts_and_minutes(book: Book) -> None:
    rows = book.rows("lists/hours.csv")
    counts = {row["work"]: row for row in rows}
    panels = book.manifest["counts"]["panels"]
    assert int(counts["panels"]["count"]) == panels
    assert int(counts["plates"]["count"]) == book.manifest["counts"]["plates"]
    for row in rows:
        if row["count"]:
            each = float(row["count"]) * float(row["minutes_each"])
            assert float(row["hands_minutes"]) == pytest.approx(each, abs=0.01)
    grid = book.page.parts["buy"].grid("Working time (lists/hours.csv)")
    assert [row[0] for row in grid.rows[1:]] == list(dict.fromkeys(row["stage"] for row in rows))


def test_the_summary_is_one_page_with_picture_size_power_weight_and_no_price(book: Book) -> None:
    path = book.folder / "book" / "summary.pdf"
    summary = read(path)
    text = " ".join(run.text for run in summary.runs)
    assert len(summary.pages) == 1
    assert b"/Subtype /Image" in path.read_bytes()
    facts = book.page.parts["what"].facts()
    assert facts["LEDs"] in text
    watts = float(facts["Power at this brightness"].split()[0])
    assert f"{watts:.0f} W" in text
    kilos = float(facts["Weight"].split()[0])
    assert f"{kilos:.1f} kg" in text
    assert "EUR" not in text
    assert "USD" not in text
    assert "Price" not in text


def test_what_to_print_is_the_parts_list(book: Book) -> None:
    rows = [row for row in book.rows("lists/parts.csv") if row["source"] == "print"]
    chapter = book.page.parts["print"]
    grid = chapter.grid("Parts to print")
    assert [row[:2] for row in grid.rows[1:]] == [[row["item"], row["count"]] for row in rows]
    for column, key, off in (
        ("g each", "each_g", 0.06),
        ("g all", "total_g", 0.6),
        ("h all", "total_hours", 0.06),
    ):
        assert [float(cell) for cell in grid.column(column)] == pytest.approx(
            [float(row[key]) for row in rows], abs=off
        )
    counts = {row["item"]: int(row["count"]) for row in rows}
    heads = [text for tag, text in chapter.texts if tag == "h3"]
    own = [item for item in counts if not item.startswith("base-")]
    bases = sum(count for item, count in counts.items() if item.startswith("base-"))
    expected = [f"{item.capitalize()}: {some(counts[item], 'piece')}" for item in own]
    assert heads[:-1] == [f"Base: {bases} pieces", *expected]
    said = " ".join(text for _, text in chapter.texts)
    for item, count in counts.items():
        assert item in own or f"{item}: {some(count, 'piece')}, plate" in said
    steps = 1 + len(own)
    assert [picture.says for picture in chapter.pictures[:steps]] == [
        "base-inlet-hanger-F-turned-5",
        *own,
    ]
    on_plates = Counter[str]()
    for picture in chapter.pictures[steps:]:
        plates = re.match(r"Plates? (\d+)(?: to (\d+))?", picture.caption)
        assert plates
        alike = int(plates[2]) - int(plates[1]) + 1 if plates[2] else 1
        for times, item in re.findall(r"(\d+) x ([\w-]+)", picture.caption):
            on_plates[item] += int(times) * alike
    assert on_plates == counts


def test_what_to_cut_is_the_nest(book: Book) -> None:
    chapter = book.page.parts["cut"]
    grid = chapter.grid("Sheets")
    nest = book.manifest["nest"]
    assert [row[:5] for row in grid.rows[1:]] == [
        [
            one["sheet"],
            str(one["times"]),
            one["stock"],
            f"{one['parts']} x diffuser",
            percent(one["utilisation"]),
        ]
        for one in nest
    ]
    assert [picture.says.rpartition(", ")[2] for picture in chapter.pictures] == [
        one["sheet"] for one in nest
    ]
    numbers = {text for picture in chapter.pictures for text in picture.texts if text.isdigit()}
    assert {str(k) for k in range(1, 10)} <= numbers  # the order of cutting


def test_caps_headers_and_holes_are_those_of_the_lists(book: Book) -> None:
    assemble, hang = book.page.parts["assemble"], book.page.parts["hang"]
    panels = {row["name"]: row for row in book.rows("lists/panels.csv")}
    caps = assemble.grid("Which edges get a cap")
    for name, at, inlet in caps.rows[1:]:
        open_edges = panels[name]["open_edges"].split()
        assert inlet == panels[name]["inlet_edge"]
        assert at.split(", ") == [edge for edge in open_edges if edge != inlet], name
    holes = book.rows("wall/holes.csv")
    grid = hang.grid("Holes, measured from hole 1, front view")
    assert grid.column("panel") == [row["panel"] for row in holes]
    for column, key in (("right, mm", "x_mm"), ("up, mm", "y_mm")):
        assert [float(cell) for cell in grid.column(column)] == pytest.approx(
            [float(row[key]) for row in holes], abs=0.051
        )
    joints = book.page.parts["light"].grid("Joints")
    for column, key in (
        ("a", "a"),
        ("edge a", "edge_a"),
        ("b", "b"),
        ("edge b", "edge_b"),
        ("kind", "kind"),
    ):
        assert joints.column(column) == [row[key] for row in book.rows("lists/joints.csv")]
    for said, row in zip(joints.column("mated by"), book.rows("lists/joints.csv"), strict=True):
        turn = (
            f"{row['mated_by']} {row['step']}: {row['moves']} to {float(row['heading_deg']):g}°"
            if row["moves"]
            else ""
        )
        assert said == (turn or f"{row['mated_by']} {row['step']}".strip() or row["why"])
    zones = book.page.parts["power"].grid("Zones and cables")
    assert zones.column("panels") == [row["panels"] for row in book.rows("lists/cables.csv")]
    pushed = book.page.parts["join"].grid(CAPTION).column("headers")
    assert sum(map(int, pushed)) == book.manifest["counts"]["headers"]


def test_the_address_table_is_that_of_the_lists(book: Book) -> None:
    rows, grid = book.rows("lists/panels.csv"), book.page.parts["addresses"].grid("Panels")
    alike = {
        "no": "number",
        "name": "name",
        "LEDs": "leds",
        "first LED": "first_led",
        "zone": "zone",
        "inlet edge": "inlet_edge",
        "base": "base",
        "neighbours": "neighbours",
    }
    for column, key in alike.items():
        assert grid.column(column) == [row[key] for row in rows], column
    for column, key in (("x mm", "x_mm"), ("y mm", "y_mm"), ("turn", "turn_deg")):
        assert [float(cell) for cell in grid.column(column)] == pytest.approx(
            [float(row[key]) for row in rows], abs=0.051
        )


def test_parameters_and_provenance(book: Book) -> None:
    values = book.page.parts["values"]
    assert values.facts()["Input hash"] == book.manifest["inputs_sha256"]
    assert values.facts()["Made by"] == f"panejig {book.manifest['version']}"
    grid = values.grid("Parameters")
    said = dict(zip(grid.column("key"), grid.column("value"), strict=True))
    job = tomllib.loads((ROOT / "params" / "reading-nook.toml").read_text(encoding="utf-8"))
    panel = tomllib.loads(
        (ROOT / "params" / "panels" / "hexagon-120.toml").read_text(encoding="utf-8")
    )
    assert said["title"] == f'"{job["title"]}"'
    assert float(said["panel.across_flats"]) == panel["across_flats"]
    places = dict(zip(grid.column("key"), grid.column("set in"), strict=True))
    assert places["title"].startswith("reading-nook.toml:")


def test_checks_are_those_of_the_manifest(book: Book) -> None:
    proofs_of_itself = "proof.book-"  # read back when the book is printed
    checks = [
        check for check in book.manifest["checks"] if not check["id"].startswith(proofs_of_itself)
    ]
    facts = book.page.parts["checks"].facts()
    tally = Counter(check["verdict"] for check in checks)
    assert [int(facts[name]) for name in FOUND] == [
        tally["pass"],
        tally["warn"],
        tally["fail"],
    ]
    concerns = book.page.parts["checks"].grid("By concern")
    assert concerns.column("concern") == sorted({check["id"].split(".")[0] for check in checks})
    assert sum(int(said.split()[0]) for said in concerns.column("result")) == tally["pass"]
    margins = [text for text in concerns.column("tightest margin of a measure") if text]
    assert len(margins) >= 6
    assert all(re.search(r": \S.* \((minimum|maximum|limit) ", text) for text in margins)
    full = book.page.parts["checks-in-full"].grids[0]
    assert full.column("check") == sorted(
        {check["id"] for check in checks if check["verdict"] == "pass"}
    )


def test_no_picture_is_missing_and_none_is_empty(book: Book) -> None:
    """Counted by hand: 4 sorts of printed parts in 7 kinds, 5 kinds of plates, one sheet, and those
    that every book has.
    """
    found = {
        anchor: [picture.says for picture in part.pictures]
        for anchor, part in book.page.parts.items()
    }
    lit = [found["what"].pop(0) for _ in range(2)]
    assert lit[0].startswith("9 panels in the dark room. Brightest spot")
    assert lit[1].startswith("9 panels by day (500 lx")
    found["cut"] = [says.rpartition(", ")[2] for says in found["cut"]]
    parts = [row["item"] for row in book.rows("lists/parts.csv") if row["source"] == "print"]
    assert len(parts) == 7
    assert {anchor: says for anchor, says in found.items() if says and anchor != "light"} == {
        "what": ["The wall reading-nook"],
        "print": [
            "base-inlet-hanger-F-turned-5",
            "shell",
            "clip",
            "cap",
            "Plate 1",
            "Plate 2",
            "Plate 3",
            "Plate 4",
            "Plate 10",
        ],
        "cut": ["sheet-01"],
        "power": ["Power plan"],
        "brief": ["Board of hexagon-120", "Pins of a joint"],
        "calibrate": [
            "Kerf coupon",
            "Try the fit and seat coupons",
            "Try the snap coupon, and enter all readings",
        ],
        "one-panel": [
            "Board alone",
            "Board on the bench",
            "Board of hexagon-120",
            "Inlet on the bench",
        ],
        "assemble": [
            "One panel pulled apart",
            "The inlet",
            "Board and base",
            "How each panel is turned",
            "Turn of base F",
            "Turn of base I",
            "Diffuser and shell",
            "Shell on base",
            "A cap on its way",
            "Edges and caps",
        ],
        "join": [
            "carrying board",
            "On the table, seen from the back",
            "Clips from the back",
            *(f"Push {k}" for k in range(1, 9)),
            "All panels",
        ],
        "hang": [
            "Start here",
            "Where it hangs",
            "Screws",
            "Keyhole and screw",
            "Lift the wall and hang it",
        ],
        "first-light": ["Light zone 1", "Light zone 2"],
        "sections": [
            "Section through a joint: hexagon-120",
            "Section through an open edge and a corner: hexagon-120",
            "Seat and rim",
            "Lap",
            "Clip: foot",
            "Clip: hook",
            "Cap from the front: rib",
            "Cap from outside: port",
        ],
    }
    assert [re.sub(r"[\d.]+", "#", says)[:24] for says in found["light"]] == [
        "Darkest over brightest s",
        "Luminance of the face",
        "A cut through the middle",
        "Evenness over depth, # L",
    ]
    for picture in book.page.pictures:
        assert picture.caption or picture.step
        least = 3 if picture.says.startswith(PLAIN) else 12
        assert picture.shapes == -1 or picture.dots or picture.shapes >= least, picture.says
    for title in ("The wall reading-nook", "Edges and caps", "Power plan"):
        texts = next(picture.texts for picture in book.page.pictures if picture.says == title)
        assert set(LETTERS) <= set(texts), title


def test_every_picture_is_drawn_on_paper_with_its_caption(book: Book) -> None:
    """By pdfium: a page has as many paths as the pictures of the captions on it have shapes, and
    their pictures of dots.
    """
    path = book.folder / "book" / "book.pdf"
    document, runs = pypdfium2.PdfDocument(str(path)), read(path).runs
    kinds = [Counter(item.type for item in page.get_objects()) for page in document]
    wanted, dots = Counter[int](), Counter[int]()
    begun: Counter[str] = Counter()
    folded = [
        picture
        for name in ("light", "brief", "sections")  # in the appendix
        for picture in book.page.parts[name].pictures
    ]
    for picture in book.page.pictures:
        if picture in folded:
            continue
        words = picture.caption or picture.step
        begins = [
            run for run in runs if len(run.text) > 3 and plain(words).startswith(plain(run.text))
        ]
        longest = max(len(run.text) for run in begins)  # a table may hold a caption's first words
        begins = [run for run in begins if len(run.text) == longest]
        number = begins[begun[words]].page
        begun[words] += 1
        (dots if picture.shapes == -1 else wanted)[number] += abs(picture.shapes)
        dots[number] += picture.dots
    assert sum(wanted.values()) > 1000
    assert (
        sum(dots.values()) == 2 + 15
    )  # light; 4 sorts of parts, 2 coupons, inlet, panel, and 7 of the other steps
    for number, shapes in wanted.items():
        assert kinds[number - 1][pypdfium2.raw.FPDF_PAGEOBJ_PATH] >= shapes, number
    assert all(
        kinds[number - 1][pypdfium2.raw.FPDF_PAGEOBJ_IMAGE] == many for number, many in dots.items()
    )


def test_the_demos_book_is_small(book: Book) -> None:
    """Bound: 3 MB for page, print, appendix and summary together."""
    assert sum(path.stat().st_size for path in (book.folder / "book").iterdir()) < 3_000_000


def test_cautions_stand_where_they_matter(book: Book) -> None:
    """Before the laser, before drilling, before soldering, before the supply, before buying
    sheet.
    """
    said = {
        anchor: [(tag, text) for tag, text in part.texts if tag != "h2"]
        for anchor, part in book.page.parts.items()
    }
    hurts = {
        anchor: [text for _, text in texts if text.startswith(("Caution.", "Warning."))]
        for anchor, texts in said.items()
    }
    everywhere = [text for texts in hurts.values() for text in texts]
    assert len(everywhere) == len(set(everywhere))  # each where the hand is, once
    for anchor, word, after in (
        ("cut", "extinguisher", "Cut sheet-01"),
        ("hang", "detector", "Drill"),
        ("hang", "fall and hurt", "Lift the wall and hang it"),
        ("one-panel", "SELV", "Measure a board without supply"),
        ("one-panel", "current limit", "Give it power, then light it"),
        ("assemble", "iron burns", "Fit the inlet: panels F, I"),
        ("join", "askew", "Lay the panels on the table"),
        ("first-light", "fuse", "Light zone 1"),
    ):
        assert sum(word in text for text in everywhere) == 1, word
        at = said[anchor].index(("h3", after))
        assert word in said[anchor][at + 1][1], anchor
    assert any("sold as acrylic" in text for text in hurts["buy"])


def test_every_step_says_what_to_take_and_do_when_it_is_right_and_what_if_not(book: Book) -> None:
    """Every chapter of work, in the order of a build; each step has one picture."""
    work = ("calibrate", "print", "cut", "one-panel", "assemble", "join", "hang", "first-light")
    order = list(book.page.parts)
    assert [order.index(anchor) for anchor in work] == sorted(map(order.index, work))
    for anchor in work:
        part = book.page.parts[anchor]
        steps = [picture.step for picture in part.pictures if picture.step]
        assert steps, anchor
        for step in steps:
            at = part.texts.index(("h3", step))
            texts = [text for _, text in part.texts[at + 1 : at + 6]]
            if texts[0].startswith(("Caution.", "Warning.")):
                texts = texts[1:]
            labels = [text.partition(":")[0] for text in texts[:4]]
            assert labels == ["Take", "Do", "Right when", "If not"], step
            assert all(text.endswith(".") for text in texts[:4]), step
