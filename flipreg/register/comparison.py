"""What there is to judge: two faces, where the back is said or found to be, and what corresponds."""

from dataclasses import dataclass

from flipreg.findings import Status
from flipreg.register.deviation import Register
from flipreg.register.matching import Faces, Match
from flipreg.register.placement import Placement
from flipreg.register.search import Fit, Orientation

__all__ = ["Case"]


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """Two faces and how they were compared.

    Attributes
    ----------
    faces : Faces
        Both faces.
    placement : Placement or None
        Where the back was said or found to be; None where neither.
    orientation : Orientation or None
        The same as a way round; None for a free rotation, or where no placement is known.
    match : Match or None
        What corresponds; None where nothing does.
    register : Register
        How it measured.
    found : tuple of Fit
        The best fit of each orientation.
    is_found : bool
        Whether the placement was worked out and not given.
    asked_mm : float
        The tolerance asked for; `faces.tolerance_mm` is larger where silhouettes agree less closely than that.
    """

    faces: Faces
    placement: Placement | None
    orientation: Orientation | None
    match: Match | None
    register: Register
    found: tuple[Fit, ...]
    is_found: bool
    asked_mm: float

    @property
    def is_coarse(self) -> bool:
        """Whether the faces could be compared less closely than the tolerance asks for."""
        return self.faces.tolerance_mm > self.asked_mm

    @property
    def has_proof(self) -> bool:
        """Whether what corresponds, here or in another way round, can decide register."""
        return self.register.is_proof or any(fit.register.is_proof for fit in self.found)

    @property
    def by_silhouette(self) -> bool:
        """Whether outlines were compared that are silhouettes of the cut."""
        return any(outline.is_silhouette for outline in self.faces.front.outlines)

    @property
    def passing(self) -> tuple[Fit, ...]:
        """The ways round that fit within the tolerance and explain nearly as much as the best one."""
        best = max((fit.match.score for fit in self.found), default=0.0)
        return tuple(fit for fit in self.found if fit.register.status is Status.PASS and fit.match.score >= 0.8 * best)
