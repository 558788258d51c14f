"""The budget table of the job file: its keys and types, and what they become.

Lengths are in the unit the file states, angles in degrees. Like the rest of the file's keys this needs pydantic and is
imported when a job is read.
"""

from typing import Annotated

from pydantic import Field, model_validator

from flipreg.job.budget import Air, Budget, Feature, MoistureChange
from flipreg.job.estimate import Estimate, Shape
from flipreg.job.file.length import LengthField, NoLess, PointField
from flipreg.job.file.table import Name, Table

__all__ = ["BudgetTable"]

_Spread = Annotated[float, Field(ge=0)]


class _Estimate(Table):
    rectangular: Annotated[
        _Spread | None, Field(description="half the width of limits that everything between is alike likely in")
    ] = None
    triangular: Annotated[
        _Spread | None, Field(description="half the width of limits whose middle is the most likely")
    ] = None
    arcsine: Annotated[_Spread | None, Field(description="half the width of limits that something swings between")] = (
        None
    )
    normal: Annotated[_Spread | None, Field(description="standard deviation of a bell shape without limits")] = None

    @model_validator(mode="after")
    def _one_shape(self) -> "_Estimate":
        given = [shape.value for shape in Shape if getattr(self, shape.value) is not None]
        if len(given) != 1:
            raise ValueError(
                f"give one shape of {', '.join(shape.value for shape in Shape)}, got {' and '.join(given) or 'none'}"
            )
        return self

    def estimate(self, *, value: float = 0.0, unit_mm: float = 1.0) -> Estimate:
        """Return the value of this table, its numbers multiplied by what one of its units is in millimetres."""
        shape = next(shape for shape in Shape if getattr(self, shape.value) is not None)
        return Estimate(shape, getattr(self, shape.value) * unit_mm, value * unit_mm)


class ErrorTable(_Estimate):
    """How far something may be off, in one shape; `value` where part of it is known beforehand."""

    value: Annotated[float, Field(description="what is known of the error beforehand; left out: 0")] = 0.0

    def known(self, *, unit_mm: float = 1.0) -> Estimate:
        """Return the estimate with its value."""
        return self.estimate(value=self.value, unit_mm=unit_mm)


class LengthErrorTable(ErrorTable):
    """How far a length may be off, in one shape; `value` where part of it is known beforehand."""

    rectangular: Annotated[
        NoLess | None, Field(description="half the width of limits that everything between is alike likely in")
    ] = None
    triangular: Annotated[
        NoLess | None, Field(description="half the width of limits whose middle is the most likely")
    ] = None
    arcsine: Annotated[NoLess | None, Field(description="half the width of limits that something swings between")] = (
        None
    )
    normal: Annotated[NoLess | None, Field(description="standard deviation of a bell shape without limits")] = None
    value: Annotated[LengthField, Field(description="what is known of the error beforehand; left out: 0")] = 0.0


class ReadingTable(_Estimate):
    """A value and how far it may be off, in one shape."""

    value: Annotated[float, Field(description="the value")]

    def known(self) -> Estimate:
        """Return the estimate with its value."""
        return self.estimate(value=self.value)


class HumidityTable(ReadingTable):
    """A relative humidity in percent and how far it may be off, in one shape."""

    value: Annotated[float, Field(gt=0, lt=100, description="relative humidity in percent")]


class AirTable(Table):
    """The air that the wood has come to rest with."""

    temperature: Annotated[ReadingTable, Field(description="temperature in degrees Celsius")]
    humidity: Annotated[HumidityTable, Field(description="relative humidity in percent")]


class FeatureTable(Table):
    """A place of the part where register matters."""

    name: Annotated[Name, Field(description="what the report calls it")]
    at: Annotated[PointField, Field(description="where it is, [X, Y] of the blank frame")]
    depth: Annotated[
        NoLess | None, Field(description="how deep below the front the cuts meet; left out: half the thickness")
    ] = None


class BudgetTable(Table):
    """How exactly the work is done; what is left out counts as exact, and the report says so."""

    lines: Annotated[
        LengthErrorTable | None, Field(description="how far a drawn line is from where it should be")
    ] = None
    pointer: Annotated[
        LengthErrorTable | None, Field(description="how far off the line the pointer is at the mark")
    ] = None
    pointer_far: Annotated[
        LengthErrorTable | None, Field(description="the same at the other end of the line; left out: as at the mark")
    ] = None
    jog: Annotated[
        LengthErrorTable | None, Field(description="how far the machine is from its readout, along each axis")
    ] = None
    square: Annotated[
        ErrorTable | None, Field(description="degrees that the angle between the axes is off a right angle")
    ] = None
    lean: Annotated[
        ErrorTable | None, Field(description="degrees that the spindle's travel leans, along each axis")
    ] = None
    flat: Annotated[
        LengthErrorTable | None, Field(description="how much higher one side of the blank may lie than the other")
    ] = None
    moisture_change: Annotated[
        ReadingTable | None, Field(description="moisture content at the last cut less that at the first, in points")
    ] = None
    air_before: Annotated[AirTable | None, Field(description="the air before the first cut")] = None
    air_after: Annotated[AirTable | None, Field(description="the air before the last cut")] = None
    board: Annotated[
        ErrorTable | None, Field(description="how far this board's movement is from the species', in percent of it")
    ] = None
    features: Annotated[list[FeatureTable], Field(description="places where register matters")] = []

    @model_validator(mode="after")
    def _one_moisture(self) -> "BudgetTable":
        if (self.air_before is None) != (self.air_after is None):
            raise ValueError("air_before and air_after go together")
        if self.air_before is not None and self.moisture_change is not None:
            raise ValueError("give either moisture_change or the air before and after, not both")
        return self

    def budget(self, *, unit_mm: float) -> Budget:
        """Return the budget in millimetres.

        Parameters
        ----------
        unit_mm : float
            Millimetres in one of the file's length units.
        """
        return Budget(
            line_drawing_mm=_known(self.lines, unit_mm),
            pointer_mm=_known(self.pointer, unit_mm),
            pointer_far_mm=_known(self.pointer_far, unit_mm),
            jog_mm=_known(self.jog, unit_mm),
            square_deg=_known(self.square),
            lean_deg=_known(self.lean),
            flat_mm=_known(self.flat, unit_mm),
            wood=self._wood(),
            coefficient_percent=_known(self.board),
            features=tuple(
                Feature(
                    feature.name,
                    (feature.at[0] * unit_mm, feature.at[1] * unit_mm),
                    None if feature.depth is None else feature.depth * unit_mm,
                )
                for feature in self.features
            ),
        )

    def _wood(self) -> MoistureChange | Air | None:
        if self.moisture_change is not None:
            return MoistureChange(self.moisture_change.known())
        if self.air_before is None or self.air_after is None:
            return None
        before, after = self.air_before, self.air_after
        return Air(
            before.temperature.known(), before.humidity.known(), after.temperature.known(), after.humidity.known()
        )


def _known(table: ErrorTable | None, unit_mm: float = 1.0) -> Estimate | None:
    return None if table is None else table.known(unit_mm=unit_mm)
