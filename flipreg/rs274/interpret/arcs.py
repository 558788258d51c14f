"""Arcs and helices of G2 and G3: centres and sweeps from I, J, K or R (NISTIR 6556, 3.5.3)."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import centre_from_radius, in_plane, rows_by_plane, sweep_deg
from flipreg.rs274.interpret.words import Words
from flipreg.rs274.read.blocks import EXPRESSION, Blocks
from flipreg.rs274.read.habit import Habit, Notices
from flipreg.units import INCH_MM

__all__ = [
    "LARGEST_DIFFERENCE_INCH",
    "LARGEST_DIFFERENCE_MM",
    "RADIUS_TOLERANCE_INCH",
    "RADIUS_TOLERANCE_MM",
    "ArcRows",
    "arc_columns",
]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

RADIUS_TOLERANCE_MM = 0.002
"""How far the radii to start and end may differ in a program in millimetres (3.5.3.2)."""

RADIUS_TOLERANCE_INCH = 0.0002
"""The same in a program in inches, in inches; not the same length."""

LARGEST_DIFFERENCE_MM, LARGEST_DIFFERENCE_INCH = 0.0127, 0.0005
"""How far the radii may differ on usual machines, in the program's unit; common practice, no source, from memory."""

_NOISE_MM = 1e-9
"""Float noise in a difference of radii: exactly the tolerance is still allowed."""

_PLANES = ("YZ", "ZX", "XY")
_AXES = "XYZ"
_OFFSETS = "IJK"


class ArcRows(NamedTuple):
    """The arcs of a chunk as they are commanded, one row each.

    Attributes
    ----------
    block : int64, shape (k,)
    start, end : float64, shape (k, 3)
        Millimetres, program frame.
    normal : uint8, shape (k,)
    counter_clockwise, inch, absolute_centres : bool, shape (k,)
        G3; G20; G90.1.
    origin_mm : float64, shape (k, 3) or (1, 3)
        What G92 adds to numbers.
    named : bool, shape (k, 3)
        Whether the block has an X, Y and Z word.
    """

    block: Index
    start: Floats
    end: Floats
    normal: NDArray[np.uint8]
    counter_clockwise: Flags
    inch: Flags
    absolute_centres: Flags
    origin_mm: Floats
    named: Flags


def arc_columns(blocks: Blocks, words: Words, arcs: ArcRows, notices: Notices) -> tuple[Floats, Floats]:
    """Return the centres and the signed sweeps of arcs.

    An R that is shorter than half the chord by no more than the standard's radius tolerance makes half a
    turn: the report gives no tolerance here, and rounded numbers need one.

    Parameters
    ----------
    blocks, words : Blocks, Words
        The chunk, and its words by letter.
    arcs : ArcRows
        What the blocks command.
    notices : Notices
        Is told of habits.

    Returns
    -------
    centre : array, shape (k, 3)
        Millimetres; along the normal the start's coordinate.
    sweep_deg : array, shape (k,)
        Degrees, counter-clockwise positive about the positive normal, never 0.

    Raises
    ------
    ProgramError
        At an arc that starts at an unknown point, has no centre, no end in its plane, two different radii,
        or an R that no circle fits.
    """
    size = len(blocks)
    scale = np.where(arcs.inch, INCH_MM, 1.0)
    offset = np.stack([words[letter].dense(size).take(arcs.block) * scale for letter in _OFFSETS]).T
    radius = words["R"].dense(size).take(arcs.block) * scale
    checks = _Checks(blocks, words, arcs, notices)
    start, end = (in_plane(points, arcs.normal)[:, :2] for points in (arcs.start, arcs.end))
    named, offset = in_plane(arcs.named, arcs.normal), in_plane(offset, arcs.normal)
    given = offset[:, :2]
    by_radius = ~np.isnan(radius)

    checks.plane_words(named[:, :2], offset[:, 2], by_radius)
    checks.centre_words(given, by_radius)
    checks.known_start(start)

    slack = np.where(arcs.inch, RADIUS_TOLERANCE_INCH * INCH_MM, RADIUS_TOLERANCE_MM) + _NOISE_MM
    base = start
    if arcs.absolute_centres.any():
        origin = in_plane(np.broadcast_to(arcs.origin_mm, arcs.start.shape), arcs.normal)[:, :2]
        base = np.where(arcs.absolute_centres[:, np.newaxis], origin, start)
    middle = base + np.where(np.isnan(given), 0.0, given)
    if by_radius.any():
        from_radius = centre_from_radius(
            start, end, np.where(by_radius, radius, 1.0), arcs.counter_clockwise, slack_mm=2 * slack
        )
        checks.circle_exists(start, end, radius, by_radius & np.isnan(from_radius[:, 0]))
        middle = np.where(by_radius[:, np.newaxis], from_radius, middle)
    checks.radii(_length(start - middle), _length(end - middle), slack, ~by_radius)
    centre = arcs.start.copy()
    for plane, rows in rows_by_plane(arcs.normal):
        centre[rows, (plane + 1) % 3], centre[rows, (plane + 2) % 3] = middle[rows].T
    return centre, sweep_deg(start, end, middle, arcs.counter_clockwise)


class _Checks:
    """What makes an arc illegal, and how to say it."""

    def __init__(self, blocks: Blocks, words: Words, arcs: ArcRows, notices: Notices) -> None:
        self._notices = notices
        self._blocks = blocks
        self._words = words
        self._arcs = arcs

    def plane_words(self, named: Flags, along_normal: Floats, by_radius: Flags) -> None:
        endless = ~named.any(axis=1)
        for arc in _where(endless & by_radius):
            axes, plane = self._letters(_AXES, arc), self._plane(arc)
            message = f"an arc in the {plane} plane without {axes[0]} or {axes[1]}; write the end point's {axes[0]}"
            raise self._blocks.error(message, row=self._row(arc, "GXYZ"))
        for arc in _where(np.abs(along_normal) > 0):
            letter = _OFFSETS[self._arcs.normal[arc]]
            wanted = " and ".join(sorted(self._letters(_OFFSETS, arc)))
            message = f"{letter} in an arc of the {self._plane(arc)} plane, expected {wanted}; leave {letter} out"
            if self._arcs.named[arc, self._arcs.normal[arc]]:
                message += ", and write a block for each turn if it is the pitch of a helix"
            raise self._blocks.error(message, row=self._row(arc, letter))

    def centre_words(self, given: Floats, by_radius: Flags) -> None:
        missing = np.isnan(given)
        is_bare = missing.all(axis=1)
        for arc in _where(is_bare & ~by_radius):
            wanted = " and ".join(sorted(self._letters(_OFFSETS, arc)))
            message = f"an arc without a centre; expected {wanted}, or R, in the {self._plane(arc)} plane"
            raise self._blocks.error(message, row=self._row(arc, "GXYZ"))
        for arc in _where(~is_bare & by_radius):
            message = "R beside a centre offset: an arc has either a centre or a radius; leave one out"
            raise self._blocks.error(message, row=self._row(arc, "R"))
        for arc in _where(missing.any(axis=1) & ~by_radius & self._arcs.absolute_centres):
            wanted = " and ".join(sorted(self._letters(_OFFSETS, arc)))
            message = f"half a centre: with G90.1 in force {wanted} are positions; write both"
            raise self._blocks.error(message, row=self._row(arc, self._letters(_OFFSETS, arc)))

    def known_start(self, start: Floats) -> None:
        unknown = np.isnan(start)
        for arc in _where(unknown.any(axis=1)):
            axis = self._letters(_AXES, arc)[int(unknown[arc].argmax())]
            message = f"an arc from a point whose {axis} is not known yet; move to a known {axis} with G90 G0 first"
            raise self._blocks.error(message, row=self._row(arc, "GXYZ"))

    def circle_exists(self, start: Floats, end: Floats, radius: Floats, impossible: Flags) -> None:
        for arc in _where(impossible):
            chord = float(np.hypot(*(end[arc] - start[arc])))
            if chord <= _NOISE_MM:
                message = "R for an arc that ends where it starts names no circle; write the centre with I, J or K"
            else:
                least, found = self._shown(arc, chord / 2), self._shown(arc, abs(float(radius[arc])))
                message = f"arc radius is {found}, but start and end need at least {least}; write R or the end again"
            raise self._blocks.error(message, row=self._row(arc, "R"))

    def radii(self, at_start: Floats, at_end: Floats, slack: Floats, centred: Flags) -> None:
        letters = _OFFSETS
        rounded: list[int] = []
        unequal: list[int] = []
        for arc in _where(centred & (at_start <= _NOISE_MM)):
            wanted = " and ".join(sorted(self._letters(letters, arc)))
            message = f"the centre of this arc is its start point, so that it has no radius; write {wanted} again"
            raise self._blocks.error(message, row=self._row(arc, self._letters(letters, arc)))
        for arc in _where(centred & (np.abs(at_start - at_end) > slack)):
            inch = bool(self._arcs.inch[arc])
            unit, least = (INCH_MM, LARGEST_DIFFERENCE_INCH) if inch else (1.0, LARGEST_DIFFERENCE_MM)
            block, difference = int(self._arcs.block[arc]), abs(float(at_start[arc] - at_end[arc])) / unit
            if difference <= least + _NOISE_MM:
                (rounded if difference <= self._rounding(block) + _NOISE_MM else unequal).append(arc)
                continue
            found = self._shown(arc, float(at_start[arc])), self._shown(arc, float(at_end[arc]))
            allowed = "0.0002 in; usual machines 0.0005 in" if inch else "0.002 mm; usual machines 0.0127 mm"
            wanted = " and ".join(sorted(self._letters(letters, arc)))
            message = (
                f"arc radius is {found[0]} at the start, {found[1]} at the end, which has no one centre (allowed "
                f"difference {allowed}); write {wanted} or the end again"
            )
            raise self._blocks.error(message, row=self._row(arc, self._letters(letters, arc)))
        self._note(Habit.ROUNDED_RADII, rounded)
        self._note(Habit.UNEQUAL_RADII, unequal)

    def _note(self, habit: Habit, arcs: Index | list[int]) -> None:
        """Note a habit of arcs, at the words of their centres."""
        if not len(arcs):
            return
        blocks = np.zeros(len(self._blocks), np.bool_)
        blocks[self._arcs.block[arcs]] = True
        for letter in _OFFSETS:
            words = self._words[letter]
            here = blocks[words.block]
            self._notices.add(habit, words.block[here], self._blocks.start[words.row[here]])

    def _rounding(self, block: int) -> float:
        """Return how far two radii may be apart by the rounding of a block's words, in its unit."""
        rows = [row for letter in "XYZIJK" if (row := self._words[letter].row_in(block)) >= 0]
        decimals = max(int(self._blocks.decimals[row]) for row in rows)
        # Two ends and the centre, the centre counted twice, each half a step off in both axes of the plane.
        return 2 * 2**0.5 * 10.0**-decimals if decimals < EXPRESSION else 0.0

    def _letters(self, letters: str, arc: int) -> str:
        """Return the two letters of the arc's plane, in the plane's order."""
        normal = int(self._arcs.normal[arc])
        return letters[(normal + 1) % 3] + letters[(normal + 2) % 3]

    def _plane(self, arc: int) -> str:
        return _PLANES[int(self._arcs.normal[arc])]

    def _shown(self, arc: int, length_mm: float) -> str:
        return f"{length_mm / INCH_MM:.5f} in" if self._arcs.inch[arc] else f"{length_mm:.4f} mm"

    def _row(self, arc: int, letters: str) -> int:
        """Return the block's first word with one of the letters; `G` means the G2 or G3 word."""
        return self._words.first_row(int(self._arcs.block[arc]), letters)


def _where(mask: Flags | np.bool_) -> Iterator[int]:
    yield from np.flatnonzero(mask).tolist()


def _length(vectors: Floats) -> Floats:
    # No length of a program is so large that its square is none; `hypot` would take seven times as long.
    x, y = vectors[:, 0], vectors[:, 1]
    return np.asarray(np.sqrt(x * x + y * y), dtype=np.float64)
