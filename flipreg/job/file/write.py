"""A drafted job as the text of its job file: its keys in the reference's order, and each guess beside its value."""

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from flipreg.errors import UsageError
from flipreg.job.blank import BlankFace
from flipreg.job.file.guesses import GUESS_MARK, guesses
from flipreg.job.file.lines import line_numbers
from flipreg.job.file.toml_text import load_toml
from flipreg.job.job import Job
from flipreg.job.mark import Mark
from flipreg.job.name import is_name
from flipreg.job.problem import KeyPath
from flipreg.job.setup import Setup, SetupProgram
from flipreg.job.tool import Tool, ToolShape
from flipreg.units import INCH_MM, parse_length_mm

__all__ = ["draft_text"]

_HEAD = (
    "# Drafted from programs. Each line with '# check:' is a guess: look at it, mend it, then take these words away.",
    "# 'flipreg check' lists the guesses that are left. Lengths are in the unit below, angles in degrees.",
)
_COLUMN = 28
"""Where comments begin, if what stands before them is shorter."""

_PART = re.compile(r"(?<![\d./])(\d+) ?/ ?(\d+)(?![\d./])")
_SAME_MM = 1e-6

_Line = tuple[str, KeyPath | None]


def draft_text(job: Job, *, folder: str) -> str:
    """Return the job file of a drafted job.

    Parameters
    ----------
    job : Job
        As `flipreg.draft` gives it, or with values of it replaced.
    folder : str
        The job file's folder; the programs' paths are written from there.

    Raises
    ------
    UsageError
        If the job has more than a draft has (a tilt, a machine, a budget ...), or a name that no job file can hold.
    """
    _refuse_more(job)
    unit_mm = INCH_MM if job.inch else 1.0
    says = {guess.path: guess.says for guess in job.guesses}
    lines = [
        _with_guess(line, None if path is None else says.pop(path, None))
        for line, path in _lines(job, unit_mm, folder, {**says})
    ]
    if says:
        raise UsageError(f"a guess has to be about a value of the job: {', '.join(map(str, says))} is none")
    text = "\n".join(lines) + "\n"
    _refuse_changed(text, job, folder)
    return text


def _lines(job: Job, unit_mm: float, folder: str, says: Mapping[KeyPath, str]) -> Iterator[_Line]:
    yield from ((line, None) for line in (*_HEAD, ""))
    yield _pair("name", job.name, ("name",))
    yield _pair("units", "inch" if job.inch else "mm", ("units",))
    yield _pair("tolerance", job.tolerance_mm / unit_mm, ("tolerance",))
    if job.passive:
        yield f"passive = [{', '.join(map(_string, job.passive))}]", ("passive",)
    blank = job.blank
    yield from _table("[blank]")
    for key, value in (
        ("length", blank.length_mm / unit_mm),
        ("width", blank.width_mm / unit_mm),
        ("thickness", blank.thickness_mm / unit_mm),
        ("edge", blank.edge.value),
        ("centre_line", blank.centre_line_mm / unit_mm),
    ):
        yield _pair(key, value, ("blank", key))
    for index, mark in enumerate(job.marks):
        yield from _mark(mark, ("marks", index), unit_mm)
    for index, tool in enumerate(job.tools):
        yield from _tool(tool, ("tools", index), unit_mm, says)
    for index, setup in enumerate(job.setups):
        yield from _setup(setup, ("setups", index), unit_mm, folder)


def _mark(mark: Mark, path: KeyPath, unit_mm: float) -> Iterator[_Line]:
    yield from _table("[[marks]]")
    yield _pair("name", mark.name, (*path, "name"))
    yield _pair("face", "both" if len(mark.faces) > 1 else mark.faces[0].value, (*path, "face"))
    assert mark.along_mm is not None
    yield _pair("along", mark.along_mm / unit_mm, (*path, "along"))
    if mark.across_mm:
        yield _pair("across", mark.across_mm / unit_mm, (*path, "across"))


def _tool(tool: Tool, path: KeyPath, unit_mm: float, says: Mapping[KeyPath, str]) -> Iterator[_Line]:
    def size(key: str, length_mm: float | None) -> str | float | None:
        return None if length_mm is None else _as_said(length_mm, unit_mm, says.get((*path, key), ""))

    yield from _table("[[tools]]")
    for key, value in (
        ("name", tool.name),
        ("number", tool.number),
        ("shape", tool.shape.value),
        ("diameter", size("diameter", tool.diameter_mm)),
        ("corner_radius", size("corner_radius", tool.corner_radius_mm)),
        ("point_angle" if tool.shape is ToolShape.DRILL else "angle", tool.angle_deg),
    ):
        if value is not None:
            yield _pair(key, value, (*path, key))


def _as_said(length_mm: float, unit_mm: float, says: str) -> str | float:
    """Return a length as the part of an inch that its guess quotes, or as a number in the file's unit."""
    for over, under in _PART.findall(says):
        text = f"{over}/{under}in"
        try:
            said_mm = float(parse_length_mm(text))
        except UsageError:
            continue
        if abs(said_mm - length_mm) <= _SAME_MM:
            return text
    return length_mm / unit_mm


def _setup(setup: Setup, path: KeyPath, unit_mm: float, folder: str) -> Iterator[_Line]:
    yield from _table("[[setups]]")
    yield _pair("name", setup.name, (*path, "name"))
    yield _pair("up", setup.up.value, (*path, "up"))
    if setup.up is BlankFace.BACK:
        yield _pair("flip", str(setup.flip_axis), (*path, "flip"))
    if setup.quarter_turns:
        yield _pair("quarter_turns", setup.quarter_turns, (*path, "quarter_turns"))
    yield _pair("mark", setup.mark, (*path, "mark"))
    zero = ", ".join(_number(value / unit_mm) for value in setup.zero_mm)
    yield f"zero = [{zero}]", (*path, "zero")
    yield _pair("z_zero", setup.z_zero.value, (*path, "z_zero"))
    yield "programs = [", None
    for place, program in enumerate(setup.programs):
        yield f"  {_program(program, folder)},", (*path, "programs", place)
    yield "]", None


def _program(program: SetupProgram, folder: str) -> str:
    parts = [f"file = {_string(_path(program, folder))}"]
    if program.tool is not None:
        parts.append(f"tool = {_string(program.tool)}")
    if program.tools:
        named = ", ".join(f"{number} = {_string(name)}" for number, name in program.tools.items())
        parts.append(f"tools = {{ {named} }}")
    if program.profile:
        parts.append("profile = true")
    return f"{{ {', '.join(parts)} }}"


def _path(program: SetupProgram, folder: str) -> str:
    """Return the path of a program as a job file in a folder names it."""
    return os.path.relpath(program.file, folder or os.curdir).replace(os.sep, "/")


def _table(head: str) -> Iterator[_Line]:
    yield "", None
    yield head, None


def _pair(key: str, value: str | float, path: KeyPath) -> _Line:
    return f"{key} = {_string(value) if isinstance(value, str) else _number(value)}", path


def _with_guess(text: str, says: str | None) -> str:
    return text if says is None else f"{text:<{_COLUMN - 1}} {GUESS_MARK}{says}"


def _number(value: float) -> str:
    """Return a number with as many decimals as it needs, at most six."""
    return f"{round(value, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


_ESCAPES: Mapping[int, str] = {
    ord("\\"): "\\\\",
    ord('"'): '\\"',
    **{code: f"\\u{code:04x}" for code in (*range(32), 127)},
}


def _string(text: str) -> str:
    return f'"{text.translate(_ESCAPES)}"'


def _refuse_more(job: Job) -> None:
    plain = (job.budget, job.machine) == (None, None) and not (job.stations or job.fitted_parts)
    if not plain or any(setup.tilt or setup.clamps or setup.machine_zero_mm for setup in job.setups):
        raise UsageError("only a drafted job can be written: this one has more than blank, marks, tools and programs")


def _refuse_changed(text: str, job: Job, folder: str) -> None:
    """Read the text again and compare: what a job file cannot hold is refused, and nothing is written."""
    from pydantic import ValidationError

    from flipreg.job.file.length import in_unit
    from flipreg.job.file.tables import FileTable
    from flipreg.job.file.values import job_of

    names = [job.name, *(program.file for setup in job.setups for program in setup.programs)]
    try:
        raw, _ = load_toml(text.encode(), source=job.source)
        table = FileTable.model_validate(raw, context=in_unit(inch=job.inch))
    except (UnicodeEncodeError, ValidationError):
        wrong = [name for name in names if not is_name(name) or not _is_unicode(name)]
        raise UsageError(
            f"{', '.join(map(ascii, wrong)) or 'a name'} can't be written into a job file: names there are printing "
            "characters on one line, without blanks at their ends; rename the file"
        ) from None
    again = job_of(table, source=job.source, folder=folder)
    assert again == replace(_with_paths(job, folder), guesses=()), "a job file says what its job says"
    assert set(guesses(text, line_numbers(text))) == set(job.guesses), "each guess stands beside its value"


def _with_paths(job: Job, folder: str) -> Job:
    """Return the job with its programs' paths as they are when its file is read."""
    setups = [
        replace(
            setup,
            programs=tuple(replace(one, file=os.path.join(folder, _path(one, folder))) for one in setup.programs),
        )
        for setup in job.setups
    ]
    return replace(job, setups=tuple(setups))


def _is_unicode(text: str) -> bool:
    return not any(0xD800 <= ord(letter) <= 0xDFFF for letter in text)
