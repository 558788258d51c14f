"""What the check answers to a job, asked by the library's public functions alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import flipreg
from tests.workshop.cuts import FACES, Face
from tests.workshop.job import Job
from tests.workshop.placement import Axis, Placement, Point, flip

Programs = Mapping[Face, Mapping[str, str]]
Flip = tuple[Axis, Point]


@dataclass(frozen=True, slots=True)
class Answer:
    """The report as a script and as a person reads it."""

    data: dict[str, Any]
    text: str

    @property
    def verdict(self) -> bool | None:
        verdict: bool | None = self.data["in_register"]
        return verdict

    @property
    def found(self) -> bool:
        return bool(self.data["flip"]["found"])

    @property
    def says_not_mirrored(self) -> bool:
        return bool(self.data["flip"]["axis"] == "none")

    @property
    def placement(self) -> Placement | None:
        """Return how the back's numbers lie by the report, if it names a flip with its datum."""
        said = self.data["flip"]
        if said["axis"] not in ("x", "y") or said["datum_mm"] is None:
            return None
        return flip(said["axis"], tuple(said["datum_mm"]))

    def failures(self, check: str | None = None) -> list[str]:
        found = self.data["findings"]
        return [f["message"] for f in found if f["status"] == "fail" and check in (None, f["check"])]


def ask(job: Job, programs: Programs | None = None, told: Flip | None = None) -> Answer:
    """Return what the check says of the job, or of other programs or another flip for it."""
    front, back = (
        [_with_tools(name, text, job) for name, text in (programs or job.programs)[face].items()] for face in FACES
    )
    if told is None and job.told.flip == "all":
        told = (job.axis, job.datum)
    plan = told and flipreg.flip_isometry(flipreg.FlipAxis(told[0]), (_exact(told[1][0]), _exact(told[1][1])))
    report = flipreg.check(
        front,
        back,
        tolerance_mm=job.tolerance,
        flip=plan,
        axis=job.axis if told is None and job.told.flip == "axis" else None,
        thickness_mm=float(job.thickness) if job.told.thickness else None,
    )
    return Answer(flipreg.to_json(report), " ".join(flipreg.to_text(report).split()))


def _with_tools(name: str, text: str, job: Job) -> flipreg.FaceProgram:
    tools = {
        number: flipreg.Tool(str(number), flipreg.ToolShape(tool.shape), tool.diameter, angle_deg=tool.angle)
        for tool, number in job.tools.items()
    }
    return flipreg.face_program(flipreg.parse(text, source=name), tools=tools if job.told.tools else None)


def _exact(length: float) -> Decimal:
    return Decimal(str(length))
