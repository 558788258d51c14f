"""The motions of a chunk as columns, between what finds them and what makes a path of them."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.interpret.frame import Frame, Point
from flipreg.rs274.interpret.state import Apart, CycleWords

__all__ = ["MotionRows"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


class MotionRows(NamedTuple):
    """Motions in the order of execution, without their arcs' centres.

    Attributes
    ----------
    block : int64, shape (n,)
        The block that commands each.
    kind, cycle : uint8, shape (n,)
        As in `Path`.
    start, end : float64, shape (n, 3)
        Millimetres, program frame.
    spindle : mapping from row to factor
        Motions of canned cycles with the spindle stopped (0) or reversed (-1).
    position_mm, assumed_zero, run, frame
        What `State` holds after the chunk.
    origin_mm : float64, shape (b, 3) or (1, 3)
    apart : mapping from block to Apart
    steps_mm : mapping from block to three floats
        As in `Modes`.
    """

    block: Index
    kind: NDArray[np.uint8]
    cycle: NDArray[np.uint8]
    start: Floats
    end: Floats
    position_mm: Point
    assumed_zero: tuple[bool, bool, bool]
    run: CycleWords | None
    frame: Frame
    origin_mm: Floats
    apart: Mapping[int, Apart] = {}
    steps_mm: Mapping[int, Point] = {}
    spindle: Mapping[int, int] = {}
