"""Axes of symmetry of what a face shows: of its holes, outlines and other features.

Each face is laid on its own mirror image, as a back is laid on a front, and where nearly all of it coincides the line
of the mirror is an axis. Two faces that share nothing may each have one, and in register the flip carries one to the
other.
"""

from dataclasses import replace
from math import atan2, degrees, hypot

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.features import Features
from flipreg.register.faces.outline import Side
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.coincidence import pull_of, refined
from flipreg.register.placing.landing import uncertainties
from flipreg.register.placing.match import Match, Shared, quick_distances
from flipreg.register.placing.matching import Faces
from flipreg.register.wood.centre_line import CentreLine

__all__ = ["feature_axes"]

Floats = NDArray[np.float64]

_MIRRORS = (np.diag([-1.0, 1.0]), np.diag([1.0, -1.0]))
"""About a line along Y, and about one along X: small turns away from them are found too."""
_ALL = 0.9
"""So large a share of the features has its mirror image (chosen)."""
_LEAST_PAIRS = 3
"""So many pairs that mirror each other show an axis without an outline (chosen): one that lies on it mirrors itself."""
_SPREAD = 0.25
"""They lie so far apart, as a share of the size of the face (chosen): the screws of one hinge show the hinge's axis."""
_EXACT_MM = 0.03
"""What mirrors itself does so within this, in millimetres (chosen): below what wood shows."""
_ROUND = 0.999
"""What encloses so much of the area that a circle of its length would is one (chosen)."""
_TRIED = 3
"""Lines of one direction that are looked at (chosen): the middles of what most features vote for."""
_UPRIGHT_DEG = 2.0
"""An axis is turned from X or Y by no more than this, in degrees (chosen)."""


def feature_axes(face: Features) -> list[CentreLine]:
    """Return the lines along X and along Y in which the features of a face mirror themselves: at most one of each.

    Parameters
    ----------
    face : Features
        What the face shows.

    Returns
    -------
    list of CentreLine
        Their residual is the median distance between features and mirror images of others, in millimetres.
    """
    # Silhouettes and recesses may be symmetric about a line of their own.
    face = replace(face, outlines=tuple(one for one in face.outlines if one.side is Side.INSIDE))
    own = Faces(face, face, 2.0 * _EXACT_MM)
    if face.is_empty or face.is_round or len(own.comparable.front) == 0:
        return []
    axes = (_axis(own, matrix) for matrix in _MIRRORS)
    return [axis for axis in axes if axis is not None]


def _axis(own: Faces, matrix: Floats) -> CentreLine | None:
    """Return the axis about which most mirrors itself, None where nearly all has to and does not."""
    box = own.front.cut_box_mm
    offsets = [ballot.placement.offset_mm for ballot in own.ballots(matrix)[:_TRIED]]
    offsets += [outline - matrix @ outline for outline in _middles(own)]
    across = (np.eye(2) - matrix) / 2.0
    best: tuple[int, Match] | None = None
    for offset in offsets:
        # A mirror and a step along its line is no axis.
        match = refined(own, Placement(matrix, across @ offset))
        if match is None:
            continue
        count = own.comparable.count(match.placement)
        if best is None or count > best[0]:
            best = count, match
    if best is None or not _is_symmetric(own, *best):
        return None
    return _described(own, best[1], (box[:2] + box[2:]) / 2.0)


def _middles(own: Faces) -> list[Floats]:
    return [pair.front_curve.centroid_mm for pair in own.outline_pairs()[:1] if pair.front == pair.back]


def _is_symmetric(own: Faces, count: int, match: Match) -> bool:
    """Return whether nearly all mirrors itself, and by enough of it."""
    if count < _ALL * own.comparable.features:
        return False
    ours, theirs = match.front_mark, match.back_mark
    places = own.comparable.back_places
    pairs = ours[places[ours] != places[theirs]]
    centre = own.comparable.front.centre_mm[pairs]
    is_wide = len(centre) > 0 and float(np.hypot(*np.ptp(centre, axis=0))) >= _SPREAD * own.front.size_mm
    if len(np.unique(places[pairs])) >= 2 * _LEAST_PAIRS and is_wide:
        return True
    return any(_is_mirrored(own, pair, match.placement) for pair in match.outlines if pair.front == pair.back)


def _is_mirrored(own: Faces, pair: Shared, placement: Placement) -> bool:
    """Return whether a large outline, and no circle, is its own mirror image: a circle is about any line."""
    loop, off = own.front.outlines[pair.front].loop, quick_distances(pair, placement)
    is_circle = loop.area_mm2 >= _ROUND * loop.length_mm**2 / (4.0 * np.pi)
    is_large = loop.size_mm >= _SPREAD * own.front.size_mm
    return is_large and not is_circle and len(off) > 0 and float(off.max()) <= _EXACT_MM


def _described(own: Faces, match: Match, middle: Floats) -> CentreLine | None:
    """Return the line that a mirror mirrors in, where features tell it well."""
    mirror = match.placement
    pull = pull_of(own, match, mirror)
    off = np.hypot(*(mirror.apply(pull.back_mm) - pull.front_mm).T)
    (xx, _), (yx, _) = mirror.matrix.tolist()
    angle = atan2(yx, xx) / 2.0
    along = np.array([np.cos(angle), np.sin(angle)])
    left = np.array([-along[1], along[0]])
    step = float(mirror.apply(middle[np.newaxis])[0] @ along - middle @ along)
    residual = hypot(float(np.median(off)), step)
    turned = abs((degrees(angle) + 45.0) % 90.0 - 45.0)
    ux, uy, u_turn = uncertainties(pull, pull.weight, mirror, middle)
    if residual > _EXACT_MM or turned > _UPRIGHT_DEG or not np.isfinite([ux, uy, u_turn]).all():
        return None
    # The image moves by twice what the line does; each pair is there from either side.
    point = middle + float(mirror.offset_mm @ left / 2.0 - middle @ left) * left
    share = 2.0**0.5 / 2.0
    return CentreLine(
        point_mm=(float(point[0]), float(point[1])),
        direction_deg=(degrees(angle) + 45.0) % 180.0 - 45.0,
        uncertainty_mm=share * hypot(ux * left[0], uy * left[1]),
        uncertainty_deg=share * degrees(u_turn),
        residual_mm=residual,
        asymmetry_mm=residual,
        overlap=1.0,
    )
