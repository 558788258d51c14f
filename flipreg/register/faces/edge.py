"""How deep both faces cut the edge of the part together, which says how thick the wood may be."""

from flipreg.register.faces.features import Features
from flipreg.register.faces.outline import Side, alike

__all__ = ["edge_depth_mm"]


def edge_depth_mm(front: Features, back: Features) -> float:
    """Return what the depths of the largest contours add up to if they may be one edge; 0 where they may not.

    Pockets of both faces lie over one another anyhow, and say nothing of the wood between them. Of several edges of one
    size the shallowest count, for which of them belong together isn't known.
    """
    if not (front.outlines and back.outlines and front.top_is_zero and back.top_is_zero):
        return 0.0
    ours, theirs = front.outlines[0], back.outlines[0]
    if not (ours.side is theirs.side is Side.INSIDE and alike(ours, theirs)):
        return 0.0
    floors_mm = (
        max(one.loop.floor_mm for one in face.outlines if one.side is Side.INSIDE and alike(one, face.outlines[0]))
        for face in (front, back)
    )
    return -sum(floors_mm)
