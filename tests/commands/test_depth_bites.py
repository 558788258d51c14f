"""`flipreg depth` bites no deeper at once than the program did at the place, and leaves alone what needs no change.

Bites are measured here by brute force: each place along each level cut against all that was cut near it by the passes
before.
"""

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import flipreg
from flipreg.errors import ProofError
from flipreg.rewrite.floor.depth import Stretch, change_floor
from flipreg.rewrite.floor.depth_plan import DepthPlan
from flipreg.rewrite.floor.floors import FloorChange
from flipreg.rs274.interpret.whole import Whole
from tests.commands.command import run
from tests.commands.depths import POCKET, RASTER, deepened, flat_levels
from tests.motions import motions


def ring(inset: float, z: str) -> list[str]:
    x, y = 40 - inset, 20 - inset
    return [f"G0 X{inset} Y{inset}", f"G1 Z{z} F300", f"X{x} F900", f"Y{y}", f"X{inset}", f"Y{inset}", "G0 Z5"]


def program(*passes: tuple[float, str]) -> str:
    lines = [line for inset, z in passes for line in ring(inset, z)]
    return "\n".join(["G21 G90 G17", "G0 Z5", *lines, "M2", ""])


FINISHED = program((3, "-2"), (3, "-4"), (3, "-6"), (0, "-6"))
"""Roughed in steps of 2, then one finishing contour at full depth."""


def bites(text: str | bytes) -> dict[tuple[float, float], float]:
    """Return the largest bite at each place, half a millimetre apart, by brute force."""
    path = motions(text)
    ground: dict[tuple[float, float], float] = {}
    found: dict[tuple[float, float], float] = {}
    fresh: dict[tuple[float, float], float] = {}
    level = np.inf
    for row in range(len(path)):
        start, end = path.start[row], path.end[row]
        if not path.is_cut[row] or start[2] != end[2] or end[2] < level:
            # What a pass has cut is ground for the next one only.
            ground.update({at: min(z, ground.get(at, 0.0)) for at, z in fresh.items()})
            fresh.clear()
        if not path.is_cut[row]:
            continue
        level = float(end[2])
        count = int(np.hypot(*(end - start)[:2]) * 2)
        points = start + np.arange(count + 1)[:, np.newaxis] / max(1, count) * (end - start)
        points[:, :2] = np.round(points[:, :2] * 2) / 2
        flat = start[2] == end[2]
        for x, y, z in points.tolist():
            at = (x, y)
            if flat:
                found[at] = max(found.get(at, 0.0), ground.get(at, 0.0) - z)
            fresh[at] = min(z, fresh.get(at, 0.0))
    return found


def test_a_finishing_contour_at_full_depth_is_no_limit_for_the_roughing() -> None:
    out = deepened(FINISHED, "--floor", "-9.8")
    was, now = bites(FINISHED), bites(out)
    assert max(was.values()) == 6
    assert was[20, 3] == 2
    assert now[20, 3] == pytest.approx(2, abs=0.1)
    assert max(now[at] - was[at] for at in now) <= 1e-6
    assert flat_levels(out)[:3] == [-2, -4, -5.9333]
    assert min(flat_levels(out)) == -9.8


@pytest.mark.parametrize("floor", ["-6.5", "-8.1", "-12", "-19", "-5.5", "-1"])
@pytest.mark.parametrize(
    "passes",
    [
        [(3, "-2"), (3, "-4"), (3, "-6"), (0, "-6")],
        [(0, "-6"), (3, "-2"), (3, "-4"), (3, "-6")],
        [(8, "-3"), (5, "-3"), (8, "-6"), (5, "-6"), (3, "-6")],
        [(3, "-1"), (3, "-5"), (3, "-6")],
        # A finishing contour so near to the roughing that the middle of the cutter is at one place in both.
        [(0.2, "-2"), (0.2, "-4"), (0.2, "-6"), (0, "-6")],
        [(0, "-6"), (0.2, "-2"), (0.2, "-4"), (0.2, "-6")],
        [(3, "-2"), (0, "-2"), (3, "-4"), (0, "-4"), (3, "-6"), (0, "-6"), (0, "-6")],
    ],
)
def test_no_place_is_bitten_deeper_at_once_than_the_program_did(passes: list[tuple[float, str]], floor: str) -> None:
    text = program(*passes)
    out = deepened(text, "--floor", floor)
    was, now = bites(text), bites(out)
    assert max(now[at] - was[at] for at in now) <= 1e-6
    assert min(flat_levels(out)) == float(floor)


def test_passes_without_a_lift_in_between_are_passes_all_the_same() -> None:
    """Down in steps of 2 in one go; taken together they would look like a bite of 6."""
    lines = ["G21 G90 G17", "G0 Z5", "X0 Y0"]
    for z in (-2, -4, -6):
        lines += [f"G1 Z{z} F300", "X40 F900", "Y20", "X0", "Y0"]
    text = "\n".join([*lines, "G0 Z5", "M2", ""])
    out = deepened(text, "--floor", "-9.5")
    assert flat_levels(out) == [-2, -4, -5.8333, -7.6666, -9.5]


def test_a_level_that_others_have_cut_down_to_is_no_step() -> None:
    """The slot's first level is 5 below the surface, and 2 below the face that was cut before it."""
    rows = [line for y in range(-2, 3) for line in (f"G0 X-2 Y{y}", "G1 Z-3 F300", "X42 F900", "G0 Z5")]
    slot = [line for z in (-5, -7) for line in ("G0 X0 Y0", f"G1 Z{z} F300", "X40 F900", "G0 Z5")]
    text = "\n".join(["G21 G90 G17", "G0 Z5", *rows, *slot, "M2", ""])
    out = deepened(text, "--level", "-7", "--floor", "-9.5")
    assert max(bites(out).values()) <= 3
    assert flat_levels(out) == [-3, -5, -6.5, -8, -9.5]


# Of fewer fixed cases none bites too deep when a third more than the source did is let pass.
@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.sampled_from([0, 3, 5, 8]), st.integers(1, 8)), min_size=1, max_size=6),
    st.integers(-180, -5),
)
def test_whatever_the_passes_no_place_is_bitten_deeper(passes: list[tuple[int, int]], tenths: int) -> None:
    text = program(*[(inset, str(-deep)) for inset, deep in passes])
    level = -max(deep for _, deep in passes)
    try:
        out = flipreg.depth(flipreg.parse(text), floor_mm=Decimal(tenths) / 10, level_mm=Decimal(level)).text
    except flipreg.RefusedError:
        return
    was, now = bites(text), bites(out)
    assert max(now[at] - was[at] for at in now) <= 1e-6


@pytest.mark.parametrize(
    ("text", "floor"),
    [
        (POCKET, "-16"),
        (POCKET.replace("\n", "\r\n"), "-16.000"),
        (POCKET.replace("Z-16", "Z-16.00"), "-16"),
        (RASTER.replace("Z-.2", "Z-0.26").replace("Z-.1", "Z-.13"), "-6.604"),
        (RASTER, "-0.2in"),
        (RASTER, "-5.0800004"),
        ("G21 G90\nG0 X0 Y0 Z5\nG99 G81 X1 Z-2.50 R1 F90\nX5\nG80\nM2", "-2.5"),
    ],
)
def test_a_floor_that_is_there_already_leaves_the_program_byte_for_byte_alone(text: str, floor: str) -> None:
    status, out, err = run(["depth", "-", "--floor", floor], text.encode())
    assert (status, out.decode()) == (0, text)
    assert "nothing to change: the floor is at Z-" in err
    assert "byte for byte" in err


def test_a_smaller_step_down_is_a_change_though_the_floor_stays() -> None:
    assert flat_levels(deepened(POCKET, "--floor", "-16", "--step-down", "3")) == [-5, -10, -13, -16]


@pytest.mark.parametrize(
    ("word", "floor", "expected"),
    [
        ("Z-0.26", "-0.3in", "Z-0.30"),
        ("Z-0.26", "-0.305in", "Z-0.305"),
        ("Z-0.26", "-0.30001in", "Z-0.30001"),
        ("Z-0.2600", "-0.3in", "Z-0.3000"),
        ("Z-.26", "-8", "Z-0.31496"),
        ("Z-.260000", "-8", "Z-0.314960"),
        ("Z-0.26", "-7.62", "Z-0.30"),
        ("Z-1.", "-0.5in", "Z-0.5"),
        ("Z-1.", "-3in", "Z-3."),
    ],
)
def test_an_inch_keeps_its_decimals_where_the_value_allows(word: str, floor: str, expected: str) -> None:
    text = f"G20 G90\nG0 X0 Y0 Z.5\nG1 {word} F20\nX2\nG0 Z.5\nM2\n"
    assert f"G1 {expected} F20" in deepened(text, "--floor", floor, "--step-down", "1in").decode()


@pytest.mark.parametrize("floor", ["-25.4", "-1in", "-25.3999", "-25.39999"])
def test_a_level_a_hair_above_the_floor_is_the_floor(floor: str) -> None:
    """Written in inches by a program that counted in millimetres."""
    lines = [line for z in ("-.5", "-0.999998", "-1.2") for line in ("G0 X0 Y0", f"G1 Z{z} F20", "X2", "G0 Z.5")]
    out = deepened("\n".join(["G20 G90 G17", "G0 Z.5", *lines, "M2", ""]), "--floor", floor)
    levels = flat_levels(out)
    assert len(levels) == 2
    assert levels[-1] == pytest.approx(-25.4, abs=0.0005)


def forged(monkeypatch: pytest.MonkeyPatch, old: str, new: str) -> list[str]:
    """Plant a fault in the first stretch that has a text, and tell afterwards whether it was planted."""
    planted: list[str] = []

    def change(whole: Whole, asked: FloorChange) -> tuple[list[Stretch], DepthPlan]:
        stretches, plan = change_floor(whole, asked)
        for index, stretch in enumerate(stretches):
            if old.encode() in stretch.text:
                text = stretch.text.replace(old.encode(), new.encode(), 1)
                stretches[index] = Stretch(text, stretch.first, stretch.last, stretch.level_mm, stretch.dropped)
                planted.append("once")
                break
        return stretches, plan

    monkeypatch.setattr("flipreg.produce.depth.change_floor", change)
    return planted


SLOT = "G21 G90\nG0 Z5\nX0 Y0\nZ1\nG1 Z-2 F300\nX30 F900\nG0 Z5\nX0 Y9\nZ1\nG1 Z-2\nX30\nG0 Z5\nM2\n"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G0 Z5", "G0 Z-5"),
        ("G0 Z5", "G0 Z4"),
        ("G0 Z5", "G0 Z0"),
        ("\nZ1\n", "\nZ-1\n"),
        ("\nZ1\n", "\nZ.5\n"),
        ("X30 F900\n", "X30 Z-2 F900\n"),
        ("X0 Y9\n", "X0 Y9 Z2\n"),
    ],
)
def test_a_height_outside_of_the_passes_that_changed_is_a_fault(
    old: str, new: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    planted = forged(monkeypatch, old, new)
    with pytest.raises(ProofError):
        flipreg.depth(flipreg.parse(SLOT), floor_mm=Decimal("-2.4"), step_down_mm=Decimal(3))
    assert planted == ["once"]


def every_height(text: str) -> list[tuple[str, str]]:
    words = sorted({word for line in text.splitlines() for word in line.split() if word.startswith("Z")})
    changed: list[Callable[[float], float]] = [lambda z: -z, lambda z: z + 0.5, lambda z: z - 0.5, lambda z: z - 7]
    # The remark of the pass says its level, too.
    before = {word: "G1 " if word == "Z-2.4" else "" for word in words}
    pairs = [(word, f"Z{by(float(word[1:])):g}") for word in words for by in changed]
    return [(f"{before[old]}{old}", f"{before[old]}{new}") for old, new in pairs]


@pytest.mark.parametrize(("old", "new"), every_height(SLOT.replace("-2", "-2.4")))
def test_each_height_of_the_result_counts(old: str, new: str, monkeypatch: pytest.MonkeyPatch) -> None:
    planted = forged(monkeypatch, old, new)
    with pytest.raises(ProofError):
        flipreg.depth(flipreg.parse(SLOT), floor_mm=Decimal("-2.4"), step_down_mm=Decimal(3))
    assert planted == ["once"]


FROM_TRAVERSE = "G21 G90\nG0 Z5\nX0 Y0\nZ.5\nG1 X10 Z-2 F300\nX40 F900\nG0 Z5\nM2\n"
"""A ramp that starts where a traverse ends, above the wood."""


@pytest.mark.parametrize(("floor", "start"), [("-1.5", 1.0), ("-1", 1.5), ("-2.3", 0.2)])
def test_a_ramp_from_a_traverse_keeps_its_angle(floor: str, start: float) -> None:
    path = motions(deepened(FROM_TRAVERSE, "--floor", floor, "--step-down", "3"))
    ramp = int(np.flatnonzero(path.is_cut)[0])
    assert path.start[ramp, 2] == pytest.approx(start)
    assert path.start[ramp, 2] - path.end[ramp, 2] == pytest.approx(2.5)


def test_a_traverse_that_would_have_to_go_into_the_wood_for_a_ramp_is_refused() -> None:
    status, out, err = run(["depth", "-", "--floor", "-2.6", "--step-down", "3"], FROM_TRAVERSE.encode())
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:5:1: this ramp drops 2.5 mm to its level; from Z0 down to the new one")
    status, out, err = run(["depth", "-", "--floor", "-2.5", "--step-down", "3"], FROM_TRAVERSE.encode())
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:4:1: for the ramp after it to keep its angle this traverse would go to Z0")


@pytest.mark.parametrize(
    ("way", "line"),
    [("G0 Z5\nX0 Y0", 4), ("G0 X0 Y0 Z5", 3), ("G0 Z9\nG1 X0 Y0 F900\nZ5\nX2", 6), ("G0 Z5\nX0 Y0\nX3", 5)],
)
def test_no_traverse_across_is_lowered_for_the_ramp_after_it(way: str, line: int) -> None:
    """It crosses at a height that the person chose; a clamp may be a little lower."""
    text = f"G21 G90\nG0 Z9\n{way}\nG1 X10 Z-2 F300\nX40 F900\nG0 Z5\nM2\n"
    status, out, err = run(["depth", "-", "--floor", "-2.3", "--step-down", "3"], text.encode())
    assert (status, out) == (2, b"")
    assert err.startswith(
        f"<stdin>:{line}:1: for the ramp after it to keep its angle this line would go across at Z4.7; let the ramp "
        "start from a line of its own that goes straight down\n"
    )


def test_a_traverse_across_may_go_higher_with_the_ramp_after_it() -> None:
    text = "G21 G90\nG0 Z5\nX0 Y0\nG1 X10 Z-2 F300\nX40 F900\nG0 Z5\nM2\n"
    path = motions(deepened(text, "--floor", "-1.5", "--step-down", "3"))
    assert path.end[:, 2].tolist() == [5.5, 5.5, -1.5, -1.5, 5]


def test_a_ramp_that_would_start_above_its_approach_is_refused() -> None:
    text = "G21 G90\nG0 X0 Y0 Z1\nG1 Z.5 F300\nX10 Z-2\nX40 F900\nG0 Z5\nM2\n"
    status, out, err = run(["depth", "-", "--floor", "-1.2"], text.encode())
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:4:1: this ramp would start at Z1.3, above the approach to it")


def test_a_pass_that_is_left_by_a_feed_hands_its_height_on() -> None:
    """The second ramp starts where the feed out of the first pass ends, and names no height itself."""
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX30 F900\nG1 Z1\nG0 Y9\nG1 X20 Z-2\nX0\nG0 Z5\nM2\n"
    status, _, err = run(["depth", "-", "--floor", "-2.5", "--step-down", "3"], text.encode())
    assert status == 2
    assert "without a Z word of its own" in err


def test_a_traverse_after_a_pass_that_is_left_by_a_feed_stays_at_its_height() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX30 F900\nG1 Z1\nG0 X50\nG0 Z5\nM2\n"
    path = motions(deepened(text, "--floor", "-2.5", "--step-down", "3"))
    assert path.end[:, 2].tolist() == [5, -2.5, -2.5, 1, 1, 5]
