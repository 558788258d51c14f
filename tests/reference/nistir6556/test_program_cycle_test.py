"""The cycle test program: NISTIR 6556 appendix C.3, complete, with G99 and with G98 (RI).

The report prints no output for it. The expected file was computed from its rules by a simulator that first
reproduced the printed examples C1, C2 and C3; `README-programs.md` lists its assumptions.
"""

from pathlib import Path as File
from typing import NamedTuple

import numpy as np
import pytest

from flipreg.path import Path
from tests.every import every
from tests.motions import INCH, line_of, motions, on_line

_HERE = File(__file__).parent
_AXIS = {"XY/Z": 2, "ZX/Y": 1, "YZ/X": 0}
_PAIR = {2: [0, 1], 1: [2, 0], 0: [1, 2]}
_WITHIN = 1e-6
"""Millimetres; the numbers are exact decimals."""


class Expected(NamedTuple):
    """One row of the table; lengths in inches."""

    level: str
    number: str
    cycle: int
    axis: int
    before: float
    r_level: float
    bottom: float
    clear: float
    axis_moves: int
    k_level: float | None
    holes: list[list[float]]


def _read() -> list[Expected]:
    rows = []
    for line in (_HERE / "cycle_test.expected").read_text().splitlines():
        if line.startswith("#"):
            continue
        level, number, cycle, plane, _, before, r_level, bottom, clear, count, k_level, *holes = line.split()
        rows.append(
            Expected(
                level,
                number,
                int(cycle[1:]),
                _AXIS[plane],
                float(before),
                float(r_level),
                float(bottom),
                float(clear),
                int(count),
                None if k_level == "-" else float(k_level),
                [[float(value) for value in hole.split(",")] for hole in holes],
            )
        )
    return rows


ROWS = _read()


def program(level: str) -> str:
    """Return C.3 as the table assumes it.

    The table starts at (0,0,0) with tool 1 of length 2.0, so that Z reads -2 after `g43 h1`. A Path knows no
    tool lengths. The start is therefore a traverse to Z-2, and `g43 h1` is left out of line n0020.
    """
    text = (_HERE / "cycle_test.ngc").read_text()
    assert text.count("g43 h1 ") == 1
    return f"g20 g17 g90 {level} g0 x0 y0 z-2\n" + text.replace("g43 h1 ", "")


@pytest.fixture(scope="module")
def executed() -> dict[str, tuple[str, Path]]:
    """Return text and motions of both versions."""
    texts = {level: program(level) for level in ("g98", "g99")}
    return {level: (text, motions(text)) for level, text in texts.items()}


def going(executed: dict[str, tuple[str, Path]], row: Expected) -> Path:
    """Return the motions of one line that go somewhere."""
    text, path = executed[row.level]
    on = on_line(path, line_of(text, row.number))
    return on.take(np.any(on.start != on.end, axis=1))


def bore_side(path: Path, row: Expected) -> Path:
    """Return the motions of a back bore that run along the depth axis beside the hole."""
    pair = _PAIR[row.axis]
    beside = np.array(row.holes[0]) + np.array([0.231, 0.0])
    return path.take(
        np.all(np.abs(path.start[:, pair] / INCH - beside) < _WITHIN, axis=1)
        & np.all(np.abs(path.end[:, pair] / INCH - beside) < _WITHIN, axis=1)
    )


IDS = [f"{row.level} n{row.number} G{row.cycle}" for row in ROWS]
each_line = every("row", ROWS)


def test_the_table_covers_every_cycle_line_of_the_program_in_both_modes() -> None:
    assert len(ROWS) == 82
    assert {row.cycle for row in ROWS} == set(range(81, 90))


@each_line
def test_a_cycle_line_starts_from_the_level_before_it(executed: dict[str, tuple[str, Path]], row: Expected) -> None:
    path = going(executed, row)
    assert path.start[0, row.axis] / INCH == pytest.approx(row.before, abs=_WITHIN)


@each_line
def test_a_cycle_line_feeds_at_its_holes_in_order(executed: dict[str, tuple[str, Path]], row: Expected) -> None:
    path = going(executed, row)
    fed = path.end[path.is_cut][:, _PAIR[row.axis]] / INCH
    visited = [fed[0].tolist()]
    for place in fed.tolist():
        if place != pytest.approx(visited[-1], abs=_WITHIN):
            visited.append(place)
    assert len(visited) == len(row.holes)
    for hole, place in zip(row.holes, visited, strict=True):
        assert place == pytest.approx(hole, abs=_WITHIN)
    sideways = path.end[path.is_cut] - path.start[path.is_cut]
    assert np.abs(sideways[:, _PAIR[row.axis]]).max() <= _WITHIN


@each_line
def test_a_cycle_line_cuts_from_its_r_level_to_its_bottom(executed: dict[str, tuple[str, Path]], row: Expected) -> None:
    path = going(executed, row)
    if row.cycle == 87:
        inward = bore_side(path, row)
        assert inward.start[0, row.axis] / INCH == pytest.approx(row.r_level, abs=_WITHIN)
        assert inward.end[0, row.axis] / INCH == pytest.approx(row.bottom, abs=_WITHIN)
        return
    cut = path.take(path.is_cut)
    first = np.array([True, *np.any(cut.end[1:, _PAIR[row.axis]] != cut.end[:-1, _PAIR[row.axis]], axis=1)])
    assert (cut.start[first, row.axis] / INCH).tolist() == pytest.approx([row.r_level] * len(row.holes))
    assert cut.end[:, row.axis].min() / INCH == pytest.approx(row.bottom, abs=_WITHIN)


@each_line
def test_a_cycle_line_ends_at_its_clear_level_over_its_last_hole(
    executed: dict[str, tuple[str, Path]], row: Expected
) -> None:
    text, path = executed[row.level]
    line = line_of(text, row.number)
    # The start of the next motion: after G88 a person retracts the tool, to the clear level as the table
    # assumes.
    after = path.start[path.line > line]
    last = after[0] if len(after) else path.end[-1]
    assert last[row.axis] / INCH == pytest.approx(row.clear, abs=_WITHIN)
    assert (last[_PAIR[row.axis]] / INCH).tolist() == pytest.approx(row.holes[-1], abs=_WITHIN)


@each_line
def test_a_cycle_line_makes_as_many_axis_moves_as_counted(executed: dict[str, tuple[str, Path]], row: Expected) -> None:
    path = going(executed, row)
    moves = len(path)
    if row.cycle == 88 and moves == row.axis_moves + 1:
        # The table does not count the retract by hand; a Path may show it as the traverse that it is.
        assert not path.is_cut[-1]
        moves -= 1
    assert moves == row.axis_moves
    assert set(path.cycle.tolist()) == {row.cycle}


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row.cycle == 87], ids=[name for name in IDS if name.endswith("G87")]
)
def test_a_back_bore_feeds_up_to_its_k_level_and_back_to_its_bottom(
    executed: dict[str, tuple[str, Path]], row: Expected
) -> None:
    path = going(executed, row)
    fed = path.end[path.is_cut, row.axis] / INCH
    assert fed.tolist() == pytest.approx([row.k_level, row.bottom], abs=_WITHIN)


def test_every_motion_starts_where_the_one_before_it_ended(executed: dict[str, tuple[str, Path]]) -> None:
    for _, path in executed.values():
        retract_by_hand = path.cycle[:-1] == 88
        gap = np.abs(path.start[1:] - path.end[:-1]).max(axis=1)
        assert gap[~retract_by_hand].max() <= _WITHIN


def test_the_feed_is_converted_from_inches_a_minute(executed: dict[str, tuple[str, Path]]) -> None:
    for _, path in executed.values():
        fed = path.take(path.is_cut)
        assert set(np.round(fed.feed_mm_per_min, 9).tolist()) == {16 * INCH}
