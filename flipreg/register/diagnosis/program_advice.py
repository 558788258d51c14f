"""What to do about a mistake, where nothing is known but the programs and the flip that was said."""

import numpy as np
from numpy.typing import NDArray

from flipreg.program.face import Face
from flipreg.register.decision.mistake import Change, Mistake, Way, shift_words
from flipreg.register.diagnosis.program_change import moved_programs
from flipreg.register.diagnosis.shift_cause import Cause, at_the_cutters_edge
from flipreg.register.faces.near import near_pairs
from flipreg.register.faces.number import option, place
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.other_units import OtherUnit
from flipreg.register.placing.search import orientation_of
from flipreg.units import limit_text

__all__ = ["ProgramAdvice", "unit_way"]

_FEWEST_REPEATED, _REPEATED_SHARE = 3, 0.5
"""A pattern repeats by a shift if so many features have their like there, and this share of all (chosen)."""


class ProgramAdvice:
    """Advice on a check of two faces, in the front's numbers."""

    def __init__(self, back: Face) -> None:
        self.names = tuple(program.name for program in back)

    def zero(self, comparison: Comparison, right: Placement) -> list[Mistake]:
        """Return the mistake of a back whose zero should be at `right`."""
        assert comparison.placement is not None
        dx_mm, dy_mm = (comparison.placement.offset_mm - right.offset_mm).tolist()
        cause = _cause(comparison, np.array([dx_mm, dy_mm]))
        small = float(np.hypot(dx_mm, dy_mm)) <= max(10.0, 0.05 * comparison.faces.front.size_mm)
        return [
            Mistake(
                cause.code,
                f"the back sits {shift_words(dx_mm, dy_mm)}, seen from the front"
                + (f"; {cause.words}" if cause.words else ""),
                (_datum(comparison, right), moved_programs(comparison.placement.isometry, right.isometry, self.names)),
                is_small=small,
            )
        ]

    def way_round(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that is mirrored about the other axis, not at all, or turned."""
        orientation = orientation_of(right.isometry)
        where = place(right.offset_mm.tolist())
        told = comparison.placement
        # Where the flip was found, the back lies as it was found: to move it there would be to do nothing.
        is_moved = told is not None and not comparison.is_found
        remade = [] if told is None or not is_moved else [moved_programs(told.isometry, right.isometry, self.names)]
        if orientation is None:
            hand = "" if right.isometry.determinant < 0 else " and not mirrored"
            cure = "make the back program again without the quarter turn"
            return Mistake(
                "quarter turn",
                f"the back is turned by a quarter turn{hand}",
                tuple(remade) or (Way(cure),),
                is_certain=True,
            )
        if orientation.axis == "none":
            turned = ", after half a turn," if orientation.is_turned else ""
            return Mistake(
                "not mirrored",
                f"the back is not mirrored, for its numbers{turned} match the front's "
                f"(its zero at {where} of the front)",
                tuple(remade) or (Way("make the back program by flipping it, then check again"),),
            )
        wanted = comparison.orientation
        asked = "" if wanted is None or wanted.axis == "none" else f", not about {wanted.axis.upper()}"
        flip = Way(
            f"flip the blank about {orientation.axis.upper()}, with the back's zero at {where} of the front's numbers",
            (Change("check", (), {"axis": orientation.axis, "datum_mm": _rounded(right)}),),
        )
        return Mistake(
            "other axis",
            "the back is mirrored about the other axis, which is the same as turned by 180°, and fits "
            f"{orientation.words}{asked}",
            (flip, *remade),
        )

    def turn(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that is a little turned."""
        assert comparison.placement is not None
        return turned(comparison, moved_programs(comparison.placement.isometry, right.isometry, self.names))

    def unit(self, other: OtherUnit) -> Way:
        """Return how to mend the unit of programs."""
        return unit_way(other)


def turned(comparison: Comparison, remade: Way) -> Mistake:
    """Return the mistake of a back that is a little turned, mended by moving its programs or the blank."""
    angle = comparison.register.rotation_deg or 0.0
    way = "counter-clockwise" if angle > 0 else "clockwise"
    dx_mm, dy_mm = comparison.register.dx_mm or 0.0, comparison.register.dy_mm or 0.0
    shift = "" if np.hypot(dx_mm, dy_mm) < 0.005 else f" and sits {shift_words(dx_mm, dy_mm)}"
    return Mistake(
        "rotation",
        f"the back is turned {abs(angle):z.3f}° {way} about the front's zero{shift}, seen from the front",
        (remade, Way("turn the blank on the table to match")),
        is_small=abs(angle) < 5.0,
    )


def unit_way(other: OtherUnit) -> Way:
    """Return how to mend the unit of programs: by their unit word."""
    code, unit = ("G20", "inches") if other.unit == "inch" else ("G21", "millimetres")
    names = ", ".join(other.names)
    return Way(
        f"write the unit word for {unit}, {code}, into {names}",
        (Change("programs", other.names, {"unit": other.unit}),),
    )


def _datum(comparison: Comparison, right: Placement) -> Way:
    """Return the way to put the back's zero where it should be."""
    assert comparison.orientation is not None
    axis, (x_mm, y_mm) = comparison.orientation.axis, _rounded(right)
    across, along = (x_mm, y_mm) if axis == "y" else (y_mm, x_mm)
    line = f" (--at {option(across / 2)})" if axis != "none" and along == 0.0 else ""
    return Way(
        f"put the back's program zero at {place((x_mm, y_mm))} of the front's numbers{line}",
        (Change("check", (), {"axis": axis, "datum_mm": (x_mm, y_mm)}),),
    )


def _rounded(right: Placement) -> tuple[float, float]:
    x_mm, y_mm = (round(value, 4) + 0.0 for value in right.offset_mm.tolist())
    return x_mm, y_mm


def _cause(comparison: Comparison, by_mm: NDArray[np.float64]) -> Cause:
    """Return what usually makes a zero lie off by so much, 'offset' where it is nothing usual."""
    radii = (*comparison.faces.front.radius_mm, *comparison.faces.back.radius_mm)
    edge = at_the_cutters_edge(by_mm, [2 * radius for radius in radii if radius is not None])
    if edge is not None:
        return edge
    if _repeats(comparison, by_mm):
        return Cause("pitch", "the pattern repeats by just that")
    if float(np.hypot(*by_mm)) <= max(10.0, 0.05 * comparison.faces.front.size_mm):
        return Cause("offset", "")
    return _large_shift(comparison, np.abs(by_mm))


def _repeats(comparison: Comparison, by_mm: NDArray[np.float64]) -> bool:
    """Return whether most of what the front shows has its like so far away."""
    both = comparison.faces.comparable
    marks = both.front
    ours, theirs, _ = near_pairs(marks.centre_mm, marks.centre_mm + by_mm, both.gate_mm)
    same = ours[(marks.kind[ours] == marks.kind[theirs]) & (ours != theirs)]
    return len(np.unique(same)) >= max(_FEWEST_REPEATED, _REPEATED_SHARE * len(marks))


def _large_shift(comparison: Comparison, shift: NDArray[np.float64]) -> Cause:
    """Return what usually makes a large shift across or along the flip axis."""
    if comparison.orientation is None or comparison.orientation.axis == "none":
        return Cause("offset", "")
    across = 0 if comparison.orientation.axis == "y" else 1
    low, high = comparison.faces.front.cut_box_mm[:2], comparison.faces.front.cut_box_mm[2:]
    tools = [2 * radius for radius in comparison.faces.front.radius_mm if radius is not None]
    # Zero in a corner of the blank or of the part: the size of the blank, of the cut, or of the part itself.
    sizes = [high - low, np.abs(high + low), *(high - low - tool for tool in tools)]
    room = np.maximum(2.0, 0.02 * (high - low))
    still = shift <= room
    is_whole = [any(abs(shift[i] - size[i]) <= room[i] for size in sizes) for i in (0, 1)]
    is_half = [any(abs(shift[i] - size[i] / 2) <= room[i] for size in sizes) for i in (0, 1)]
    along = 1 - across
    if still[along]:
        # The flip moves a point by twice its distance from the line, so any shift across is a wrong line.
        line = f"as if the flip line is wrong by {limit_text(shift[across] / 2)} in {'XY'[across]}"
        part = ", half the blank" if is_whole[across] else ", a quarter of the blank" if is_half[across] else ""
        return Cause("flip line", line + part)
    if still[across] and is_whole[along]:
        return Cause("wrong end", "that is the length of the part, as if zero had been taken at the wrong end")
    if is_whole[across] and is_whole[along]:
        return Cause("wrong end", "as if zero had been taken at the opposite corner")
    return Cause("offset", "")
