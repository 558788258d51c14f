"""What the proof shares with the rest: each module is known by name, and faults planted in it come to nothing wrong."""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

import flipreg
from flipreg import ground
from flipreg.contours import contour, unturned
from flipreg.errors import FlipregError
from flipreg.geometry import arc, chords
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.produce.depth import depth
from tests.commands.depths import POCKET
from tests.commands.test_keep_climb import LEADS, TABS
from tests.machine.judge_climb import judge_climb
from tests.machine.judge_depth import Asked, judge_depth
from tests.machine.judge_moved import flipped, judge_moved
from tests.machine.shops import places
from tests.test_rooms import PACKAGE, _imported, _name

ON = places(5)
ZERO = (Decimal(0), Decimal(0))

READING = "says what a text says, the same for every program; held by the report's own examples and the grammar"
INTERPRETATION = "says what words make a machine do, the same for source and output; held by the report's own examples"
NO_DECISION = {
    "flipreg.errors": "names errors",
    "flipreg.units": "has the inch, which is exact by definition; the rest reads what people say, not programs",
    **dict.fromkeys(("flipreg.rs274.code_groups", "flipreg.rs274.code_numbers"), "names the codes of the language"),
    **dict.fromkeys(
        (
            *("blocks", "comments", "dialect", "expression", "foreign", "framing", "grammar", "habit"),
            *("irregular_blocks", "line_layout", "lines"),
            *("location", "mistake_patterns", "mistakes", "number", "number_columns", "other_marks", "parsed", "part"),
            *("plain_blocks", "program", "remarks", "scanner", "stopped"),
        ),
        READING,
    ),
    **dict.fromkeys(
        (
            *("arcs", "chunk", "code_columns", "column", "controlled_point", "cycles", "frame", "interpret"),
            *("legality", "letter", "meant", "modes", "motion_rows"),
            *("motions", "parametric", "position", "state", "subprograms", "technology", "units", "unrolled", "values"),
            *("walk", "whole", "words"),
        ),
        INTERPRETATION,
    ),
}
"""Modules that decide nothing about an output, by the last part of their name, and why."""

PLANTED = {"flipreg.geometry.arc", "flipreg.geometry.isometry", "flipreg.path"}
"""Modules in which the faults below are planted."""


def test_each_module_that_the_proof_imports_is_planted_with_faults_or_decides_nothing() -> None:
    imports = {_name(module): _imported(module.read_text(encoding="utf-8")) for module in PACKAGE.rglob("*.py")}
    waiting = [name for name in imports if _is_proof(name)]
    shared: set[str] = set()
    while waiting:
        new = {each for each in imports.get(waiting.pop(), ()) if not _is_proof(each)} - shared
        shared |= new
        waiting += new
    unknown = [each for each in sorted(shared - PLANTED) if _reason(each) is None]
    assert unknown == []
    assert shared >= PLANTED
    assert not shared & {"flipreg.contours.contour", "flipreg.ground", "flipreg.contours.unturned"}
    assert not [each for each in shared if each.startswith(("flipreg.rewrite", "flipreg.produce"))]


def _is_proof(name: str) -> bool:
    return name == "flipreg.prove" or name.startswith("flipreg.prove.")


def _reason(name: str) -> str | None:
    room, _, last = name.rpartition(".")
    reason = NO_DECISION.get(name, NO_DECISION.get(last))
    expected = {READING: "flipreg.rs274.read", INTERPRETATION: "flipreg.rs274.interpret"}
    return reason if reason is not None and expected.get(reason, room) == room else None


@dataclass(frozen=True)
class Job:
    """An edit, and the simulator's word on what it writes."""

    make: Callable[[], str]
    is_right: Callable[[str], bool]


SQUARE = "G0 X{0} Y0\nG1 Z-2 F300\nX{1} F900\nY30\nX{0}\nY0\nG0 Z5\n"
TWO_SQUARES = f"G21 G90 G17\nS9000 M3\nG0 Z5\n{SQUARE.format(10, 40)}{SQUARE.format(60, 90)}M2\n"
LIFTED = (
    "G21 G90 G17\nG0 X0 Y0 Z5\nG1 Z-4 F300\nX30 F900\nY10\nG0 Z5\nY14\nG1 Z-4 F300\nY24 F900\nX0\nY0\nG0 Z5\n"
    f"{SQUARE.format(60, 90)}M2\n"
)
PARTS = """G21 G90 G17 G40
S9000 M3
G0 X10 Y0 Z5
G1 Z-1 F300
X20.5 Y5
G2 X30.5 Y15 I10 J0
G3 X40 Y24.5 R9.5
G1 X50 Y30
G18 G3 X46 I-2 K0
G17 G42 D1 G1 X60 Y40
G40 X70
G0 Z5
G81 X10 Y10 Z-3 R1 F200
G80
G91 G0 X1.25
G90 G0 X0
M2
"""
"""Arcs in two formats and two planes, cutter compensation, a cycle and an increment."""
STEPS = "G21 G17 G91\nS9000 M3\nG1 X5 Y3 F300\nX-2\nG2 X4 Y4 I4 J0\nM2\n"
"""Steps from a place that nobody knows."""
DRILLED = "G21 G17 G90\nS9000 M3\nG0 X3 Y2 Z5\nG91 G81 X10 Y3 Z-5 R-2 F100 L3\nG80\nG90 G0 Z5\nM2\n"
"""A cycle that repeats its step."""
DEEP = "G21 G90 G17\nM3 S9000\nG0 Z5\n" + "".join(
    f"G0 X0 Y0\nG0 Z2\nG1 Z{z} F300\nX30 F900\nG3 X30 Y20 I0 J10\nG1 X0\nY0\nG0 Z5\n" for z in (-2, -4)
)


def _flipped(text: str, *, climb: bool) -> Job:
    def make() -> str:
        flip = flipreg.flip_keeping_climb if climb else flipreg.flip
        return flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=ZERO).text.decode()

    move = flipped("y", (0.0, 0.0))

    def is_right(out: str) -> bool:
        if not climb:
            return judge_moved(text, out, lambda _: move, ON) == []
        return judge_climb(text, out, move, ON, out) == []

    return Job(make, is_right)


def _deep(text: str, level: float, floor: str) -> Job:
    return Job(
        lambda: depth(flipreg.parse(text), floor_mm=Decimal(floor), level_mm=Decimal(str(level))).text.decode(),
        lambda out: judge_depth(text, out, Asked(level, float(floor)), ON[:1]) == [],
    )


def _turned(text: str, by_deg: float = 90.0) -> Job:
    # What the simulator judges here is the honest output; a turn rounds, so that another one is never right.
    return Job(lambda: flipreg.shift(flipreg.parse(text), turn_deg=by_deg).text.decode(), lambda _: False)


JOBS = {
    "two squares, mirrored": _flipped(TWO_SQUARES, climb=False),
    "one of everything, mirrored": _flipped(PARTS, climb=False),
    "steps from anywhere, mirrored": _flipped(STEPS, climb=False),
    "one of everything, turned": _turned(PARTS),
    "drilled in steps, turned freely": _turned(DRILLED, 30.0),
    "two squares, turned freely": _turned(TWO_SQUARES, 30.0),
    "two squares, climbing": _flipped(TWO_SQUARES, climb=True),
    "leads, climbing": _flipped(LEADS, climb=True),
    "tabs, climbing": _flipped(TABS, climb=True),
    "lifted over a tab, climbing": _flipped(LIFTED, climb=True),
    "a pocket, deeper": _deep(POCKET, -16.0, "-20"),
    "a pocket, higher": _deep(POCKET, -16.0, "-7.5"),
    "half rounds, deeper": _deep(DEEP, -4.0, "-7"),
}


def _changed(result: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Return a way to plant: the function does what it does, and its result is changed."""

    def plant(honest: Any) -> Any:  # noqa: ANN401 - a function of any module, or a property
        if isinstance(honest, property):
            assert honest.fget is not None
            getter = honest.fget
            return property(lambda self: result(getter(self)))
        return lambda *given, **named: result(honest(*given, **named))

    return plant


def _last_row_moved(path: Path) -> Path:
    end = path.end.copy()
    end[-1:] += 0.5
    return replace(path, end=end)


def _none_for_both(found: tuple[Any, Any]) -> tuple[Any, Any]:
    return found[0][:0], found[1][:0]


FAULTS: dict[str, tuple[Any, str, Callable[[Any], Any]]] = {
    "angles of the other sign": (arc, "sweep_deg", _changed(lambda angle: -angle)),
    "angles cut short": (arc, "sweep_deg", _changed(lambda angle: angle / 2)),
    "centres of radius arcs beside": (arc, "centre_from_radius", _changed(lambda centre: centre + 0.5)),
    "bounds of arcs too small": (arc, "arc_bounds", _changed(lambda bounds: bounds * 0.5)),
    "points of arcs in the centre": (arc, "arc_points", _changed(lambda points: points * 0)),
    "planes of arcs exchanged": (arc, "plane_axes", _changed(lambda axes: axes[::-1])),
    "axes of arcs exchanged": (arc, "in_plane", _changed(lambda points: points[:, [1, 0, 2]])),
    "arcs taken for those of another plane": (
        arc,
        "rows_by_plane",
        _changed(lambda found: [((plane + 1) % 3, rows) for plane, rows in found]),
    ),
    "arcs without chords": (chords, "flatten", _changed(_none_for_both)),
    "chords of arcs beside": (chords, "flatten", _changed(lambda found: (found[0] + 0.5, found[1]))),
    "points not mirrored": (Isometry, "apply", lambda _: lambda self, points: points),
    "points a millimetre beside": (Isometry, "apply", _changed(lambda points: points + 1.0)),
    "steps not mirrored": (Isometry, "turn", lambda _: lambda self, vectors: vectors),
    "a mirror taken for a turn": (Isometry, "determinant", _changed(lambda sign: -sign)),
    "axes taken for exchanged": (Isometry, "keeps_axes", _changed(lambda keeps: not keeps)),
    "a matrix with axes exchanged": (Isometry, "matrix", _changed(lambda matrix: matrix[::-1])),
    "an offset forgotten": (Isometry, "offset_mm", _changed(lambda offset: offset + 3.0)),
    "arcs not turned by a mirror": (
        Path,
        "transformed",
        lambda honest: lambda self, isometry: replace(honest(self, isometry), sweep_deg=self.sweep_deg),
    ),
    "compensation left on its side": (
        Path,
        "transformed",
        lambda honest: lambda self, isometry: replace(honest(self, isometry), compensation=self.compensation),
    ),
    "the last motion moved": (Path, "transformed", _changed(_last_row_moved)),
    "traverses taken for cuts": (Path, "is_cut", _changed(np.ones_like)),
    "cuts taken for traverses": (Path, "is_cut", _changed(np.zeros_like)),
    "arcs taken for lines": (Path, "is_arc", _changed(np.zeros_like)),
    "one of several contours missed": (contour, "find_contours", _changed(lambda found: found[:1])),
    "each contour missed": (contour, "find_contours", _changed(lambda found: [])),
    "contours that end too early": (
        contour,
        "find_contours",
        _changed(lambda found: [each._replace(last=each.last - 1) for each in found]),
    ),
    "contours that begin too early": (
        contour,
        "find_contours",
        _changed(lambda found: [each._replace(first=each.first - 1) for each in found]),
    ),
    "each contour twice": (contour, "find_contours", _changed(lambda found: [*found, *found])),
    "contours that are lifted missed": (unturned, "find_unturned", _changed(lambda found: [])),
    "contours named that are turned": (
        unturned,
        "find_unturned",
        _changed(lambda found: [unturned.Unturned(9, 9, unturned.Why.LIFTED)]),
    ),
    "places along motions beside them": (
        ground,
        "sample",
        _changed(lambda found: replace(found, points_mm=found.points_mm + 9)),
    ),
    "ground that is never cut": (ground.Ground, "cut", lambda _: lambda self, points: None),
    "ground too high": (ground.Ground, "heights", _changed(lambda height: height + 1.5)),
    "ground too low": (ground.Ground, "heights", _changed(lambda height: height - 1.5)),
    "bites too large": (ground.Bites, "largest_mm", _changed(lambda bite: bite * 3)),
    "bites too small": (ground.Bites, "largest_mm", _changed(lambda bite: bite / 3)),
    "each motion met by the ground of all": (ground, "strokes", _changed(lambda found: found[:1])),
}


NOT_CALLED = ((arc, "arc_length"), (Isometry, "turn_deg"))
"""What is shared and none of these edits calls, so that a fault in it would change nothing of them."""


@pytest.fixture(scope="module")
def honest() -> dict[str, tuple[str, set[str]]]:
    """Return what each edit writes without a fault, which the simulator finds right, and what it calls of the shared.

    A fault in what an edit doesn't call changes nothing of it.
    """
    made = {}
    watched = {(owner, function) for owner, function, _ in FAULTS.values()} | {*NOT_CALLED}
    for name, job in JOBS.items():
        called: set[str] = set()
        with pytest.MonkeyPatch.context() as patch:
            for owner, function in watched:
                _plant_everywhere(patch, owner, function, _watched(called, function)(vars(owner)[function]))
            made[name] = job.make(), called
        assert "turned" in name or job.is_right(made[name][0]), name
    return made


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_what_is_shared_is_caught_or_writes_what_is_right(
    name: str, honest: dict[str, tuple[str, set[str]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    owner, function, plant = FAULTS[name]
    faulty = plant(vars(owner)[function])
    users = {each: job for each, job in JOBS.items() if function in honest[each][1]}
    assert users
    wrong = {}
    with monkeypatch.context() as patch:
        _plant_everywhere(patch, owner, function, faulty)
        for each, job in users.items():
            try:
                wrong[each] = job.make()
            except (FlipregError, ValueError, IndexError):
                continue
    # Judged with the fault gone, by a simulator that shares no code with the package.
    assert [each for each, out in wrong.items() if out != honest[each][0] and not JOBS[each].is_right(out)] == []


def _watched(seen: set[str], name: str) -> Callable[[Any], Any]:
    """Return a way to plant no fault: what is called is noted."""

    def note(result: Any) -> Any:  # noqa: ANN401 - of any function
        seen.add(name)
        return result

    return _changed(note)


def _plant_everywhere(patch: pytest.MonkeyPatch, owner: object, function: str, faulty: object) -> None:
    """Replace a function where it is defined and wherever it was imported to: in the proof and in the rewriter."""
    found = vars(owner)[function]
    patch.setattr(owner, function, faulty)
    for name, module in list(sys.modules.items()):
        if name.startswith("flipreg.") and vars(module).get(function) is found:
            patch.setattr(module, function, faulty)


def test_what_is_said_not_to_be_called_is_called_by_no_edit(honest: dict[str, tuple[str, set[str]]]) -> None:
    called = {function for _, each in honest.values() for function in each}
    assert called.isdisjoint(function for _, function in NOT_CALLED)


def test_faults_are_planted_in_each_public_function_of_plane_geometry_that_edits_call() -> None:
    planted = {name for owner, name, _ in FAULTS.values() if owner is arc}
    idle = {name for owner, name in NOT_CALLED if owner is arc}
    assert planted | idle == {name for name in arc.__all__ if callable(getattr(arc, name))}
