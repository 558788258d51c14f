"""The proof: whether an output program does what a source program does, moved by an isometry.

The proof shares nothing with the rewriting. Output text is read and interpreted again like any program, and
each motion is compared with the moved motion of the source; what is not a coordinate - feeds, speeds, tools,
miscellaneous functions, comments - has to be in the output word for word.
"""

from dataclasses import dataclass
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import FlipregError
from flipreg.geometry.arc import arc_points
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rs274.block import BlockFlag, Blocks
from flipreg.rs274.comments import flat_spans
from flipreg.rs274.state import Modes

__all__ = ["PROOF_TOLERANCE_MM", "ProofError", "Read", "prove"]

Floats = NDArray[np.float64]

PROOF_TOLERANCE_MM = 0.001
"""Largest deviation a proved program may have; ours. Rounding at four decimals stays below a tenth of it."""

_Deviation = tuple[str, NDArray[np.intp] | None, Floats]
"""What was compared, the rows it was compared at (None: all), and how far each is off in millimetres."""

_SAME_NUMBER = 1e-9
"""Relative difference below which feeds and speeds are the same; floating-point noise, no more."""


class ProofError(FlipregError):
    """The output does not do what the source does; nothing is written.

    That is a mistake of this package, or a program so odd that it was not foreseen, never a mistake to be
    mended by trying again.
    """


@dataclass(frozen=True, eq=False, slots=True)
class Read:
    """One chunk of a program as it was read: its words, its modes, its motions."""

    blocks: Blocks
    modes: Modes
    path: Path


def prove(source: Read, expected: Isometry, output: Read, *, tolerance_mm: float = PROOF_TOLERANCE_MM) -> float:
    """Compare an output chunk with its source chunk moved by an isometry.

    Parameters
    ----------
    source, output : Read
        The same blocks of the two programs.
    expected : Isometry
        Maps the source's frame to the output's.
    tolerance_mm : float
        Largest allowed deviation of any start, middle, end or centre.

    Returns
    -------
    float
        The largest deviation found, in millimetres.

    Raises
    ------
    ProofError
        If anything differs; the message names the source's line.
    """
    _compare_words(source, output)
    return _compare_motions(source, expected, output, tolerance_mm)


def _compare_motions(source: Read, expected: Isometry, output: Read, tolerance_mm: float) -> float:
    if len(source.path) != len(output.path):
        raise ProofError(_motion_count(source, output))
    if not len(source.path):
        return 0.0
    try:
        moved = source.path.transformed(expected)
    except ValueError as error:
        raise ProofError(f"{source.blocks.source}: {error}") from None
    for name in ("kind", "normal", "tool", "compensation", "work_offset", "cycle"):
        _same(source, name, getattr(moved, name), getattr(output.path, name))
    shift = output.blocks.first_line - source.blocks.first_line
    _same(source, "line", source.path.line + shift, output.path.line)
    _same_numbers(source, "spindle_rpm", moved.spindle_rpm, output.path.spindle_rpm)
    if not source.modes.inverse_time.any():
        # Under G93 the feed is the length of the motion by its F, and the F words are compared as words.
        _same_numbers(source, "feed_mm_per_min", moved.feed_mm_per_min, output.path.feed_mm_per_min)
    deviations: list[_Deviation] = [
        _distance(source, "start", moved.start, output.path.start),
        _distance(source, "end", moved.end, output.path.end),
    ]
    arcs = np.flatnonzero(moved.is_arc)
    if arcs.size:
        deviations.append(_arc_deviation(source, moved, output.path, arcs))
    largest = 0.0
    for what, rows, deviation in deviations:
        worst = int(np.argmax(deviation))
        if deviation[worst] > tolerance_mm:
            line = int(source.path.line[worst if rows is None else rows[worst]])
            raise ProofError(
                f"{source.blocks.source}:{line}: the {what} of this motion would be {deviation[worst]:.6f} mm "
                f"off in the output, allowed is {tolerance_mm} mm; nothing was written"
            )
        largest = max(largest, float(deviation[worst]))
    return largest


def _motion_count(source: Read, output: Read) -> str:
    ours = source.path.line.tolist()
    theirs = (output.path.line - output.blocks.first_line + source.blocks.first_line).tolist()
    line = next((a or b for a, b in zip_longest(ours, theirs) if a != b), 0)
    return (
        f"{source.blocks.source}:{line}: the output has {len(theirs)} motions where the source has {len(ours)}; "
        "nothing was written"
    )


def _same(source: Read, name: str, ours: NDArray[np.generic], theirs: NDArray[np.generic]) -> None:
    if _is_constant(ours) and _is_constant(theirs):
        ours, theirs = ours[:1], theirs[:1]
    different = ours != theirs
    if different.any():
        raise _different(source, name, int(np.argmax(different)))


def _same_numbers(source: Read, name: str, ours: Floats, theirs: Floats) -> None:
    if _is_constant(ours) and _is_constant(theirs):
        ours, theirs = ours[:1], theirs[:1]
    different = ours != theirs
    if not different.any():
        return
    close = np.abs(ours - theirs) <= _SAME_NUMBER * np.maximum(np.abs(ours), 1.0)
    different &= ~(close | (np.isnan(ours) & np.isnan(theirs)))
    if different.any():
        raise _different(source, name, int(np.argmax(different)))


def _different(source: Read, name: str, row: int) -> ProofError:
    line = int(source.path.line[row])
    words = name.split("_mm")[0].replace("_", " ")
    return ProofError(f"{source.blocks.source}:{line}: the {words} of this motion would change; nothing was written")


def _is_constant(column: NDArray[np.generic]) -> bool:
    return column.strides == (0,) and len(column) > 0


def _distance(source: Read, what: str, ours: Floats, theirs: Floats) -> _Deviation:
    squared = _squared_distance(ours, theirs)
    if np.isnan(squared.max()):
        unknown, also = np.isnan(ours), np.isnan(theirs)
        differs = (unknown != also).any(axis=1)
        if differs.any():
            raise _different(source, what, int(np.argmax(differs)))
        squared = _squared_distance(np.where(unknown, 0.0, ours), np.where(unknown, 0.0, theirs))
    return what, None, np.sqrt(squared)


def _squared_distance(ours: Floats, theirs: Floats) -> Floats:
    """Return squared distances of points, column by column: a sum over rows of three is far slower."""
    total = np.zeros(len(ours))
    for axis in range(ours.shape[1]):
        step = ours[:, axis] - theirs[:, axis]
        step *= step
        total += step
    return total


def _arc_deviation(
    source: Read, moved: Path, output: Path, arcs: NDArray[np.intp]
) -> _Deviation:
    """Compare centres, and the points half way; ends and starts are compared already."""
    turned = np.sign(moved.sweep_deg[arcs]) != np.sign(output.sweep_deg[arcs])
    if turned.any():
        raise _different(source, "direction", int(arcs[int(np.argmax(turned))]))
    worst = np.sqrt(_squared_distance(moved.centre[arcs], output.centre[arcs]))
    for normal in np.flatnonzero(np.bincount(moved.normal[arcs], minlength=3)):
        plane = moved.normal[arcs] == normal
        rows = arcs[plane]
        axes = [int(normal + 1) % 3, int(normal + 2) % 3]
        ours, theirs = (_half_way(path, rows, axes) for path in (moved, output))
        worst[plane] = np.maximum(worst[plane], np.sqrt(_squared_distance(ours, theirs)))
    return "arc", arcs, worst


def _half_way(path: Path, rows: NDArray[np.intp], axes: list[int]) -> Floats:
    start, centre = path.start[rows][:, axes], path.centre[rows][:, axes]
    return arc_points(start, centre, path.sweep_deg[rows], np.full(len(rows), 0.5))


_COORDINATES = "XYZIJKR"

_ONE_OF_A_PAIR = {30: 20, 190: 180, 420: 410}
"""G codes that an isometry may exchange, ten times each; which one is right is for the motions to show."""

_ARC_CODES = (20, 30)

_LAST_MOVE, _FIRST_CYCLE, _BEHIND_CYCLES = 30, 800, 900
"""Motion codes, ten times each: G0 to G3, and G80 to G89."""


def _compare_words(source: Read, output: Read) -> None:
    """Check that all that is not a coordinate is in the output, word for word."""
    ours, theirs = source.blocks, output.blocks
    if len(ours) != len(theirs) or not np.array_equal(ours.flags, theirs.flags):
        raise ProofError(f"{ours.source}:{ours.first_line}: lines would be lost or added; nothing was written")
    if len(ours) and ours.flags[-1] & BlockFlag.AFTER_END and ours.text != theirs.text:
        raise ProofError(f"{ours.source}:{ours.first_line}: text behind the end would change; nothing was written")
    _compare_comments(ours, theirs)
    kept = np.ones(256, np.bool_)
    kept[[ord(letter) for letter in _COORDINATES]] = False
    one, other = np.flatnonzero(kept[ours.letter]), np.flatnonzero(kept[theirs.letter])
    values, new_values = _canonical(source, one), _canonical(output, other)
    if len(other) > len(one):
        # Where a modal arc has to change its sense between two blocks, the arc code is named again.
        wanted = ~_arcs_named_again((ours, one, values), (theirs, other, new_values))
        other, new_values = other[wanted], new_values[wanted]
    size = min(len(one), len(other))
    different = (
        (ours.letter[one[:size]] != theirs.letter[other[:size]])
        | (ours.block[one[:size]] != theirs.block[other[:size]])
        | ((values[:size] != new_values[:size]) & ~(np.isnan(values[:size]) & np.isnan(new_values[:size])))
    )
    if different.any():
        raise _changed_word(ours, int(one[int(np.argmax(different))]))
    if len(one) > size:
        raise _changed_word(ours, int(one[size]))
    if len(other) > size:
        line, word = ours.first_line + int(theirs.block[other[size]]), theirs.spelling(int(other[size]))
        raise ProofError(f"{ours.source}:{line}: {word} would be added; nothing was written")
    if len(ours.settings) != len(theirs.settings):
        raise ProofError(f"{ours.source}:{ours.first_line}: a parameter setting would change; nothing was written")


def _changed_word(blocks: Blocks, row: int) -> ProofError:
    line = blocks.first_line + int(blocks.block[row])
    return ProofError(f"{blocks.source}:{line}: {blocks.spelling(row)} would change; nothing was written")


def _canonical(read: Read, rows: NDArray[np.intp]) -> Floats:
    """Return the words' values, with codes that an isometry may exchange made alike."""
    values = read.modes.values[rows]
    is_g = np.flatnonzero(read.blocks.letter[rows] == ord("G"))
    code = np.rint(values[is_g] * 10)
    for one, other in _ONE_OF_A_PAIR.items():
        code[code == one] = other
    values[is_g] = code
    return values


_Compared = tuple[Blocks, NDArray[np.intp], Floats]
"""A chunk, the rows that are compared, and their canonical values."""


def _arcs_named_again(source: _Compared, output: _Compared) -> NDArray[np.bool_]:
    """Return which of the output's rows are arc codes in blocks that name no motion in the source."""
    blocks, rows, values = source
    names_motion = np.zeros(len(blocks), np.bool_)
    motion = (blocks.letter[rows] == ord("G")) & ((values <= _LAST_MOVE) | (values >= _FIRST_CYCLE))
    names_motion[blocks.block[rows[motion & (values < _BEHIND_CYCLES)]]] = True
    blocks, rows, values = output
    is_arc = (blocks.letter[rows] == ord("G")) & np.isin(values, _ARC_CODES)
    again: NDArray[np.bool_] = is_arc & ~names_motion[blocks.block[rows]]
    return again


def _compare_comments(ours: Blocks, theirs: Blocks) -> None:
    length, new_length = ours.comment_end - ours.comment_start, theirs.comment_end - theirs.comment_start
    if np.array_equal(length, new_length) and np.array_equal(ours.comment_block, theirs.comment_block):
        at, new_at = (flat_spans(b.comment_start, b.comment_end) for b in (ours, theirs))
        text, new_text = (np.frombuffer(b.text, np.uint8) for b in (ours, theirs))
        if np.array_equal(text[at], new_text[new_at]):
            return
    raise ProofError(f"{ours.source}:{ours.first_line}: a comment would change; nothing was written")
