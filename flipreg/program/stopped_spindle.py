"""A program that cuts while the spindle stands still."""

import numpy as np

from flipreg.cut.surface import is_known
from flipreg.findings import Finding, Status
from flipreg.program.face import FaceProgram
from flipreg.rs274.code_numbers import SPINDLE_CYCLES
from flipreg.units import length_text

__all__ = ["stopped_spindle"]

_DEEP_MM = 0.05
"""A feed that is less deep below the face meets no wood; millimetres (chosen)."""


def stopped_spindle(program: FaceProgram) -> Finding | None:
    """Return the finding on feeds below the face with a spindle that stands, where the program turns it elsewhere.

    Parameters
    ----------
    program : FaceProgram
        A program whose Z zero is on the face that is up. One that never starts its spindle may be for a machine where
        that is done by hand.
    """
    path = program.path
    if not bool(path.spindle_rpm.any()):
        return None
    deep = path.is_cut & is_known(path) & (path.spindle_rpm == 0) & (path.end[:, 2] < -_DEEP_MM)
    rows = np.flatnonzero(deep & ~np.isin(path.cycle, SPINDLE_CYCLES))
    if not rows.size:
        return None
    deepest = length_text(-float(path.end[rows, 2].min()))
    says = f"the cutter is fed up to {deepest} below the face while the spindle stands still; write M3 before it"
    return Finding("spindle", Status.FAIL, says, program.name, int(path.line[int(rows[0])]))
