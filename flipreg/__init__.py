"""Make two-sided CNC work come out in register.

flipreg reads RS-274 programs, works out and proves the program for the other face, and verifies before the
cut that both faces belong to one part. What leaves it was read again and compared motion by motion with its
source. What it cannot determine it says so, and never counts as a pass. It does not know your machine, your
tools or your workholding, and never says that a cut is safe.

Millimetres and degrees, counter-clockwise positive; frames are right-handed.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from flipreg.errors import FlipregError, ProofError, UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.produce.produce import FlipAxis, Produced, flip, flip_isometry, shift, shift_isometry
from flipreg.rs274.interpret.subprograms import interpret
from flipreg.rs274.read.location import Location, ProgramError, RefusedError
from flipreg.rs274.read.program import Program, ProgramFile, Units, parse, read

if TYPE_CHECKING:
    from flipreg.align.job_budget import job_budget
    from flipreg.align.marks import marking_sheet
    from flipreg.align.planned import planned_marks
    from flipreg.align.touch import fit_touches
    from flipreg.findings import Finding, Status
    from flipreg.geometry.pose import Pose
    from flipreg.job.file.read import read_job
    from flipreg.job.job import Job
    from flipreg.job.pose import blank_from_setup
    from flipreg.job.problem import JobFileError
    from flipreg.job_check.check import check_job
    from flipreg.job_check.report import JobReport
    from flipreg.produce.climb import flip_keeping_climb
    from flipreg.produce.depth import depth, floor_from_proud, floor_from_thickness, floor_of
    from flipreg.produce.fitted import FittedFloor, MeasuredPart, depth_for_part, fitted_floor
    from flipreg.produce.hand import Across, Direction, FlippedJob, OtherHand, other_hand
    from flipreg.produce.home import home, missing_from_home
    from flipreg.produce.join import join
    from flipreg.produce.split import ToolPart, split_tools
    from flipreg.program.face import FaceProgram
    from flipreg.program.summary import Summary, face_program
    from flipreg.program.summary import summarise as bounds
    from flipreg.register.check import check
    from flipreg.register.report import Report

__all__ = [
    "Across",
    "Direction",
    "FaceProgram",
    "Finding",
    "FittedFloor",
    "FlipAxis",
    "FlippedJob",
    "FlipregError",
    "Isometry",
    "Job",
    "JobFileError",
    "JobReport",
    "Location",
    "MeasuredPart",
    "OtherHand",
    "Path",
    "Pose",
    "Produced",
    "Program",
    "ProgramError",
    "ProgramFile",
    "ProofError",
    "RefusedError",
    "Report",
    "Status",
    "Summary",
    "ToolPart",
    "Units",
    "UsageError",
    "blank_from_setup",
    "bounds",
    "check",
    "check_job",
    "depth",
    "depth_for_part",
    "face_program",
    "fit_touches",
    "fitted_floor",
    "flip",
    "flip_isometry",
    "flip_keeping_climb",
    "floor_from_proud",
    "floor_from_thickness",
    "floor_of",
    "home",
    "interpret",
    "job_budget",
    "join",
    "marking_sheet",
    "missing_from_home",
    "other_hand",
    "parse",
    "planned_marks",
    "read",
    "read_job",
    "shift",
    "shift_isometry",
    "split_tools",
]

_ON_FIRST_USE = {
    "Across": ("produce.hand", "Across"),
    "Direction": ("produce.hand", "Direction"),
    "FlippedJob": ("produce.hand", "FlippedJob"),
    "OtherHand": ("produce.hand", "OtherHand"),
    "FaceProgram": ("program.face", "FaceProgram"),
    "Finding": ("findings", "Finding"),
    "Job": ("job.job", "Job"),
    "JobFileError": ("job.problem", "JobFileError"),
    "JobReport": ("job_check.report", "JobReport"),
    "Pose": ("geometry.pose", "Pose"),
    "Report": ("register.report", "Report"),
    "Status": ("findings", "Status"),
    "ToolPart": ("produce.split", "ToolPart"),
    "Summary": ("program.summary", "Summary"),
    "blank_from_setup": ("job.pose", "blank_from_setup"),
    "bounds": ("program.summary", "summarise"),
    "check": ("register.check", "check"),
    "check_job": ("job_check.check", "check_job"),
    "FittedFloor": ("produce.fitted", "FittedFloor"),
    "MeasuredPart": ("produce.fitted", "MeasuredPart"),
    "depth": ("produce.depth", "depth"),
    "depth_for_part": ("produce.fitted", "depth_for_part"),
    "fitted_floor": ("produce.fitted", "fitted_floor"),
    "face_program": ("program.summary", "face_program"),
    "fit_touches": ("align.touch", "fit_touches"),
    "flip_keeping_climb": ("produce.climb", "flip_keeping_climb"),
    "floor_from_proud": ("produce.depth", "floor_from_proud"),
    "floor_from_thickness": ("produce.depth", "floor_from_thickness"),
    "floor_of": ("produce.depth", "floor_of"),
    "home": ("produce.home", "home"),
    "job_budget": ("align.job_budget", "job_budget"),
    "join": ("produce.join", "join"),
    "marking_sheet": ("align.marks", "marking_sheet"),
    "missing_from_home": ("produce.home", "missing_from_home"),
    "other_hand": ("produce.hand", "other_hand"),
    "planned_marks": ("align.planned", "planned_marks"),
    "read_job": ("job.file.read", "read_job"),
    "split_tools": ("produce.split", "split_tools"),
}
"""Names that the flip of a small program has no use for: it would spend half its time importing them."""


def __getattr__(name: str) -> object:
    if name not in _ON_FIRST_USE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _ON_FIRST_USE[name]
    return getattr(import_module(f"flipreg.{module}"), attribute)
