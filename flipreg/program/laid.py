"""How a blank has to lie so that a setup's programs fall where they are wanted: flip, quarter turns and jog."""

from dataclasses import replace
from itertools import product
from typing import Literal

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.job.layout import Layout
from flipreg.job.setup import Setup
from flipreg.program.setup_face import seen_from_above

__all__ = ["laid"]

_SAME_MM = 0.05
"""Jogs that differ by less are one, in millimetres (chosen): what fits tell them to."""
_FLIPS: tuple[Literal["y", "x"], ...] = ("y", "x")


def laid(layout: Layout, setup: Setup, seen: Isometry) -> Setup:
    """Return a setup with the flip, the quarter turns and the jog that lay its programs so.

    Of two ways that do, the one that changes least of how the setup lies already.

    Parameters
    ----------
    layout : Layout
        Of the setup's job.
    setup : Setup
        A setup whose face, mark and tilt stay.
    seen : Isometry
        From the program's numbers to the section's X and Y, seen from above; mirrored if, and only if, the back is up.
        Its axes are along those of the section.
    """
    flips = _FLIPS if setup.flip_axis is not None else (None,)
    found: list[Setup] = []
    for flip, turns in product(flips, range(4)):
        there = replace(setup, flip_axis=flip, quarter_turns=turns, zero_mm=(0.0, 0.0))
        base = seen_from_above(layout, there)
        if np.allclose(base.matrix, seen.matrix, atol=1e-6):
            way = base.matrix.T @ (seen.offset_mm - base.offset_mm)[:2]
            x_mm, y_mm = (round(value, 4) + 0.0 for value in way.tolist())
            found.append(replace(there, zero_mm=(x_mm, y_mm)))
    return min(found, key=lambda there: _changes(setup, there))


def _changes(told: Setup, there: Setup) -> tuple[bool, int, bool]:
    """Return whether quarter turns are made that nobody told, how many of flip, turns and jog change, and the flip."""
    turns, flip = there.quarter_turns != told.quarter_turns, there.flip_axis != told.flip_axis
    jog = max(abs(a - b) for a, b in zip(there.zero_mm, told.zero_mm, strict=True)) > _SAME_MM
    return turns and there.quarter_turns > 0, turns + flip + jog, flip
