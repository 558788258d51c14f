"""Closed contours that can't be run the other way round: which they are, and why."""

import pytest

from flipreg.contours.contour import contour_rows, find_contours
from flipreg.contours.unturned import Why, find_unturned
from tests.motions import motions

HALF = "X15 F900\n"
REST = "X40\nY20\nX0\nY0\n"


def found(text: str) -> list[tuple[int, int, Why]]:
    path = motions(f"G21 G90 G17\nG0 Z5\n{text}")
    return [(each.first_line, each.last_line, each.why) for each in find_unturned(path, *contour_rows(path))]


def lifted(between: str, level: str = "-2") -> str:
    return f"G0 X0 Y0\nG1 Z{level} F300\n{HALF}{between}G1 Z{level}\n{REST}G0 Z5\n"


def test_a_contour_with_a_tab_at_each_of_two_levels_is_two() -> None:
    text = lifted("G0 Z1\nX20\n") + lifted("G0 Z1\nX20\n", "-4")
    assert found(text) == [(5, 12, Why.LIFTED), (16, 23, Why.LIFTED)]


def test_a_contour_with_a_tab_is_found_where_a_deeper_cut_ends_at_its_start() -> None:
    deeper = "G0 X60 Y60\nG1 Z-4 F300\nX0 Y0 F900\nG0 Z5\n"
    assert found(deeper + lifted("G0 Z1\nX20\n")) == [(9, 16, Why.LIFTED)]


def test_what_is_cut_higher_up_on_the_way_breaks_no_contour() -> None:
    inside = "G0 Z5\nX50 Y50\nG1 Z-1\nX60\nG0 Z5\nX15 Y0\n"
    assert found(lifted(inside)) == [(5, 16, Why.LIFTED)]


def test_a_whole_contour_on_the_way_is_one_of_its_own() -> None:
    ring = "G0 Z5\nX50 Y50\nG1 Z-2\nX60\nY60\nX50 Y50\nG0 Z5\nX15 Y0\n"
    path = motions(f"G21 G90 G17\nG0 Z5\n{lifted(ring)}")
    assert [(each.first_line, each.last_line) for each in find_contours(path)] == [(9, 11)]
    assert found(lifted(ring)) == [(5, 18, Why.LIFTED)]


@pytest.mark.parametrize(
    "between",
    [
        # Deeper in between; the tool changed; another zero; a way through the air that is longer than a tab.
        "G0 Z1\nX50 Y50\nG1 Z-3\nX60\nG0 Z5\nX20 Y0\n",
        "G0 Z5\nT2 M6\nG0 X20 Y0\n",
        "G0 Z5\nG55\nG0 X20 Y0\n",
        "G0 Z5\nX15 Y-90\nG1 Z-2\nY-91\nG0 Z5\nX15 Y0\n",
    ],
)
def test_what_is_no_tab_makes_no_contour_of_pieces(between: str) -> None:
    assert found(lifted(between)) == []


def test_a_height_that_is_not_known_on_the_way_breaks_no_contour() -> None:
    assert found(lifted("G43 H1\nG0 X20\nZ1\n")) == [(5, 13, Why.LIFTED)]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("G0 X10 Y0\nG1 Z0 F300\nG3 X10 Y0 Z-3 I-10\nG0 Z5\n", (5, 5)),
        ("G0 X0 Y0\nG1 Z0 F300\nX30 Z-1\nY20 Z-2\nX0 Z-3\nY0 Z-4\nG0 Z5\n", (5, 8)),
        ("G0 X0 Y0\nG1 Z-2 F300\nX5\nZ-4\nX30\nY20\nX0\nY0\nG0 Z5\n", (5, 10)),
        # Down by a traverse on the way.
        ("G0 X0 Y0\nG1 Z-2 F300\nX30\nG0 Z-3\nG1 Y20\nX0\nY0\nG0 Z5\n", (5, 9)),
    ],
)
def test_what_closes_seen_from_above_only_is_a_contour_whose_height_changes(text: str, lines: tuple[int, int]) -> None:
    assert found(text) == [(*lines, Why.SLOPED)]


@pytest.mark.parametrize(
    "text",
    [
        "G0 X0 Y0\nG1 Z-1 F300\nX30 Z-2\nX0 Z-3\nG0 Z5\n",
        "G0 X0 Y0\nG1 Z-1 F300\nX30 Z-2\nY20\nG0 Z5\nX0 Y0\n",
        "G0 X0 Y0\nG1 Z-1 F300\nX30 Z-2\nY20\nG0 X0 Y20\nG1 Y0\nG0 Z5\n",
        "G0 X0 Y0\nG1 Z-1 F300\nX9\nY9\nX0\nY0\nG0 Z5\n",
    ],
    ids=["a ramp to and fro", "open", "closed by a traverse", "a contour that can be turned round"],
)
def test_what_is_open_or_can_be_turned_round_is_none(text: str) -> None:
    assert found(text) == []


def test_a_contour_at_no_known_height_is_named_once() -> None:
    assert found("G0 X0 Y0\nG43 H2\nG1 X9 F300\nY9\nX0\nY0\nG0 Z5\n") == [(5, 8, Why.UNKNOWN)]


def test_cuts_from_unknown_places_hide_no_contour_after_them() -> None:
    text = "G1 X4 F300\nG0 X0 Y0\nG43 H2\nG1 X9\nY9\nX0\nY0\nG28 X0\nG1 X3\nG0 X0 Y0\nG1 X9\nY9\nX0\nY0\nG0 Z5\n"
    assert found(text) == [(6, 9, Why.UNKNOWN), (13, 16, Why.UNKNOWN)]
