"""G words under an isometry: the way arcs turn, the side of cutter compensation, the plane.

A mirror turns arcs of the XY plane the other way round. In the other planes it depends on the axis: an arc
about Y seen from +Y turns the same way after y -> -y. Which is so for each plane is asked of the isometry.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.rewrite.text.rows import rows_of
from flipreg.rewrite.text.splice import Edits, Texts
from flipreg.rs274.code_numbers import ARCS, G
from flipreg.rs274.interpret.column import at, is_constant
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import EXPRESSION, Blocks

__all__ = ["ArcDirection", "PlaneMap", "plane_map"]

Index = NDArray[np.int64]

_NO_BLOCKS = np.empty(0, np.int64)


class PlaneMap(NamedTuple):
    """What becomes of the planes, by their normal axis: 0 for YZ, 1 for ZX, 2 for XY.

    Attributes
    ----------
    normal : tuple of three int
        The axis each normal becomes.
    direction : tuple of three int
        -1 where arcs turn the other way, else 1.
    """

    normal: tuple[int, int, int]
    direction: tuple[int, int, int]


def plane_map(isometry: Isometry) -> PlaneMap:
    """Return what an isometry makes of the planes.

    An arc about a normal N becomes an arc about det(A)·A·N. For a free rotation only XY has a plane; the
    entries of the others are not meant to be used.
    """
    upright = isometry.determinant
    if not isometry.is_axis_aligned:
        return PlaneMap((0, 1, 2), (upright, upright, upright))
    if isometry.keeps_axes:
        return PlaneMap((0, 1, 2), (upright * int(isometry.xx), upright * int(isometry.yy), upright))
    return PlaneMap((1, 0, 2), (upright * int(isometry.yx), upright * int(isometry.xy), upright))


class ArcDirection:
    """Rewrites G words, and remembers which way arcs were turned from one chunk to the next."""

    def __init__(self, isometry: Isometry) -> None:
        self._planes = plane_map(isometry)
        self._swaps_sides = isometry.determinant < 0
        self._carried = 1

    def edits(self, blocks: Blocks, modes: Modes, entered: Index = _NO_BLOCKS) -> list[Edits]:
        """Return the edits of a chunk's G words.

        Parameters
        ----------
        blocks, modes
            The chunk.
        entered : int64, shape (k,)
            Blocks that the machine comes to from elsewhere in the text.
        """
        if self._planes == PlaneMap((0, 1, 2), (1, 1, 1)) and not self._swaps_sides:
            return []
        rows = rows_of(blocks, modes, "G")
        if not rows.size:
            return self._arc_edits(blocks, modes, rows, rows, entered)
        code = np.rint(modes.values.take(rows) * 10).astype(np.int64)
        edits = self._arc_edits(blocks, modes, rows, code, entered)
        if self._swaps_sides:
            edits += _swapped(blocks, rows, code, G.CUTTER_LEFT, G.CUTTER_RIGHT)
        if self._planes.normal != (0, 1, 2):
            edits += _swapped(blocks, rows, code, G.ZX, G.YZ)
        return edits

    def _arc_edits(self, blocks: Blocks, modes: Modes, rows: Index, code: Index, entered: Index) -> list[Edits]:
        at_arcs = np.flatnonzero((code == ARCS[0]) | (code == ARCS[1]))
        explicit, sense = rows.take(at_arcs), code.take(at_arcs)
        turns = np.array(self._planes.direction)
        in_force = modes.motion[:1] if is_constant(modes.motion) else modes.motion
        if not explicit.size and not ((in_force == ARCS[0]) | (in_force == ARCS[1])).any():
            return []
        edits = []
        if len(set(self._planes.direction)) > 1:
            edits = self._named_again(blocks, modes, explicit, turns, entered)
        turned = np.flatnonzero(turns.take(at(modes.normal, blocks.block.take(explicit))) < 0)
        edits += _swapped(blocks, explicit.take(turned), sense.take(turned), *ARCS)
        return edits

    def _named_again(
        self, blocks: Blocks, modes: Modes, explicit: Index, turns: Index, entered: Index
    ) -> list[Edits]:
        """Name the arc again where it carries on in a plane that turns the other way.

        `G17 G2 ...`, then `G18` and arcs without a G word: under y -> -y the first turns round, the second
        does not, so that the code carried over would be wrong. Where the machine comes from elsewhere in the text it
        may carry on with either.
        """
        if is_constant(modes.normal) and turns[modes.normal[0]] == self._carried and not entered.size:
            return []
        moves = np.zeros(len(blocks), np.bool_)
        for letter in "XYZ":
            moves[blocks.block[rows_of(blocks, modes, letter)]] = True
        for letter in "IJK":
            # A full circle names its centre alone.
            moves[blocks.block[rows_of(blocks, modes, letter)]] = True
        moves[[*modes.apart]] = False
        named = np.zeros(len(blocks), np.bool_)
        named[blocks.block[explicit]] = True
        # A code without axis words sets the mode that later arcs carry on with.
        arcs = np.flatnonzero((moves | named) & ((modes.motion == ARCS[0]) | (modes.motion == ARCS[1])))
        if not arcs.size:
            return []
        direction = turns[modes.normal[arcs]]
        before = np.concatenate(([self._carried], direction[:-1]))
        self._carried = int(direction[-1])
        unsure = direction != before
        arrived = np.searchsorted(arcs, entered)
        unsure[arrived[arrived < len(arcs)]] = True
        wrong = arcs[unsure & ~named[arcs]]
        starts, texts = [], []
        for block in wrong.tolist():
            first = int(np.searchsorted(blocks.block, block))
            if blocks.letter[first] == ord("N"):
                first += 1
            clockwise = (int(modes.motion[block]) == ARCS[0]) == (turns[modes.normal[block]] > 0)
            starts.append(int(blocks.start[first]))
            texts.append(b"G2 " if clockwise else b"G3 ")
        at_start = np.array(starts, np.int64)
        return [Edits(at_start, at_start, Texts.of(texts))] if texts else []


def _swapped(blocks: Blocks, rows: Index, code: Index, one: int, other: int) -> list[Edits]:
    """Return the edits that turn one code into the other and back, keeping the way it is written."""
    hit = np.flatnonzero((code == one) | (code == other))
    if not hit.size:
        return []
    rows, code = rows.take(hit), code.take(hit)
    new = np.where(code == one, other, one) // 10
    text = np.frombuffer(blocks.text, np.uint8)
    end, decimals = blocks.end.take(rows), blocks.decimals.take(rows).astype(np.int64)
    # G02, G2. and G2.0 keep their spelling: only the units digit changes, where it stands as expected.
    units = end - 1 - np.where(decimals > 0, decimals + 1, text[end - 1] == ord("."))
    plain = (decimals != EXPRESSION) & (text[np.maximum(units, 0)] == ord("0") + code // 10 % 10)
    digit = (ord("0") + new % 10).astype(np.uint8)
    if plain.all():
        return [Edits(units, units + 1, Texts.single(digit))]
    spelled = Texts.of([str(number).encode() for number in new[~plain].tolist()])
    apart = Edits(blocks.number[rows[~plain]], end[~plain], spelled)
    return [Edits(units[plain], units[plain] + 1, Texts.single(digit[plain])), apart]
