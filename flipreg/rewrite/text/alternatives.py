"""What may be written where a result cannot be written exactly."""

from typing import NamedTuple

__all__ = ["Alternatives"]


class Alternatives(NamedTuple):
    """What the person allows where an exact result cannot be written.

    Attributes
    ----------
    chords_mm : float or None
        How far chords may stand off the arcs that they replace; None to refuse.
    spell_cycles : bool
        Whether canned cycles may be spelled out as moves.
    """

    chords_mm: float | None = None
    spell_cycles: bool = False
