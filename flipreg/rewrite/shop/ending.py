"""Where the last motion of a program ends, and whether a way up can be added after it."""

from dataclasses import dataclass, replace
from math import isnan, nan

import numpy as np

from flipreg.path import Kind, Path
from flipreg.rewrite.shop.instead import Stop, end_stop
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rs274.code_numbers import PROGRAM_ENDS
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["EndFinder", "Ending"]

_SAME = 1e-6
_MACHINE = (280, 300, 530)
_LENGTH = (430, 490)
_CHANGE = 6
_PROBE = 382

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Ending:
    """Where the last motion ends.

    Attributes
    ----------
    line : int
        The line of the last motion.
    is_home, is_parked : bool
        It is over zero at a safe height; it is a position of the machine.
    is_up_by_machine : bool
        Its height is a position of the machine.
    end_mm : three floats
        Where it ends; NaN where that is not in the program.
    low_line : int
        The line of the traverse that leads to zero at the end below the safe height; 0 if none does.
    inch, incremental : bool
        The modes there.
    refusal : RefusedError or None
        Why nothing can be added there.
    rise_refusal : RefusedError or None
        Why no way up can be added there; a way across can.
    stop : Stop or None
        The place other than zero where it ends after a way across.
    """

    line: int = 0
    is_home: bool = False
    is_parked: bool = False
    is_up_by_machine: bool = False
    end_mm: Point = (nan, nan, nan)
    low_line: int = 0
    inch: bool = False
    incremental: bool = False
    refusal: RefusedError | None = None
    rise_refusal: RefusedError | None = None
    stop: Stop | None = None


class EndFinder:
    """Reads a program chunk by chunk, and knows where it would end.

    Attributes
    ----------
    found : Ending
        Where the last motion so far ends.
    names_height : bool
        The program goes to a height that it names.
    """

    def __init__(self, safe_mm: float) -> None:
        self._safe = safe_mm
        self._up_by_machine = False
        # Axes along which the tool may be a radius beside its numbers.
        self._beside: set[str] = set()
        self._last_cut = self._last_length = self._low_line = 0
        self.found = Ending()
        self.names_height = False

    def add(self, blocks: Blocks, modes: Modes, path: Path) -> None:
        """Take in the next chunk."""
        self._follow(blocks, modes, path)
        if not len(path):
            return
        last = int(path.line[-1]) - blocks.first_line
        self._low_line = self._low_way(path)
        # Where a probe trips is not in the program.
        x, y, z = path.end[-1].tolist() if int(modes.motion[last]) != _PROBE else (nan, nan, nan)
        up = self._up_by_machine and isnan(z)
        over = abs(x) <= _SAME and abs(y) <= _SAME and path.kind[-1] == Kind.RAPID
        home = bool(over and (up or z >= self._safe - _SAME))
        apart = modes.apart.get(last)
        end = Ending(
            line=int(path.line[-1]),
            is_home=home,
            is_parked=apart is not None and apart.code in _MACHINE,
            is_up_by_machine=up,
            end_mm=(x, y, z),
            low_line=self._low_line if over else 0,
            inch=bool(modes.inch[last]),
            incremental=bool(modes.incremental[last]),
        )
        unsure = self._not_straight(blocks, last)
        crosses_high = up or all(height >= self._safe - _SAME for height in (float(path.start[-1, 2]), z))
        stop = end_stop(blocks, modes, path, is_high=crosses_high and unsure is None)
        self.found = replace(end, rise_refusal=unsure, stop=stop)
        self._refuse_later(blocks, modes, path, last)

    def _follow(self, blocks: Blocks, modes: Modes, path: Path) -> None:
        """Note what the height depends on."""
        values = np.rint(np.nan_to_num(modes.values) * 10)
        rows = np.flatnonzero(
            ((blocks.letter == ord("G")) & np.isin(values, _LENGTH))
            | ((blocks.letter == ord("M")) & (values == 10 * _CHANGE))
        )
        rows = rows[modes.executes[blocks.block[rows]]]
        if rows.size:
            self._last_length = blocks.first_line + int(blocks.block[rows[-1]])
        self._follow_compensation(blocks, path)
        cuts = path.line[path.is_cut]
        if cuts.size:
            self._last_cut = int(cuts[-1])
        known = bool(np.isfinite(path.end[:, 2]).any())
        self.names_height |= known
        named = set(blocks.block[blocks.rows("Z")].tolist())
        bare = {block for block, apart in modes.apart.items() if apart.code in _MACHINE[:2]}
        bare -= set(blocks.block[np.isin(blocks.letter, np.frombuffer(b"XYZ", np.uint8))].tolist())
        moving = set((path.line - blocks.first_line).tolist())
        touching = (named & moving) | bare
        if touching:
            last = modes.apart.get(max(touching))
            self._up_by_machine = last is not None and last.code in _MACHINE

    def _follow_compensation(self, blocks: Blocks, path: Path) -> None:
        """Note along which axes compensation had led the tool aside, and no motion since has named."""
        compensated = path.line[path.compensation != 0]
        last = -1
        if compensated.size:
            self._beside, last = {"X", "Y"}, int(compensated[-1]) - blocks.first_line
        for letter in sorted(self._beside):
            named = blocks.block[blocks.rows(letter)]
            if np.isin(path.line - blocks.first_line, named[named > last]).any():
                self._beside.discard(letter)

    def _low_way(self, path: Path) -> int:
        """Return the line of the last way across so far, if it is a traverse below the safe height; 0 if not."""
        off = np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME
        # From a position of the machine the way leads across, too.
        across = (off | (np.isnan(path.start[:, :2]) & np.isfinite(path.end[:, :2]))).any(axis=1) & ~path.is_cut
        rows = np.flatnonzero(across | path.is_cut)
        if not rows.size:
            return self._low_line
        last = int(rows[-1])
        is_low = across[last] and np.fmin(path.start[last, 2], path.end[last, 2]) < self._safe - _SAME
        return int(path.line[last]) if is_low else 0

    def _not_straight(self, blocks: Blocks, last: int) -> RefusedError | None:
        if not self._beside:
            return None
        message = (
            f"no motion names {' and '.join(sorted(self._beside))} after cutter compensation was ended (G40), so that "
            "the tool is a radius beside its numbers, and a way up from there may not be straight; name X and Y after "
            "G40, away from the work"
        )
        return refusal_in(blocks, last, message)

    def _refuse_later(self, blocks: Blocks, modes: Modes, path: Path, last: int) -> None:
        """Note why nothing can be added after the last motion, if so."""
        message = ""
        if path.compensation[-1]:
            message = (
                "cutter compensation is on in the last motion, so that the tool is a radius beside its numbers; end it "
                "with G40 and a motion away from the work"
            )
        elif not self.names_height and not self._up_by_machine:
            message = (
                "this program names no height (Z), so that nobody knows how high the tool is; name a Z over the work "
                "at its start and its end"
            )
        elif isnan(self.found.end_mm[2]):
            if not self._up_by_machine:
                message = "how high the tool stands after this motion is not in the program; name a Z over the work"
        elif 0 < self._last_cut < self._last_length <= self.found.line:
            message = (
                "the tool or its length offset changes between the last cut and this motion, so that its Z is another "
                "height than before; raise the tool before that, or by the machine (G53 G0 Z0)"
            )
        rows = blocks.rows("M")
        ends = rows[(blocks.block[rows] == last) & np.isin(modes.values[rows], PROGRAM_ENDS)]
        if not message and ends.size:
            beside = "the last motion and the end of the program share a line; put them on two"
            self.found = replace(self.found, refusal=blocks.refusal(beside, row=int(ends[0])))
            return
        if message:
            self.found = replace(self.found, refusal=refusal_in(blocks, last, message))
