"""Passes far apart over a carved face: where they end and how far they are apart is no feature of the part."""

import numpy as np
import pytest

from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from tests.register.shapes import PAGE, Mill


def passes(first: float, *, to_and_fro: bool, back: bool = False) -> FaceProgram:
    """Return passes 15 mm apart along Y over a shallow dome, linked where they go to and fro."""
    mill = Mill()
    lines = []
    along = np.arange(-60.0, 60.1, 2.0)
    for number, x in enumerate(np.arange(first, 210.0, 15.0).tolist()):
        y = along[::-1] if to_and_fro and number % 2 else along
        z = -1.0 - 3.0 * ((x - 100.0) / 100.0) ** 2 - 4.0 * (y / 60.0) ** 2
        at = np.column_stack([np.full(len(y), x), y])
        lines.append(np.column_stack([PAGE.apply(at) if back else at, z]))
    for line in [np.concatenate(lines)] if to_and_fro else lines:
        mill.lines(np.round(line, 3))
    return mill.program("carve.nc", None)


@pytest.mark.parametrize("to_and_fro", [False, True])
def test_wide_passes_that_start_elsewhere_on_the_other_face_are_no_shift(*, to_and_fro: bool) -> None:
    front, back = passes(-5.0, to_and_fro=to_and_fro), passes(-1.0, to_and_fro=to_and_fro, back=True)
    report = check([front], [back], flip=PAGE, tolerance_mm=0.5)
    assert report.in_register is True
