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
from flipreg.produce import FlipAxis, Produced, flip, flip_isometry, shift, shift_isometry
from flipreg.rs274.location import Location, ProgramError, RefusedError
from flipreg.rs274.program import Program, ProgramFile, Units, parse, read
from flipreg.rs274.run import interpret

if TYPE_CHECKING:
    from flipreg.align.job_budget import job_budget
    from flipreg.align.marks import marking_sheet
    from flipreg.align.planned import planned_marks
    from flipreg.align.touch import fit_touches
    from flipreg.edit.climb import flip_keeping_climb
    from flipreg.edit.depth import depth, floor_from_proud, floor_from_thickness, floor_of
    from flipreg.edit.fitted import FittedFloor, MeasuredPart, depth_for_part, fitted_floor
    from flipreg.edit.hands import Across, Direction, FlippedJob, OtherHand, other_hand
    from flipreg.edit.home import home, missing_from_home
    from flipreg.edit.join import join
    from flipreg.edit.split import ToolPart, split_tools
    from flipreg.geometry.pose import Pose
    from flipreg.job.job import Job
    from flipreg.job.pose import blank_from_setup
    from flipreg.job.problem import JobFileError
    from flipreg.job.read import read_job
    from flipreg.verify.check import check
    from flipreg.verify.face import FaceProgram
    from flipreg.verify.finding import Finding, Status
    from flipreg.verify.job_check import check_job
    from flipreg.verify.job_report import JobReport
    from flipreg.verify.report import Report
    from flipreg.verify.summary import Summary, face_program
    from flipreg.verify.summary import summarise as bounds

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
    "Across": ("edit.hands", "Across"),
    "Direction": ("edit.hands", "Direction"),
    "FlippedJob": ("edit.hands", "FlippedJob"),
    "OtherHand": ("edit.hands", "OtherHand"),
    "FaceProgram": ("verify.face", "FaceProgram"),
    "Finding": ("verify.finding", "Finding"),
    "Job": ("job.job", "Job"),
    "JobFileError": ("job.problem", "JobFileError"),
    "JobReport": ("verify.job_report", "JobReport"),
    "Pose": ("geometry.pose", "Pose"),
    "Report": ("verify.report", "Report"),
    "Status": ("verify.finding", "Status"),
    "ToolPart": ("edit.split", "ToolPart"),
    "Summary": ("verify.summary", "Summary"),
    "blank_from_setup": ("job.pose", "blank_from_setup"),
    "bounds": ("verify.summary", "summarise"),
    "check": ("verify.check", "check"),
    "check_job": ("verify.job_check", "check_job"),
    "FittedFloor": ("edit.fitted", "FittedFloor"),
    "MeasuredPart": ("edit.fitted", "MeasuredPart"),
    "depth": ("edit.depth", "depth"),
    "depth_for_part": ("edit.fitted", "depth_for_part"),
    "fitted_floor": ("edit.fitted", "fitted_floor"),
    "face_program": ("verify.summary", "face_program"),
    "fit_touches": ("align.touch", "fit_touches"),
    "flip_keeping_climb": ("edit.climb", "flip_keeping_climb"),
    "floor_from_proud": ("edit.depth", "floor_from_proud"),
    "floor_from_thickness": ("edit.depth", "floor_from_thickness"),
    "floor_of": ("edit.depth", "floor_of"),
    "home": ("edit.home", "home"),
    "job_budget": ("align.job_budget", "job_budget"),
    "join": ("edit.join", "join"),
    "marking_sheet": ("align.marks", "marking_sheet"),
    "missing_from_home": ("edit.home", "missing_from_home"),
    "other_hand": ("edit.hands", "other_hand"),
    "planned_marks": ("align.planned", "planned_marks"),
    "read_job": ("job.read", "read_job"),
    "split_tools": ("edit.split", "split_tools"),
}
"""Names that the flip of a small program has no use for: it would spend half its time importing them."""


def __getattr__(name: str) -> object:
    if name not in _ON_FIRST_USE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _ON_FIRST_USE[name]
    return getattr(import_module(f"flipreg.{module}"), attribute)
