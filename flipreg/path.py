"""Motions as columns: what programs are read into, and what everything else works on.

A `Path` says where the controlled point goes, one row a motion, in the order of execution. Positions are in
the program frame of its setup: the numbers of the program, in millimetres, right-handed, Z up out of the
face that is cut. Angles are degrees, counter-clockwise positive seen from the positive end of the normal.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from enum import IntEnum
from functools import reduce
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import arc_bounds, plane_axes
from flipreg.geometry.isometry import Isometry

__all__ = ["Compensation", "Kind", "Path"]

Scalar = TypeVar("Scalar", bound=np.generic)
Other = TypeVar("Other", bound=np.generic)
Floats = NDArray[np.float64]


class Kind(IntEnum):
    """What one motion is."""

    RAPID = 0
    """A traverse (G0)."""
    LINE = 1
    """A straight feed (G1)."""
    ARC = 2
    """A circular or helical feed (G2, G3)."""


_RAPID, _ARC = np.uint8(Kind.RAPID), np.uint8(Kind.ARC)
"""Columns are compared with these in a sixth of the time that the members take."""


class Compensation(IntEnum):
    """The side cutter radius compensation puts the tool on, seen along the motion."""

    RIGHT = -1
    OFF = 0
    LEFT = 1


@dataclass(frozen=True, eq=False, slots=True)
class Path:
    """Motions of one program (or of a part of it), one row each, as read-only columns.

    Attributes
    ----------
    kind : uint8, shape (n,)
        A `Kind`.
    start, end : float64, shape (n, 3)
        Positions in millimetres. NaN where a coordinate is not known yet: before a program's first X word
        nobody knows where the machine stands.
    centre : float64, shape (n, 3)
        Centre of an arc; along the normal it has the start's coordinate. NaN for straight motions.
    normal : uint8, shape (n,)
        The axis normal to the plane of arcs: 2 for XY (G17), 1 for ZX (G18), 0 for YZ (G19).
    sweep_deg : float64, shape (n,)
        Signed angle of an arc about the positive normal, counter-clockwise positive, -360 to 360 and never
        0 for an arc; 0 for straight motions.
    feed_mm_per_min : float64, shape (n,)
        Feed along the motion; NaN for traverses and where no feed was named.
    spindle_rpm : float64, shape (n,)
        Positive clockwise (M3), negative counter-clockwise (M4), 0 stopped.
    tool : int32, shape (n,)
        Tool number in the spindle, -1 where none was named.
    compensation : int8, shape (n,)
        A `Compensation`; positions are the programmed ones, not offset by it.
    work_offset : uint8, shape (n,)
        Coordinate system the numbers are in, 1 for G54 to 9 for G59.3.
    cycle : uint8, shape (n,)
        81 to 89 for motions that a canned cycle made, else 0.
    line : int64, shape (n,)
        Line of the program that commands the motion, from 1.
    """

    kind: NDArray[np.uint8]
    start: Floats
    end: Floats
    centre: Floats
    normal: NDArray[np.uint8]
    sweep_deg: Floats
    feed_mm_per_min: Floats
    spindle_rpm: Floats
    tool: NDArray[np.int32]
    compensation: NDArray[np.int8]
    work_offset: NDArray[np.uint8]
    cycle: NDArray[np.uint8]
    line: NDArray[np.int64]

    def __post_init__(self) -> None:
        n = len(self.kind)
        for field in fields(self):
            column: NDArray[np.generic] = getattr(self, field.name)
            expected = (n, 3) if field.name in _POINT_COLUMNS else (n,)
            if column.shape != expected:
                raise ValueError(f"{field.name} has shape {column.shape}, expected {expected}")
            column.flags.writeable = False

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def is_cut(self) -> NDArray[np.bool_]:
        """Rows that are fed, shape (n,)."""
        return np.not_equal(self.kind, _RAPID)

    @property
    def is_arc(self) -> NDArray[np.bool_]:
        """Rows that are arcs or helices, shape (n,)."""
        return np.equal(self.kind, _ARC)

    def bounds_mm(self) -> tuple[Floats, Floats]:
        """Return the lowest and the highest X, Y and Z of each motion, shape (n, 3) each, in millimetres.

        What an arc reaches beyond its ends is in it. Of a coordinate that one end only has, that end counts; NaN
        where neither has it.
        """
        low, high = np.fmin(self.start, self.end), np.fmax(self.start, self.end)
        arcs = np.flatnonzero(self.is_arc)
        if arcs.size:
            axes = np.stack(plane_axes(self.normal[arcs]), axis=1)
            rows = arcs[:, np.newaxis]
            start, end, centre = (column[rows, axes] for column in (self.start, self.end, self.centre))
            reach = arc_bounds(start, end, centre, self.sweep_deg[arcs])
            low[rows, axes], high[rows, axes] = reach[:, :2], reach[:, 2:]
        return low, high

    def extents_mm(self) -> tuple[Floats, Floats]:
        """Return the lowest and the highest X, Y and Z of all motions, shape (3,) each; NaN where none is known."""
        nowhere = np.full(3, np.nan)
        ends = (np.fmin.reduce(column, axis=0, initial=np.nan) for column in (self.start, self.end))
        tops = (np.fmax.reduce(column, axis=0, initial=np.nan) for column in (self.start, self.end))
        low, high = reduce(np.fmin, ends, nowhere), reduce(np.fmax, tops, nowhere)
        if self.is_arc.any():
            reach_low, reach_high = self.take(self.is_arc).bounds_mm()
            low = np.fmin(low, np.fmin.reduce(reach_low, axis=0))
            high = np.fmax(high, np.fmax.reduce(reach_high, axis=0))
        return low, high

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp] | slice) -> "Path":
        """Return the named rows, in the order named, as a Path."""
        columns = [getattr(self, field.name) for field in fields(self)]
        if isinstance(rows, slice):
            return Path(*(column[rows] for column in columns))
        # Numpy takes by row numbers several times faster than it looks rows up, by a mask above all.
        numbers = np.flatnonzero(rows) if rows.dtype == np.bool_ else np.asarray(rows, np.intp)
        return Path(
            *(
                _repeated(column[0], len(numbers)) if _is_stored_once(column) else _taken(column, numbers)
                for column in columns
            )
        )

    def transformed(self, isometry: Isometry) -> "Path":
        """Return the motions moved by an isometry of the machining plane.

        Parameters
        ----------
        isometry : Isometry
            Maps this path's frame to the frame of the result.

        Returns
        -------
        Path
            Same rows. A mirror turns arcs of the XY plane the other way round and changes the side of
            cutter compensation; a quarter turn makes ZX arcs YZ arcs.

        Raises
        ------
        ValueError
            If an arc outside the XY plane would end up in no main plane (a free rotation).
        """
        arcs_outside_xy = self.is_arc & (self.normal != 2)
        if not isometry.is_axis_aligned and bool(arcs_outside_xy.any()):
            line = int(self.line[int(np.argmax(arcs_outside_xy))])
            raise ValueError(f"line {line}: an arc outside the XY plane cannot be turned by this angle")
        normal, direction = _turned_normals(isometry)
        return replace(
            self,
            start=isometry.apply(self.start),
            end=isometry.apply(self.end),
            centre=_each(self.centre, isometry.apply),
            normal=_each(self.normal, normal.take),
            sweep_deg=self.sweep_deg * _each(self.normal, direction.take),
            compensation=_each(self.compensation, lambda side: side * np.int8(isometry.determinant)),
        )

    @classmethod
    def concatenate(cls, parts: "Sequence[Path]") -> "Path":
        """Return the motions of several paths one after the other; at least one part is needed."""
        if len(parts) == 1:
            return parts[0]
        columns = {f.name: _joined([getattr(part, f.name) for part in parts]) for f in fields(cls)[3:]}
        start, end = _joined_ends([part for part in parts if len(part)])
        return cls(_joined([part.kind for part in parts]), start, end, **columns)

    @classmethod
    def empty(cls) -> "Path":
        """Return a path without motions."""
        return cls(
            kind=np.empty(0, np.uint8),
            start=np.empty((0, 3)),
            end=np.empty((0, 3)),
            centre=np.empty((0, 3)),
            normal=np.empty(0, np.uint8),
            sweep_deg=np.empty(0),
            feed_mm_per_min=np.empty(0),
            spindle_rpm=np.empty(0),
            tool=np.empty(0, np.int32),
            compensation=np.empty(0, np.int8),
            work_offset=np.empty(0, np.uint8),
            cycle=np.empty(0, np.uint8),
            line=np.empty(0, np.int64),
        )


_POINT_COLUMNS = ("start", "end", "centre")


def _is_stored_once(column: NDArray[Scalar]) -> bool:
    """Return whether a column is one number, or one point, seen in each row."""
    return len(column) > 0 and not any(column.strides)


def _taken(column: NDArray[Scalar], rows: NDArray[np.intp]) -> NDArray[Scalar]:
    """Return rows of a column; points are taken and kept coordinate by coordinate, as they are worked on."""
    if column.ndim == 1:
        return column.take(rows)
    taken = np.empty((column.shape[1], len(rows)), column.dtype)
    for axis, coordinates in enumerate(column.T):
        taken[axis] = coordinates.take(rows)
    return taken.T


def _each(column: NDArray[Scalar], change: Callable[[NDArray[Scalar]], NDArray[Other]]) -> NDArray[Other]:
    """Return what becomes of each row, worked out once where the column is stored once."""
    return _repeated(change(column[:1])[0], len(column)) if _is_stored_once(column) else change(column)


def _repeated(one: NDArray[Scalar], count: int) -> NDArray[Scalar]:
    return np.broadcast_to(one, (count, *np.shape(one)))


def _joined(columns: list[NDArray[Scalar]]) -> NDArray[Scalar]:
    """Return columns one after the other, stored once where they are one number: a long program has many rows."""
    full = [column for column in columns if len(column)]
    if full and all(_holds_only(full[0][0], column) for column in full):
        return _repeated(full[0][0], sum(map(len, full)))
    return np.concatenate(columns)


def _holds_only(one: NDArray[Scalar], column: NDArray[Scalar]) -> bool:
    # The last row tells it of most columns that change.
    parts = (column[-1:],) if _is_stored_once(column) else (column[-1:], column)
    return all(bool(((part == one) | ((part != part) & (one != one))).all()) for part in parts)


def _joined_ends(parts: "list[Path]") -> tuple[Floats, Floats]:
    """Return where the motions of all parts start and end; one column of places where each starts at the end before."""
    count = sum(map(len, parts))
    places = np.empty((3, count + 1))
    row, end = 0, None
    for part in parts:
        size = len(part)
        places[:, row : row + size] = part.start.T
        places[:, row + size] = part.end[-1]
        follows = end is None or _same(part.start[0], end)
        if not (follows and (_is_one_way(part) or _same(places[:, row + 1 : row + size + 1].T, part.end))):
            return np.concatenate([each.start for each in parts]), np.concatenate([each.end for each in parts])
        row, end = row + size, part.end[-1]
    return places[:, :-1].T, places[:, 1:].T


def _is_one_way(path: Path) -> bool:
    """Return whether the start of each motion is stored where the end of the one before is."""
    start, end = path.start[1:], path.end[:-1]
    at = start.__array_interface__["data"] == end.__array_interface__["data"]
    return at and start.strides == end.strides


def _same(one: Floats, other: Floats) -> bool:
    return np.array_equal(one, other, equal_nan=True)


def _turned_normals(isometry: Isometry) -> tuple[NDArray[np.uint8], Floats]:
    """Return, for each normal axis, the axis it becomes and the factor on the direction of its arcs.

    An oriented plane's normal is a pseudo-vector: an arc about N becomes an arc about det(A)·A·N. Where that
    is the negative of an axis, the same arc about the axis itself turns the other way. A free rotation has
    no arcs but those about Z; for straight motions the plane that happens to be in force stays.
    """
    if not isometry.is_axis_aligned:
        # The plane counts for arcs only, and then it is XY.
        return np.arange(3, dtype=np.uint8), np.full(3, float(isometry.determinant))
    axes = np.eye(3)
    axes[:2, :2] = isometry.matrix
    pseudo = isometry.determinant * axes
    becomes = np.abs(pseudo).argmax(axis=0)
    return becomes.astype(np.uint8), np.sign(pseudo[becomes, np.arange(3)])
