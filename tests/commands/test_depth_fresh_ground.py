"""`flipreg depth` where a pass cuts what no pass above it did, and where a pass leads straight into the next one.

Steps are measured here by brute force: each place along each cut against all that was cut near it before.
"""

import random
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

import flipreg
from flipreg.path import Path
from tests.commands.command import run
from tests.commands.depths import flat_levels, points_at, refused
from tests.motions import motions

WIDER = """\
G21 G90 G17
G0 Z5
X0 Y0
G1 Z-5 F300
X40 F900
Y20
X0
Y0
G0 Z5
X0 Y0
G1 Z-10 F300
X40 F900
Y20
X0
Y0
X-12
X0
G0 Z5
M2
"""
"""The floor's pass goes 12 mm further than the one above it."""

RAMPED_ON = """\
G21 G90 G17
G0 Z5
X0 Y0
G1 Z-2 F200
X30 F900
X3 Y1 Z-3.5
X0 Y0
G0 Z5
M2
"""
"""From the upper level a ramp leads to the lower one; they lie beside each other."""


def made(text: str, *options: str) -> tuple[bytes, str]:
    status, out, err = run(["depth", "-", *options], text.encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    return out, err


def steps(text: str | bytes) -> dict[float, float]:
    """Return the largest step-down of the level cuts at each height, by brute force."""
    row, place, flat = _places(motions(text))
    found: dict[float, float] = {}
    for at in np.flatnonzero(flat).tolist():
        was = slice(np.searchsorted(row, row[at]))
        near = (np.abs(place[was, :2] - place[at, :2]) < 0.6).all(axis=1)
        z = float(place[at, 2])
        found[z] = max(found.get(z, -np.inf), float(place[was, 2][near].min(initial=0.0)) - z)
    return found


def _places(path: Path) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.bool_]]:
    """Return places half a millimetre apart along straight cuts: rows, points (n, 3), whether cut at one height."""
    rows, points = [], []
    for row in np.flatnonzero(path.is_cut).tolist():
        start, end = path.start[row], path.end[row]
        count = max(1, int(np.ceil(np.hypot(*(end - start)[:2]) / 0.5)))
        points.append(start + np.arange(count + 1)[:, np.newaxis] / count * (end - start))
        rows.append(np.full(count + 1, row))
    of, point = np.concatenate(rows), np.concatenate(points)
    point[:, 2] = point[:, 2].round(4)
    return of, point, np.equal(path.start[of, 2], path.end[of, 2])


def test_a_limit_that_was_asked_for_holds_where_nothing_was_cut_before() -> None:
    out, err = made(WIDER, "--floor", "-9.6", "--step-down", "3")
    assert flat_levels(out) == [-5, -2.4333, -4.8666, -7.3, -9.6]
    assert {z: step for z, step in steps(out).items() if z != -5} == pytest.approx(
        {-2.4333: 2.4333, -4.8666: 2.4333, -7.3: 2.4334, -9.6: 2.3}
    )
    assert "line 16 cuts where no pass above it did: its pass begins at Z-2.4333\n" in err
    assert points_at(out, -9.6) == points_at(WIDER, -10)


def test_a_slip_of_the_finger_is_told_with_the_line_that_would_take_so_many_passes() -> None:
    err = refused(WIDER, "--floor", "-6", "--step-down", "0.004")
    assert err.startswith("<stdin>:16:1: a step-down of 0.004 mm would make 1251 passes here: is it meant?\n")


def test_without_a_limit_a_step_is_no_deeper_than_the_sources_own_there() -> None:
    assert flat_levels(made(WIDER, "--floor", "-9.6")[0]) == [-5, -9.6]
    out, _ = made(WIDER, "--floor", "-11")
    assert flat_levels(out) == [-5, -8, -11]
    assert max(steps(out).values()) == 8
    assert max(steps(WIDER).values()) == 10


def test_a_floor_that_is_cut_before_what_lies_above_it_is_held_to_the_surface() -> None:
    """The deep pass runs first: what comes after it makes no room for it."""
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 Z-6 F300\nX40 F900\nG0 Z5\nX0 Y0\nG1 Z-3 F300\nX40 F900\nG0 Z5\nM2\n"
    assert flat_levels(made(text, "--floor", "-7")[0]) == [-5, -7, -3]
    assert max(steps(made(text, "--floor", "-7", "--step-down", "2")[0]).values()) == 2


def test_a_pass_that_leads_into_the_next_one_by_a_ramp_is_refused_with_its_line() -> None:
    err = refused(RAMPED_ON, "--level", "-2", "--floor", "-1.8", "--step-down", "2")
    assert err.startswith("<stdin>:6:1: this ramp begins at the level of the pass before it, which is Z-1.8 now")


def test_a_ramp_out_of_the_pass_before_is_not_made_steeper() -> None:
    err = refused(RAMPED_ON, "--level", "-3.5", "--floor", "-4", "--step-down", "2")
    assert err.startswith("<stdin>:6:1: this ramp starts where the cut before it ends, without a Z word of its own")


def test_a_plunge_out_of_the_pass_before_goes_on_from_its_new_level() -> None:
    """Upper level 2 deep along X, lower one along Y, joined by a plunge at their corner."""
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 Z-2 F200\nX30 F900\nG1 Z-4 F200\nX30 Y40 F900\nG0 Z5\nM2\n"
    out, _ = made(text, "--level", "-2", "--floor", "-1.5", "--step-down", "2.5")
    assert flat_levels(out) == [-1.5, -4]
    assert points_at(out, -4) == [(30, 40)]
    assert points_at(out, -1.5) == [(30, 0)]
    # At the corner the pass that stays would go from -1.5 to -4, and the program steps down 2 at most.
    err = refused(text, "--level", "-2", "--floor", "-1.5")
    assert err.startswith("<stdin>:7:1: this pass stays, and would step down 2.5 mm with the floor at Z-1.5, over 2 mm")


def test_a_traverse_at_the_level_of_the_floor_is_refused_with_its_line() -> None:
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 Z-2 F200\nX30 F900\nG0 X0\nZ5\nX0 Y30\nG1 Z-1 F200\nX30\nG0 Z5\nM2\n"
    err = refused(text, "--level", "-2", "--floor", "-2.5")
    assert err.startswith("<stdin>:6:1: this traverse begins at the level of the pass before it, which is Z-2.5 now")


def test_a_plunge_below_the_level_of_its_pass_is_refused_with_its_line() -> None:
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 Z-2 F300\nX40 F900\nG1 Z-3 F100\nG0 Z5\nM2\n"
    err = refused(text, "--floor", "-2.5")
    assert err.startswith("<stdin>:6:1: this line goes down to Z-3, below the level of its pass, which is Z-2,")


def test_a_plunge_and_a_rise_within_a_pass_end_no_pass_before_it_began() -> None:
    """Down to -3.9, up to -2.1 and on from there: the lower pass begins with the way down."""
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 Z-1 F300\nX40 Y0 F900\nG1 Z-3.9\nZ-2.1\nX0 Y0\nG0 Z5\nM2\n"
    assert str(flipreg.floor_of(flipreg.parse(text))) == "-2.1"


SHAPES = (
    ["X30", "Y20", "X0", "Y0"],
    ["X30", "Y20", "X0", "Y0", "X-8", "X0"],
    ["X30"],
    ["X30", "Y3", "X0", "Y6", "X30", "Y9", "X0"],
    ["X30 Y20", "X0 Y0"],
)
ODD = ("plain", "wider", "deeper", "ramp on", "ramp", "shorter", "rise", "order")


def drawn(seed: int) -> str:
    """Return a program whose passes are odd in one way."""
    draw = random.Random(seed)
    odd, lift, count = draw.choice(ODD), draw.random() < 0.7, draw.randint(1, 4)
    depths = [sum(draw.randint(5, 40) for _ in range(number + 1)) for number in range(count)]
    levels = sorted({-Decimal(deep) / 10 for deep in depths}, reverse=True)
    if odd == "order":
        draw.shuffle(levels)
    base, before = draw.choice(SHAPES), Decimal(0)
    lines = ["G21 G90 G17", "G0 Z5", "X0 Y0"]
    for number, level in enumerate(levels):
        shape, is_last = list(base), number == len(levels) - 1
        lines += ["G0 Z5", "X0 Y0"] if number and lift else []
        if odd == "wider" and is_last:
            shape += ["X-9", "Y-9", "X0", "Y0"]
        if odd == "shorter" and not is_last:
            shape = shape[: max(1, len(shape) // 2)]
        further, at = Decimal(draw.randint(3, 30)) / 10, draw.randint(1, len(shape))
        if is_last:
            inside = {
                "deeper": [f"G1 Z{level - further} F150"],
                "ramp on": [f"G1 X3 Y1 Z{level - further}"],
                "rise": [f"G1 Z{level + further}", "X7", f"Z{level}"],
            }
            shape[at:at] = inside.get(odd, [])
        lines += [f"G1 Z{before} F200", f"X12 Z{level}", "X0 F900"] if odd == "ramp" else [f"G1 Z{level} F200"]
        lines += [f"G1 {shape[0]} F900", *shape[1:]]
        before = level
    return "\n".join([*lines, "G0 Z5", "M2", ""])


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 1_000_000),
    st.integers(-50, 30),
    st.one_of(st.none(), st.integers(8, 45)),
)
def test_a_new_floor_is_a_result_or_a_refusal_and_no_step_is_too_deep(seed: int, by: int, limit: int | None) -> None:
    program = flipreg.parse(drawn(seed))
    try:
        floors = [flipreg.floor_of(program)]
    except flipreg.RefusedError:
        # Several floors, and the deepest of them is meant.
        floors = [Decimal(repr(min(flat_levels(program.text))))]
    step = None if limit is None else Decimal(limit) / 10
    try:
        out = flipreg.depth(program, floor_mm=floors[0] + Decimal(by) / 10, level_mm=floors[0], step_down_mm=step).text
    except flipreg.RefusedError:
        return
    was, now = steps(program.text), steps(out)
    kept = set(was)
    if step is None:
        assert max(now.values()) <= max(was.values()) + 1e-6
    else:
        assert max((deep for z, deep in now.items() if z not in kept), default=0.0) <= float(step) + 1e-6
