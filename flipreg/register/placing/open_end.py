"""Contours that may be open: with a side that lies in the air beyond the wood, where it cuts nothing.

A notch may be cut as a closed loop that begins and ends beyond the edge of the wood. How far each face runs out there
is no feature of the part, and such a loop can't be told from an opening whose one side differs. So what differs there
disproves nothing, and isn't shown either.
"""

import numpy as np

from flipreg.register.faces.features import Features
from flipreg.register.faces.landmarks import grows_evenly
from flipreg.register.faces.moments import moments_of
from flipreg.register.placing.matching import Faces

__all__ = ["may_end_in_air"]

_AT_EDGE_MM = 0.05
"""A contour this near to where a face stops cutting may end in the air, in millimetres (chosen)."""
_PROFILE_SHARE = 0.5
"""A contour that reaches over so much of a face, along X and along Y, goes round the part (chosen)."""


def may_end_in_air(faces: Faces, front: int, back: int) -> bool:
    """Return whether two contours differ as one notch does that each face leaves at another place in the air.

    Parameters
    ----------
    faces : Faces
        Both faces.
    front, back : int
        Rows of an outline of each.
    """
    rings = [faces.front.outlines[front].loop.points_mm, faces.back.outlines[back].loop.points_mm]
    widths = moments_of(rings).width_mm
    if grows_evenly(widths[:1], widths[1:]).all():
        return False
    return _is_at_edge(faces.front, front) or _is_at_edge(faces.back, back)


def _is_at_edge(face: Features, outline: int) -> bool:
    """Return whether a contour reaches as far as the face cuts at all, and does not go round the part."""
    box, all_mm = face.outlines[outline].loop.box_mm, face.cut_box_mm
    size, all_size = box[2:] - box[:2], all_mm[2:] - all_mm[:2]
    return bool((size < _PROFILE_SHARE * all_size).any() and (np.abs(box - all_mm) <= _AT_EDGE_MM).any())
