"""Build a job without a job file, check it, and write the report as text and JSON, the picture, and the marking sheet.

`python build_job.py PROGRAMS OUT` takes the tray's programs from the folder PROGRAMS. The exit status is 0 only if
every setup is in register and nothing else fails.
"""

import json
import sys
from pathlib import Path

import flipreg


def tray(programs: Path) -> flipreg.Job:
    """Return the job of the tray: both faces of one board, the back turned over like a page."""

    def run(file: str, tool: str, *, profile: bool = False) -> flipreg.SetupProgram:
        return flipreg.SetupProgram(str(programs / file), tool, profile=profile)

    front = (
        run("front-rough.nc", "6 flat"),
        run("front-finish.nc", "6 ball"),
        run("front-profile.nc", "6 flat", profile=True),
        run("front-holes.nc", "5 drill"),
    )
    back = (
        run("back-rough.nc", "6 flat"),
        run("back-profile.nc", "6 flat", profile=True),
        run("back-holes.nc", "5 drill"),
    )
    zero_mm, top = (0.0, 0.0), flipreg.ZZero.TOP
    return flipreg.Job(
        source="tray",
        name="Serving tray",
        tolerance_mm=0.1,
        inch=False,
        blank=flipreg.Blank(370.0, 240.0, 22.0, flipreg.Edge.LEFT, centre_line_mm=120.0),
        marks=(flipreg.Mark("A", (flipreg.BlankFace.FRONT, flipreg.BlankFace.BACK), along_mm=15.0),),
        tools=(
            flipreg.Tool("6 flat", flipreg.ToolShape.FLAT, diameter_mm=6.0, plunge=True),
            flipreg.Tool("6 ball", flipreg.ToolShape.BALL, diameter_mm=6.0, plunge=True),
            flipreg.Tool("5 drill", flipreg.ToolShape.DRILL, diameter_mm=5.0, angle_deg=118.0),
        ),
        setups=(
            flipreg.Setup("front", flipreg.BlankFace.FRONT, None, "A", zero_mm, top, front),
            flipreg.Setup("back", flipreg.BlankFace.BACK, "y", "A", zero_mm, top, back),
        ),
        limits=flipreg.Limits(least_web_mm=8.0),
    )


def write_check(job: flipreg.Job, folder: Path) -> bool:
    """Check a job, write everything about it to a folder, and tell whether it is in register and nothing fails."""
    report = flipreg.check_job(job)
    (folder / "check.txt").write_text(flipreg.job_text(report), encoding="utf-8")
    (folder / "check.json").write_text(json.dumps(flipreg.job_json(report), indent=2), "utf-8")
    (folder / "check.svg").write_bytes(flipreg.draw_check(job, report, "check.svg").data)
    (folder / "marks.txt").write_text(flipreg.marks_text(flipreg.marking_sheet(job)), encoding="utf-8")
    return report.passes


if __name__ == "__main__":
    sys.exit(0 if write_check(tray(Path(sys.argv[1])), Path(sys.argv[2])) else 1)
