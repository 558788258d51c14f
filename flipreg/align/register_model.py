"""How two faces miss each other when lines, pointer, jog, machine and wood are not exact: the model of the budget.

Derived in the document on the error budget. Everything is told for a point of the part: where the back's cut lands,
less where the front's lands, along X and Y of the blank frame, in the wood as it was when the lines were drawn.
For fixed errors the miss is an affine function of the point, because pushing, turning, shear and swelling all are:
four points tell it everywhere. Millimetres inside; angles come in as degrees.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from math import hypot, pi
from typing import cast

import numpy as np
from numpy.typing import NDArray

from flipreg.align.propagate import Model, Quantity
from flipreg.align.wood import equilibrium_moisture_percent
from flipreg.errors import UsageError
from flipreg.job.budget import Air, Budget
from flipreg.job.estimate import Estimate

__all__ = ["BASE_MM", "BlankModel", "Laid", "Source", "base_model", "left_out", "quantities", "weights"]

Floats = NDArray[np.float64]
Matrix = tuple[tuple[float, float], tuple[float, float]]
Draws = Mapping[str, Floats]

BASE_MM = 100.0
"""Distance between the points that the model is worked out at; any would do."""


class Source(Enum):
    """Where a miss comes from; the value is what the report calls it."""

    LINES = "drawing the lines"
    POINTER = "aligning the pointer"
    JOG = "jog readout"
    SQUARE = "squareness of the axes"
    LEAN = "lean of the spindle"
    FLAT = "flatness under the blank"
    WOOD = "movement of the wood"
    CURVED = "errors that multiply"
    """Not an input: what two uncertain quantities make together, such as moisture and this board's movement."""


@dataclass(frozen=True, slots=True)
class Laid:
    """How the blank lies in a setup, as far as register needs it.

    Attributes
    ----------
    name : str
        The setup.
    blank_from_table : 2 by 2 numbers
        How the table's X and Y lie in the blank frame: quarter turns, and for the back a mirror.
    mark_mm, far_mm : (float, float)
        The reference mark, and the other end where the pointer is held to the line, in the blank frame.
    """

    name: str
    blank_from_table: Matrix
    mark_mm: tuple[float, float]
    far_mm: tuple[float, float]

    def __post_init__(self) -> None:
        if hypot(self.far_mm[0] - self.mark_mm[0], self.far_mm[1] - self.mark_mm[1]) <= 0:
            raise UsageError(f"setup {self.name!r} needs two different marks on the line to be aligned by")

    def on_table(self, vector: tuple[float, float]) -> tuple[float, float]:
        """Turn a vector of the blank frame to the table's X and Y."""
        (xx, xy), (yx, yy) = self.blank_from_table
        return xx * vector[0] + yx * vector[1], xy * vector[0] + yy * vector[1]

    def on_blank(self, vector: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
        """Turn a vector of the table to the blank frame's X and Y."""
        (xx, xy), (yx, yy) = self.blank_from_table
        return xx * vector[0] + xy * vector[1], yx * vector[0] + yy * vector[1]

    def from_mark(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the blank frame lies from the reference mark, along the table's X and Y."""
        return self.on_table((point_mm[0] - self.mark_mm[0], point_mm[1] - self.mark_mm[1]))


@dataclass(frozen=True, slots=True)
class BlankModel:
    """The blank, as far as register needs it.

    Attributes
    ----------
    size_mm : (float, float, float)
        Along X, Y and Z of the blank frame.
    per_point : (float, float)
        The wood's movement along X and Y of the blank frame, as a fraction for each point of moisture content.
    """

    size_mm: tuple[float, float, float]
    per_point: tuple[float, float] = (0.0, 0.0)


def quantities(budget: Budget, front: Laid, back: Laid) -> list[tuple[Quantity, Source]]:
    """Return every quantity that the budget gives, each under the name that the model knows it by."""
    found: list[tuple[Quantity, Source]] = []

    def add(source: Source, estimate: Estimate | None, *names: str) -> None:
        if estimate is not None:
            found.extend((Quantity(name, estimate), source) for name in names)

    far = budget.pointer_mm if budget.pointer_far_mm is None else budget.pointer_far_mm
    for name in (front.name, back.name):
        add(Source.LINES, budget.line_drawing_mm, *(f"{name}: {line}" for line in _LINES))
        add(Source.POINTER, budget.pointer_mm, f"{name}: pointer across at the mark", f"{name}: pointer along")
        add(Source.POINTER, far, f"{name}: pointer at the far end")
        add(Source.JOG, budget.jog_mm, f"{name}: jog along X", f"{name}: jog along Y")
        add(Source.FLAT, budget.flat_mm, f"{name}: flatness along X", f"{name}: flatness along Y")
    add(Source.SQUARE, budget.square_deg, "squareness")
    add(Source.LEAN, budget.lean_deg, "lean along X", "lean along Y")
    wood = budget.wood
    if isinstance(wood, Air):
        add(Source.WOOD, wood.temperature_before_c, "temperature before")
        add(Source.WOOD, wood.humidity_before_percent, "humidity before")
        add(Source.WOOD, wood.temperature_after_c, "temperature after")
        add(Source.WOOD, wood.humidity_after_percent, "humidity after")
    elif wood is not None:
        add(Source.WOOD, wood.points, "moisture change")
    if wood is not None:
        add(Source.WOOD, budget.coefficient_percent, "movement of this board")
    return found


def left_out(budget: Budget) -> list[Source]:
    """Return the sources that the budget says nothing about."""
    given = {
        Source.LINES: budget.line_drawing_mm,
        Source.POINTER: budget.pointer_mm,
        Source.JOG: budget.jog_mm,
        Source.SQUARE: budget.square_deg,
        Source.LEAN: budget.lean_deg,
        Source.FLAT: budget.flat_mm,
        Source.WOOD: budget.wood,
    }
    return [source for source, estimate in given.items() if estimate is None]


def base_model(front: Laid, back: Laid, blank: BlankModel) -> Model:
    """Return the model of the miss at four points: eight numbers, X and Y at the origin and at each of `BASE_MM`."""

    def model(errors: Draws) -> list[Floats]:
        change = _moisture_change(errors)
        return [part for point in _BASE for part in _miss(front, back, blank, (errors, change), point)]

    return model


def weights(at_mm: tuple[float, float], depth_mm: float) -> Floats:
    """Return how the miss at a point is put together from the eight numbers of the model, shape (2, 8).

    Parameters
    ----------
    at_mm : (float, float)
        In the blank frame.
    depth_mm : float
        Below the front face.
    """
    along = np.array([at_mm[0], at_mm[1], depth_mm]) / BASE_MM
    return np.kron(np.array([1.0 - along.sum(), *along]), np.eye(2))


_LINES = ("centre line at the mark", "centre line at the far end", "line across")

_BASE = ((0.0, 0.0, 0.0), (BASE_MM, 0.0, 0.0), (0.0, BASE_MM, 0.0), (0.0, 0.0, BASE_MM))


def _miss(
    front: Laid, back: Laid, blank: BlankModel, drawn: tuple[Draws, Floats], point: tuple[float, float, float]
) -> tuple[Floats, Floats]:
    """Return the miss at a point, for errors and the moisture change that goes with them."""
    x, y, depth = point
    errors, change = drawn
    front_x, front_y = front.on_blank(_cut(front, blank, errors, (x, y), depth))
    back_x, back_y = back.on_blank(_cut(back, blank, errors, (x, y), blank.size_mm[2] - depth))
    scatter = 1 + _of(errors, "movement of this board") / 100
    # The back's cut is so far from its mark in the wood as it is then; the same wood was shorter before.
    wood = [
        distance / (1 + per_point * scatter * change) - distance
        for distance, per_point in zip((x - back.mark_mm[0], y - back.mark_mm[1]), blank.per_point, strict=True)
    ]
    return back_x - front_x + wood[0], back_y - front_y + wood[1]


def _cut(
    laid: Laid, blank: BlankModel, errors: Draws, at_mm: tuple[float, float], depth_mm: float
) -> tuple[Floats, Floats]:
    """Return how far a cut lands from where it should, along the table's X and Y."""
    x, y = laid.from_mark(at_mm)
    far_x, far_y = laid.from_mark(laid.far_mm)
    length = hypot(far_x, far_y)
    along_x, along_y = far_x / length, far_y / length
    across_x, across_y = -along_y, along_x

    def of(name: str) -> Floats:
        return _of(errors, f"{laid.name}: {name}")

    across = of("centre line at the mark") + of("pointer across at the mark")
    along = of("line across") + of("pointer along")
    slope = (of("centre line at the far end") + of("pointer at the far end") - across) / length
    # A root of an array is quick, any other power is not.
    cosine = 1 / (1 + slope * slope) ** 0.5
    # Angle X-Y short of square by `shear`: half to each axis, then turned until the line is where it was aligned.
    shear = _of(errors, "squareness") * (pi / 180)
    turn = -shear / 2 * (across_x * along_y + across_y * along_x)
    width, height = (abs(size) for size in laid.on_table((blank.size_mm[0], blank.size_mm[1])))
    tilt_x = _of(errors, "lean along X") * (pi / 180) + of("flatness along X") / width
    tilt_y = _of(errors, "lean along Y") * (pi / 180) + of("flatness along Y") / height
    return (
        (cosine - 1) * x - slope * cosine * y + across * across_x + along * along_x
        + of("jog along X") + shear / 2 * y - turn * y + tilt_x * depth_mm,
        (cosine - 1) * y + slope * cosine * x + across * across_y + along * along_y
        + of("jog along Y") + shear / 2 * x + turn * x + tilt_y * depth_mm,
    )  # fmt: skip


def _moisture_change(errors: Draws) -> Floats:
    """Return by how many points the moisture content changes; the wood is taken to come to rest with the air."""
    if "temperature before" not in errors:
        return _of(errors, "moisture change")
    before = equilibrium_moisture_percent(errors["temperature before"], errors["humidity before"])
    return equilibrium_moisture_percent(errors["temperature after"], errors["humidity after"]) - before


def _of(errors: Draws, name: str) -> Floats:
    """Return the error of a name, 0 where the budget has none."""
    return errors.get(name, _ZERO)


_ZERO = cast("Floats", 0.0)
"""A plain number: an array of numpy's would swallow uncertain numbers that are added to it."""
