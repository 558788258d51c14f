"""The bench sheet of a job file, as values."""

from pathlib import Path

from flipreg.cli.files import file_print
from flipreg.job.file.read import read_job
from flipreg.job.job import Job
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from flipreg.program.face_program import face_program
from flipreg.report.bench_sheet import BenchSheet, bench_sheet
from flipreg.rs274.read.program import ProgramFile

__all__ = ["sheet_of"]


def sheet_of(folder: Path, report: JobReport | None = None) -> tuple[Job, BenchSheet]:
    """Return the job of a folder's job.toml with its bench sheet, checked here unless its report is given."""
    file = str(folder / "job.toml")
    job = read_job(file)
    if report is None:
        report = check_job(job, read=lambda part: face_program(ProgramFile(Path(part.file), part.file)))
    names = [file, *(program.file for setup in job.setups for program in setup.programs)]
    prints = {name: file_print(name) for name in names}
    return job, bench_sheet(job, report, files=prints, checked_on="2031-05-04 10:20")
