"""Programs whose unit word is wrong: inches read as millimetres, or the other way.

In the wrong unit a program is 25.4 times too large or too small, about its own zero. Its extents show whether that may
be so; that it is so shows only once it is read in the other unit, by what both faces share then.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.program.face import Face, FaceProgram
from flipreg.units import INCH_MM

__all__ = ["AT_ORIGIN", "OtherUnit", "Zeros", "other_units", "read_as"]

Floats = NDArray[np.float64]
Point = tuple[float, float, float]

_FAR_TOO_LARGE = 4.0
"""So many times larger than anything else in the check is too large to be meant (chosen)."""
_FAR_TOO_SMALL = 8.0
"""So many times smaller than the largest may be (chosen): small programs are nothing rare, so it only asks."""
_TALLEST_MM = 250.0
"""No program for wood moves further along Z, in millimetres; common practice, no source."""
_ROOM = 1.5
"""Read in the other unit, a program may be so much larger than the largest of the others (chosen)."""


@dataclass(frozen=True, slots=True)
class Zeros:
    """Where the program zeros of both faces are, in the frames that their paths are in; millimetres."""

    front_mm: Point = (0.0, 0.0, 0.0)
    back_mm: Point = (0.0, 0.0, 0.0)

    def of(self, *, is_front: bool) -> Point:
        """Return that of one face."""
        return self.front_mm if is_front else self.back_mm


AT_ORIGIN = Zeros()
"""Paths in their program frames."""


@dataclass(frozen=True, slots=True)
class OtherUnit:
    """Programs of one face that may be in another unit than they say.

    Attributes
    ----------
    is_front : bool
        Of which face.
    names : tuple of str
        The programs.
    unit : str
        'mm' or 'inch': what they seem to be in.
    is_plain : bool
        They are far too large or far too small along all axes, and say no unit or one that no other program has: that
        alone gives reason to ask.
    is_written : bool
        Whether any of them says its unit itself.
    """

    is_front: bool
    names: tuple[str, ...]
    unit: str
    is_plain: bool
    is_written: bool

    @property
    def factor(self) -> float:
        """By what their positions have to be multiplied."""
        return INCH_MM if self.unit == "inch" else 1.0 / INCH_MM


def other_units(
    front: Face, back: Face, zeros: Zeros = AT_ORIGIN, largest_mm: float = np.inf
) -> Iterator[OtherUnit]:
    """Yield the programs of one face that may be in another unit: first those that say none, then most programs first.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face.
    zeros : Zeros
        Where their program zeros are.
    largest_mm : float
        The blank's diagonal, where it is known: nothing is meant to be much larger.
    """
    # A unit that nobody wrote is doubted before one that somebody did.
    yield from sorted(_outsized(front, back, zeros, largest_mm), key=lambda other: other.is_written)


def _outsized(front: Face, back: Face, zeros: Zeros, largest_mm: float) -> Iterator[OtherUnit]:
    """Yield the programs that are so much larger or smaller than the others that a unit would explain it."""
    sizes = {id(program): _size(program, zeros.of(is_front=True)) for program in front}
    sizes |= {id(program): _size(program, zeros.of(is_front=False)) for program in back}
    for is_front, face, other in ((False, back, front), (True, front, back)):
        for group in _groups(face):
            rest = [program for program in (*face, *other) if not any(program is one for one in group)]
            own = max(sizes[id(program)] for program in group)
            least = min(sizes[id(program)] for program in group)
            largest = max((sizes[id(program)] for program in rest), default=0.0)
            if own <= 0.0 or largest <= 0.0:
                continue
            names = tuple(program.name for program in group)
            is_written = any(program.says_unit for program in group)
            alone = len({program.inch for program in group}) == 1 and all(
                program.inch is not group[0].inch for program in rest
            )
            # A program that is read in a unit already has the word that would be written into it.
            inch = {program.inch for program in group}
            room, height = _ROOM * min(largest, largest_mm), max(map(_height, group))
            may_be = own / INCH_MM <= _FAR_TOO_LARGE * largest or height > _TALLEST_MM
            if False not in inch and own > _FAR_TOO_LARGE * largest and may_be:
                # A small program may be no larger than the others, in whichever unit.
                plain = alone and group[0].inch and least > _FAR_TOO_LARGE * largest
                yield OtherUnit(is_front, names, "mm", is_plain=plain, is_written=is_written)
                continue
            may_be = own * INCH_MM <= room and height * INCH_MM <= _TALLEST_MM
            if True not in inch and own * _FAR_TOO_SMALL < largest and may_be:
                low = height * _FAR_TOO_SMALL < max(map(_height, rest))
                plain = low and (alone or not is_written) and not group[0].inch
                yield OtherUnit(is_front, names, "inch", is_plain=plain, is_written=is_written)


def read_as(face: Face, other: OtherUnit, zeros: Zeros = AT_ORIGIN) -> list[FaceProgram]:
    """Return the programs of a face with those that may be in another unit read in that one."""
    zero_mm = np.array(zeros.of(is_front=other.is_front))
    return [_scaled(program, other.factor, zero_mm) if program.name in other.names else program for program in face]


def _groups(face: Face) -> Iterator[Sequence[FaceProgram]]:
    """Yield the whole face, those of one unit where it is mixed, and each program alone."""
    yield face
    inch = [program for program in face if program.inch]
    if 1 < len(inch) < len(face):
        yield inch
    metric = [program for program in face if not program.inch]
    if 1 < len(metric) < len(face):
        yield metric
    if len(face) > 1:
        for program in face:
            yield [program]


def _size(program: FaceProgram, zero_mm: Point) -> float:
    """Return the diagonal of what is cut, together with program zero, in millimetres."""
    points = program.path.end[program.path.is_cut, :2]
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) == 0:
        return 0.0
    points = np.vstack([points, zero_mm[:2]])
    return float(np.hypot(*np.ptp(points, axis=0)))


def _height(program: FaceProgram) -> float:
    """Return how far apart the highest and the lowest motion are, in millimetres."""
    z = program.path.end[:, 2]
    z = z[np.isfinite(z)]
    return float(np.ptp(z)) if len(z) else 0.0


def _scaled(program: FaceProgram, factor: float, zero_mm: Floats) -> FaceProgram:
    path = program.path
    return replace(
        program,
        path=replace(
            path,
            start=(path.start - zero_mm) * factor + zero_mm,
            end=(path.end - zero_mm) * factor + zero_mm,
            centre=(path.centre - zero_mm) * factor + zero_mm,
        ),
        inch=not program.inch,
    )
