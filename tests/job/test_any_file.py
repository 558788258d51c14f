"""Whatever a job file says, it is read or refused, and what is read can be worked with."""

import copy
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from flipreg.job.file.read import parse_job
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.pose import blank_from_setup
from flipreg.job.problem import JobFileError
from tests.job.toml import toml_document

FOLDER = Path(__file__).parents[2] / "samples/paddle"
PADDLE = tomllib.loads((FOLDER / "job.toml").read_text())

Place = tuple[str | int, ...]


def places(value: object, path: Place = ()) -> list[Place]:
    inner: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        inner = [*value.items()]
    elif isinstance(value, list):
        inner = [*enumerate(value)]
    return [*([path] if path else []), *(each for key, part in inner for each in places(part, (*path, key)))]


SIMPLE = st.one_of(
    st.sampled_from([0, -1, 1, 2.5, 90, 800, 1e9, 1e-9]),
    st.booleans(),
    st.sampled_from(
        ["", " ", "A", "B", "C", "throat", "front", "back", "both", "x", "y", "top", "near", "bent", "6 flat"]
    ),
)
ANYTHING = st.one_of(
    SIMPLE, st.lists(SIMPLE, max_size=3), st.dictionaries(st.sampled_from(["name", "from", "along", "?"]), SIMPLE)
)


# The first file pays for the imports, so there is no deadline.
@given(st.lists(st.tuples(st.sampled_from(places(PADDLE)), st.one_of(st.none(), ANYTHING)), min_size=1, max_size=4))
def test_a_changed_job_file_is_read_or_refused_with_its_problems(changes: list[tuple[Place, object]]) -> None:
    tables: dict[str, Any] = copy.deepcopy(PADDLE)
    for path, value in changes:
        _change(tables, path, value)
    read = _read(toml_document(tables))
    if isinstance(read, JobFileError):
        assert read.problems
        assert all(problem.message for problem in read.problems)
        # Everything that is in the file has a line; only what is missing at the top has none.
        assert all(problem.line is not None or len(problem.path) == 1 for problem in read.problems)
        return
    job = read
    layout = Layout.of(job)
    for mark in job.marks:
        for face in mark.faces:
            assert np.isfinite(layout.place(mark, face).point_mm).all()
    for setup in job.setups:
        assert np.isfinite(blank_from_setup(job, setup).offset_mm).all()


def _read(text: str) -> Job | JobFileError:
    try:
        return parse_job(text.encode(), source="job.toml", folder=str(FOLDER))
    except JobFileError as error:
        return error


def _change(tables: dict[str, Any], path: Place, value: object) -> None:
    """Put a value at a place, or take it out; nothing where an earlier change has removed the place."""
    part: Any = tables
    for key in path[:-1]:
        try:
            part = part[key]
        except (KeyError, IndexError, TypeError):
            return
    try:
        if value is None:
            del part[path[-1]]
        else:
            part[path[-1]] = value
    except (KeyError, IndexError, TypeError):
        return
