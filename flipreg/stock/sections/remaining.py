"""What the programs of a job leave of the wood, section by section, as data for findings, tables and pictures."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.holding import Tab
from flipreg.cut.thickness import BothFaces
from flipreg.job.bend import Bend

__all__ = ["PartSupport", "RemainingStock", "Thickness"]

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class PartSupport:
    """How one piece that the profile cuts go round hangs in the blank after a setup.

    Attributes
    ----------
    setup : str
        The setup that has run, and all before it.
    section : str
        Name of the section the figures are of.
    at_mm : (x, y)
        Middle of the piece, in the frame of the section.
    area_mm2 : float
        Area of the piece inside the profile cuts.
    floor_mm : float or None
        The thinnest wood in the profile cuts, while most of them are not through and the piece hangs all round; None
        once they are.
    is_joined : bool
        Whether wood joins it to the blank.
    tabs : tuple of Tab
        What joins it to the blank or to other pieces once the cuts are through.
    """

    setup: str
    section: str
    at_mm: tuple[float, float]
    area_mm2: float
    is_joined: bool
    floor_mm: float | None
    tabs: tuple[Tab, ...]

    @property
    def section_mm2(self) -> float:
        """Sum of the tabs' weakest sections."""
        return float(sum(tab.section_mm2 for tab in self.tabs))


@dataclass(frozen=True, slots=True)
class Thickness:
    """The finished thickness at one station.

    Attributes
    ----------
    name : str
        How the job calls it.
    section : str
        The section it is on.
    at_mm : (x, y)
        Where it is, in the frame of that section.
    front_mm, back_mm : float or None
        How deep the front and the back are cut there, from their faces; None where it cannot be told.
    left_mm : float or None
        What is left between them; 0 where nothing is, None where it cannot be told.
    planned_mm, tolerance_mm : float or None
        What the job plans to be left, and how far off it may be; None where it says nothing.
    """

    name: str
    section: str
    at_mm: tuple[float, float]
    front_mm: float | None
    back_mm: float | None
    left_mm: float | None
    planned_mm: float | None = None
    tolerance_mm: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class RemainingStock:
    """What is left of one section when all setups have run, in the section's own frame, in which it lies flat.

    Attributes
    ----------
    name : str
        'straight', or the bent section's name.
    bend : Bend or None
        The bend whose section it is; None for the straight one.
    setups : tuple of str
        The setups in which it lies flat, in order.
    grid : Grid
        Cells of all the maps here.
    faces : BothFaces
        Both surfaces at the centres of the cells: right there, nothing is known between them.
    thin : BothFaces
        The same with cutters grown to cover whole cells: nowhere thicker than the wood.
    known : bool array, shape `grid.shape`
        Cells of the blank on this section that no tilted setup of another section comes near. Elsewhere the
        maps do not hold.
    kerf : bool array, shape `grid.shape`
        Where a profile program of either face passes, tabs included; none where no program is named as one.
    part : bool array, shape `grid.shape`
        The pieces that the kerf goes round, as far as the section goes.
    lead : str
        What sentences about it begin with: its name, or nothing where the blank has no other section.
    """

    name: str
    bend: Bend | None
    setups: tuple[str, ...]
    grid: Grid
    faces: BothFaces
    thin: BothFaces
    known: Bools
    kerf: Bools
    part: Bools
    lead: str = ""
