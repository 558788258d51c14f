"""What to do about a mistake in a job: which key of which setup to change, or how to make its programs again.

Two setups that disagree by a shift show that one of their zeros is wrong, and not which. What tells them apart is what
else each of them agrees with: a correction is tried on either one, and the setup whose correction makes the most of the
job agree is the wrong one. If both do equally well, both are named.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.job.layout import Layout
from flipreg.job.setup import Setup
from flipreg.program.laid import laid
from flipreg.program.setup_face import SetupFace, seen_from_above
from flipreg.register.decision.mistake import Change, Mistake, Way
from flipreg.register.diagnosis.program_advice import turned, unit_way
from flipreg.register.diagnosis.program_change import moved_programs
from flipreg.register.diagnosis.shift_cause import Cause, cause_of_jog
from flipreg.register.faces.number import listed
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.other_units import OtherUnit
from flipreg.units import INCH_MM

__all__ = ["SetupAdvice"]

_ZERO = (Decimal(0), Decimal(0))

_LEAST_MM = 0.005
"""A jog is not said to be wrong by less than this, in millimetres: it is what programs' last decimals make (chosen)."""


class SetupAdvice:
    """Advice on two setups that cut opposite faces of one section.

    Parameters
    ----------
    front, back : SetupFace
        The setups.
    layout : Layout
        Of their job.
    agreeing : callable
        Says how much of the job agrees with a setup moved.
    """

    def __init__(
        self, front: SetupFace, back: SetupFace, layout: Layout, agreeing: Callable[[SetupFace], int]
    ) -> None:
        self.front, self.back, self.layout, self._agreeing = front, back, layout, agreeing
        self._unit_mm = INCH_MM if layout.job.inch else 1.0
        self._names = tuple(program.name for program in back.programs)

    def zero(self, comparison: Comparison, right: Placement) -> list[Mistake]:
        """Return the setups whose zero would explain a shift: one, or both where nothing tells them apart."""
        x_mm, y_mm = right.offset_mm.tolist()
        if max(abs(x_mm), abs(y_mm)) < _LEAST_MM:
            return []
        # The datum says where the back's zero would have to be; the front's would have to go the other way.
        ways = ((self.front, self._jog(self.front, -x_mm, -y_mm)), (self.back, self._jog(self.back, x_mm, y_mm)))
        tried = [(self._agreeing(face.with_jog(jog)), face, jog) for face, jog in ways]
        most = max(count for count, _, _ in tried)
        mistakes = [self._wrong_zero(face, jog) for count, face, jog in tried if count == most]
        # The one with a usual cause first: a jog that fits another mark is rarely chance.
        return sorted(mistakes, key=lambda mistake: mistake.code == "jog")

    def way_round(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that is mirrored about another axis, not at all, or turned on the table."""
        seen = right.isometry @ Isometry.mirror_x(datum_mm=_ZERO) @ self.back.seen_from_above
        told = self.back.seen_from_above
        name, what = self.back.name, f"the programs of {self.back.name!r}"
        remade = moved_programs(told, seen, self._names, what=what)
        if seen.determinant > 0:
            own = (~self.front.seen_from_above) @ seen
            turn = "" if abs(own.xx - 1.0) < 1e-6 else f" turned by {abs(own.turn_deg):g}°"
            shift = "" if float(np.abs(own.offset_mm[:2]).max()) <= self.layout.job.tolerance_mm else " and shifted"
            return Mistake(
                "not mirrored",
                f"{what} are not mirrored, they carry the front's own numbers{turn}{shift}",
                (remade,),
                name,
                is_certain=True,
            )
        setup = laid(self.layout, self.back.setup, seen)
        keys = _keys(self.back.setup, setup)
        values = {**keys, "zero": self._in_unit(setup.zero_mm)}
        words = ", ".join(f"{key} = {_value(value)}" for key, value in keys.items())
        lay = Way(
            f"set {words} and zero = {listed(self._in_unit(setup.zero_mm))} in setup {name!r} and lay the blank so",
            (Change("setup", (name,), values),),
        )
        if "flip" in keys:
            ours, theirs = str(setup.flip_axis).upper(), str(self.back.setup.flip_axis).upper()
            return Mistake(
                "other axis",
                f"{what} are mirrored about {ours}, but the job has the blank flipped about {theirs}",
                (lay, remade),
                name,
                is_certain=True,
            )
        return Mistake(
            "quarter turn",
            f"{what} fit a blank that lies turned otherwise on the table",
            (lay, remade),
            name,
            is_certain=True,
        )

    def turn(self, comparison: Comparison, right: Placement) -> Mistake:
        """Return the mistake of a back that is a little turned."""
        told = self.back.seen_from_above
        seen = right.isometry @ Isometry.mirror_x(datum_mm=_ZERO) @ told
        made = moved_programs(told, seen, self._names, what=f"the programs of {self.back.name!r}")
        return replace(turned(comparison, made), setup=self.back.name)

    def unit(self, other: OtherUnit) -> Way:
        """Return how to mend the unit of programs."""
        return unit_way(other)

    def _wrong_zero(self, face: SetupFace, right_mm: tuple[float, float]) -> Mistake:
        setup, given = face.setup, listed(self._in_unit(face.setup.zero_mm))
        to = self._in_unit(right_mm)
        jog = Way(
            f"set zero = {listed(to)}, with which it agrees with the other setups; look it up in the plan",
            (Change("setup", (setup.name,), {"zero": to}),),
        )
        mark = self._other_mark(face, right_mm)
        if mark is not None:
            return Mistake(
                "mark",
                f"setup {setup.name!r} names mark {setup.mark!r}, but its zero = {given} is the jog from mark {mark!r}",
                (
                    Way(f'set mark = "{mark}"', (Change("setup", (setup.name,), {"mark": mark}),)),
                    Way(f"jog from {setup.mark!r} with zero = {listed(to)}", jog.changes),
                ),
                setup.name,
            )
        job = self.layout.job
        cause = cause_of_jog(
            setup.zero_mm,
            right_mm,
            others_mm={other.name: other.zero_mm for other in job.setups if other.name != setup.name},
            diameters_mm=[tool.diameter_mm for _, _, tool in face.runs()],
            tolerance_mm=job.tolerance_mm,
        ) or Cause("jog", "")
        why = f"; {cause.words}" if cause.words else ""
        reason = f"the jog of setup {setup.name!r} is wrong, the job file has zero = {given}{why}"
        return Mistake(cause.code, reason, (jog,), setup.name)

    def _other_mark(self, face: SetupFace, right_mm: tuple[float, float]) -> str | None:
        """Return the mark from which the jog, as it is, leads to the right zero."""
        wanted = face.with_jog(right_mm).seen_from_above.offset_mm
        setup = face.setup
        for mark in self.layout.job.marks:
            if mark.name == setup.mark or setup.up not in mark.faces:
                continue
            try:
                there = seen_from_above(self.layout, replace(setup, mark=mark.name)).offset_mm
            except ValueError:
                # Carried from a hinge that no setup tilts about: nobody can draw it.
                continue
            if float(np.abs(there - wanted).max()) <= self.layout.job.tolerance_mm:
                return mark.name
        return None

    def _jog(self, face: SetupFace, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return the jog that moves a setup's cutting by a way in the section's frame.

        It is told to a hundredth of a millimetre, or to a ten-thousandth of an inch.
        """
        # The seen motion's inverse, without its offset, is the transposed matrix.
        way = face.seen_from_above.matrix.T @ np.array([x_mm, y_mm])
        step_mm = 0.0001 * INCH_MM if self.layout.job.inch else 0.01
        right = (np.asarray(face.setup.zero_mm) + way) / step_mm
        x, y = (round(float(value)) * step_mm for value in right)
        return x, y

    def _in_unit(self, way_mm: tuple[float, float]) -> tuple[float, float]:
        x, y = (round(value / self._unit_mm, 4) + 0.0 for value in way_mm)
        return x, y


def _keys(told: Setup, laid: Setup) -> dict[str, object]:
    """Return the keys of the job file in which a setup differs from what it says."""
    keys: dict[str, object] = {}
    if laid.flip_axis != told.flip_axis:
        keys["flip"] = laid.flip_axis
    if laid.quarter_turns != told.quarter_turns:
        keys["quarter_turns"] = laid.quarter_turns
    return keys


def _value(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)
