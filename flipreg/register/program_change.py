"""How programs have to be changed so that they lie where they should."""

from collections.abc import Sequence

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.register.mistake import Change, Way
from flipreg.register.number import place, plain

__all__ = ["moved_programs"]


def moved_programs(told: Isometry, right: Isometry, names: Sequence[str], *, what: str = "the back program") -> Way:
    """Return the change of a face's programs that makes them lie at `right` although they are set up as `told`.

    Parameters
    ----------
    told, right : Isometry
        From the programs' numbers to the blank: as it was said, and as what is shared shows it.
    names : sequence of str
        The programs.
    what : str
        How to call them in a sentence.
    """
    move = (~told) @ right
    x_mm, y_mm = (round(value, 4) + 0.0 for value in move.offset_mm[:2].tolist())
    if move.determinant > 0:
        turn_deg = round(move.turn_deg, 4) + 0.0
        values: dict[str, object] = {"by_mm": (x_mm, y_mm, 0.0)}
        words = f"shift {what} by {place((x_mm, y_mm))}"
        if turn_deg:
            values = {"turn_deg": turn_deg, **values}
            words = f"turn {what} by {plain(turn_deg)}° about its zero and shift it by {place((x_mm, y_mm))}"
        return Way(words, (Change("programs", tuple(names), values),))
    axis, matrix = ("x", move.matrix) if abs(move.xx - 1.0) < 1e-6 else ("y", move.matrix)
    mirror = np.diag([1.0, -1.0]) if axis == "x" else np.diag([-1.0, 1.0])
    turned = matrix @ mirror
    turn_deg = round(float(np.degrees(np.arctan2(turned[1, 0], turned[0, 0]))), 4) + 0.0
    if turn_deg == 0.0:
        # The datum as `flipreg flip` takes it, for back = (X - x, y - Y) about Y and (x - X, Y - y) about X.
        datum = (x_mm, -y_mm) if axis == "y" else (-x_mm, y_mm)
        datum = (datum[0] + 0.0, datum[1] + 0.0)
        how = f"flipreg flip --axis {axis} --datum {plain(datum[0])},{plain(datum[1])}"
        words = f"flip {what} about {axis.upper()} ({how})"
        return Way(words, (Change("programs", tuple(names), {"flip": {"axis": axis, "datum_mm": datum}}),))
    words = f"flip {what} about {axis.upper()}, turn it by {plain(turn_deg)}° about its zero, and shift it by "
    made: dict[str, object] = {"flip": {"axis": axis, "datum_mm": (0.0, 0.0)}, "turn_deg": turn_deg}
    return Way(
        words + place((x_mm, y_mm)), (Change("programs", tuple(names), {**made, "by_mm": (x_mm, y_mm, 0.0)}),)
    )
