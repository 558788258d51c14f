"""Which motions of a program have a known place in its setup, and which have not."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.job.setup import ZZero
from flipreg.path import Path
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace

__all__ = ["KnownPositions"]

Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True)
class KnownPositions:
    """One program of a setup, as the person at the machine sees it on the readout.

    Attributes
    ----------
    program : FaceProgram
        The program as the setup has it; its Z may be moved.
    path : Path
        Its motions in its own numbers.
    is_approach : bool, shape (n,)
        Motions up to the first point whose X, Y and Z are known: where the machine stood before nobody knows.
    is_lost : bool, shape (n,)
        Motions after it, to or from a place that the program does not say: a machine position (G28, G30, G53), or
        another work offset than its first one, whose place in the setup is not known.
    """

    program: FaceProgram
    path: Path
    is_approach: Bools
    is_lost: Bools

    @classmethod
    def of(cls, face: SetupFace, program: FaceProgram, thickness_mm: float) -> "KnownPositions":
        """Return where a program of a setup goes, on a blank of a thickness in millimetres."""
        path = program.path
        if face.setup.z_zero is ZZero.SPOILBOARD:
            # The setup's programs were lowered by as much, so that zero is on the face that is up.
            up = np.array([0.0, 0.0, thickness_mm])
            path = replace(path, start=path.start + up, end=path.end + up, centre=path.centre + up)
        is_home = path.work_offset == path.work_offset[:1]
        starts = np.isfinite(path.start).all(axis=1) & is_home
        settled = np.logical_or.accumulate(starts)
        return cls(program, path, ~settled, settled & ~(starts & np.isfinite(path.end).all(axis=1)))

    @property
    def is_known(self) -> Bools:
        """Motions from a known point to a known point, shape (n,)."""
        return ~(self.is_approach | self.is_lost)
