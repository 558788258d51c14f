"""`flipreg depth` on holes and on ways down: cycles of every kind, pecks by hand, ramps, helices."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import flipreg
from tests.commands.depths import deepened, flat_levels, refused
from tests.motions import motions

RAMP = """\
G21 G90 G17
G0 X0 Y0 Z5
G1 Z0 F300
X20 Z-3 (down)
X0
Y5
G0 Z5
X0 Y0
Z-2
G1 Z-3
X20 Z-6 (down)
X0
Y5
G0 Z5
M2
"""


CYCLES = {"81": "", "82": " P0.5", "83": " Q4", "85": "", "86": " P0.5", "89": " P0.5"}


@pytest.mark.parametrize("cycle", CYCLES)
@pytest.mark.parametrize("floor", [-9, -13.5])
def test_every_cycle_gets_its_new_bottom_and_goes_back_as_high_as_before(cycle: str, floor: float) -> None:
    """Three holes of one block each: back to the initial level, to the R level, and the bottom carried over."""
    spindle = "M3 S900\n"
    text = (
        f"G21 G90 G17\n{spindle}G0 X0 Y0 Z15\nG98 G{cycle} X0 Y0 Z-12 R2{CYCLES[cycle]} F200\n"
        "G99 X20\nX40 Y5 R3\nG80\nG0 Z15\nM2\n"
    )
    was, now = motions(text), motions(deepened(text, "--floor", f"{floor}"))
    for hole in ((0, 0), (20, 0), (40, 5)):
        mine, made = (path.take((path.end[:, :2] == hole).all(axis=1) & (path.cycle > 0)) for path in (was, now))
        assert made.end[:, 2].min() == floor
        assert mine.end[:, 2].min() == -12
        # Where the hole begins, and where the tool goes when it is done.
        assert made.end[-1].tolist() == mine.end[-1].tolist()
        feeds = [path.start[path.is_cut][0, 2] for path in (mine, made)]
        assert feeds[0] == feeds[1]
        assert set(made.feed_mm_per_min[made.is_cut]) == set(mine.feed_mm_per_min[mine.is_cut])


def test_pecks_stay_as_deep_and_their_count_follows_the_bottom() -> None:
    text = "G21 G90\nG0 X0 Y0 Z15\nG98 G83 X0 Y0 Z-12 R0 Q4 F200\nG80\nM2\n"
    for floor, pecks in ((-12, 3), (-12.5, 4), (-7, 2)):
        path = motions(deepened(text, "--floor", f"{floor}"))
        cuts = path.end[path.is_cut & (path.cycle == 83), 2]
        assert sorted(set(cuts.tolist()), reverse=True)[-1] == floor
        assert len(set(cuts.tolist())) == pecks


def test_holes_of_another_depth_stay() -> None:
    text = "G21 G90\nG0 X0 Y0 Z15\nG81 X0 Y0 Z-12 R2 F200\nX9 Z-8\nX18 Z-12\nG80\nM2\n"
    path = motions(deepened(text, "--level", "-12", "--floor", "-13"))
    bottoms = {x: path.end[(path.end[:, 0] == x) & (path.cycle > 0), 2].min() for x in (0.0, 9.0, 18.0)}
    assert bottoms == {0: -13, 9: -8, 18: -13}
    assert "would cross the floor at Z-8" in refused(text, "--level", "-12", "--floor", "-7")


def test_a_bottom_in_increments_is_refused_with_its_line() -> None:
    text = "G21 G90\nG0 X0 Y0 Z15\nG91 G81 X5 Y0 Z-12 R-10 F200 L3\nG80\nM2\n"
    assert refused(text, "--floor", "-10").startswith("<stdin>:3:15: a depth in increments (G91) is not moved")


def test_pecks_by_hand_are_repeated_hole_by_hole() -> None:
    hole = "G1 Z-3 F200\nG0 Z1\nZ-2.5\nG1 Z-6\nG0 Z1\nZ-5.5\nG1 Z-9\nG0 Z5\n"
    text = f"G21 G90\nG0 X10 Y10 Z5\n{hole}X20\n{hole}M2\n"
    path = motions(deepened(text, "--floor", "-11"))
    cuts = path.end[path.is_cut]
    depths = [z for x, _, z in cuts.tolist() if x == 10]
    assert depths == [-3, -6, -8.5, -11]
    assert depths == [z for x, _, z in cuts.tolist() if x == 20]
    # No traverse goes deeper than the peck before it.
    heights = motions(deepened(text, "--floor", "-5.2")).end[:, 2].tolist()
    assert heights == [5, -3, 1, -1.7, -5.2, 5, 5, -3, 1, -1.7, -5.2, 5]


def test_a_pass_in_another_unit_is_moved_in_its_own() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-5 F300\nX50\nG0 Z5\nX0\nG20\nG1 Z-.4 F20\nX2\nG0 Z.2\nM2\n"
    out = deepened(text, "--floor", "-9.5")
    assert b"\nG1 Z-0.37401 F20\n" in out
    assert flat_levels(out) == [-5, pytest.approx(-9.5, abs=0.0003)]
    assert min(flat_levels(out)) >= -9.5


def test_a_ramp_keeps_its_angle_after_a_machine_position_too() -> None:
    parked = RAMP.replace("G0 Z5\nX0 Y0\nZ-2", "G0 Z5\nG30 G91 Z0\nG90 G0 Z5\nX0 Y0\nZ-2")
    assert b"G30 G91 Z0\nG90 G0 Z5\nX0 Y0\nZ-2\nG1 Z-2.5\nX20 Z-5.5 (down)\n" in deepened(parked, "--floor", "-5.5")


@pytest.mark.parametrize(("floor", "levels"), [("-5.5", [-3, -5.5]), ("-6.5", [-3, -4.75, -6.5])])
def test_a_ramp_keeps_its_angle(floor: str, levels: list[float]) -> None:
    out = deepened(RAMP, "--floor", floor)
    path = motions(out)
    ramps = path.is_cut & (path.start[:, 0] != path.end[:, 0]) & (path.start[:, 2] != path.end[:, 2])
    assert flat_levels(out) == levels
    assert path.end[ramps, 2].tolist() == levels
    np.testing.assert_allclose(path.end[ramps, 2] - path.start[ramps, 2], -3, atol=1e-9)
    np.testing.assert_allclose(path.end[ramps, 0] - path.start[ramps, 0], 20, atol=1e-9)


def test_a_ramp_that_would_be_too_short_is_refused_with_what_to_do() -> None:
    err = refused(RAMP, "--floor", "-6.5", "--step-down", "4")
    assert err.startswith("<stdin>:11:1: this ramp drops 3 mm to its level; from Z-3 down to the new one it would have")
    assert "a smaller --step-down, or one more pass, keeps its angle" in err


PLUNGED = """\
G21 G90 G17
G0 Z5
X10 Y0
G1 Z-2 F300
G3 X10 Y0 Z-6 I-2 J0
G3 X10 Y0 I-10 J0 F900
G0 Z5
M2
"""
"""A helix that begins 2 mm deep in wood."""


@pytest.mark.parametrize(
    ("options", "starts"),
    [
        (["-5.8"], [-1.8]),
        (["-6.5"], [0.75, -2.5]),
        (["-6.5", "--step-down", "10"], [-2.5]),
        (["-9", "--step-down", "8.9"], [-0.5, -5]),
    ],
)
def test_a_ramp_that_the_program_plunges_to_starts_no_deeper_in_wood(options: list[str], starts: list[float]) -> None:
    """It may go as deep as the source plunges there, or as a step that was asked for."""
    out = deepened(PLUNGED, "--floor", *options)
    path = motions(out)
    ramps = path.is_arc & (path.start[:, 2] != path.end[:, 2])
    assert path.start[ramps, 2].tolist() == starts
    assert (path.end - path.start)[ramps, 2].tolist() == [-4] * len(starts)


@pytest.mark.parametrize(
    ("start", "options", "says"),
    [
        ("-2", ["-7"], ", and would start 3 mm deep in wood, over 2 mm"),
        ("0", ["-12", "--step-down", "6"], "; from Z0 down to the new one it would have to be steeper"),
    ],
)
def test_a_ramp_that_starts_beside_its_pass_finds_wood_there_each_time(
    start: str, options: list[str], says: str
) -> None:
    text = f"G21 G90 G17\nG0 Z5\nX0 Y0\nG1 Z{start} F300\nX20 Z-6\nY10 F900\nX40\nY0\nX20\nG0 Z5\nM2\n"
    drop = 6 + int(start)
    what_helps = "; its pass does not cut where it starts, so that no pass before it makes room there"
    err = refused(text, "--floor", *options)
    assert err.startswith(f"<stdin>:5:1: this ramp drops {drop} mm to its level{says}{what_helps}")


@given(st.integers(-90, -20), st.integers(5, 40), st.booleans(), st.booleans())
def test_whatever_the_floor_no_way_down_gets_steeper(floor: int, limit: int, helix: bool, crlf: bool) -> None:  # noqa: FBT001 - hypothesis
    down = "G3 X0 Y0 Z{0} I-3\nG3 X0 Y0 I-3" if helix else "G1 X20 Z{0} F300\nX0"
    passes = "".join(
        f"G1 Z{-2 * number} F200\n{down.format(-2 * number - 2)}\nG1 Y9\nG0 Z5\nX0 Y0\n" for number in range(3)
    )
    text = f"G21 G90 G17\nG0 X0 Y0 Z5\n{passes}M2\n"
    text = text.replace("\n", "\r\n") if crlf else text
    try:
        out = flipreg.depth(flipreg.parse(text), floor_mm=Decimal(floor) / 10, step_down_mm=Decimal(limit) / 10).text
    except flipreg.RefusedError as error:
        refusal = error
    else:
        assert _slopes(out) == _slopes(text)
        assert min(flat_levels(out)) == floor / 10
        assert out.count(b"\r\n") == (out.count(b"\n") if crlf else 0)
        return
    assert "steeper" in refusal.message
    assert limit > 20


def _slopes(text: str | bytes) -> set[float]:
    path = motions(text)
    across = path.is_arc | (np.abs(path.end[:, 0] - path.start[:, 0]) > 1e-6)
    leans = path.is_cut & across & (path.start[:, 2] != path.end[:, 2])
    return set((path.end[leans, 2] - path.start[leans, 2]).round(6).tolist())


def test_a_plunge_from_a_height_that_nobody_knows_is_moved_or_refused() -> None:
    """After G43 the height is unknown, and the pass is no more than its plunge."""
    text = "G21 G90\nG43 H3\nG0 X43 Y2\nG1 Z-6 F300\nG0 Z15\nG43 H6\nG0 X-60 Y13 Z15\nG0 X33 Y57\nM2\n"
    assert b"G1 Z-5.7 F300\n" in deepened(text, "--floor", "-5.7", "--level", "-6")
