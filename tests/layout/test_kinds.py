"""Bases: the same need is the same part, and the turn puts the inlet and the arrow where they
belong.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.layout.find import find_layout
from fab.layout.kinds import base_uses, file_word
from fab.layout.model import Cell
from fab.params.job import LayoutParams, PlacedParams

HEX = Cell(6, 50.0)
LAYOUT = find_layout(
    LayoutParams(cells=tuple((k, 0) for k in range(5)), turn_deg=17.0), lambda name: HEX
)


def test_panels_with_the_same_need_share_a_base() -> None:
    uses = base_uses(LAYOUT, {"A": 3, "E": 3}, {})
    assert [use.kind.key for use in uses] == [
        "inlet-turned-3",
        "plain",
        "plain",
        "plain",
        "inlet-turned-3",
    ]
    assert uses[0].kind == uses[4].kind
    assert [use.steps for use in uses] == [3, 0, 0, 0, 3]


def test_a_base_whose_board_keeps_its_place_is_another_one_for_every_turn() -> None:
    uses = base_uses(LAYOUT, {"A": 3, "E": 1}, {})
    assert [(use.kind.key, use.kind.steps) for use in (uses[0], uses[4])] == [
        ("inlet-turned-3", 3),
        ("inlet-turned-1", 1),
    ]
    uses = base_uses(LAYOUT, {"A": 3, "E": 1}, {}, alike=["panel"])  # nothing keeps its place
    assert [(use.kind.key, use.steps) for use in (uses[0], uses[4])] == [("inlet", 3), ("inlet", 1)]


def test_a_base_with_inlet_and_hanger_still_points_up() -> None:
    """Mounted turned by its steps, the base's up is the panel's up again."""
    up = (90.0 - LAYOUT.panels[0].turn_deg) % 360
    use, *_ = base_uses(LAYOUT, {"A": 4}, {"A": up})
    assert use.kind.key == "inlet-hanger-A-turned-4"
    assert use.kind.label == "A"
    assert use.kind.up_deg is not None
    assert (use.kind.up_deg + use.steps * 60.0 - up) % 360 == pytest.approx(0, abs=1e-9)


def test_without_labels_bases_that_hang_alike_are_one() -> None:
    up = dict.fromkeys("ABC", (90.0 - 17.0) % 360)
    uses = base_uses(LAYOUT, {}, up, labels=False)
    assert len({use.kind for use in uses[:3]}) == 1
    assert [use.kind.up_deg for use in uses[:3]] == [73.0] * 3
    uses = base_uses(LAYOUT, {}, up, labels=False, alike=["panel"])
    assert len({use.kind for use in uses[:3]}) == 1
    assert all(use.kind.up_deg is not None and 0 <= use.kind.up_deg < 60 for use in uses[:3])
    uses = base_uses(LAYOUT, {}, {"A": -1e-10, "B": 360.0 - 1e-10, "C": 0.0}, labels=False)
    assert {use.kind.key for use in uses[:3]} == {"hanger-0deg"}


@given(st.sets(st.integers(0, 5)))
def test_openings_lie_at_the_panels_own_edges(edges: set[int]) -> None:
    use, *_ = base_uses(LAYOUT, {}, {}, jumpers={"A": edges})
    assert (set(use.kind.jumpers), use.steps) == (edges, 0)
    assert (use.kind.key == "plain") is (not edges)


@given(st.sets(st.integers(0, 5)), st.integers(0, 5), st.booleans())
def test_openings_turn_with_the_inlet_and_leave_its_edge(
    edges: set[int], inlet: int, hung: bool
) -> None:
    uses = base_uses(LAYOUT, {"A": inlet}, {"A": 73.0} if hung else {}, jumpers={"A": edges})
    assert {(edge + inlet) % 6 for edge in uses[0].kind.jumpers} == edges - {inlet}
    assert 0 not in uses[0].kind.jumpers


@given(st.lists(st.text(min_size=1, max_size=12), min_size=2, max_size=6, unique=True))
def test_names_become_file_words_that_never_clash(names: list[str]) -> None:
    words = [file_word(name) for name in names]
    assert len(set(words)) == len(names)
    assert all(word.isascii() and not set(word) & set('<>:"/\\|?*. ') for word in words)


def test_letters_figures_and_hyphens_stay_and_a_blank_becomes_a_low_line() -> None:
    assert file_word("Up-7 left") == "Up-7_left"
    assert file_word("a.\u00e4") == "a_2e__e4_"  # all else its code


def test_names_that_differ_by_case_alone_get_two_files() -> None:
    layout = find_layout(
        LayoutParams(
            panel=(PlacedParams(name="a", cell=(0, 0)), PlacedParams(name="A", cell=(1, 0)))
        ),
        lambda name: HEX,
    )
    uses = base_uses(layout, {}, {"a": 90.0, "A": 90.0})
    assert {use.kind.key for use in uses} == {"hanger-a", "hanger-A-2"}


@pytest.mark.parametrize(
    ("spot", "key"),
    [
        ((0.0, None), "hanger-73deg"),
        ((4.5, None), "hanger-73deg-+4_5-0"),
        ((0.0, 31.0), "hanger-73deg-+0-31"),
    ],
)
def test_a_keyhole_that_stands_aside_or_lower_is_told_in_the_key(
    spot: tuple[float, float | None], key: str
) -> None:
    use, *_ = base_uses(LAYOUT, {}, {"A": 73.0}, spots={"A": spot}, labels=False)
    assert use.kind.key == key
