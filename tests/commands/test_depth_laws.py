"""Laws of a change of depth, on drawn pockets: the floor asked for, no step over the limit, XY as it was."""

from decimal import Decimal
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

import flipreg
from tests.commands.depths import flat_levels, lowest, points_at

TENTHS = st.integers(1, 60).map(lambda value: Decimal(value) / 10)


@st.composite
def pockets(draw: st.DrawFn) -> tuple[str, list[Decimal]]:
    """Draw a pocket of plain, ramped or unlifted passes, and its levels."""
    steps = draw(st.lists(st.integers(5, 40).map(lambda value: Decimal(value) / 10), min_size=1, max_size=5))
    levels = [-sum(steps[: number + 1], Decimal(0)) for number in range(len(steps))]
    style = draw(st.sampled_from(["plain", "unlifted", "helix"]))
    lines = ["G21 G90 G17", "G0 Z5", "X0 Y0"]
    for number, level in enumerate(levels):
        if style != "unlifted" and number:
            lines += ["G0 Z5", "X0 Y0"]
        if style == "helix":
            lines += [f"G1 Z{-sum(steps[:number], Decimal(0)):f} F200", f"G3 X0 Y0 Z{level:f} I-3", "G3 X0 Y0 I-3 F900"]
        else:
            lines += [f"G1 Z{level:f} F200", "F900"] if draw(st.booleans()) else [f"G1 Z{level:f} F200"]
        lines += ["G1 X30 Y0", "Y20", "X0", "Y0"]
    return "\n".join([*lines, "G0 Z5", "M2", ""]), levels


@settings(max_examples=25, deadline=None)
@given(pockets(), TENTHS.map(lambda value: value * 3), st.one_of(st.none(), st.integers(5, 50)))
def test_the_floor_is_where_it_was_asked_for(
    pocket: tuple[str, list[Decimal]], depth: Decimal, limit: int | None
) -> None:
    text, levels = pocket
    step = None if limit is None else Decimal(limit) / 10
    refused = None
    try:
        made = flipreg.depth(flipreg.parse(text), floor_mm=-depth, step_down_mm=step)
    except flipreg.RefusedError as error:
        refused = error.message
    if refused is not None:
        # Only a helix has anything to be refused here: its angle.
        assert "G3" in text
        assert "steeper" in refused
        return
    floor = float(-depth)
    found = flat_levels(made.text)
    kept = [float(level) for level in levels[:-1] if level > -depth]
    assert min(found) == lowest(made.text) == floor
    assert found[: len(kept)] == kept
    allowed = float(step) if step is not None else max(map(float, _steps(levels)))
    new = [*(kept[-1:] or [0.0]), *found[len(kept) :]]
    assert all(one - other <= allowed + 1e-6 for one, other in pairwise(new))
    assert points_at(made.text, floor) == points_at(text, float(levels[-1]))


def _steps(levels: list[Decimal]) -> list[Decimal]:
    return [above - below for above, below in pairwise([Decimal(0), *levels])]
