"""Small jobs whose wood can be reckoned by hand: a board of 100 x 60 x 20 mm, zero on mark A, near the middle of it.

The back is turned over like a page, so what is at x on the front is at -x on the back.
"""

from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from dataclasses import replace
from unittest.mock import patch

from flipreg import face_program, parse
from flipreg.findings import Finding, Status
from flipreg.job.blank import Blank, BlankFace, Edge
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.mark import Mark
from flipreg.job.setup import Setup, SetupProgram, ZZero
from flipreg.job.station import Station
from flipreg.job.tool import Tool, ToolShape
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from flipreg.program.face import FaceProgram

__all__ = [
    "HEAD",
    "TAIL",
    "TOOLS",
    "checked",
    "fails",
    "joined",
    "part",
    "permitting",
    "pocket",
    "profile",
    "said",
    "slot",
    "statuses",
]

HEAD = "G21 G90 G17 G94 T1 M6 S9000 M3 F900\nG0 Z5\nG0 X0 Y0\n"
TAIL = "G0 Z5\nG0 X0 Y0\nM30\n"

Programs = Mapping[str, tuple[str, str]]
"""Name of the program -> (name of its tool, text); names that begin with 'front' belong to the front."""

TOOLS = (
    Tool("6 flat", ToolShape.FLAT, 6.0, plunge=True),
    Tool("6 slow", ToolShape.FLAT, 6.0, plunge=False),
    Tool("6 unsaid", ToolShape.FLAT, 6.0),
    Tool("6 ball", ToolShape.BALL, 6.0, plunge=True),
    Tool("10 flat", ToolShape.FLAT, 10.0, plunge=True),
    Tool("90 vee", ToolShape.VEE, 12.0, angle_deg=90.0, plunge=True),
    Tool("5 drill", ToolShape.DRILL, 5.0, angle_deg=118.0),
)


def pocket(x_mm: float, y_mm: float, half_mm: float, floor_mm: float) -> str:
    """Return a square pocket round a point, half as wide as said plus the tool's radius, in rows of 2 mm."""
    text = f"{HEAD}G0 X{x_mm - half_mm} Y{y_mm - half_mm}\nG1 Z{floor_mm} F300\nF900\n"
    y = -half_mm
    side = 1
    while y <= half_mm:
        text += f"Y{y_mm + y}\nX{x_mm + side * half_mm}\n"
        side, y = -side, y + 2.0
    return text + TAIL


def slot(points: Sequence[tuple[float, float]], floor_mm: float) -> str:
    """Return a cut along straight lines from point to point, all at one depth."""
    (x, y), *others = points
    text = f"{HEAD}G0 X{x} Y{y}\nG1 Z{floor_mm} F300\nF900\n"
    return text + "".join(f"X{x} Y{y}\n" for x, y in others) + TAIL


def joined(*programs: str) -> str:
    """Return one program that makes several programs' cuts, one after the other."""
    return HEAD + "".join(text.removeprefix(HEAD).removesuffix(TAIL) + "G0 Z5\n" for text in programs) + TAIL


def profile(half_x_mm: float, half_y_mm: float, floor_mm: float, *, tab_mm: float = 0.0, top_mm: float = 0.0) -> str:
    """Return a rectangle of the tool's centre about zero, with two tabs on its sides along Y if they are wanted."""
    text = f"{HEAD}G0 X{half_x_mm} Y{-half_y_mm}\nG1 Z{floor_mm} F300\nF900\n"
    for side in (1, -1):
        if tab_mm:
            ends = -side * tab_mm / 2, side * tab_mm / 2
            text += f"Y{ends[0]}\nZ{top_mm}\nY{ends[1]}\nZ{floor_mm}\n"
        text += f"Y{side * half_y_mm}\nX{-side * half_x_mm}\n"
    return text + TAIL


def part(programs: Programs, *, limits: Limits | None = None, stations: Sequence[Station] = ()) -> Job:
    """Return the job of some programs; those with 'profile' in their name are profiles."""
    setups = []
    for face, up in (("front", BlankFace.FRONT), ("back", BlankFace.BACK)):
        mine = [
            SetupProgram(name, tool, profile="profile" in name)
            for name, (tool, _) in programs.items()
            if name.startswith(face)
        ]
        if mine:
            axis = None if face == "front" else "y"
            setups.append(Setup(face, up, axis, "A", (0.0, 0.0), ZZero.TOP, tuple(mine)))  # type: ignore[arg-type]
    return Job(
        source="job.toml",
        name="part",
        tolerance_mm=0.2,
        inch=False,
        blank=Blank(100.0, 60.0, 20.0, Edge.LEFT, 30.0, species="sugar maple"),
        marks=(Mark("A", (BlankFace.FRONT, BlankFace.BACK), 50.0),),
        tools=TOOLS,
        setups=tuple(setups),
        limits=limits or Limits(),
        stations=tuple(stations),
    )


def permitting(
    job: Job, *, through: Sequence[str] = (), may_fall: Mapping[str, Sequence[tuple[float, float]]] | None = None
) -> Job:
    """Return a job whose named programs may open the part, or cut loose the pieces that have the given points."""
    setups = tuple(
        replace(
            setup,
            programs=tuple(
                replace(one, through=one.file in through, may_fall=tuple((may_fall or {}).get(one.file, ())))
                for one in setup.programs
            ),
        )
        for setup in job.setups
    )
    return replace(job, setups=setups)


def fails(report: JobReport, code: str) -> list[Finding]:
    """Return the findings of a code that fail."""
    return [finding for finding in said(report, code) if finding.status is Status.FAIL]


def checked(job: Job, programs: Programs, *, compares: bool = False) -> JobReport:
    """Return the check of a job with its programs' texts.

    Faces are compared only where that is asked for: it takes half the time, and the wood doesn't rest on it.
    """

    def read(named: SetupProgram) -> FaceProgram:
        return face_program(parse(programs[named.file][1], source=named.file))

    with nullcontext() if compares else patch("flipreg.job_check.check.opposite", return_value=[]):
        return check_job(replace(job), read=read)


def said(report: JobReport, code: str) -> list[Finding]:
    """Return the findings of a code."""
    return [finding for finding in report.findings if finding.check == code]


def statuses(report: JobReport, code: str) -> list[Status]:
    """Return how a check ended."""
    return [finding.status for finding in said(report, code)]
