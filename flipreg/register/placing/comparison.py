"""What there is to judge: two faces, where the back is said or found to be, and what corresponds."""

from dataclasses import dataclass

from flipreg.geometry.isometry import Isometry
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.deviation import Register
from flipreg.register.placing.evidence import Evidence
from flipreg.register.placing.match import Match
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.search import ORIENTATIONS, QUARTERS, Axis, Fit, Orientation

__all__ = ["Comparison"]

_NEARLY = 0.8
"""This share of what coincides at most is nearly as much (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Two faces and how they were compared.

    Attributes
    ----------
    faces : Faces
        Both faces.
    axis : 'x', 'y' or None
        The flip axis, where it was told and the place was not.
    placement : Placement or None
        Where the back was said or found to be; None where neither.
    orientation : Orientation or None
        The same as a way round; None for a free rotation, or where no placement is known.
    match : Match or None
        What corresponds; None where nothing does.
    register : Register
        How it measured.
    found : tuple of Fit
        The placements in which most coincides, of each way round, most evidence first.
    others : tuple of Fit
        Those that explain as much as the one that was taken, or all that do where none was.
    evidence : Evidence or None
        How much coincides, and how much chance would make coincide; None where nothing does.
    is_found : bool
        Whether the placement was worked out and not given.
    asked_mm : float
        The tolerance asked for; `faces.tolerance_mm` is larger where silhouettes agree less closely than that.
    seen : pair of Isometry
        What maps the own frames of front and back to those in which they are compared.
    """

    faces: Faces
    axis: Axis | None
    placement: Placement | None
    orientation: Orientation | None
    match: Match | None
    register: Register
    found: tuple[Fit, ...]
    others: tuple[Fit, ...]
    evidence: Evidence | None
    is_found: bool
    asked_mm: float
    seen: tuple[Isometry, Isometry] = (Isometry(), Isometry())

    @property
    def is_ambiguous(self) -> bool:
        """Whether several placements explain about as much, so that none is found."""
        return self.placement is None and bool(self.others)

    @property
    def lies_apart(self) -> bool:
        """Whether what was compared lies apart, even if that may be by design.

        Silhouettes may: the lines of both faces end where their stepovers put them.
        """
        worst = self.register.worst_mm
        return worst is not None and worst > self.asked_mm and not self.by_silhouette

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
    def is_vague(self) -> bool:
        """Whether silhouettes can't tell closely enough, or of several places which, where the back lies."""
        return self.is_coarse or (self.by_silhouette and len(self.passing) > 1)

    @property
    def passing(self) -> tuple[Fit, ...]:
        """The best of each way round that fits within the tolerance and explains nearly as much as the best of all."""
        best = max((fit.evidence.coincide for fit in self.found), default=0)
        chosen: dict[Orientation, Fit] = {}
        for fit in self.found:
            if fit.evidence.coincide >= _NEARLY * best and fit.is_passing:
                chosen.setdefault(fit.orientation, fit)
        return tuple(chosen[way] for way in (*ORIENTATIONS, *QUARTERS) if way in chosen)
