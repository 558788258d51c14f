"""A job out of the programs of both faces: what they show, and a guess told as one wherever they show nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isfinite

import numpy as np

from flipreg.drafting.board import QUARTER_TURNS, Board, board_round
from flipreg.drafting.cuts import FaceCuts, face_cuts
from flipreg.drafting.thickness import guessed_thickness
from flipreg.drafting.tools import DraftedTools, drafted_tools
from flipreg.drafting.turning import Turning, turning
from flipreg.drafting.unit import Unit
from flipreg.errors import UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.job.blank import Blank, BlankFace
from flipreg.job.guess import Guess
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.mark import Mark
from flipreg.job.problem import KeyPath
from flipreg.job.setup import Setup, SetupProgram, ZZero
from flipreg.program.face import Face
from flipreg.program.laid import laid

__all__ = ["draft"]

_TOLERANCE = (0.1, 0.005)
"""In a job of millimetres and in one of inches (chosen), told as a guess."""
_SAME_MM = 0.01
"""Zeros this close are at one mark (chosen): what a pointer can be set to."""

_Guesses = dict[KeyPath, str]


def draft(
    front: Face,
    back: Face = (),
    *,
    name: str,
    blank_mm: tuple[float, float, float] | None = None,
    units_stated: bool = True,
    passive: Sequence[str] = (),
) -> Job:
    """Return a job of the programs of a front and a back, each guess in its `guesses`.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face in the order they run, in their own numbers; the back may have none. Their tools are
        looked up in their T words and comments.
    name : str
        Name of the part.
    blank_mm : (length, width, thickness), optional
        The blank; without it one is guessed that holds the cuts.
    units_stated : bool
        Whether the programs' unit is known; if not, the job's unit is a guess.
    passive : sequence of str
        Codes of the machine's own in the programs that move nothing.

    Returns
    -------
    Job
        In inches if all programs are, with a setup for each face that has programs.

    Raises
    ------
    UsageError
        If the front has no program, a program is named twice for one face, a face cuts nothing, or the cuts don't fit
        on the blank.
    RefusedError
        Where it is not known which tool of a program cuts.
    """
    _refuse_unusable(front, back, blank_mm)
    unit = Unit(all(program.inch for program in (*front, *back)))
    drafted = drafted_tools([*front, *back], unit=unit)
    places = {BlankFace.FRONT: range(len(front)), BlankFace.BACK: range(len(front), len(front) + len(back))}
    cuts = {face: face_cuts(drafted, numbers) for face, numbers in places.items() if len(numbers)}
    for face, found in cuts.items():
        if found.is_empty:
            names = ", ".join(drafted.programs[number].name for number in places[face])
            raise UsageError(f"the {face.value} cuts nothing at a known place ({names}); name the programs that cut")
    turned = None
    if back:
        turned = turning(
            drafted.programs[: len(front)],
            drafted.programs[len(front) :],
            tolerance_mm=unit.of(*_TOLERANCE),
            thickness_mm=None if blank_mm is None else blank_mm[2],
            boxes_mm=(cuts[BlankFace.FRONT].box_mm, cuts[BlankFace.BACK].box_mm),
        )
    guesses = _about_units([*front, *back], unit, stated=units_stated)
    guesses["tolerance",] = "the largest miss that is still one part to you"
    shown = _Shown(drafted, places, cuts, turned, unit)
    board = _board(shown, None if blank_mm is None else blank_mm[:2])
    blank, about_blank = _blank(shown, board, blank_mm)
    marks, about_marks = _marks(shown, board)
    job = Job(
        source="draft",
        name=name,
        tolerance_mm=unit.written(unit.of(*_TOLERANCE)),
        inch=unit.inch,
        blank=blank,
        marks=marks,
        tools=drafted.tools,
        setups=(),
        passive=tuple(passive),
    )
    setups, about_setups = _setups(shown, job, board)
    about_tools: _Guesses = {
        ("tools", index, key): text for index, says in enumerate(drafted.says) for key, text in says.items()
    }
    guesses |= about_blank | about_marks | about_tools | about_setups
    return replace(job, setups=setups, guesses=tuple(Guess(path, says) for path, says in guesses.items()))


@dataclass(frozen=True, slots=True, eq=False)
class _Shown:
    """What the programs show."""

    drafted: DraftedTools
    places: Mapping[BlankFace, range]
    cuts: Mapping[BlankFace, FaceCuts]
    turned: Turning | None
    unit: Unit

    @property
    def back_zero_mm(self) -> tuple[float, float] | None:
        """The back's zero in the front's numbers, None without a back."""
        if self.turned is None:
            return None
        x_mm, y_mm, _ = self.turned.front_from_back.offset_mm.tolist()
        return x_mm, y_mm

    @property
    def is_one_zero(self) -> bool:
        """Whether both zeros are at one place."""
        back = self.back_zero_mm
        return back is not None and max(map(abs, back)) <= _SAME_MM


def _refuse_unusable(front: Face, back: Face, blank_mm: tuple[float, float, float] | None) -> None:
    if not front:
        raise UsageError("the front has no program; a part that is cut from one face only is cut from its front")
    for face, programs in (("front", front), ("back", back)):
        names = [program.name for program in programs]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise UsageError(f"{twice} is named twice for the {face}; name each program once, in the order they run")
    if blank_mm is not None and not all(isfinite(size) and size > 0.0 for size in blank_mm):
        raise UsageError(f"a blank has a length, a width and a thickness over 0 mm, got {blank_mm}")


def _about_units(programs: Face, unit: Unit, *, stated: bool) -> _Guesses:
    if not stated:
        return {("units",): "no program says G20 or G21, so that its numbers may be inches"}
    inches = sum(program.inch for program in programs)
    if unit.inch or not inches:
        return {}
    verb = "is" if inches == 1 else "are"
    return {("units",): f"{inches} of {len(programs)} programs {verb} in inches; the lengths of this file are not"}


def _board(shown: _Shown, size_mm: tuple[float, float] | None) -> Board:
    boxes = [shown.cuts[BlankFace.FRONT].box_mm]
    zeros = [(0.0, 0.0)]
    if shown.turned is not None:
        corners = shown.turned.front_from_back.apply(shown.cuts[BlankFace.BACK].box_mm.reshape(2, 2))
        boxes.append(np.concatenate([corners.min(axis=0), corners.max(axis=0)]))
    if shown.back_zero_mm is not None:
        zeros.append(shown.back_zero_mm)
    sides = np.array(boxes)
    box = np.concatenate([sides[:, :2].min(axis=0), sides[:, 2:].max(axis=0)])
    return board_round(box, zeros, size_mm, shown.unit)


def _blank(shown: _Shown, board: Board, blank_mm: tuple[float, float, float] | None) -> tuple[Blank, _Guesses]:
    unit, guesses = shown.unit, _Guesses()
    thickness_mm, says = guessed_thickness([*shown.cuts.values()], unit)
    if blank_mm is not None:
        thickness_mm = blank_mm[2]
    else:
        round_it = "all cuts and some wood round them; measure it"
        guesses["blank", "length"] = guesses["blank", "width"] = round_it
        guesses["blank", "thickness"] = f"{says}; measure it"
    guesses["blank", "edge"] = "the edge that you measure all lines from"
    guesses["blank", "centre_line"] = "where you draw the centre line, from that edge"
    blank = Blank(
        length_mm=unit.written(board.along.high - board.along.low),
        width_mm=unit.written(board.across.high - board.across.low),
        thickness_mm=unit.written(thickness_mm),
        edge=board.edge,
        centre_line_mm=unit.written(board.centre_line_mm),
    )
    return blank, guesses


def _marks(shown: _Shown, board: Board) -> tuple[tuple[Mark, ...], _Guesses]:
    """Return mark A at the front's zero and, where it is another place, B at the back's; both only if on the blank."""
    first, other = (0.0, 0.0), None if shown.is_one_zero else shown.back_zero_mm
    says, at = "a place to jog from: program zero is off the blank", (board.centre, board.along.middle)
    if board.has(first):
        whose = "program zero" if shown.is_one_zero else "the front's program zero"
        says, at = f"where {whose} is drawn", board.place(first)
    guesses: _Guesses = {("marks", 0, "along"): says}
    if other is None or not board.has(other):
        faces = (BlankFace.FRONT,) if shown.turned is None else (BlankFace.FRONT, BlankFace.BACK)
        return (_mark("A", faces, at, board, shown.unit),), guesses
    guesses["marks", 1, "along"] = "where the back's program zero is drawn"
    return (
        _mark("A", (BlankFace.FRONT,), at, board, shown.unit),
        _mark("B", (BlankFace.BACK,), board.place(other), board, shown.unit),
    ), guesses


def _mark(name: str, faces: tuple[BlankFace, ...], at: tuple[float, float], board: Board, unit: Unit) -> Mark:
    across, along = at
    return Mark(name, faces, unit.written(along - board.along.low), unit.written(across - board.centre))


def _setups(shown: _Shown, job: Job, board: Board) -> tuple[tuple[Setup, ...], _Guesses]:
    layout, seen = Layout.of(job), _seen_front(job, board)
    setups, guesses = [], _Guesses()
    for index, face in enumerate(shown.cuts):
        there = seen
        if face is BlankFace.BACK and shown.turned is not None:
            there = seen @ shown.turned.front_from_back
        setup = laid(layout, _unlaid(shown, job, board, face), there)
        x_mm, y_mm = map(shown.unit.written, setup.zero_mm)
        setups.append(replace(setup, zero_mm=(x_mm, y_mm)))
        guesses |= {("setups", index, *key): says for key, says in _about_setup(shown, setups[-1]).items()}
    return tuple(setups), guesses


def _unlaid(shown: _Shown, job: Job, board: Board, face: BlankFace) -> Setup:
    """Return a setup before its jog is known, with the back turned over like a page."""
    largest_mm2 = max((one.area_mm2 for found in shown.cuts.values() for one in found.outermost), default=0.0)
    found = shown.cuts[face]
    return Setup(
        name=face.value,
        up=face,
        flip_axis="y" if face is BlankFace.BACK else None,
        mark=next(mark.name for mark in job.marks if face in mark.faces),
        zero_mm=(0.0, 0.0),
        z_zero=found.z_zero,
        programs=tuple(
            _program(shown.drafted, number, is_profile=found.goes_round(place, largest_mm2))
            for place, number in enumerate(shown.places[face])
        ),
        quarter_turns=QUARTER_TURNS if board.is_turned else 0,
    )


def _about_setup(shown: _Shown, setup: Setup) -> _Guesses:
    """Return what was guessed of a setup, by keys of its table."""
    guesses: _Guesses = {}
    if shown.turned is None:
        guesses["up",] = "no program of the other face; add a setup for it if it is cut too"
    elif setup.up is BlankFace.BACK:
        guesses["flip",] = shown.turned.says
    if setup.quarter_turns:
        guesses["quarter_turns",] = "how the blank lies on the table"
    if any(setup.zero_mm):
        guesses["zero",] = "the jog from the mark to program zero"
    side = "above" if setup.z_zero is ZZero.SPOILBOARD else "below"
    guesses["z_zero",] = f"its programs cut {side} Z zero"
    for place, program in enumerate(setup.programs):
        if program.profile:
            guesses["programs", place] = "profile = true, for it seems to cut round the part"
    return guesses


def _seen_front(job: Job, board: Board) -> Isometry:
    """Return the motion of the plane from the front programs' numbers to the blank's X and Y."""
    turn = Isometry.rotation(90.0 if board.is_turned else 0.0)
    origin = board.along.low + job.origin_along_mm
    return Isometry.translation(_decimal(-board.centre), _decimal(-origin)) @ turn


def _program(drafted: DraftedTools, number: int, *, is_profile: bool) -> SetupProgram:
    mine = drafted.of_program[number]
    plain = mine.get(None)
    # Beside a tool that is put in by hand, what the T numbers mean is said here as well.
    named = {
        t_number: tool.name
        for t_number, tool in mine.items()
        if t_number is not None and (plain is not None or tool.number != t_number)
    }
    file = drafted.programs[number].name
    return SetupProgram(file, None if plain is None else plain.name, profile=is_profile, tools=named)


def _decimal(value_mm: float) -> Decimal:
    return Decimal(repr(round(value_mm, 9) + 0.0))
