"""Who says how to mend what a diagnosis finds: for two programs, or for two setups of a job."""

from typing import Protocol

from flipreg.register.decision.mistake import Mistake, Way
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.other_units import OtherUnit

__all__ = ["Advice"]


class Advice(Protocol):
    """Words and ways for each kind of mistake; the diagnosis has shown that the faces fit without it."""

    def zero(self, comparison: Comparison, right: Placement) -> list[Mistake]:
        """Return the mistakes that put the back's zero, or the front's, elsewhere than at `right`."""
        ...

    def way_round(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that lies at `right`, mirrored about another axis, not at all, or turned."""
        ...

    def turn(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that lies at `right`, a little turned."""
        ...

    def unit(self, other: OtherUnit) -> Way:
        """Return how to mend the unit of programs."""
        ...
