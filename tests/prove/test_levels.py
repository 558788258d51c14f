"""A floor at another depth: each motion, level and step-down that could be wrong, one by one."""

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.path import Path
from flipreg.prove.levels import AskedFloor, prove_floor
from flipreg.prove.stretches import Claimed
from flipreg.rs274.interpret.whole import Whole, read_whole

HEAD = "G21 G90 G17 T1 M6 S900 M3\nG0 X0 Y0 Z5\n"
TEXT = HEAD + "G1 Z-2 F90\nG3 X10 Y0 I5 J0 F300\nG1 Y8\nG0 Z5\nX0 Y0\n"
ASKED = AskedFloor(floor_mm=-3.0, was_mm=-2.0, top_mm=0.0, step_down_mm=3.0)
CLAIMS = (Claimed(1, 2, 1, 2), Claimed(3, 6, 3, 6, -3.0), Claimed(7, 7, 7, 7))


def whole(text: str) -> Whole:
    return read_whole(flipreg.parse(text, source="front.ngc"))


def changed(program: Whole, column: str, at: tuple[int, ...], value: float) -> Whole:
    """Return a program whose motions differ from its words in one entry."""
    values = getattr(program.path, column).copy()
    values[at] = value
    path: Path = replace(program.path, **{column: values})
    return replace(program, path=path)


DEEPER = whole(TEXT.replace("Z-2", "Z-3"))


def proved(
    output: Whole | str, *, source: str = TEXT, claims: Sequence[Claimed] = CLAIMS, asked: AskedFloor = ASKED
) -> float:
    return prove_floor(whole(source), whole(output) if isinstance(output, str) else output, claims, asked)


def stops(
    message: str,
    output: Whole | str,
    *,
    source: str = TEXT,
    claims: Sequence[Claimed] = CLAIMS,
    asked: AskedFloor = ASKED,
) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        proved(output, source=source, claims=claims, asked=asked)


class TestMotions:
    def test_a_floor_where_it_was_asked_for_is_right(self) -> None:
        assert proved(DEEPER) == 0.0

    @pytest.mark.parametrize("row", [1, 2, 4])
    @pytest.mark.parametrize(
        ("column", "called", "value"),
        [
            ("normal", "normal", 1),
            ("tool", "tool", 3),
            ("compensation", "compensation", 1),
            ("work_offset", "work offset", 2),
            ("cycle", "cycle", 81),
            ("feed_mm_per_min", "feed", 299.9999),
            ("spindle_rpm", "spindle rpm", 899.9999),
            ("sweep_deg", "sweep deg", 12.0),
        ],
    )
    def test_one_entry_that_differs_is_stopped(self, row: int, column: str, called: str, value: float) -> None:
        message = f"front.ngc:{row + 2}: the {called} of this motion would change"
        stops(message, changed(DEEPER, column, (row,), value))

    def test_numbers_are_the_same_within_noise(self) -> None:
        assert proved(changed(DEEPER, "feed_mm_per_min", (2,), 300 + 1e-8)) == 0.0
        stops(
            "front.ngc:4: the feed of this motion would change",
            changed(DEEPER, "feed_mm_per_min", (2,), 300.000001),
        )
        assert proved(changed(DEEPER, "sweep_deg", (1,), 1e-10)) == 0.0

    @pytest.mark.parametrize(
        ("column", "row", "axis"),
        [("end", 1, 0), ("end", 2, 1), ("end", 3, 0), ("start", 2, 0), ("start", 3, 1), ("centre", 2, 0)],
    )
    def test_a_place_across_is_where_it_was(self, column: str, row: int, axis: int) -> None:
        there = float(getattr(DEEPER.path, column)[row, axis])
        assert 0 < proved(changed(DEEPER, column, (row, axis), there + 5e-7)) < 1e-6
        stops("front.ngc:3: a motion would be 0.000002 mm off", changed(DEEPER, column, (row, axis), there - 2e-6))
        known = "front.ngc:3: a coordinate would be known that was not, or not any more"
        stops(known, changed(DEEPER, column, (row, axis), float("nan")))

    @pytest.mark.parametrize("axis", [0, 1, 2])
    @pytest.mark.parametrize("row", [0, 5])
    def test_lines_outside_of_the_floor_move_as_they_did(self, axis: int, row: int) -> None:
        there = float(DEEPER.path.end[row, axis])
        line = 1 if row == 0 else 7
        stops(
            f"front.ngc:{line}: a motion would be 0.002000 mm off", changed(DEEPER, "end", (row, axis), there + 0.002)
        )

    def test_a_traverse_across_goes_where_it_went(self) -> None:
        source = TEXT.replace("G0 Z5\nX0", "G0 X3 Z5\nX0")
        output = whole(source.replace("Z-2", "Z-3"))
        assert proved(output, source=source) == 0.0
        stops("front.ngc:3: a motion would be 0.010000 mm off", changed(output, "end", (4, 0), 3.01), source=source)

    def test_a_way_straight_up_may_begin_where_the_pass_before_it_ended(self) -> None:
        up = changed(changed(DEEPER, "start", (4, 0), 7.0), "end", (4, 0), 7.0)
        behind = changed(up, "start", (5, 0), 7.0)
        assert proved(behind) == 0.0
        claims = (*CLAIMS[:1], Claimed(3, 5, 3, 5, -3.0), Claimed(6, 6, 6, 6), CLAIMS[2])
        assert proved(behind, claims=claims) == 0.0
        low = changed(behind, "end", (4, 2), 4.99)
        stops("front.ngc:6: a motion would be 0.010000 mm off", low, claims=claims)

    def test_a_motion_lost_is_counted(self) -> None:
        fewer = replace(DEEPER, path=DEEPER.path.take(np.array([0, 1, 2, 4, 5])))
        stops("front.ngc:3: 3 motions would be made where the source makes 4", fewer)


class TestLevels:
    def test_a_level_off_is_measured_and_past_the_tolerance_stopped(self) -> None:
        assert proved(TEXT.replace("Z-2", "Z-3.0009")) == pytest.approx(0.0009, abs=1e-9)
        assert proved(TEXT.replace("Z-2", "Z-2.9991")) == pytest.approx(0.0009, abs=1e-9)
        expected = "expected Z-3"
        stops(f"front.ngc:3: the lowest cut would be at Z-3.0011, {expected}", TEXT.replace("Z-2", "Z-3.0011"))
        stops(f"front.ngc:3: the lowest cut would be at Z-2.9989, {expected}", TEXT.replace("Z-2", "Z-2.9989"))
        stops(f"front.ngc:3: the lowest cut would be at Z-2, {expected}", TEXT)

    def test_a_claim_below_the_floor_is_stopped_whatever_is_cut(self) -> None:
        claims = (CLAIMS[0], replace(CLAIMS[1], level_mm=-3.002), CLAIMS[2])
        stops("front.ngc:3: something would be cut deeper than asked", TEXT.replace("Z-2", "Z-3.002"), claims=claims)

    def test_the_floor_has_to_be_cut_and_cut_last(self) -> None:
        last = "front.ngc:3: the floor would not be cut last, or not at all"
        high = (CLAIMS[0], replace(CLAIMS[1], level_mm=-2.5), CLAIMS[2])
        stops(last, TEXT.replace("Z-2", "Z-2.5"), claims=high)
        never = (CLAIMS[0], replace(CLAIMS[1], level_mm=None), CLAIMS[2])
        stops("front.ngc:1: the floor would not be where it was asked for", TEXT, claims=never)
        text, claims = passes(-4, -3.5)
        asked = replace(ASKED, floor_mm=-4.0)
        stops(
            "front.ngc:6: the floor would not be cut last, or not at all",
            text,
            source=PASSES,
            claims=claims,
            asked=asked,
        )

    def test_a_slope_stays_as_it_was(self) -> None:
        source = TEXT.replace("G1 Y8", "G1 Y8\nY4 Z-1\nY8 Z-2")
        claims = (CLAIMS[0], Claimed(3, 8, 3, 8, -3.0), Claimed(9, 9, 9, 9))
        output = source.replace("Z-2", "Z-3").replace("Z-1", "Z-2")
        assert proved(output, source=source, claims=claims) == 0.0
        slope = "the slope of this motion would change"
        stops(f"front.ngc:6: {slope}", output.replace("Z-2", "Z-1.998"), source=source, claims=claims)
        stops(f"front.ngc:5: {slope}", changed(DEEPER, "end", (3, 2), -2.99999))

    def test_a_tab_stays_where_it_is_above_the_level(self) -> None:
        source = TEXT.replace("G1 Y8", "G1 Y8\nZ-1.5\nY6\nZ-2\nY4")
        claims = (CLAIMS[0], Claimed(3, 10, 3, 10, -3.0), Claimed(11, 11, 11, 11))
        output = source.replace("Z-2", "Z-3")
        assert proved(output, source=source, claims=claims) == 0.0
        for wrong in ("Z-1.4989", "Z-1.5011", "Z-2.5"):
            message = "front.ngc:7: the level of this motion would change"
            stops(message, output.replace("Z-1.5", wrong), source=source, claims=claims)
        near = output.replace("Z-1.5", "Z-1.5009")
        assert proved(near, source=source, claims=claims) == pytest.approx(0.0009, abs=1e-9)


PASSES = HEAD + "G1 Z-1 F90\nX10 F300\nG0 Z5\nX0\nG1 Z-2 F90\nX10 F300\nG0 Z5\nM2\n"
"""Two passes along one line."""


def passes(*levels: float, source: str = PASSES) -> tuple[str, tuple[Claimed, ...]]:
    """Return the program with its second pass at levels, and what is claimed of it."""
    lines = source.splitlines(keepends=True)
    text, claims, at = "".join(lines[:5]), [Claimed(1, 5, 1, 5)], 6
    for level in levels:
        text += "".join(lines[5:9]).replace("Z-2", f"Z{level:g}")
        claims.append(Claimed(at, at + 3, 6, 9, level))
        at += 4
    return text + lines[9], (*claims, Claimed(at, at, 10, 10))


class TestSteps:
    ASKED = AskedFloor(floor_mm=-4.0, was_mm=-2.0, top_mm=0.0, step_down_mm=1.0)
    OWN = replace(ASKED, step_down_mm=None)

    def test_passes_no_deeper_than_the_step_down_are_right(self) -> None:
        text, claims = passes(-2, -3, -4)
        assert proved(text, source=PASSES, claims=claims, asked=self.ASKED) == 0.0

    def test_a_step_as_deep_as_the_sources_own_is_right(self) -> None:
        text, claims = passes(-2, -3, -4)
        assert proved(text, source=PASSES, claims=claims, asked=self.OWN) == 0.0
        text, claims = passes(-2, -4)
        message = "front.ngc:6: a step-down would be 2 mm, over 1 mm"
        stops(message, text, source=PASSES, claims=claims, asked=self.OWN)

    def test_a_step_down_that_was_asked_for_is_kept_though_the_sources_own_is_deeper(self) -> None:
        text, claims = passes(-2, -3, -4)
        asked = replace(self.ASKED, step_down_mm=0.5)
        stops("front.ngc:6: a step-down would be 1 mm, over 0.5 mm", text, source=PASSES, claims=claims, asked=asked)

    def test_a_step_is_held_to_what_is_there_at_each_place(self) -> None:
        """The second pass goes on for five where nothing was cut."""
        source = PASSES.replace("G1 Z-2 F90\nX10", "G1 Z-2 F90\nX15")
        text, claims = passes(-2, -3, -4, source=source)
        assert proved(text, source=source, claims=claims, asked=self.OWN) == 0.0
        message = "front.ngc:6: a step-down would be 2 mm, over 1 mm"
        stops(message, text, source=source, claims=claims, asked=self.ASKED)
        text, claims = passes(-1, -2, -3, -4, source=source)
        assert proved(text, source=source, claims=claims, asked=self.ASKED) == 0.0
        # Where it goes on it may bite two at once, and one where the pass above it was.
        text, claims = passes(-2, -4, source=source)
        stops("front.ngc:6: a step-down would be 2 mm, over 1 mm", text, source=source, claims=claims, asked=self.OWN)

    def test_a_pass_that_stays_steps_down_no_deeper_than_before_or_than_asked(self) -> None:
        """The pass above it is the one that is moved up."""
        source = PASSES.replace("Z-2", "Z-2.5")
        lines = source.splitlines(keepends=True)
        claims = (Claimed(1, 2, 1, 2), Claimed(3, 5, 3, 5, -0.5), Claimed(6, 10, 6, 10))
        text = "".join(lines).replace("Z-1", "Z-.5")
        asked = AskedFloor(floor_mm=-0.5, was_mm=-1.0, top_mm=0.0, step_down_mm=2.0)
        assert proved(text, source=source, claims=claims, asked=asked) == 0.0
        message = "front.ngc:6: a step-down would be 2 mm, over 1.9 mm"
        stops(message, text, source=source, claims=claims, asked=replace(asked, step_down_mm=1.9))
        message = "front.ngc:6: a step-down would be 2 mm, over 1.5 mm"
        stops(message, text, source=source, claims=claims, asked=replace(asked, step_down_mm=None))

    def test_a_step_too_deep_is_stopped_first_or_later(self) -> None:
        for levels, step in (((-3.5, -4.0), "2.5"), ((-2.0, -4.0), "2"), ((-4.0,), "3"), ((-2.0, -2.5, -4.0), "1.5")):
            text, claims = passes(*levels)
            message = f"front.ngc:6: a step-down would be {step} mm, over 1 mm"
            stops(message, text, source=PASSES, claims=claims, asked=self.ASKED)

    def test_a_step_from_the_surface_is_held_where_nothing_was_cut(self) -> None:
        text = TEXT.replace("Z-2", "Z-4")
        claims = (CLAIMS[0], replace(CLAIMS[1], level_mm=-4.0), CLAIMS[2])
        stops("front.ngc:3: a step-down would be 4 mm, over 1 mm", text, claims=claims, asked=self.ASKED)
        # The source went down by two in one pass itself.
        text, claims = TEXT.replace("Z-2", "Z-2.0"), (CLAIMS[0], replace(CLAIMS[1], level_mm=-2.0), CLAIMS[2])
        assert proved(text, claims=claims, asked=replace(self.OWN, floor_mm=-2.0)) == 0.0

    def test_a_traverse_across_from_another_place_is_above_the_wood(self) -> None:
        source = HEAD + "G1 Z-2 F90\nX10 F300\nG0 X10 Z-2\nG1 Z-4 F90\nX0 F300\nG0 Z5\nM2\n"
        again = "G0 X10 Z{0}\nG1 Z{1} F90\nX0 F300\n"
        asked = AskedFloor(floor_mm=-6.0, was_mm=-4.0, top_mm=0.0, step_down_mm=2.0)
        claims = (CLAIMS[0], Claimed(3, 4, 3, 4), Claimed(5, 7, 5, 7, -4.0), Claimed(8, 10, 5, 7, -6.0))
        text = HEAD + "G1 Z-2 F90\nX10 F300\n" + again.format(-2, -4) + again.format(-4, -6) + "G0 Z5\nM2\n"
        message = "front.ngc:5: a traverse across would start from another place in the wood"
        stops(message, text, source=source, claims=(*claims, Claimed(11, 12, 8, 9)), asked=asked)

    def test_a_first_traverse_that_is_repeated_starts_above_the_wood(self) -> None:
        source = "G21 G90\nG0 X4 Y14 Z15\nG1 Z-4 F300\nX-24\nM2\n"
        again = "G0 X4 Y14 Z15\nG1 Z{} F300\nX-24\n"
        asked = AskedFloor(floor_mm=-5.0, was_mm=-4.0, top_mm=0.0, step_down_mm=4.0)
        claims = (Claimed(1, 1, 1, 1), Claimed(2, 4, 2, 4, -2.5), Claimed(5, 7, 2, 4, -5.0), Claimed(8, 8, 5, 5))
        message = "front.ngc:2: a traverse across would start from another place in the wood"
        text = f"G21 G90\n{again.format(-2.5)}{again.format(-5)}M2\n"
        stops(message, text, source=source, claims=claims, asked=asked)

    def test_a_traverse_across_from_a_place_that_nobody_knows_any_more_is_not_above_the_wood(self) -> None:
        source = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-3 F90\nX9\nG0 X0 Y0 Z6\nG1 Z-4 F90\nX9\nM2\n"
        text = "G21 G90\n(left out)\nG0 X0 Y0 Z6\nG1 Z-2 F90\nX9\nM2\n"
        asked = AskedFloor(floor_mm=-2.0, was_mm=-4.0, top_mm=0.0, step_down_mm=2.0)
        left_out = Claimed(2, 2, 2, 4, dropped=True)
        claims = (Claimed(1, 1, 1, 1), left_out, Claimed(3, 5, 5, 7, -2.0), Claimed(6, 6, 8, 8))
        message = "front.ngc:5: a traverse across would start from another place in the wood"
        stops(message, text, source=source, claims=claims, asked=asked)

    def test_a_ramp_starts_no_deeper_in_wood_than_the_sources_own_or_than_asked(self) -> None:
        def beside(start: int, end: int) -> str:
            return f"X0 Y0\nG1 Z{start} F90\nX20 Z{end}\nY10\nG0 Z5\n"

        claims = (CLAIMS[0], Claimed(3, 7, 3, 7, -6.0), Claimed(8, 12, 3, 7, -12.0))
        asked = AskedFloor(floor_mm=-12.0, was_mm=-6.0, top_mm=0.0, step_down_mm=6.0)
        plunges, text = HEAD + beside(-1, -6), HEAD + beside(-1, -6) + beside(-7, -12)
        assert proved(text, source=plunges, claims=claims, asked=asked) == 0.0
        message = "front.ngc:5: a ramp would start deeper in wood"
        stops(message, text, source=plunges, claims=claims, asked=replace(asked, step_down_mm=None))
        rests, text = HEAD + beside(0, -6), HEAD + beside(0, -6) + beside(-6, -12)
        stops(message, text, source=rests, claims=claims, asked=asked)

    def test_a_traverse_into_what_is_left_is_stopped(self) -> None:
        source = PASSES.replace("G0 Z5\nX0\nG1 Z-2", "G0 Z5\nX0\nZ-.5\nG1 Z-2")
        lines = source.splitlines(keepends=True)
        claims = (Claimed(1, 6, 1, 6), Claimed(7, 10, 7, 10, -3.0), Claimed(11, 11, 11, 11))
        asked = AskedFloor(floor_mm=-3.0, was_mm=-2.0, top_mm=0.0, step_down_mm=2.0)
        right = "".join(lines).replace("Z-2", "Z-3")
        assert proved(right, source=source, claims=claims, asked=asked) == 0.0
        # With the floor it would go down by one, below what the pass before has left.
        message = "front.ngc:7: a traverse would go into the wood"
        stops(message, right.replace("Z-.5", "Z-1.5"), source=source, claims=claims, asked=asked)

    @pytest.mark.parametrize("height", ["-.4", "-.6", "-.4995", "5", "-1.49"])
    def test_a_traverse_in_a_pass_keeps_its_height_or_goes_with_the_floor(self, height: str) -> None:
        source = PASSES.replace("G0 Z5\nX0\nG1 Z-2", "G0 Z5\nX0\nZ-.5\nG1 Z-2")
        claims = (Claimed(1, 6, 1, 6), Claimed(7, 10, 7, 10, -3.0), Claimed(11, 11, 11, 11))
        asked = AskedFloor(floor_mm=-3.0, was_mm=-2.0, top_mm=0.0, step_down_mm=2.0)
        wrong = source.replace("Z-2", "Z-3").replace("Z-.5", f"Z{height}")
        message = "front.ngc:7: the height of this motion would change"
        if height == "-.4995":
            assert proved(wrong, source=source, claims=claims, asked=asked) == pytest.approx(0.0005)
        else:
            stops(message, wrong, source=source, claims=claims, asked=asked)

    @pytest.mark.parametrize("wrong", ["G0 Z-5", "G0 Z4.99", "G0 Z4", "G0 Z7"])
    def test_a_traverse_before_the_first_pass_keeps_its_height(self, wrong: str) -> None:
        """Where it starts is not known, so that the ground says nothing of it."""
        source = "G21 G90 G17 T1 M6 S900 M3\nG0 Z5\nX0 Y0\nG1 Z-2 F90\nX10\nG0 Z5\nM2\n"
        claims = (Claimed(1, 1, 1, 1), Claimed(2, 6, 2, 6, -3.0), Claimed(7, 7, 7, 7))
        right = source.replace("Z-2", "Z-3")
        assert proved(right, source=source, claims=claims) == 0.0
        message = "front.ngc:2: the height of this motion would change"
        stops(message, right.replace("G0 Z5", wrong, 1), source=source, claims=claims)

    @pytest.mark.parametrize("wrong", ["G1 Z2", "G1 Z1.5", "G1 Z-.5", "G1 Z-1.5"])
    def test_a_straight_way_down_that_leads_to_no_ramp_keeps_its_height_above_the_wood(self, wrong: str) -> None:
        source = HEAD + "G1 Z1 F90\nZ-2\nX10\nG0 Z5\nM2\n"
        claims = (Claimed(1, 2, 1, 2), Claimed(3, 6, 3, 6, -3.0), Claimed(7, 7, 7, 7))
        right = source.replace("Z-2", "Z-3")
        assert proved(right, source=source, claims=claims) == 0.0
        message = "front.ngc:3: the height of this motion would change"
        stops(message, right.replace("G1 Z1", wrong), source=source, claims=claims)

    CROSSING = "G0 X-9 Y-9 Z9\nG0 Z5\nX0 Y0\nG1 X9 Z-2 F90\nX0\nG0 Z9\nM2\n"
    """A ramp from the height that the tool crosses at."""

    @pytest.mark.parametrize(
        ("text", "line"),
        [
            (CROSSING.replace("Z5", "Z4"), 3),
            (CROSSING.replace("G0 Z5\nX0 Y0", "G0 X0 Y0 Z4\n"), 3),
            (CROSSING.replace("X0 Y0\n", "X0 Y0\nZ4\n").replace("Z5", "Z4.5"), 3),
        ],
    )
    def test_a_traverse_across_goes_no_lower_with_the_ramp_after_it(self, text: str, line: int) -> None:
        source = "G21 G90 G17 T1 M6 S900 M3\n" + text.replace("Z4.5", "Z5").replace("Z4", "Z5")
        last = source.count("\n")
        claims = (Claimed(1, 2, 1, 2), Claimed(3, last - 1, 3, last - 1, -3.0), Claimed(last, last, last, last))
        output = "G21 G90 G17 T1 M6 S900 M3\n" + text.replace("Z-2", "Z-3")
        stops(f"front.ngc:{line}: the height of this motion would change", output, source=source, claims=claims)

    def test_a_traverse_straight_down_goes_with_the_ramp_after_it_and_one_across_no_lower(self) -> None:
        source = "G21 G90 G17 T1 M6 S900 M3\n" + self.CROSSING.replace("X0 Y0\n", "X0 Y0\nZ2\n")
        claims = (Claimed(1, 2, 1, 2), Claimed(3, 8, 3, 8, -3.0), Claimed(9, 9, 9, 9))
        output = source.replace("Z-2", "Z-3").replace("Z2", "Z1")
        assert proved(output, source=source, claims=claims) == 0.0


class TestLeftOut:
    ASKED = AskedFloor(floor_mm=-1.0, was_mm=-2.0, top_mm=0.0, step_down_mm=2.0)
    CLAIMS = (Claimed(1, 2, 1, 2), Claimed(3, 2, 3, 6, dropped=True), Claimed(3, 6, 7, 10, -1.0))
    SOURCE = HEAD + "G1 Z-1.5 F90\nX10 F300\nG0 Z5\nX0\nG1 Z-2 F90\nX10 F300\nG0 Z5\nM2\n"

    def test_a_pass_below_the_floor_may_be_left_out_where_the_floor_is_cut(self) -> None:
        output = HEAD + "G1 Z-1 F90\nX10 F300\nG0 Z5\nM2\n"
        assert proved(output, source=self.SOURCE, claims=self.CLAIMS, asked=self.ASKED) == 0.0

    def test_a_pass_above_the_floor_may_not(self) -> None:
        source = self.SOURCE.replace("Z-1.5", "Z-.9")
        output = HEAD + "G1 Z-1 F90\nX10 F300\nG0 Z5\nM2\n"
        message = "front.ngc:3: a pass above the floor would be lost"
        stops(message, output, source=source, claims=self.CLAIMS, asked=self.ASKED)

    def test_its_place_has_to_be_cut(self) -> None:
        source = self.SOURCE.replace("X10 F300\nG0 Z5\nX0", "X12 F300\nG0 Z5\nX0")
        output = HEAD + "G1 Z-1 F90\nX10 F300\nG0 Z5\nM2\n"
        message = "front.ngc:4: nothing would be cut at X12 Y0 any more"
        stops(message, output, source=source, claims=self.CLAIMS, asked=self.ASKED)

    @pytest.mark.parametrize(
        ("more", "message"),
        [
            ("G61", "5: G61 would be lost"),
            ("M8", "5: M8 would be lost"),
            ("G98", ""),
            ("G99", "6: a mode would be lost: initial level"),
            ("G90.1", "6: a mode would be lost: absolute centres"),
        ],
    )
    def test_what_its_lines_do_beside_cutting_may_not_be_lost(self, more: str, message: str) -> None:
        source = self.SOURCE.replace("G0 Z5\nX0", f"G0 Z5 {more}\nX0")
        output = HEAD + "G1 Z-1 F90\nX10 F300\nG0 Z5\nM2\n"
        if message:
            stops(f"front.ngc:{message}", output, source=source, claims=self.CLAIMS, asked=self.ASKED)
        else:
            assert proved(output, source=source, claims=self.CLAIMS, asked=self.ASKED) == 0.0


class TestHoles:
    SOURCE = HEAD + "G99 G81 X10 Y0 R2 Z-2 F90\nX20\nG80\nM2\n"
    CLAIMS = (Claimed(1, 2, 1, 2), Claimed(3, 5, 3, 5, -3.0), Claimed(6, 6, 6, 6))
    OUTPUT = SOURCE.replace("Z-2", "Z-3")

    def stops(self, message: str, output: Whole) -> None:
        stops(f"front.ngc:3: {message}", output, source=self.SOURCE, claims=self.CLAIMS)

    def test_holes_as_deep_as_asked_are_right(self) -> None:
        assert proved(self.OUTPUT, source=self.SOURCE, claims=self.CLAIMS) == 0.0

    @pytest.mark.parametrize(
        ("column", "value"),
        [
            ("normal", 1),
            ("tool", 3),
            ("compensation", 1),
            ("work_offset", 2),
            ("cycle", 83),
            ("feed_mm_per_min", 91.0),
            ("spindle_rpm", 800.0),
            ("sweep_deg", 1.0),
        ],
    )
    @pytest.mark.parametrize("row", [1, 5])
    def test_one_entry_that_differs_is_stopped(self, row: int, column: str, value: float) -> None:
        self.stops(f"the {column} of a hole would change", changed(whole(self.OUTPUT), column, (row,), value))

    def test_holes_elsewhere_lost_or_left_elsewhere_are_stopped(self) -> None:
        output = whole(self.OUTPUT)
        cuts = [row for row in range(len(output.path)) if output.path.is_cut[row]]
        for axis in (0, 1):
            self.stops("a hole would be somewhere else", changed(output, "end", (cuts[0], axis), 10.5))
        self.stops("a motion would be 1.000000 mm off", changed(output, "end", (len(output.path) - 1, 2), 3.0))
        self.stops("a motion would be 1.000000 mm off", changed(output, "end", (1, 2), 6.0))
        self.stops("a hole would be lost", replace(output, path=output.path.take(np.array([0]))))


class TestStrokes:
    """Between two traverses the ground is what was there before the first of them; after them it is cut."""

    SOURCE = HEAD + "G1 Z-2 F90\nX10 F300\nG0 X0 Z-2\nG1 Z-2\nY8\nG0 Z5\nX0 Y0\n"
    DEEPER = SOURCE.replace("Z-2", "Z-3")
    CLAIMS = (Claimed(1, 2, 1, 2), Claimed(3, 8, 3, 8, -3.0), Claimed(9, 9, 9, 9))

    def test_a_traverse_back_along_what_is_cut_is_right(self) -> None:
        assert proved(self.DEEPER, source=self.SOURCE, claims=self.CLAIMS) == 0.0

    def test_one_below_it_is_stopped_though_its_place_was_wood_before(self) -> None:
        message = "front.ngc:5: the height of this motion would change"
        low = self.DEEPER.replace("G0 X0 Z-3", "G0 X0 Z-3.5")
        stops(message, low, source=self.SOURCE, claims=self.CLAIMS)


class TestStarts:
    """Where a cut begins: over the same place, and at the same height unless it is a plunge after another pass."""

    SOURCE = HEAD + "G1 Z-1 F90\nZ-1.5\nX3 F300\nG0 X0 Z5\n" + TEXT.removeprefix(HEAD)
    OUTPUT = SOURCE.replace("Z-2", "Z-3")

    def claims(self, *breaks: int) -> list[Claimed]:
        """Return claims of lines that stay, each from a break on, and the floor's."""
        begins = [1, *breaks]
        ends = [*(each - 1 for each in breaks), 6]
        stay = [Claimed(first, last, first, last) for first, last in zip(begins, ends, strict=True)]
        return [*stay, Claimed(7, 10, 7, 10, -3.0), Claimed(11, 11, 11, 11)]

    def off(self, row: int, axis: int) -> Whole:
        output = whole(self.OUTPUT)
        return changed(output, "start", (row, axis), float(output.path.start[row, axis]) + 0.5)

    def test_a_plunge_after_another_pass_may_begin_at_another_height(self) -> None:
        assert proved(self.OUTPUT, source=self.SOURCE, claims=self.claims()) == 0.0
        assert proved(self.off(1, 2), source=self.SOURCE, claims=self.claims(3)) == 0.0

    @pytest.mark.parametrize(("row", "axis"), [(1, 0), (1, 1), (5, 0), (6, 1), (2, 2), (3, 2)])
    def test_nothing_else_may(self, row: int, axis: int) -> None:
        claims = self.claims(3)
        line = 7 if row > 4 else 3
        message = f"front.ngc:{line}: a motion would be 0.500000 mm off"
        stops(message, self.off(row, axis), source=self.SOURCE, claims=claims)

    def test_a_cut_across_begins_where_it_did_though_it_is_the_first_of_its_lines(self) -> None:
        message = "front.ngc:5: a motion would be 0.500000 mm off"
        stops(message, self.off(3, 2), source=self.SOURCE, claims=self.claims(5))
