"""Reading a job file: TOML in, a Job out, or every problem at once."""

import os
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from flipreg.job.file.guesses import guesses
from flipreg.job.file.lines import line_numbers, nearest_line
from flipreg.job.file.toml_text import load_toml
from flipreg.job.job import Job
from flipreg.job.problem import JobFileError, Problem
from flipreg.job.rules import rules

if TYPE_CHECKING:
    from flipreg.job.file.tables import FileTable

__all__ = ["parse_job", "read_job", "with_lines"]


def read_job(path: str | os.PathLike[str]) -> Job:
    """Return the job of a TOML file.

    Parameters
    ----------
    path : path
        The job file; paths in it are relative to its folder.

    Raises
    ------
    JobFileError
        If the file cannot be read, is not TOML, or says something wrong; all problems at once, with key paths and
        lines.
    """
    source = os.fspath(path)
    try:
        with open(source, "rb") as file:
            data = file.read()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise JobFileError(source, [Problem((), f"cannot be read: {reason}")]) from None
    return parse_job(data, source=source, folder=os.path.dirname(source))


def parse_job(data: bytes, *, source: str, folder: str) -> Job:
    """Return the job that a TOML text describes; see `read_job`.

    Parameters
    ----------
    data : bytes
        The text, UTF-8.
    source : str
        Its name, for messages.
    folder : str
        What the programs' paths are relative to; they are looked for there, but not read.
    """
    raw, text = load_toml(data, source=source)
    table, problems = _validated(raw)
    problems += _contradictions(raw, folder)
    lines = line_numbers(text)
    job = None
    if table is not None and not problems:
        from flipreg.job.file.values import job_of

        job = replace(job_of(table, source=source, folder=folder), guesses=guesses(text, lines))
        problems += rules(job)
    if job is None or problems:
        raise JobFileError(
            source, [Problem(found.path, found.message, nearest_line(lines, found.path)) for found in problems]
        )
    return job


def with_lines(error: JobFileError) -> JobFileError:
    """Return an error that showed only once the programs were read, with the lines of the job file."""
    try:
        with open(error.source, "rb") as file:
            _, text = load_toml(file.read(), source=error.source)
    except (OSError, JobFileError):
        return error
    lines = line_numbers(text)
    return JobFileError(
        error.source,
        [Problem(one.path, one.message, one.line or nearest_line(lines, one.path)) for one in error.problems],
    )


def _validated(raw: Mapping[str, object]) -> tuple["FileTable | None", list[Problem]]:
    from pydantic import ValidationError

    from flipreg.job.file.complaint import complaint
    from flipreg.job.file.length import in_unit
    from flipreg.job.file.tables import FileTable

    try:
        return FileTable.model_validate(raw, context=in_unit(inch=raw.get("units") == "inch")), []
    except ValidationError as error:
        found = error.errors(include_url=False)
    # A table of a wrong key gives one problem for each key; several for one path are alternatives of one.
    return None, [
        Problem(tuple(part for part in one["loc"] if part != "[key]"), complaint(one, FileTable)) for one in found
    ]


def _contradictions(raw: Mapping[str, object], folder: str) -> list[Problem]:
    """Return what the parts contradict each other in, though others may be wrong in themselves."""
    from flipreg.job.file.right_tables import RightTables
    from flipreg.job.file.table_rules import table_rules
    from flipreg.job.reference_rules import reference_rules
    from flipreg.job.size_rules import size_rules

    tables = RightTables.of(raw, folder)
    parts = tables.parts()
    return [*table_rules(tables), *tables.missing_files, *reference_rules(parts), *size_rules(parts)]
