"""What has to be remembered of a program's own run: in which frame it cuts, and the places of the machine it was at."""

from dataclasses import dataclass

from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.line import Line
from flipreg.prove.machine.machine import CoordinateSystem
from flipreg.prove.machine.step import Deed

__all__ = ["History"]


@dataclass(slots=True)
class History:
    """What a run has done so far.

    Attributes
    ----------
    first_cut, last_cut : CoordinateSystem or None
        What numbers meant in its first and its last motion that cuts.
    first_height, last_height : CoordinateSystem or None
        What they meant where it first and last named a height.
    last_motion : CoordinateSystem or None
        What they meant in its last motion.
    has_moved_across : bool
        It has named X or Y for a motion.
    is_parked : bool
        Its last motion went to a position of the machine (G28, G30, G53).
    ends_with_cut : bool
        Its last motion cut.
    machine_heights : set of Coordinate
        Heights of the machine that it went to by G28, G30 or G53.
    """

    first_cut: CoordinateSystem | None = None
    last_cut: CoordinateSystem | None = None
    first_height: CoordinateSystem | None = None
    last_height: CoordinateSystem | None = None
    last_motion: CoordinateSystem | None = None
    has_moved_across: bool = False
    is_parked: bool = False
    ends_with_cut: bool = False
    machine_heights: frozenset[Coordinate] = frozenset()

    @property
    def begins_in(self) -> CoordinateSystem | None:
        """The frame it begins to work in."""
        return self.first_cut or self.first_height

    @property
    def ends_in(self) -> CoordinateSystem | None:
        """The frame it worked in last."""
        return self.last_cut or self.last_height

    def add(self, line: Line, deed: Deed) -> None:
        """Take in a block that was carried out."""
        if not deed.moves or deed.frame is None:
            return
        last = deed.moves[-1]
        self.last_motion = deed.frame
        self.is_parked, self.ends_with_cut = last.is_of_machine, last.is_fed
        if last.is_of_machine:
            if last.goes(2):
                self.machine_heights |= {last.end[2]}
            return
        self.has_moved_across |= "X" in line.words or "Y" in line.words
        if "Z" in line.words:
            self.add_height(deed.frame)
        if any(move.is_fed for move in deed.moves):
            self.add_cut(deed.frame)

    def add_height(self, frame: CoordinateSystem) -> None:
        """Note that a height was named."""
        self.first_height = self.first_height or frame
        self.last_height = frame

    def add_cut(self, frame: CoordinateSystem) -> None:
        """Note that something was cut."""
        self.first_cut = self.first_cut or frame
        self.last_cut = frame
