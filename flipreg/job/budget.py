"""What a job says about how exactly it is carried out: the inputs of the error budget."""

from dataclasses import dataclass

from flipreg.arguments import checks_fields
from flipreg.job.estimate import Estimate

__all__ = ["Air", "Budget", "Feature", "MoistureChange"]


@checks_fields
@dataclass(frozen=True, slots=True)
class MoistureChange:
    """How the moisture content of the wood changes between the first cut and the last.

    Attributes
    ----------
    points : Estimate
        Moisture content after less before, in percentage points.
    """

    points: Estimate


@checks_fields
@dataclass(frozen=True, slots=True)
class Air:
    """The air that the wood lay in long enough before the first cut, and before the last.

    Attributes
    ----------
    temperature_before_c, temperature_after_c : Estimate
        Temperature in degrees Celsius.
    humidity_before_percent, humidity_after_percent : Estimate
        Relative humidity in percent.
    """

    temperature_before_c: Estimate
    humidity_before_percent: Estimate
    temperature_after_c: Estimate
    humidity_after_percent: Estimate


@checks_fields
@dataclass(frozen=True, slots=True)
class Feature:
    """A place of the part where register matters.

    Attributes
    ----------
    name : str
        What it is called in the report.
    at_mm : (float, float)
        Where it is, in the blank frame.
    depth_mm : float or None
        How deep below the front face the cuts meet there; None for half the thickness.
    """

    name: str
    at_mm: tuple[float, float]
    depth_mm: float | None = None


@checks_fields
@dataclass(frozen=True, slots=True)
class Budget:
    """The inputs of the error budget; what is None is left out of it.

    Attributes
    ----------
    line_drawing_mm : Estimate or None
        How far a drawn line is from where it should be: the centre line at each mark, and the line across it.
    pointer_mm, pointer_far_mm : Estimate or None
        How far the pointer is from the line when it seems to be on it: at the reference mark, and at the other end.
    jog_mm : Estimate or None
        How far the machine is from where its readout says, after the jog, along each axis.
    square_deg : Estimate or None
        By how much the angle between the machine's axes differs from a right angle; the same in all setups.
    lean_deg : Estimate or None
        By how much the spindle's travel leans against the table, in each direction; the same in all setups.
    flat_mm : Estimate or None
        How much higher one side of the blank may lie than the other; anew in each setup.
    wood : MoistureChange, Air or None
        What makes the wood move between the cuts.
    coefficient_percent : Estimate or None
        How far this board's movement may be from its species' average, in percent of it.
    features : tuple of Feature
        Where the errors are told one by one.
    """

    line_drawing_mm: Estimate | None = None
    pointer_mm: Estimate | None = None
    pointer_far_mm: Estimate | None = None
    jog_mm: Estimate | None = None
    square_deg: Estimate | None = None
    lean_deg: Estimate | None = None
    flat_mm: Estimate | None = None
    wood: MoistureChange | Air | None = None
    coefficient_percent: Estimate | None = None
    features: tuple[Feature, ...] = ()
