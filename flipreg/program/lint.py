"""What a person should look at in a program before it cuts: what it never says, and what it leaves on.

Hardly any of it decides anything: a program without a unit may be right. The steps of a run come in one after the
other, so that a program of any length is looked at once, beside whatever else is done with it.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.path import Compensation
from flipreg.program.blocks_with import blocks_with
from flipreg.rs274.code_numbers import PROGRAM_ENDS, SPINDLE_CYCLES, G
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.subprograms import Step
from flipreg.rs274.interpret.units import size_of_numbers
from flipreg.rs274.read.blocks import BlockFlag

__all__ = ["Lint"]

_UNITS, _DISTANCE = (G.INCH, G.MILLIMETRE), (G.POSITIONS, G.STEPS)


class Lint:
    """Looks at the steps of one program; `findings` tells what there was.

    Attributes
    ----------
    in_mm, in_inches : bool
        Whether any motion so far is written in millimetres, and in inches.
    """

    def __init__(self) -> None:
        self.in_mm = self.in_inches = False
        self._habits = HabitCount()
        self._found: dict[str, tuple[str, int | None]] = {}
        self._said = {"units": False, "distance": False}
        self._moved = False
        self._unit_is_inch: bool | None = None
        self._last_line = 0
        self._compensated_line: int | None = None
        self._ended = False
        self._numbered_line = 0
        self._largest_mm = 0.0
        """The largest X or Y before any G20 or G21."""
        self._took_inch = False

    @property
    def says_unit(self) -> bool:
        """Whether the program has G20 or G21 itself."""
        return self._said["units"]

    def add(self, step: Step) -> None:
        """Look at the next step."""
        if len(step.path):
            self._before_moving(step)
            if not step.before.units_stated:
                self._size(step)
            self._cutting(step)
            self._units(step)
        self._stated(step)
        self._zero(step)
        self._ends(step)
        self._habits.add_step(step)

    def findings(self, program: str) -> tuple[Finding, ...]:
        """Return what was found, in the order of the lines, for a person to look at; only a zero set by G10 fails."""
        found = dict(self._found)
        if "units" in found:
            message, line = found["units"]
            taken = "inches, as was said" if self._took_inch else f"millimetres; {size_of_numbers(self._largest_mm)}"
            found["units"] = f"{message}, and they were taken for {taken}", line
        if self._compensated_line is not None:
            found["compensation"] = "cutter compensation is still on at the end; write G40", self._compensated_line
        if not self._ended:
            found["end"] = "no program end: neither M2 nor M30 is reached", self._last_line or None
        of_zero = [found.pop("origin")] if "origin" in found else []
        of_tool = [found.pop("tool")] if "tool" in found else []
        of_spindle = [found.pop(what) for what in ("spindle", "reversed") if what in found]
        said = [Finding("program", Status.WARN, message, program, line) for message, line in found.values()]
        said += [Finding("tool", Status.WARN, message, program, line) for message, line in of_tool]
        said += [Finding("datum", Status.FAIL, message, program, line) for message, line in of_zero]
        said += [Finding("spindle", Status.WARN, message, program, line) for message, line in of_spindle]
        said += [Finding("habit", Status.WARN, message, program, line) for line, message in self._habits.found()]
        return tuple(sorted(said, key=lambda finding: finding.line or 0))

    def _note(self, what: str, message: str, line: int) -> None:
        self._found.setdefault(what, (message, line))

    def _stated(self, step: Step) -> None:
        for what, codes in (("units", _UNITS), ("distance", _DISTANCE)):
            if not self._said[what]:
                self._said[what] = _first_block(step, codes) is not None

    def _zero(self, step: Step) -> None:
        """Note what gives program zero another place, and what depends on a switch of the machine."""
        for what, codes, message in (
            (
                "origin",
                (G.DATA,),
                "G10 sets the origin of a work offset: program zero is then where the machine has these numbers, and "
                "not where somebody set it by the marks; take it out",
            ),
            (
                "axis offset",
                (G.AXIS_OFFSET,),
                "G92 makes program zero where the tool stands when this line runs: is it there then?",
            ),
        ):
            block = _first_block(step, codes)
            if block is not None and step.modes.executes[block]:
                self._note(what, message, step.blocks.first_line + block)
        switched = np.flatnonzero(((step.blocks.flags & BlockFlag.DELETE) != 0) & step.modes.executes)
        if switched.size:
            message = "lines that begin with / were read as run; with the switch on they are not"
            self._note("switch lines", message, step.blocks.first_line + int(switched[0]))

    def _before_moving(self, step: Step) -> None:
        if self._moved:
            return
        self._moved = True
        line = int(step.path.line[0])
        for what, codes, message in (
            ("units", _UNITS, "no G20 or G21 before the first motion: the machine decides what the numbers are"),
            (
                "distance",
                _DISTANCE,
                "no G90 or G91 before the first motion: the machine decides how it is read; taken for G90",
            ),
        ):
            block = _first_block(step, codes)
            if not self._said[what] and (block is None or block > line - step.blocks.first_line):
                self._note(what, message, line)

    def _size(self, step: Step) -> None:
        """Look how large the numbers are that no unit stands before."""
        stop = _first_block(step, _UNITS)
        rows = slice(None) if stop is None else step.path.line < step.blocks.first_line + stop
        largest = np.fmax.reduce(np.abs(step.path.end[rows, :2]), axis=None, initial=0.0)
        self._took_inch = bool(step.modes.inch[0])
        self._largest_mm = max(self._largest_mm, float(largest))

    def _cutting(self, step: Step) -> None:
        path = step.path
        cut = path.is_cut
        if {"feed", "spindle", "reversed", "tool"} <= set(self._found) or not cut.any():
            return
        probing = np.asarray(step.modes.motion == G.PROBE)
        if probing.any():
            cut = cut & ~probing[path.line - step.blocks.first_line]
        idle, reverse = cut & (path.spindle_rpm == 0), cut & (path.spindle_rpm < 0)
        if path.cycle.any():
            own = np.isin(path.cycle, SPINDLE_CYCLES)
            idle, reverse = idle & ~own, reverse & ~own
        for what, rows, message in (
            ("reversed", reverse, "a cut while the spindle turns counter-clockwise (M4), wrong for most cutters"),
            ("feed", path.is_cut & np.isnan(path.feed_mm_per_min), "a cut before any feed was named (F)"),
            ("spindle", idle, "a cut while the spindle does not turn: no M3 or M4, or no speed (S)"),
            ("tool", cut & (path.tool < 0), "a cut with a tool that was never named (T, M6)"),
        ):
            if what not in self._found and rows.any():
                self._note(what, message, int(path.line[int(np.argmax(rows))]))

    def _units(self, step: Step) -> None:
        inch: NDArray[np.bool_] = step.modes.inch
        # One unit is stored once for all blocks, and looked at once.
        inch = inch[step.path.line - step.blocks.first_line] if any(inch.strides) else inch[:1]
        self.in_mm |= not inch.all()
        self.in_inches |= bool(inch.any())
        first = bool(inch[0]) if self._unit_is_inch is None else self._unit_is_inch
        self._unit_is_inch = first
        other = inch != first
        if other.any():
            there, then = ("inches", "millimetres") if first else ("millimetres", "inches")
            line = int(step.path.line[int(np.argmax(other))])
            self._note("switch", f"the unit changes from {there} to {then} in the middle of the program", line)

    def _ends(self, step: Step) -> None:
        runs = np.flatnonzero(step.modes.executes)
        if runs.size:
            last = int(runs[-1])
            self._last_line = step.blocks.first_line + last
            if int(step.modes.cutter[last]) == G.CUTTER_OFF:
                self._compensated_line = None
            elif len(step.path) and int(step.path.compensation[-1]) != Compensation.OFF:
                self._compensated_line = int(step.path.line[-1])
        self._ended = step.after.ended
        if self._ended and not step.depth:
            self._after_end(step)

    def _after_end(self, step: Step) -> None:
        """Note motions and programs after the end, but not subprograms, which run where they are called."""
        blocks = step.blocks
        after = np.flatnonzero(~step.modes.executes & (blocks.flags & (BlockFlag.DELETE | BlockFlag.AFTER_END) == 0))
        numbered = after[(blocks.flags[after] & BlockFlag.PROGRAM_NUMBER) != 0]
        if not self._numbered_line:
            moves = np.unique(np.concatenate([blocks.block[blocks.rows(letter)] for letter in "XYZ"]))
            never = after[np.isin(after, moves)]
            never = never[never < numbered[0]] if numbered.size else never
            if never.size:
                line = blocks.first_line + int(never[0])
                self._note("after end", "a motion after the program's end (M2 or M30), which is never made", line)
        ends = blocks_with(step, "M", PROGRAM_ENDS)
        ends = ends[np.isin(ends, after)]
        if ends.size:
            # A subprogram has its way back there.
            named = numbered[numbered < ends[0]]
            line = blocks.first_line + int(named[-1]) if named.size else self._numbered_line
            if line:
                self._note("another", "another program after the end of this one, which is never run", line)
        if numbered.size:
            self._numbered_line = blocks.first_line + int(numbered[-1])


def _first_block(step: Step, codes: tuple[int, ...]) -> int | None:
    found = blocks_with(step, "G", codes)
    return int(found[0]) if found.size else None
