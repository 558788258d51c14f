"""How programs have to be changed so that they lie where they should."""

from collections.abc import Sequence

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.register.decision.mistake import Change, Way
from flipreg.register.faces.number import option, place
from flipreg.units import number_text, shown_now

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
        turn_deg = _turn(move.turn_deg)
        values: dict[str, object] = {"by_mm": (x_mm, y_mm, 0.0)}
        words, how = f"shift {what} by {_by(x_mm, y_mm)}", f"--by {option(x_mm, y_mm)}"
        if turn_deg:
            values = {"turn_deg": turn_deg, **values}
            words = f"turn {what} by {number_text(turn_deg)}° about its zero"
            if (x_mm, y_mm) == (0.0, 0.0):
                how = f"--turn {number_text(turn_deg)}"
            else:
                words, how = f"{words} and shift it by {_by(x_mm, y_mm)}", f"--turn {number_text(turn_deg)} {how}"
        return Way(f"{words} (flipreg shift {how})", (Change("programs", tuple(names), values),))
    axis, matrix = ("x", move.matrix) if abs(move.xx - 1.0) < 1e-6 else ("y", move.matrix)
    mirror = np.diag([1.0, -1.0]) if axis == "x" else np.diag([-1.0, 1.0])
    turned = matrix @ mirror
    turn_deg = _turn(float(np.degrees(np.arctan2(turned[1, 0], turned[0, 0]))))
    if turn_deg == 0.0:
        # The datum as `flipreg flip` takes it, for back = (X - x, y - Y) about Y and (x - X, Y - y) about X.
        datum = (x_mm, -y_mm) if axis == "y" else (-x_mm, y_mm)
        datum = (datum[0] + 0.0, datum[1] + 0.0)
        how = f"flipreg flip --axis {axis} --datum {option(*datum)}"
        words = f"flip {what} about {axis.upper()} ({how})"
        return Way(words, (Change("programs", tuple(names), {"flip": {"axis": axis, "datum_mm": datum}}),))
    words = f"flip {what} about {axis.upper()}, turn it by {number_text(turn_deg)}° about its zero, and shift it by "
    made: dict[str, object] = {"flip": {"axis": axis, "datum_mm": (0.0, 0.0)}, "turn_deg": turn_deg}
    return Way(
        words + _by(x_mm, y_mm), (Change("programs", tuple(names), {**made, "by_mm": (x_mm, y_mm, 0.0)}),)
    )


def _turn(turn_deg: float) -> float:
    """Return a turn to a ten-thousandth of a degree, half a turn as 180 and never as -180."""
    turn = round(turn_deg, 4) + 0.0
    return 180.0 if turn == -180.0 else turn


def _by(x_mm: float, y_mm: float) -> str:
    return f"{place((x_mm, y_mm))} {shown_now().name}"
