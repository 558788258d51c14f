"""What is cut outside of closed loops, chained: chords that continue one another."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut

__all__ = ["OpenChains", "open_chains"]

Bools = NDArray[np.bool_]
Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_STILL_MM = 1e-6
_FLAT_MM = 0.05
"""What lies no higher than this over the lowest of a chain is its floor, in millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class OpenChains:
    """The chords of a stretch that are cut outside of closed loops, and the chains that they make.

    Attributes
    ----------
    cut : Cut
        What they are chords of.
    closed : bool array
        Which vertices of the cut lie on closed loops.
    chord : int array, shape (m,)
        First vertices of the chords.
    length_mm : float64, shape (m,)
        How long each is.
    unit : complex128, shape (m,)
        Which way each goes.
    linked : bool array, shape (m - 1,)
        Which continue the one before; the first continues none.
    begins : int array, shape (n,)
        The first chord of each chain.
    """

    cut: Cut
    closed: Bools
    chord: Rows
    length_mm: Floats
    unit: Complexes
    linked: Bools
    begins: Rows

    def __len__(self) -> int:
        return len(self.begins)

    def lasts(self) -> Rows:
        """Return the last chord of each chain, shape (n,)."""
        return np.append(self.begins[1:], len(self.chord)) - 1

    def numbers(self) -> Rows:
        """Return the chain of each chord, shape (m,)."""
        return np.repeat(np.arange(len(self.begins)), np.diff(self.begins, append=len(self.chord)))

    def at(self, vertex: Rows) -> Complexes:
        """Return where vertices lie, as complex numbers in millimetres."""
        return np.asarray(self.cut.xyz_mm[vertex, 0] + 1j * self.cut.xyz_mm[vertex, 1])

    def lengths_mm(self) -> Floats:
        """Return how long each chain is, shape (n,)."""
        return np.asarray(np.add.reduceat(self.length_mm, self.begins))

    def leads(self) -> Rows:
        """Return how many chords of each chain begin or end on a closed loop, shape (n,)."""
        touches = self.closed[self.chord] | self.closed[self.chord + 1]
        return np.asarray(np.add.reduceat(touches.astype(np.int64), self.begins), np.intp)

    def floors_mm(self) -> Floats:
        """Return the lowest end of a chord of each chain, shape (n,)."""
        return np.asarray(np.minimum.reduceat(self.cut.xyz_mm[self.chord + 1, 2], self.begins))

    def flat_mm(self, number: Rows, floor_mm: Floats) -> Floats:
        """Return how much of each chain lies on its floor; arguments as `numbers` and `floors_mm` return them."""
        z_mm = self.cut.xyz_mm[:, 2]
        is_floor = np.maximum(z_mm[self.chord], z_mm[self.chord + 1]) <= floor_mm[number] + _FLAT_MM
        return np.asarray(np.bincount(number, self.length_mm * is_floor, len(self.begins)), np.float64)


def open_chains(cut: Cut, closed: Bools) -> OpenChains:
    """Return what is cut outside of closed loops.

    Parameters
    ----------
    cut : Cut
        The cutting of one stretch.
    closed : bool array
        Which of its vertices lie on closed loops.
    """
    x, y = cut.xyz_mm[:, 0], cut.xyz_mm[:, 1]
    moves = (np.abs(np.diff(x)) > _STILL_MM) | (np.abs(np.diff(y)) > _STILL_MM)
    joins = (cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:] & ~(closed[1:] & closed[:-1])
    chord = np.flatnonzero(moves & joins)
    end = chord + 1
    way = np.empty(len(chord), np.complex128)
    linked = cut.run.take(chord[1:]) == cut.run.take(chord[:-1])
    for part, axis in ((way.real, x), (way.imag, y)):
        begins, ends = axis.take(chord), axis.take(end)
        # Adding zero takes the sign of a zero away, which would count in an angle.
        np.add(ends - begins, 0.0, out=part)
        linked &= np.abs(begins[1:] - ends[:-1]) <= _STILL_MM
    first = np.flatnonzero(np.concatenate([[True], ~linked])) if len(chord) else np.empty(0, np.intp)
    length_mm = np.abs(way)
    # In place: these columns are the largest memory of a check.
    return OpenChains(cut, closed, chord, length_mm, np.divide(way, length_mm, out=way), linked, first)
