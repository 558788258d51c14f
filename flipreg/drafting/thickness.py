"""How thick a blank may be, going by how deep its programs cut: never more than a guess."""

from collections.abc import Sequence

from flipreg.drafting.cuts import FaceCuts
from flipreg.drafting.unit import Unit

__all__ = ["guessed_thickness"]

_STEP = (0.5, 0.0625)
"""A guessed thickness is a multiple of this, in a job of millimetres and in one of inches (chosen)."""
_OVERLAP = (1.0, 0.04)
"""How far the contours of both faces go past each other; common practice, no source."""
_THROUGH = (0.5, 0.02)
"""How far a contour that goes through from one face goes into the spoilboard; common practice, no source."""
_FLOOR = (3.0, 0.125)
"""What the deepest cuts of both faces leave where none goes round the part (chosen)."""


def guessed_thickness(faces: Sequence[FaceCuts], unit: Unit) -> tuple[float, str]:
    """Return a thickness in millimetres, and how it was guessed.

    Parameters
    ----------
    faces : sequence of FaceCuts
        The front, and the back if it has programs.
    unit : Unit
        The job's.
    """
    step_mm = unit.of(*_STEP)
    heights = [face.height_mm for face in faces if face.height_mm > 0.0]
    if heights:
        return unit.down(min(heights), step_mm=step_mm) or unit.of(*_FLOOR), "just below the traverses"
    largest = max((one.area_mm2 for face in faces for one in face.outermost), default=0.0)
    round_it = [face.round_mm(largest) for face in faces if face.round_mm(largest) > 0.0]
    if len(round_it) > 1:
        guess_mm, says = sum(round_it) - unit.of(*_OVERLAP), "the contours of both faces just meet"
    elif round_it and round_it[0] > sum(face.depth_mm for face in faces) - round_it[0]:
        guess_mm, says = round_it[0] - unit.of(*_THROUGH), "the contour just goes through"
    else:
        guess_mm, says = sum(face.depth_mm for face in faces) + unit.of(*_FLOOR), "more than the deepest cuts together"
    deepest = max(face.depth_mm for face in faces)
    if guess_mm < deepest / 2:
        guess_mm, says = deepest + unit.of(*_FLOOR), "more than the deepest cut"
    return max(unit.down(guess_mm, step_mm=step_mm), step_mm), says
