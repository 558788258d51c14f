"""Labels that lie on one another."""

from collections.abc import Sequence
from itertools import combinations

from flipreg.drawing.page import Label

__all__ = ["overlaps"]


def overlaps(labels: Sequence[Label]) -> list[tuple[str, str]]:
    """Return the texts of each two labels whose boxes overlap."""
    boxes = [(label.text, label.box) for label in labels]
    return [
        (one, other)
        for (one, a), (other, b) in combinations(boxes, 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
