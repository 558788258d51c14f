"""Both faces of a section while they are cut, and what is left between them at any time.

A program changes a window of one face, and whole maps are millions of cells; so what is known of whole maps is brought
up to date in that window.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import Surface
from flipreg.cut.thickness import BothFaces

__all__ = ["CarvedFaces", "Window"]

Window = tuple[slice, slice]
Singles = NDArray[np.float32]


class CarvedFaces:
    """A pair of surfaces, each in the Z of its own face.

    Parameters
    ----------
    surfaces : dict from bool
        The front under True, the back under False, on one grid, both at 0 as they are before they are cut.
    thickness_mm : float
        Of the blank.

    Attributes
    ----------
    surfaces : dict from bool
        As they are; after one has been cut, say where with `was_cut`.
    """

    def __init__(self, surfaces: dict[bool, Surface], thickness_mm: float) -> None:
        self.surfaces = surfaces
        self._thickness_mm = thickness_mm
        self._back_mm = np.full(surfaces[False].grid.shape, -thickness_mm, np.float32)
        self._lowest_mm = {True: 0.0, False: 0.0}

    def was_cut(self, window: Window, *, is_front: bool) -> None:
        """Take in that a face has been cut, in rows and columns of the grid."""
        heights = self.surfaces[is_front].heights_mm[window]
        if not heights.size:
            return
        self._lowest_mm[is_front] = min(self._lowest_mm[is_front], float(heights.min()))
        if not is_front:
            np.subtract(np.float32(-self._thickness_mm), heights, out=self._back_mm[window])

    @property
    def deepest_mm(self) -> float:
        """How deep the deepest cuts of both faces are together, wherever each of them is."""
        return -sum(self._lowest_mm.values())

    def now(self) -> BothFaces:
        """Return what is left: views that later cuts change."""
        front = self.surfaces[True]
        return BothFaces(front.grid, front.heights_mm, self._back_mm, self._thickness_mm)

    def with_face(self, surface: Surface, *, is_front: bool) -> BothFaces:
        """Return what would be left if one face were another surface."""
        front = surface if is_front else self.surfaces[True]
        back_mm = self._back_mm if is_front else np.float32(-self._thickness_mm) - surface.heights_mm
        return BothFaces(front.grid, front.heights_mm, back_mm, self._thickness_mm)
