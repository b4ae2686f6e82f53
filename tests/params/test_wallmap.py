"""A wall drawn as text: what is read, what is refused and where, and that drawing and reading undo
each other.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.layout.find import find_layout
from fab.layout.model import Cell
from fab.params.job import LayoutParams
from fab.params.read import load
from fab.params.wallmap import draw_map, drawn, neighbours, pieces_of, read_map

FLOWER = {(0, 2), (1, 2), (0, 1), (1, 1), (2, 1), (1, 0), (2, 0)}
HEAD = "job = \"t\"\nshop = \"metric-bench\"\npanel = \"%s\"\n\n[layout]\nmap = '''\n%s'''\n"
PANELS = {6: "hexagon-120", 4: "edge90-square", 3: "edge90-triangle"}


def patch(sides: int, count: int, seed: int) -> set[tuple[int, int]]:
    """A random connected patch of cells."""
    dice = random.Random(seed)
    cells = {(0, 0)}
    while len(cells) < count:
        cells.add(dice.choice(neighbours(dice.choice(sorted(cells)), sides)))
    return cells


def cells_of(text: str, sides: int) -> set[tuple[int, int]]:
    found = read_map(text, sides)
    assert not found.faults, found.faults
    return {panel.cell for panel in found.panels}


def alike(cells: set[tuple[int, int]], sides: int) -> list[tuple[float, float, float]]:
    """Poses of a wall with its lower left corner at the origin, from the layout's own geometry."""
    layout = find_layout(
        LayoutParams(cells=tuple(cells), groups="separate"), lambda _: Cell(sides, 50.0)
    )
    left, low = layout.box[:2]
    return sorted((round(p.x - left, 6), round(p.y - low, 6), p.turn_deg) for p in layout.panels)


@settings(deadline=None, max_examples=150)
@given(
    st.sampled_from([3, 4, 6]),
    st.integers(1, 40),
    st.integers(0, 10**6),
    st.sampled_from(["", "A", "AA1"]),
)
def test_a_drawing_reads_as_the_wall_that_was_drawn(
    sides: int, count: int, seed: int, names: str
) -> None:
    cells = patch(sides, count, seed)
    text = draw_map(
        [(cell, names and f"{names}{k}") for k, cell in enumerate(sorted(cells))], sides
    )
    assert alike(cells_of(text, sides), sides) == alike(cells, sides)
    assert all(row == row.rstrip() for row in text.split("\n"))
    if names:
        assert {panel.name for panel in drawn(text, sides)} == {f"{names}{k}" for k in range(count)}


@settings(deadline=None, max_examples=100)
@given(st.sampled_from([3, 4, 6]), st.integers(1, 30), st.integers(0, 10**6))
def test_a_map_that_is_read_and_drawn_stays_as_it_is(sides: int, count: int, seed: int) -> None:
    text = draw_map([(cell, "") for cell in patch(sides, count, seed)], sides)
    again = draw_map([(panel.cell, panel.name) for panel in drawn(text, sides)], sides)
    assert again == text


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from([3, 4, 6]),
    st.integers(2, 30),
    st.integers(0, 10**6),
    st.integers(0, 12),
    st.data(),
)
def test_indents_and_blanks_at_the_end_change_nothing(
    sides: int, count: int, seed: int, indent: int, data: st.DataObject
) -> None:
    text = draw_map([(cell, "") for cell in patch(sides, count, seed)], sides)
    rows = [" " * indent + row + " " * data.draw(st.integers(0, 3)) for row in text.split("\n")]
    assert cells_of("\n\n" + "\n".join(rows) + "\n  \n", sides) == cells_of(text, sides)


@settings(deadline=None, max_examples=300)
@given(st.text(alphabet="AB#.xo \t\n^v?-é", max_size=60), st.sampled_from([3, 4, 6]))
def test_any_text_is_read_or_refused_with_places_inside_it(text: str, sides: int) -> None:
    found = read_map(text, sides)
    rows = text.split("\n")
    assert bool(found.panels) != bool(found.faults)
    for fault in found.faults:
        assert fault.row < len(rows)
        assert fault.column <= len(rows[fault.row])
    assert len({panel.cell for panel in found.panels}) == len(found.panels)
    for panel in found.panels:
        assert not rows[panel.row][panel.column].isspace()


@pytest.mark.parametrize(
    "text",
    [
        " A B\nC D E\n F G",
        # a leading blank line, blanks at the end, an indent, a tab at the end
        "\n\n   A B  \n  C D E\t\n   F G\n\n",
        " a b\nc d e\n f g",
        " # #\n# # #\n # #",
        " x x\nx x x\n x x",
        " o o\no o o\n o o",
        " X X\nX x #\n * O",  # signs mixed
        " h h\nh h h\n h h",  # one letter for all
        " A B\n\nC D E\n\n F G",  # a blank line after each row
        " A B\nC D E .\n F G .",
        " A1 B1\nC1 D1 E1\n F1 G1",  # two letters: the shift is one column of three
        "  A1  B1\nC1  D1  E1\n  F1  G1",
        "  A   B\nC   D   E\n  F   G",  # wide
        " A BB\nDD E FF\n G H",  # names of different length, counted
        " left right\nl mid r\n low end",
    ],
)
def test_a_flower_is_read_however_it_is_typed(text: str) -> None:
    assert cells_of(text, 6) == FLOWER


@pytest.mark.parametrize(
    ("sides", "text", "cells"),
    [
        (4, "##\n#", {(0, 1), (1, 1), (0, 0)}),
        (4, "AB\nC", {(0, 1), (1, 1), (0, 0)}),
        (4, "A B\nC", {(0, 1), (1, 1), (0, 0)}),
        (4, "A\tB\nC", {(0, 1), (1, 1), (0, 0)}),
        (4, "###\n#.#\n###", {(x, y) for x in range(3) for y in range(3)} - {(1, 1)}),
        (4, "### \n# #\n###", {(x, y) for x in range(3) for y in range(3)} - {(1, 1)}),
        (4, "one two\nthree", {(0, 1), (1, 1), (0, 0)}),
        (4, " 1 2\n10 3", {(0, 1), (1, 1), (0, 0), (1, 0)}),  # right-aligned
        (4, "A1\nA2", {(0, 1), (0, 0)}),  # A twice can't be: names
        (4, "..#\n.##", {(2, 1), (1, 0), (2, 0)}),  # empty places hold the origin
        (3, " ^\n^v^", {(1, 1), (0, 0), (1, 0), (2, 0)}),
        (3, "^v^\nv", {(1, 1), (2, 1), (3, 1), (1, 0)}),
        (3, "v^v", {(1, 0), (2, 0), (3, 0)}),
        (3, "ABC", {(0, 0), (1, 0), (2, 0)}),
        (3, ".ABC", {(1, 0), (2, 0), (3, 0)}),
        (6, "###", {(0, 0), (1, 0), (2, 0)}),
        (6, "ABC", {(0, 0), (1, 0), (2, 0)}),
        (6, "A\n B\nC", {(-1, 2), (0, 1), (0, 0)}),
        (6, "#   #\n  #", {(-1 + 1, 1), (1, 1), (1, 0)}),
        (6, "Q", {(0, 0)}),
    ],
)
def test_what_a_newcomer_types(sides: int, text: str, cells: set[tuple[int, int]]) -> None:
    found = cells_of(text, sides)
    assert alike(found, sides) == alike(cells, sides)
    if sides != 6:
        assert found == cells


def test_letters_are_names_and_signs_are_none() -> None:
    assert [panel.name for panel in drawn("A x # B", 4)] == [
        "A",
        "x",
        "",
        "B",
    ]  # x once, among names, is one
    assert [panel.name for panel in drawn("A x x B", 4)] == ["A", "", "", "B"]
    assert [panel.name for panel in drawn("x o #", 4)] == ["", "", ""]


BAD = [  # sides, drawing, line of the file, what the message says
    (6, "##\n###\n", 7, 'row 1, column 1: "##": rows of hexagons are shifted', 'Write "# #"'),
    (
        6,
        "# #\n# #\n",
        8,
        "row 2, column 1: rows of hexagons are shifted by half a step",
        "Begin this row in column 2",
    ),
    (
        6,
        " A B\n?\n",
        8,
        'row 2, column 1: "?" is neither a panel nor an empty place',
        "a letter or a name",
    ),
    (
        6,
        "A B\n A C\n",
        8,
        "row 2, column 2: the name A is used a second time; the first is in row 1, column 1",
        "another name",
    ),
    (
        6,
        "A B\n a C\n",
        8,
        "row 2, column 2: the names A and a differ in capitals only",
        "another name",
    ),
    (
        6,
        "A B\n\tC D\n",
        8,
        "row 2, column 2: rows of hexagons are shifted",
        "Write blanks in place of tabs",
    ),
    (
        6,
        "ABC\n DE\n",
        7,
        'row 1, column 1: "ABC" may be one panel or 3',
        '"A B C" for 3 panels, or "ABC ." for one',
    ),
    (
        4,
        "# #\n # #\n",
        8,
        'row 2, column 2: "#" is between two columns',
        "Begin this row in column 1 or 3",
    ),
    (4, "A B\nC #D\n", 8, 'row 2, column 3: "#D" is not a name', "Put blanks between panels"),
    (4, "A   BB CC\nDDD E  F\n", 7, "", "evenly"),
    (4, f"A B\n{'N' * 30} C\n", 8, "has 30 characters", "At most 24"),
    (4, "1 0 1 0 1 0\n0 1 0 1 0 1\n", 7, "the name 1 is used a second time", "and in"),
    (
        4,
        "^ #\n",
        7,
        'row 1, column 1: "^" is the mark of a triangle, but these panels have 4 sides',
        "Write #",
    ),
    (3, "^ ^ v\n", 7, 'row 1, column 3: "^" points the wrong way', "Write v"),
    (4, ". .\n", 7, "the drawing has no panel", "Write # for a panel"),
    (4, "\n \n", 7, "the drawing is empty", "Write # for a panel"),
]


@pytest.mark.parametrize(("sides", "text", "line", "says", "works"), BAD)
def test_a_bad_drawing_is_told_with_line_row_and_column(
    sides: int,
    text: str,
    line: int,
    says: str,
    works: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(HEAD % (PANELS[sides], text))
    with pytest.raises(InputError) as caught:
        load(Path("job.toml"))
    told = str(caught.value)
    assert f"job.toml:{line}: layout.map: row" in told
    assert says in told
    assert works in told


@pytest.mark.parametrize(
    ("sides", "bad", "good"),
    [
        (6, "##", "# #"),
        (6, "# #\n# #", "# #\n # #"),
        (6, "A B\nC D\n E F", " A B\nC D\n E F"),
        (4, "# #\n # #", "# #\n# #"),
        (4, "# #\n # #", "# #\n  # #"),
        (6, "ABC\n DE", "ABC .\n DE ."),
        (3, "^ ^ v", "^ v ^"),
    ],
)
def test_what_a_message_tells_to_write_is_read(sides: int, bad: str, good: str) -> None:
    assert read_map(bad, sides).faults or sides == 6
    assert not read_map(good, sides).faults


def test_all_faults_of_a_drawing_are_told_at_once() -> None:
    assert len(read_map("? A B\n ! C\n, D", 6).faults) == 3
    assert (
        len(read_map("A B\nA B\nC D\n E F", 6).faults) == 3
    )  # two names, and the shift of the first row


def test_the_map_stands_in_place_of_cells_and_above_wins() -> None:
    for sets, count in (
        ((), 9),
        (("layout.cells=[[0,0]]",), 1),
        (("layout.map=A B",), 2),
        (("layout.map= # #\n# # #",), 5),
    ):
        job = load(_nook(), sets).job
        assert len(job.layout.cells) + len(drawn(job.layout.map, 6)) == count


def _nook() -> Path:
    from fab.params import presets

    path = presets.path_of("job", "reading-nook")
    assert path is not None
    return path


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (
            "cells = [[0, 0]]",
            (
                "job.toml:6: layout.map: the wall is given twice: drawn here, and listed in"
                " cells. Keep one of the two."
            ),
        ),
        ('[[layout.panel]]\nname = "A"\ncell = [9, 9]', '"A" is the name of two panels'),
        ("[[layout.panel]]\ncell = [1, 0]", "[1, 0] is the cell of two panels"),
        ('[[layout.panel]]\nname = "Z"', "the panel has no position"),
        (
            (
                '[[layout.panel]]\nname = "A"\ndesign = "three"\n[designs.three]\nextends = '
                '"edge90-triangle"'
            ),
            "drawn in the map as a 6-sided one",
        ),
    ],
)
def test_a_map_beside_panels_placed_one_by_one(
    more: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(HEAD % ("hexagon-120", "A B\n C\n") + more)
    with pytest.raises(InputError) as caught:
        load(Path("job.toml"))
    assert says in str(caught.value)


def test_panels_sit_on_drawn_ones_and_a_drawn_one_takes_a_design(tmp_path: Path) -> None:
    from fab.decisions import lay_out, plans_of

    more = (
        '[[layout.panel]]\nname = "A"\ndesign = "cover"\n[[layout.panel]]\nname = '
        '"side"\ndesign = "square"\non = "B"\nedge = 0\n'
        '[designs.cover]\nextends = "edge90-hexagon"\nboard = {none = '
        'true}\n[designs.square]\nextends = "edge90-square"\n'
    )
    path = tmp_path / "job.toml"
    path.write_text(HEAD % ("edge90-hexagon", "A B\n C\n") + more)
    job = load(path).job
    layout = lay_out(job)
    assert {panel.name: panel.design for panel in layout.panels} == {
        "A": "cover",
        "B": "panel",
        "C": "panel",
        "side": "square",
    }
    assert set(plans_of(job)) == {"panel", "cover", "square"}
    assert len(layout.joints) == 4


def test_a_drawn_wall_in_pieces_is_told_with_line_row_and_column(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fab import workshop

    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(HEAD % ("edge90-square", "# # .\n. . #\n"))
    with pytest.raises(
        InputError,
        match=r"^job\.toml:8: layout\.map: the wall is in 2 pieces .*A, B \(row 1, column 1\); "
        r"C \(row 2, column 5\)",
    ):
        workshop.check(load(Path("job.toml")))


def test_a_list_of_rows_and_rows_in_one_line_are_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    for value in (
        '[" A B", "C D E", " F G"]',
        '" A B\\nC D E\\n F G"',
        '"""\n A B\nC D E\n F G"""',
    ):
        path.write_text(
            f'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.map = {value}\n'
        )
        assert {panel.cell for panel in drawn(load(path).job.layout.map, 6)} == FLOWER


def test_neighbours_are_those_that_the_geometry_joins() -> None:
    for sides in (3, 4, 6):
        cells = patch(sides, 30, sides)
        layout = find_layout(
            LayoutParams(cells=tuple(cells)),
            lambda _, sides=sides: Cell(sides, 50.0),  # type: ignore[misc]
        )
        at = {panel.name: panel.lattice for panel in layout.panels}
        joints = {frozenset((at[joint.a], at[joint.b])) for joint in layout.joints}
        assert joints == {
            frozenset((a, b)) for a in cells for b in neighbours(a, sides) if b in cells
        }
        assert pieces_of(cells, sides) == 1


def test_a_map_that_was_packed_reads_as_it_was() -> None:
    import tomllib

    from fab.values import job_toml

    job = load(_nook(), ["layout.map=A B C"]).job
    assert tomllib.loads(job_toml(job).decode())["layout"]["map"] == job.layout.map
