"""A usual mistake, in words for the person at the machine."""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.verify.placement import Placement

__all__ = ["Mistake", "correction_words", "joined_sentence", "shift_words"]


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake that explains what is seen.

    Attributes
    ----------
    code : str
        'offset', 'rotation', 'not mirrored', 'other axis', 'flip line', 'wrong end', 'units', 'tool', 'hole'.
    reason : str
        What it is; begins lower case, no full stop.
    cure : str
        What to do about it; begins lower case, no full stop.
    is_small : bool
        A plain small shift or turn, which needs no further explanation.
    is_certain : bool
        Whether it disproves register even where the faces as they are share nothing.
    """

    code: str
    reason: str
    cure: str
    is_small: bool = False
    is_certain: bool = False


def joined_sentence(mistakes: Sequence[Mistake]) -> str | None:
    """Return one text for all mistakes that would explain it, None where there is none."""
    if not mistakes:
        return None
    if len(mistakes) == 1:
        reason, cure = mistakes[0].reason, mistakes[0].cure
        return f"{reason[0].upper()}{reason[1:]}: {cure}."
    listed = "; ".join(f"({number}) {m.reason}" for number, m in enumerate(mistakes, start=1))
    return (
        f"What both faces share is symmetric, so several mistakes would explain it: {listed}. "
        "Holes or an outline without symmetry on both faces would tell them apart."
    )


def shift_words(dx_mm: float, dy_mm: float) -> str:
    """Say a shift of the back: '0.40 mm to the right along X and 0.30 mm down along Y'."""
    parts: list[str] = []
    if abs(dx_mm) >= 0.0005:
        parts.append(f"{_length(dx_mm)} to the {'right' if dx_mm > 0 else 'left'} along X")
    if abs(dy_mm) >= 0.0005:
        parts.append(f"{_length(dy_mm)} {'up' if dy_mm > 0 else 'down'} along Y")
    return " and ".join(parts) if parts else "where it should"


def correction_words(placement: Placement, wanted: Placement) -> str:
    """Say how the back program's own numbers must be moved to lie at `wanted` instead of `placement`.

    In the words of a shift: the turn first, about its program zero, then the shift.
    """
    move = (~placement.isometry) @ wanted.isometry
    x_mm, y_mm, _ = move.offset_mm.tolist()
    by = f"by X {round(x_mm, 3) + 0.0:g} Y {round(y_mm, 3) + 0.0:g}"
    if abs(move.turn_deg) < 1e-6:
        return f"shift the back program {by}"
    return f"turn the back program by {move.turn_deg:.4f}° about its zero and shift it {by}"


def _length(value_mm: float) -> str:
    return f"{abs(value_mm):.2f} mm" if abs(value_mm) >= 0.01 else f"{abs(value_mm):.4f} mm"
