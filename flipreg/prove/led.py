"""The proof that a line may lead over zero instead: the way there and the way on are high, and nothing is done between.

At the machine: the line is a traverse in both programs, with the same words but for the numbers of X and Y. From there
on the source stands elsewhere, until its own traverses, or the hole of a canned cycle, have named X and Y again.
"""

from decimal import Decimal

from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.line import Line
from flipreg.prove.machine.machine import CoordinateSystem
from flipreg.prove.machine.ours import is_high
from flipreg.prove.machine.step import Deed, step

__all__ = ["LedOverZero"]

_XY_PLANE = 170


class LedOverZero:
    """Walks from a line that leads over zero to where both programs are at one place again.

    Parameters
    ----------
    beside : Beside
        Both machines.
    safe_mm : Decimal
        The safe height.

    Attributes
    ----------
    frames : list of CoordinateSystem
        What numbers meant where a height in numbers was shown to be high before the first cut.
    """

    def __init__(self, beside: Beside, safe_mm: Decimal) -> None:
        self._beside = beside
        self._safe = safe_mm
        self._apart: set[int] = set()
        self.frames: list[CoordinateSystem] = []

    @property
    def is_apart(self) -> bool:
        """Whether the programs stand at two places."""
        return bool(self._apart)

    def lead(self, source: Line, output: Line) -> Deed:
        """Carry out a line in both programs, and return what the output's does.

        Raises
        ------
        ProofError
            If it is no such line, or not high.
        """
        beside, number = self._beside, source.number
        same = source.g == output.g and source.m == output.m and source.words.keys() == output.words.keys()
        same &= all(source.words[letter] == output.words[letter] for letter in source.words if letter not in "XY")
        zeros = all(output.words.get(letter) == 0 for letter in "XY")
        if not (same and zeros) or source.may_be_skipped:
            raise beside.error(number, "a line would change by more than X and Y that become zero")
        high = self._is_high()
        machine = beside.split()
        deed, theirs = step(machine, output), step(beside.source, source)
        beside.history.add(source, theirs)
        high &= self._is_high()
        moves = [*deed.moves, *theirs.moves]
        is_plain = all(not move.is_fed and not move.is_of_machine and move.is_straight for move in moves)
        if deed.acts or len(deed.moves) != 1 or not is_plain or not high:
            raise beside.error(number, "a way that would lead over zero instead is no traverse at the safe height")
        beside.compare_states(number)
        for axis in (0, 1):
            if beside.source.place[axis] != machine.place[axis]:
                beside.free(axis)
                self._apart.add(axis)
        return deed

    def follow(self, line: Line) -> None:
        """Carry out a line that both programs have, while they stand at two places.

        Raises
        ------
        ProofError
            If it does something there, or isn't high.
        """
        beside = self._beside
        high, named = self._is_high(), {axis for axis in range(3) if "XYZ"[axis] in line.words}
        deed = beside.step(line)
        if deed.acts == ["cycle"] and high and self._apart <= named and beside.source.plane == _XY_PLANE:
            # It goes to its hole by traverse, no lower than it was, before it cuts.
            self._apart.clear()
            return
        if deed.acts and deed.acts != ["end"]:
            raise beside.error(line.number, "something would be done over zero that the source does elsewhere")
        if not deed.moves:
            return
        if any(move.is_fed for move in deed.moves) or not (high and self._is_high()):
            message = "the way on from over zero would be no traverse at the safe height"
            raise beside.error(line.number, message)
        self._apart -= named

    def _is_high(self) -> bool:
        """Return whether the output stands high now; note in which frame, before anything is cut."""
        beside = self._beside
        if beside.history.first_cut is not None:
            return is_high(beside, beside.history.ends_in, self._safe)
        frame = beside.source.frame()
        if not is_high(beside, frame, self._safe):
            return False
        if beside.output.place[2] not in beside.history.machine_heights:
            self.frames.append(frame)
        return True
