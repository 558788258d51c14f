"""A program in pieces that no closed contour goes across, so that contours are run the other way round piece by piece.

A piece ends with a way up from a cut, after which a traverse names X and Y and the tool goes down again. Nothing that
is cut at one height goes on at that height after it, unless what was cut last is turned round.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from flipreg.contours.contour import contour_rows, find_contours
from flipreg.contours.unturned import find_unturned
from flipreg.path import Kind, Path
from flipreg.rewrite.climb.runs import choose_runs
from flipreg.rewrite.text.rows import rows_of
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import PieceReader, Whole

__all__ = ["program_pieces"]

_LEAST_BYTES = 1 << 20
"""Text that is looked at for the end of a piece (chosen), some 60,000 motions."""
_LATEST = 0.75
"""The share of what is looked at up to which a piece may end (chosen), so that what goes on after it is seen."""
_FAR_APART = 10_000
"""Level cuts with more motions between them are no pieces of one contour (chosen)."""
_SAME_MM = 1e-6

Flags = NDArray[np.bool_]
Index = NDArray[np.int64]


def program_pieces(text: bytes, reader: PieceReader) -> Iterator[tuple[Whole, bool]]:
    """Yield a program piece by piece, and whether each is the last; one without a place to end in is as long as it is.

    Parameters
    ----------
    text : bytes
        The program.
    reader : PieceReader
        Reads it.
    """
    begin, size = 0, _LEAST_BYTES
    while True:
        end = text.rfind(b"\n", begin, begin + size) + 1
        if end <= begin or begin + size >= len(text):
            yield reader.read(text[begin:], last=True), True
            return
        window = reader.look_at(text[begin:end])
        if window.tail:
            yield reader.read(text[begin:], last=True), True
            return
        lines = _lines_of_a_piece(window)
        if not lines:
            size *= 2
            continue
        stop = begin + int(window.blocks.line_start[lines])
        yield reader.read(text[begin:stop], last=False), False
        begin, size = stop, _LEAST_BYTES


def _lines_of_a_piece(window: Whole) -> int:
    """Return how many lines at the beginning are a piece, as many as can be; 0 where none are."""
    path = window.path
    turned = np.zeros(len(path), np.bool_)
    for run in choose_runs(window, find_contours(path)).runs:
        turned[run.first : run.last + 1] = True
    rows = _ways_up(window)
    rows = rows[(rows < _LATEST * len(path)) & _ends_level_cuts(path, rows, turned)]
    lines = path.line[rows]
    for each in find_unturned(path, *contour_rows(path)):
        lines = lines[(lines < each.first_line) | (lines >= each.last_line)]
    return int(lines[-1]) if lines.size else 0


def _ways_up(window: Whole) -> Index:
    """Return the rows that go straight up from a cut to a traverse that names where the tool goes down again."""
    path, modes = window.path, window.modes
    cut, rise = path.is_cut, path.end[:, 2] - path.start[:, 2]
    across: Flags = np.any(~(np.abs(path.end[:, :2] - path.start[:, :2]) <= _SAME_MM), axis=1)
    rows = 1 + np.flatnonzero(cut[:-2] & ~cut[1:-1] & ~across[1:-1] & (rise[1:-1] > 0))
    after = rows + 1
    good: Flags = (path.kind[after] == Kind.RAPID) & (path.cycle[after] == 0) & across[after] & (rise[after] == 0)
    block, other = path.line[rows] - 1, path.line[after] - 1
    good &= (block < other) & ~modes.incremental[other] & (modes.cutter[other] == G.CUTTER_OFF)
    for letter in "XY":
        good &= np.isin(other, window.blocks.block[rows_of(window.blocks, modes, letter)])
    apart = np.array(sorted(modes.apart), np.int64)
    good &= np.searchsorted(apart, block) == np.searchsorted(apart, other, "right")
    # The next cut is named in Z too.
    cuts = np.flatnonzero(cut)
    at = np.searchsorted(cuts, after)
    good &= at < len(cuts)
    following = cuts[np.minimum(at, len(cuts) - 1)] if cuts.size else after
    good &= ~(np.abs(path.end[following, 2] - path.end[after, 2]) <= _SAME_MM)
    return np.asarray(rows[good])


def _ends_level_cuts(path: Path, rows: Index, turned: Flags) -> Flags:
    """Return after which rows nothing goes on that was cut at one height before, as far as the path goes."""
    level = path.is_cut & (path.cycle == 0) & (np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME_MM)
    level &= (path.end[:, :2] != path.start[:, :2]).any(axis=1) | path.is_arc
    # Before the first of them is what was cut in the piece before, after the last one what nobody has seen yet.
    at = np.concatenate(([-1], np.flatnonzero(level), [len(path)]))
    here = np.searchsorted(at, rows, "right")
    before, after = at[here - 1], at[here]
    far_apart = after - before > _FAR_APART
    had, goes_on = before >= 0, after < len(path)
    after = np.minimum(after, len(path) - 1)
    other_height = np.abs(path.end[before, 2] - path.end[after, 2]) > _SAME_MM
    return np.asarray(far_apart | (goes_on & (turned[after] | (had & other_height))) | (had & turned[before]))
