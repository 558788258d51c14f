"""Make two-sided CNC work come out in register.

flipreg reads RS-274 programs, works out and proves the program for the other face, and verifies before the
cut that both faces belong to one part. What leaves it was read again and compared motion by motion with its
source. What it cannot determine it says so, and never counts as a pass. It does not know your machine, your
tools or your workholding, and never says that a cut is safe.

Millimetres and degrees, counter-clockwise positive; frames are right-handed.
"""

from importlib import import_module
from inspect import isfunction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flipreg.align.budget_report import BudgetReport
    from flipreg.align.job_budget import job_budget
    from flipreg.align.marking_sheet import MarkingSheet
    from flipreg.align.marks import marking_sheet
    from flipreg.align.planned import planned_marks
    from flipreg.align.touch import fit_touches
    from flipreg.align.touch_report import TouchReport
    from flipreg.drafting.draft import draft
    from flipreg.drawing.bench import draw_bench
    from flipreg.drawing.paint import Drawing
    from flipreg.drawing.paper import Paper
    from flipreg.drawing.picture import draw_check
    from flipreg.drawing.two_faces import draw_two_faces
    from flipreg.errors import FlipregError, ProofError, UsageError
    from flipreg.findings import Finding, Status
    from flipreg.geometry.isometry import Isometry
    from flipreg.geometry.pose import Pose
    from flipreg.job.blank import Blank, BlankFace, Edge, Grain
    from flipreg.job.budget import Air, Budget, Feature, MoistureChange
    from flipreg.job.clamp import Clamp
    from flipreg.job.estimate import Estimate, Shape
    from flipreg.job.file.read import read_job
    from flipreg.job.file.schema import job_schema
    from flipreg.job.file.write import draft_text
    from flipreg.job.fitted import FittedPart
    from flipreg.job.guess import Guess
    from flipreg.job.job import Job, UnknownNameError
    from flipreg.job.limits import Limits
    from flipreg.job.machine import Machine
    from flipreg.job.mark import Carried, Mark, Square
    from flipreg.job.pose import blank_from_setup
    from flipreg.job.problem import JobFileError, Problem
    from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
    from flipreg.job.station import Station
    from flipreg.job.tool import Tool, ToolShape
    from flipreg.job_check.check import check_job
    from flipreg.job_check.report import JobReport
    from flipreg.path import Path
    from flipreg.produce.climb import flip_keeping_climb
    from flipreg.produce.depth import depth, floor_from_proud, floor_from_thickness, floor_of
    from flipreg.produce.fitted import FittedFloor, MeasuredPart, depth_for_part, fitted_floor
    from flipreg.produce.hand import Across, FlippedJob, MillingDirection, OtherHand, other_hand
    from flipreg.produce.home import home, missing_from_home
    from flipreg.produce.isometries import FlipAxis, flip_isometry, shift_isometry
    from flipreg.produce.join import join
    from flipreg.produce.produce import flip, shift
    from flipreg.produce.produced import Produced
    from flipreg.produce.split import ToolPart, split_tools
    from flipreg.program.face import FaceProgram
    from flipreg.program.face_program import face_program
    from flipreg.program.summary import Summary
    from flipreg.program.summary import summarise as bounds
    from flipreg.progress import WatchedProgram
    from flipreg.register.check import check
    from flipreg.register.report import Report
    from flipreg.report.bench_sheet import BenchSheet, FilePrint, bench_sheet
    from flipreg.report.budget import budget_text
    from flipreg.report.job import job_text
    from flipreg.report.json.bench import budget_json, marks_json, touch_json
    from flipreg.report.json.faces import to_json
    from flipreg.report.json.job import job_json
    from flipreg.report.json.program import summary_json
    from flipreg.report.marks import marks_text
    from flipreg.report.summary import summary_text
    from flipreg.report.text import to_text
    from flipreg.report.touch import touch_text
    from flipreg.rs274.interpret.state import BlockDelete
    from flipreg.rs274.interpret.subprograms import interpret
    from flipreg.rs274.read.location import Location, ProgramError, RefusedError
    from flipreg.rs274.read.program import Program, ProgramFile, Units, parse, read

__all__ = [
    "Across",
    "Air",
    "BenchSheet",
    "Blank",
    "BlankFace",
    "BlockDelete",
    "Budget",
    "BudgetReport",
    "Carried",
    "Clamp",
    "Drawing",
    "Edge",
    "Estimate",
    "FaceProgram",
    "Feature",
    "FilePrint",
    "Finding",
    "FittedFloor",
    "FittedPart",
    "FlipAxis",
    "FlippedJob",
    "FlipregError",
    "Grain",
    "Guess",
    "Isometry",
    "Job",
    "JobFileError",
    "JobReport",
    "Limits",
    "Location",
    "Machine",
    "Mark",
    "MarkingSheet",
    "MeasuredPart",
    "MillingDirection",
    "MoistureChange",
    "OtherHand",
    "Paper",
    "Path",
    "Pose",
    "Problem",
    "Produced",
    "Program",
    "ProgramError",
    "ProgramFile",
    "ProofError",
    "RefusedError",
    "Report",
    "Section",
    "Setup",
    "SetupProgram",
    "Shape",
    "Square",
    "Station",
    "Status",
    "Summary",
    "Tilt",
    "Tool",
    "ToolPart",
    "ToolShape",
    "TouchReport",
    "Units",
    "UnknownNameError",
    "UsageError",
    "WatchedProgram",
    "ZZero",
    "bench_sheet",
    "blank_from_setup",
    "bounds",
    "budget_json",
    "budget_text",
    "check",
    "check_job",
    "depth",
    "depth_for_part",
    "draft",
    "draft_text",
    "draw_bench",
    "draw_check",
    "draw_two_faces",
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
    "job_json",
    "job_schema",
    "job_text",
    "join",
    "marking_sheet",
    "marks_json",
    "marks_text",
    "missing_from_home",
    "other_hand",
    "parse",
    "planned_marks",
    "read",
    "read_job",
    "shift",
    "shift_isometry",
    "split_tools",
    "summary_json",
    "summary_text",
    "to_json",
    "to_text",
    "touch_json",
    "touch_text",
]

_WHERE = {
    "align.budget_report": ("BudgetReport",),
    "align.job_budget": ("job_budget",),
    "align.marking_sheet": ("MarkingSheet",),
    "align.marks": ("marking_sheet",),
    "align.planned": ("planned_marks",),
    "align.touch": ("fit_touches",),
    "align.touch_report": ("TouchReport",),
    "drafting.draft": ("draft",),
    "drawing.bench": ("draw_bench",),
    "drawing.paint": ("Drawing",),
    "drawing.paper": ("Paper",),
    "drawing.picture": ("draw_check",),
    "drawing.two_faces": ("draw_two_faces",),
    "errors": ("FlipregError", "ProofError", "UsageError"),
    "findings": ("Finding", "Status"),
    "geometry.isometry": ("Isometry",),
    "geometry.pose": ("Pose",),
    "job.blank": ("Blank", "BlankFace", "Edge", "Grain"),
    "job.budget": ("Air", "Budget", "Feature", "MoistureChange"),
    "job.clamp": ("Clamp",),
    "job.estimate": ("Estimate", "Shape"),
    "job.file.read": ("read_job",),
    "job.file.schema": ("job_schema",),
    "job.file.write": ("draft_text",),
    "job.fitted": ("FittedPart",),
    "job.guess": ("Guess",),
    "job.job": ("Job", "UnknownNameError"),
    "job.limits": ("Limits",),
    "job.machine": ("Machine",),
    "job.mark": ("Carried", "Mark", "Square"),
    "job.pose": ("blank_from_setup",),
    "job.problem": ("JobFileError", "Problem"),
    "job.setup": ("Section", "Setup", "SetupProgram", "Tilt", "ZZero"),
    "job.station": ("Station",),
    "job.tool": ("Tool", "ToolShape"),
    "job_check.check": ("check_job",),
    "job_check.report": ("JobReport",),
    "path": ("Path",),
    "produce.climb": ("flip_keeping_climb",),
    "produce.depth": ("depth", "floor_from_proud", "floor_from_thickness", "floor_of"),
    "produce.fitted": ("FittedFloor", "MeasuredPart", "depth_for_part", "fitted_floor"),
    "produce.hand": ("Across", "FlippedJob", "MillingDirection", "OtherHand", "other_hand"),
    "produce.home": ("home", "missing_from_home"),
    "produce.isometries": ("FlipAxis", "flip_isometry", "shift_isometry"),
    "produce.join": ("join",),
    "produce.produce": ("flip", "shift"),
    "produce.produced": ("Produced",),
    "produce.split": ("ToolPart", "split_tools"),
    "program.face": ("FaceProgram",),
    "program.face_program": ("face_program",),
    "program.summary": ("Summary",),
    "progress": ("WatchedProgram",),
    "register.check": ("check",),
    "register.report": ("Report",),
    "report.bench_sheet": ("BenchSheet", "FilePrint", "bench_sheet"),
    "report.budget": ("budget_text",),
    "report.job": ("job_text",),
    "report.json.bench": ("budget_json", "marks_json", "touch_json"),
    "report.json.faces": ("to_json",),
    "report.json.job": ("job_json",),
    "report.json.program": ("summary_json",),
    "report.marks": ("marks_text",),
    "report.summary": ("summary_text",),
    "report.text": ("to_text",),
    "report.touch": ("touch_text",),
    "rs274.interpret.state": ("BlockDelete",),
    "rs274.interpret.subprograms": ("interpret",),
    "rs274.read.location": ("Location", "ProgramError", "RefusedError"),
    "rs274.read.program": ("Program", "ProgramFile", "Units", "parse", "read"),
}
"""The modules that public names come from when they are first asked for: most scripts need a few of them only."""

_OTHERWISE = {"bounds": "summarise"}
"""Public names that are other ones at home."""

_HOME = {name: module for module, names in _WHERE.items() for name in names} | {"bounds": "program.summary"}


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(f"flipreg.{_HOME[name]}"), _OTHERWISE.get(name, name))
    if isfunction(found):
        from flipreg.arguments import checked

        found = checked(found)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
