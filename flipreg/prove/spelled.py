"""Blocks spelled out as straight moves: arcs as chords, canned cycles as their motions.

Some results have no other way of being written: an arc in XZ turned by three degrees is in no plane that the
language knows. The rewriter claims which blocks it spelled out into how many lines; here the claim is checked
against the source's own arc or cycle, and what was checked is taken out of both programs, so that all the rest
is compared as ever.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.geometry.arc import plane_axes
from flipreg.path import Kind, Path
from flipreg.prove.expected import Expected
from flipreg.prove.read import Claim, Read
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import BlockFlag, Blocks

__all__ = ["without_spelled"]

Index = NDArray[np.int64]
Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]

_SPELLING_LETTERS = "GXYZP"
"""Letters that lines of spelled-out moves may have."""

_REPLACED_LETTERS = "XYZIJKRPQL"
"""Letters of a spelled-out block that its moves stand for."""

_STRAIGHT_CODES = (0, 1, 4)
_ANGLE_NOISE_DEG = 1e-6


def without_spelled(
    source: Read, expected: Expected, output: Read, claim: Claim, tolerance_mm: float
) -> tuple[Read, Read, float]:
    """Check the spelled-out blocks, and return both programs without their moves.

    Raises
    ------
    ProofError
        If the output's lines are not what is claimed, or its moves not what the source's arcs and cycles are.
    """
    lines = np.ones(len(source.blocks), np.int64)
    lines[claim.block] += claim.added
    if int(lines.sum()) != len(output.blocks):
        raise ProofError(f"{source.blocks.source}:{source.blocks.first_line}: lines would be lost or added")
    origin = np.repeat(np.arange(len(lines)), lines)
    is_first = np.diff(origin, prepend=-1) > 0
    is_spelled = np.zeros(len(lines), np.bool_)
    is_spelled[claim.block] = True
    _check_added_lines(source, output, is_first, origin)

    ours = source.path.line - source.blocks.first_line
    theirs = output.path.line - output.blocks.first_line
    spelled, written = is_spelled[ours], is_spelled[origin[theirs]]
    deviation = _check_moves(
        source,
        source.path.take(spelled),
        _folded_lines(output.path.take(written), origin, theirs[written], source.blocks.first_line),
        expected,
        (claim.chords_mm, tolerance_mm),
    )
    rest = _folded_lines(output.path.take(~written), origin, theirs[~written], output.blocks.first_line)
    unfolded, all_first = np.arange(len(lines)), np.ones(len(lines), np.bool_)
    return (
        Read(*_without_moves(source, unfolded, all_first, is_spelled), source.path.take(~spelled)),
        Read(*_without_moves(output, origin, is_first, is_spelled), rest),
        deviation,
    )


def _check_added_lines(source: Read, output: Read, is_first: Flags, origin: Index) -> None:
    blocks = output.blocks
    added = ~is_first[blocks.block]
    letters = np.isin(blocks.letter[added], [ord(letter) for letter in _SPELLING_LETTERS])
    codes = output.modes.values[added][blocks.letter[added] == ord("G")]
    # Lines that block delete leaves out have no values; with the switch off their words are checked.
    codes = codes[output.modes.executes[blocks.block[added][blocks.letter[added] == ord("G")]]]
    clean = letters.all() and np.isin(codes, _STRAIGHT_CODES).all()
    # A line that block delete leaves out is left out whole.
    deleted = source.blocks.flags[origin[~is_first]] & np.uint8(BlockFlag.DELETE)
    clean &= bool(np.array_equal(blocks.flags[~is_first], deleted))
    if not clean or not is_first[blocks.comment_block].all():
        line = source.blocks.first_line
        raise ProofError(f"{source.blocks.source}:{line}: added lines would hold more than moves")


def _folded_lines(path: Path, origin: Index, block: Index, first_line: int) -> Path:
    return replace(path, line=origin[block] + first_line)


def _without_moves(read: Read, origin: Index, is_first: Flags, is_spelled: Flags) -> tuple[Blocks, Modes]:
    """Return a program's blocks folded to the source's, without the words that spelled-out moves stand for."""
    blocks, values = read.blocks, read.modes.values
    block = origin[blocks.block]
    is_move = np.isin(blocks.letter, [ord(letter) for letter in _REPLACED_LETTERS])
    motion_code = (values < 4) | ((values >= 80) & (values < 90)) | (values == 4)
    is_move |= (blocks.letter == ord("G")) & motion_code
    kept = np.flatnonzero(~(is_spelled[block] & is_move))
    folded = replace(
        blocks,
        line_start=blocks.line_start[is_first],
        line_end=blocks.line_end[is_first],
        flags=blocks.flags[is_first],
        letter=blocks.letter[kept],
        mantissa=blocks.mantissa[kept],
        decimals=blocks.decimals[kept],
        start=blocks.start[kept],
        number=blocks.number[kept],
        end=blocks.end[kept],
        block=block[kept],
        comment_block=origin[blocks.comment_block],
        expressions={},
    )
    apart = {int(origin[own]): each for own, each in read.modes.apart.items()}
    # What is spelled out is compared as places: a step from where nobody knows is refused there.
    steps = {int(origin[own]): each for own, each in read.modes.steps_mm.items() if not is_spelled[origin[own]]}
    idle = read.modes.idle
    idle = np.sort(origin[idle // 128] * 128 + idle % 128)
    return folded, replace(read.modes, values=values[kept], apart=apart, steps_mm=steps, idle=idle)


def _check_moves(
    source: Read, ours: Path, theirs: Path, expected: Expected, allowed_mm: tuple[float, float]
) -> float:
    worst = 0.0
    for line in np.unique(np.concatenate((ours.line, theirs.line))).tolist():
        mine, made = _of_line(ours, line), _of_line(theirs, line)
        where = f"{source.blocks.source}:{line}"
        if not len(made) or not len(mine):
            what = "move nothing" if len(mine) else "move where the source does not"
            raise ProofError(f"{where}: a spelled-out block would {what}")
        _check_company(where, mine, made)
        back = ~expected.of(int(mine.work_offset[0]))
        start, end = back.apply(made.start), back.apply(made.end)
        if bool(mine.is_arc.any()):
            worst = max(worst, _arc_off(where, mine, made, (start, end), allowed_mm))
        else:
            worst = max(worst, _cycle_off(where, mine, made, (start, end), allowed_mm[1]))
    return worst


def _of_line(path: Path, line: int) -> Path:
    first, after = np.searchsorted(path.line, [line, line + 1]).tolist()
    return path.take(np.arange(first, after))


def _check_company(where: str, mine: Path, made: Path) -> None:
    """Check that the moves run with the block's feed, spindle, tool and offset."""
    for name in ("spindle_rpm", "tool", "compensation", "work_offset"):
        values = np.unique(np.concatenate((getattr(mine, name), getattr(made, name))))
        if len(values) > 1:
            raise ProofError(f"{where}: the {name.split('_')[0]} of a spelled-out block would change")
    feeds = (mine.feed_mm_per_min[mine.is_cut], made.feed_mm_per_min[made.is_cut])
    if len(np.unique(np.concatenate(feeds))) > 1:
        raise ProofError(f"{where}: the feed of a spelled-out block would change")


def _cycle_off(where: str, mine: Path, made: Path, ends: tuple[Floats, Floats], tolerance_mm: float) -> float:
    if len(mine) != len(made) or not np.array_equal(mine.kind, made.kind):
        raise ProofError(f"{where}: a spelled-out cycle would have other motions")
    off = max(float(_off(mine.start, ends[0]).max()), float(_off(mine.end, ends[1]).max()))
    if off > tolerance_mm:
        raise ProofError(f"{where}: a spelled-out cycle would be {off:.6f} mm off")
    return off


def _off(ours: Floats, theirs: Floats) -> Floats:
    if not np.array_equal(np.isnan(ours), np.isnan(theirs)):
        return np.full(len(ours), np.inf)
    step = np.nan_to_num(ours) - np.nan_to_num(theirs)
    off: Floats = np.sqrt(np.einsum("ij,ij->i", step, step))
    return off


def _arc_off(
    where: str, arc: Path, made: Path, ends: tuple[Floats, Floats], allowed_mm: tuple[float, float]
) -> float:
    """Return how far corners are off the arc; chords may stand off it by their own tolerance besides."""
    chords_mm, tolerance_mm = allowed_mm
    if len(arc) != 1 or (made.kind != Kind.LINE).any():
        raise ProofError(f"{where}: an arc would become more than straight feeds")
    start, end = ends
    off = max(float(_off(arc.start, start[:1])[0]), float(_off(arc.end, end[-1:])[0]))
    off = max(off, float(_off(start[1:], end[:-1]).max(initial=0.0)))
    first, second = (int(axis[0]) for axis in plane_axes(arc.normal[:1]))
    height = int(arc.normal[0])
    corners = np.concatenate((start[:1], end))
    centre, sweep = arc.centre[0], float(arc.sweep_deg[0])
    spoke = corners[:, [first, second]] - centre[[first, second]]
    radius = np.hypot(spoke[:, 0], spoke[:, 1])
    angle = np.degrees(np.unwrap(np.arctan2(spoke[:, 1], spoke[:, 0])))
    turned = np.sign(sweep) * (angle - angle[0])
    share = turned / abs(sweep)
    step = np.diff(turned)
    if (step < -_ANGLE_NOISE_DEG).any() or abs(turned[-1] - abs(sweep)) > _closeness(tolerance_mm, radius[0]):
        raise ProofError(f"{where}: the chords of an arc would not follow it from start to end")
    expected_radius = radius[0] + share * (radius[-1] - radius[0])
    rise = arc.end[0, height] - arc.start[0, height]
    corner_off = np.hypot(radius - expected_radius, corners[:, height] - (arc.start[0, height] + share * rise))
    off = max(off, float(corner_off.max()))
    if off > tolerance_mm:
        raise ProofError(f"{where}: the chords of an arc would be {off:.6f} mm off it, allowed is {tolerance_mm} mm")
    sagitta = float((radius.max() * (1 - np.cos(np.radians(np.minimum(step, 180.0) / 2)))).max())
    if sagitta > chords_mm + tolerance_mm:
        raise ProofError(f"{where}: a chord would stand {sagitta:.6f} mm off its arc, allowed is {chords_mm} mm")
    return off


def _closeness(tolerance_mm: float, radius: float) -> float:
    """Return the angle in degrees that a tolerance is at a radius."""
    return float(np.degrees(2 * tolerance_mm / max(radius, tolerance_mm)))
