"""What goes through from both faces and shows nothing that could be compared: neither a contour nor a hole nor an end.

A slot that is made of small circles, one after the other, has no wall that the tool follows. Where a program of such
cuts lies can't be told, and a pass would say nothing about it.
"""

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.register.faces.features import Features
from flipreg.register.placing.comparison import Comparison

__all__ = ["unseen_cuts"]

_TIGHT_MM = 8.0
"""A way whose length is no more than so many times what it turns, in radians, goes in small circles all along; in
millimetres (chosen): the lines of a raster turn far less."""


def unseen_cuts(comparison: Comparison) -> list[Finding]:
    """Return a finding if programs of both faces go through together and show nothing that could be compared."""
    faces = comparison.faces
    front, back = _unseen(faces.front), _unseen(faces.back)
    for ours, our_floor_mm in front.items():
        for theirs, floor_mm in back.items():
            levels_mm = *faces.front.levels_mm(ours, our_floor_mm), *faces.back.levels_mm(theirs, floor_mm)
            if not faces.meeting.may_meet(*levels_mm).all():
                continue
            names = faces.front.names[ours], faces.back.names[theirs]
            says = (
                f"what {names[0]} of the front and {names[1]} of the back cut goes through together, and shows no "
                "contour, hole or end by which it could be compared"
            )
            return [Finding("register", Status.NOT_DETERMINED, says, names[1])]
    return []


def _unseen(face: Features) -> dict[int, float]:
    """Return the floors of the stretches that go in circles and show nothing, in millimetres, by their index."""
    seen = {*face.marks.program.tolist(), *face.holes.program.tolist(), *(one.program for one in face.outlines)}
    if face.blind is not None:
        seen |= set(face.blind.program.tolist())
    found: dict[int, float] = {}
    for index, cut in enumerate(face.cuts):
        if index in seen or len(cut.run) == 0:
            continue
        way = np.diff(cut.xyz_mm[:, 0] + 1j * cut.xyz_mm[:, 1])
        way = way[(np.diff(cut.run) == 0) & ~cut.gap[1:] & (way != 0.0)]
        turned = float(np.abs(np.angle(way[1:] * way[:-1].conj())).sum())
        if 0.0 < float(np.abs(way).sum()) <= _TIGHT_MM * turned:
            found[index] = float(cut.xyz_mm[:, 2].min())
    return found
