"""The table of `docs/reference/rewriting.md` held against the code, cell by cell.

Each cell is a program of its own: what the row names, in its plane and distance mode, under one isometry. It is
transformed by the public functions, interpreted, and compared with its source moved by the test's own arithmetic.
"""

import functools
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

import flipreg
from tests.commands.laws import mirrored, moved
from tests.motions import motions, sampled

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "rewriting.md"
ROW = re.compile(r"^\|" + r" ([^|]+) \|" * 8 + "$", re.MULTILINE)

PLANES = {"XY": ("G17", "X", "Y", "Z"), "ZX": ("G18", "Z", "X", "Y"), "YZ": ("G19", "Y", "Z", "X")}
START = {"X": 10.0, "Y": 20.0, "Z": 5.0}
CENTRES = {"X": "I", "Y": "J", "Z": "K"}

Floats = NDArray[np.float64]


def point(axis: str, to: float, mode: str) -> str:
    """Return the word that moves an axis by so much from the start."""
    return f"{axis}{START[axis] + to:g}" if mode == "G90" else f"{axis}{to:g}"


def straight(code: str) -> Callable[[str, str], str]:
    def block(plane: str, mode: str) -> str:
        del plane
        return f"{code} {point('X', 3, mode)} {point('Y', -2, mode)}\n{point('Z', -1, mode)}\n{point('Y', 4, mode)}"

    return block


def arc(form: str, rise: float = 0.0) -> Callable[[str, str], str]:
    def block(plane: str, mode: str) -> str:
        _, u, v, w = PLANES[plane]
        end = f"G3 {point(u, 4, mode)} {point(v, -4, mode)}"
        if rise:
            end += f" {point(w, rise, mode)}"
        if form == "R":
            return f"{end} R4"
        offset = START[u] + 4 if form == "G90.1" else 4
        other = START[v] if form == "G90.1" else 0
        words = f"{CENTRES[u]}{offset:g} {CENTRES[v]}{other:g}"
        return f"G90.1\n{end} {words}" if form == "G90.1" else f"{end} {words}"

    return block


def cycle(code: str, words: str) -> Callable[[str, str], str]:
    def block(plane: str, mode: str) -> str:
        _, u, v, w = PLANES[plane]
        levels = f"R{START[w] - 3:g} {w}{START[w] - 8:g}" if mode == "G90" else f"R-3 {w}-5"
        if code == "G87":
            up = START[w] - 7 if mode == "G90" else 1
            words_of = f"{CENTRES[u]}0.25 {CENTRES[v]}-0.5 {CENTRES[w]}{up:g}"
        else:
            words_of = words
        hole = f"G98 {code} {point(u, 3, mode)} {point(v, 4, mode)} {levels} {words_of}"
        again = f"{u}{START[u] + 1:g}" if mode == "G90" else f"{u}1 L2"
        return f"{hole}\n{again}\nG80"

    return block


def plain(text: str) -> Callable[[str, str], str]:
    def block(plane: str, mode: str) -> str:
        del plane
        return text.format(x=point("X", 3, mode), y=point("Y", -2, mode), z=point("Z", 1, mode))

    return block


CIRCLE = {"X": 5, "Y": 6, "Z": 4}


def called(plane: str) -> str:
    u = PLANES[plane][1]
    circle = f"G2 {u}{CIRCLE[u]} {CENTRES[u]}1.5"
    return f"M98 P7\nG90 G0 X1 Y1 Z1\nM98 P7 L2\nM2\nO7\nG90 G1 X5 Y6 Z4\n{circle}\nG1 Y7\nM99"


ASKED_FOR_NOTHING, ASKED_FOR_ALL = False, True


FRAGMENTS: dict[str, Callable[[str, str], str]] = {
    "G0 G1": lambda plane, mode: straight("G0")(plane, mode) + "\n" + straight("G1")(plane, mode),
    "G2 G3 with I J K": arc("I"),
    "G2 G3 with R": arc("R"),
    "G2 G3 helix": arc("I", 2.5),
    "G2 G3 under G90.1": arc("G90.1"),
    "G81 G83 G85": lambda plane, mode: "\n".join(
        cycle(code, words)(plane, mode) for code, words in (("G81", ""), ("G83", "Q2"), ("G85", ""))
    ),
    "G82 G84 G86 G88 G89": lambda plane, mode: "\n".join(
        cycle(code, words)(plane, mode)
        for code, words in (("G82", "P.5"), ("G84", ""), ("G86", "P1"), ("G88", "P1"), ("G89", "P1"))
    ),
    "G87": cycle("G87", ""),
    "G38.2": plain("G38.2 {x} {y} {z}\nG90 G0 X1 Y2 Z9"),
    "G28 G30 with Z only": plain("G28 {z}\nG90 G0 X1 Y2\nG30 Z8\nG0 Z4"),
    "G28 G30 with X alone": plain("G28 {x}"),
    "G28 G30 with X and Y": plain("G28 {x} {y}\nG90 G0 X1 Y2\nG91 G30 X0 Y0 Z0\nG90 G0 X4 Y5"),
    "G28 G30 alone": plain("G30"),
    "G53 with Z only": plain("G53 G0 Z0\nG0 X1 Y2"),
    "G53 with X alone": plain("G53 G0 X0 Z0"),
    "G53 with X and Y": plain("G53 G0 X0 Y0 Z0\nX1 Y2 Z5"),
    "G53 G1 with X or Y": plain("G53 G1 X0 Y0"),
    "G10 L2 with Z only": plain("G10 L2 P2 Z3"),
    "G10 L2 with X or Y": plain("G10 L2 P1 X3"),
    "G92": plain("G92 X1 Y2 Z3\nG1 {x} {y}\nG92 Y7\nG91 X1 Y1\nG90 X0 Y0 Z1"),
    "G92.1 G92.2 G92.3": plain("G92 X1 Y2\nG1 X4 Y5\nG92.2\nX4 Y5\nG92.3\nX4 Y5\nG92.1\nX4 Y5"),
    "G41 G42": plain("G41 D1 G1 {x} {y}\nG40 X0 Y0\nG42 D1 G1 {x} {y}\nG40"),
    "X[#1+2]": plain("#1=2.5 #2=-3\nG1 X[#1+2] Y#2\nZ[#1*2]\nX#1 Y[-3+SIN[30]]"),
    "G43 G49 G61 G64 G93 G94": plain("G43 H1\nG61\nG93 G1 {x} {y} F2\nG94 G64 F200 G1 X1 Y1\nG49"),
    "G64 P Q": plain("G64 P0.01 Q0.02\nG1 {x} {y}\nG64 R1 I2 G0 X1 Y2"),
    "I J K R of G0 G1": plain("G1 {x} {y} I1 J2 R3\nG0 Z1 K4"),
    "G1 F": plain("G1 F150\n{x} {y}\nG0 S900\n{z}"),
    "G4 F S T M": plain("G4 P1\nF300 S900 T2\nG1 {x} {y} M8\nM5 M9\nM6\nM48"),
    "a second work offset": plain("G1 {x} {y}\nG55 G90 G0 X1 Y2 Z3"),
    "lines with /": plain("/G1 {z}\nG90 G1 X1 Y2 Z4"),
    "M98 M99": lambda plane, mode: called(plane),
    "G4 X": plain("G4 X1.\nG1 {x} {y}"),
    "after M2 M30": plain("G90 G1 X1 Y1\nM2\nG1 X5"),
}


OF_THE_PLANE = {what for what in FRAGMENTS if re.match(r"G2|G8|M98", what) and not re.match("G28", what)}
"""Arcs and cycles, which are others in each plane."""


def program(what: str, plane: str, mode: str) -> str:
    head = f"G21 {PLANES[plane][0]} G90 G94 F100 S500 T1 M6\nM3\nG0 X10 Y20 Z5\nX10\n{mode}\n"
    return head + FRAGMENTS[what](plane, mode) + "\nM2\n"


DATUM = (Decimal("24.5"), Decimal("1.5"))
PIVOT = (Decimal(3), Decimal(4))


def also(point_mm: tuple[Decimal, Decimal], allowed: bool) -> dict[str, tuple[Decimal, Decimal]]:  # noqa: FBT001
    return {"G55": point_mm} if allowed else {}


ISOMETRIES: dict[str, tuple[Callable[[flipreg.Program, bool], flipreg.Produced], Callable[[Floats], Floats]]] = {
    "mirror": (
        lambda p, allowed: flipreg.flip(p, axis=flipreg.FlipAxis.Y, datum_mm=DATUM, offsets_mm=also(DATUM, allowed)),
        lambda points: mirrored(points, flipreg.FlipAxis.Y, ("24.5", "1.5")),
    ),
    "shift": (
        lambda p, _: flipreg.shift(p, by_mm=(Decimal("1.25"), Decimal("-2"), Decimal(0))),
        lambda points: moved(points, ("1.25", "-2", "0"), 0.0, ("0", "0")),
    ),
    "quarter": (
        lambda p, allowed: flipreg.shift(p, turn_deg=90, about_mm=PIVOT, offsets_mm=also(PIVOT, allowed)),
        lambda points: quarter(points),
    ),
    "turn": (
        lambda p, allowed: flipreg.shift(
            p,
            turn_deg=10,
            about_mm=PIVOT,
            offsets_mm=also(PIVOT, allowed),
            chords_mm=0.01 if allowed else None,
            spell_cycles=allowed,
        ),
        lambda points: moved(points, ("0", "0", "0"), 10.0, ("3", "4")),
    ),
    "lift": (
        lambda p, _: flipreg.shift(p, by_mm=(Decimal(0), Decimal(0), Decimal("0.5"))),
        lambda points: moved(points, ("0", "0", "0.5"), 0.0, ("0", "0")),
    ),
}


def quarter(points: Floats) -> Floats:
    """Return points turned by 90 degrees about (3, 4); one unknown coordinate leaves the other alone."""
    out = points.copy()
    out[..., 0], out[..., 1] = 3 - (points[..., 1] - 4), 4 + (points[..., 0] - 3)
    return out


in_motion = functools.lru_cache(maxsize=16)(motions)
"""Of the sources, each of which every isometry takes."""


def outcome(what: str, plane: str, mode: str, isometry: str) -> str:
    """Return what the code does with a cell, having compared whatever it wrote."""
    produce, expected = ISOMETRIES[isometry]
    source = flipreg.parse(program(what, plane, mode), source="cell.ngc")
    try:
        made = produce(source, ASKED_FOR_NOTHING)
    except flipreg.RefusedError as error:
        refusal = error
    else:
        return compared(source, made, isometry)
    assert refusal.location.line >= 4
    assert len(refusal.message) > 20
    try:
        made = produce(source, ASKED_FOR_ALL)
    except flipreg.RefusedError:
        return "refused"
    assert "--" in refusal.message
    before, after = in_motion(source.text), motions(made.text)
    ends = expected(before.end)
    # Chords and spelled-out cycles have other rows; every end of the source is still reached.
    for end in ends[~np.isnan(ends).any(axis=1)]:
        assert np.abs(after.end - end).max(axis=1).min() < 5e-4
    return "alternative"


def compared(source: flipreg.Program, made: flipreg.Produced, isometry: str) -> str:
    expected = ISOMETRIES[isometry][1]
    before, after = in_motion(source.text), motions(made.text)
    assert len(before) == len(after) > 0
    wanted, found = expected(sampled(before)), sampled(after)
    assert np.isnan(wanted).tolist() == np.isnan(found).tolist()
    assert np.nanmax(np.abs(wanted - found)) < (5e-4 if isometry == "turn" else 1e-9)
    for name in ("kind", "spindle_rpm", "tool", "cycle", "work_offset"):
        np.testing.assert_array_equal(getattr(before, name), getattr(after, name), err_msg=name)
    sign = -1 if isometry == "mirror" else 1
    assert (sign * before.compensation).tolist() == after.compensation.tolist()
    return "kept" if any("machine position" in note for note in made.notes) else "rewritten"


def cells() -> list[tuple[str, str, str, str, str]]:
    found = []
    for cell_texts in ROW.findall(PAGE.read_text()):
        what, planes, modes, *outcomes = (text.strip().replace("`", "") for text in cell_texts)
        if what == "what":
            continue
        for plane in PLANES if planes == "any" else planes.split(", "):
            for mode in ("G90", "G91") if modes == "any" else (modes,):
                for isometry, said in zip(ISOMETRIES, outcomes, strict=True):
                    found.append((what, plane, mode, isometry, said))
    return found


def is_tried(what: str, plane: str, mode: str, isometry: str) -> bool:
    """Return whether a cell is tried: of what names no plane every other one, so that each two of its three meet."""
    turn = [*PLANES].index(plane) + ("G90", "G91").index(mode) + [*ISOMETRIES].index(isometry)
    return what in OF_THE_PLANE or turn % 2 == 0


@pytest.mark.parametrize("what", FRAGMENTS)
def test_each_cell_does_what_the_table_says(what: str) -> None:
    wanted = {cell[1:4]: cell[4] for cell in cells() if cell[0] == what and is_tried(*cell[:4])}
    found = {(plane, mode, isometry): outcome(what, plane, mode, isometry) for plane, mode, isometry in wanted}
    assert wanted == found


def test_no_cell_of_the_table_is_empty_and_no_row_is_missing() -> None:
    table = cells()
    assert set(FRAGMENTS) == {cell[0] for cell in table}
    assert {"rewritten", "kept", "alternative", "refused"} == {cell[4] for cell in table}
    for what in FRAGMENTS:
        here = [cell[1:4] for cell in table if cell[0] == what]
        assert len(here) == len(set(here))
        planes = {"XY"} if what == "G41 G42" else set(PLANES)
        assert planes == {cell[0] for cell in here}
        assert len(here) == len(planes) * 2 * len(ISOMETRIES)

