"""The proof of added lines: a program that is its source, byte for byte, with traverses put in between.

Chunk after chunk: without the added lines the text is the source's, and its motions, read again like any, are the
source's motions. Where lines are said to lead over zero instead, the numbers of their X and Y are zero, and all else in
them is as it was.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.path import Kind, Path
from flipreg.prove.read import PROOF_TOLERANCE_MM, Read
from flipreg.prove.reader import OutputReader
from flipreg.prove.zeroed import ZeroedPlaces, check_zeros, spans_of_numbers
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.blocks import BlockFlag, Blocks

__all__ = ["ProvingAdded", "compare_paths"]

Flags = NDArray[np.bool_]

_LETTERS = frozenset("GXYZ")
_CODES = frozenset({0, 200, 210, 900, 910})
"""G codes, ten times each."""
_COLUMNS = ("kind", "normal", "tool", "compensation", "work_offset", "cycle")
_NUMBERS = ("sweep_deg", "feed_mm_per_min", "spindle_rpm")


class ProvingAdded:
    """Reads an output program and compares it with its source.

    Parameters
    ----------
    source : str
        Name of the source, for messages.
    first : State
        The state before its first block.
    """

    def __init__(self, source: str, first: State = State()) -> None:  # noqa: B008 - frozen
        self._source = source
        self._reader = OutputReader(source, first)
        self._largest_mm = 0.0
        self._after_added = False
        self._places = ZeroedPlaces(source)

    def add(self, text: bytes, source: Read, added: Sequence[int], zeroed: Sequence[int] = ()) -> Read:
        """Prove the next chunk, and return it as it was read.

        Parameters
        ----------
        text : bytes
            The output's chunk.
        source : Read
            The source's chunk.
        added : sequence of int
            Lines of the output's chunk that are added, from 0; checked, not believed.
        zeroed : sequence of int
            Lines of the source's chunk whose X and Y become zero, from 0; ascending, checked, not believed.

        Raises
        ------
        ProofError
            If the text is not the source's with traverses added.
        """
        made = self._reader.read(text)
        blocks, path = made.blocks, made.path
        self._check_text(blocks, source.blocks, added, zeroed)
        self._check_lines(blocks, made.modes.values, added)
        is_added = np.isin(path.line - blocks.first_line, np.array(added, np.int64))
        if (path.kind[is_added] != Kind.RAPID).any():
            raise ProofError(f"{self._source}: an added line would cut")
        kept = np.flatnonzero(~is_added)
        follows = np.r_[self._after_added, is_added[:-1]][: len(path)][kept] if len(path) else np.empty(0, np.bool_)
        if len(path):
            self._after_added = bool(is_added[-1])
        wanted = self._places.moved(source.path, [source.blocks.first_line + line for line in zeroed])
        deviation = compare_paths(self._source, wanted, path.take(kept), moved_start=follows)
        self._largest_mm = max(self._largest_mm, deviation)
        return made

    def finish(self) -> float:
        """Return the largest deviation in millimetres; raises ProofError if the output is not whole."""
        self._reader.check_end()
        return self._largest_mm

    def _check_text(self, blocks: Blocks, source: Blocks, added: Sequence[int], zeroed: Sequence[int]) -> None:
        starts = [*blocks.line_start.tolist(), len(blocks.text)]
        ours = [(starts[line], starts[line + 1]) for line in added]
        if zeroed:
            own = np.setdiff1d(np.arange(len(blocks)), np.array(added, np.int64))
            lines = own[np.array(zeroed, np.int64)].tolist()
            check_zeros(blocks, lines)
            ours = sorted([*ours, *spans_of_numbers(blocks, lines)])
        kept, wanted = _without(blocks.text, ours), _without(source.text, spans_of_numbers(source, zeroed))
        # Where the file ended without a line end, an added line gave it one.
        if kept != wanted and kept.rstrip(b"\r\n") != wanted.rstrip(b"\r\n"):
            raise ProofError(f"{self._source}:{source.first_line}: the source's text would change")

    def _check_lines(self, blocks: Blocks, values: NDArray[np.float64], added: Sequence[int]) -> None:
        rows = np.isin(blocks.block, np.array(added, np.int64))
        letters = {chr(letter) for letter in blocks.letter[rows]}
        codes = set(np.rint(values[rows & (blocks.letter == ord("G"))] * 10).astype(int).tolist())
        if not letters <= _LETTERS or not codes <= _CODES or np.isin(blocks.comment_block, added).any():
            raise ProofError(f"{self._source}: an added line would hold more than a traverse")
        if (blocks.flags[np.array(added, np.int64)] & BlockFlag.DELETE).any():
            raise ProofError(f"{self._source}: an added line would be left out under block delete")


def _without(text: bytes, spans: Sequence[tuple[int, int]]) -> bytes:
    """Return what is left of a text without these stretches, which are in its order."""
    starts = [0, *(end for _, end in spans)]
    ends = [*(start for start, _ in spans), len(text)]
    return b"".join(text[start:end] for start, end in zip(starts, ends, strict=True))


def compare_paths(source: str, ours: Path, theirs: Path, *, moved_start: Flags) -> float:
    """Return the largest deviation of motions that should be the same.

    Parameters
    ----------
    source : str
        Name of the source, for messages.
    ours, theirs : Path
        The source's motions and the output's, one for one.
    moved_start : bool, shape (n,)
        Traverses that may start elsewhere, because a traverse was added before them.

    Raises
    ------
    ProofError
        If they are not the same.
    """
    if len(ours) != len(theirs):
        counts = f"{len(theirs)} motions would be made where the source has {len(ours)}"
        raise ProofError(f"{source}: {counts}")
    for name in _COLUMNS:
        _refuse(source, ours, name, getattr(ours, name) != getattr(theirs, name))
    for name in _NUMBERS:
        mine, made = getattr(ours, name), getattr(theirs, name)
        different: Flags = ~np.isclose(mine, made, rtol=1e-9, atol=1e-9, equal_nan=True)
        _refuse(source, ours, name, different)
    largest = 0.0
    for name in ("end", "start", "centre"):
        mine, made = getattr(ours, name), getattr(theirs, name)
        # What the source does not know of a place may be known now.
        free = np.isnan(mine) & (np.isnan(made) if name == "centre" else True)
        if name == "start":
            free = free | (moved_start & (ours.kind == Kind.RAPID))[:, None]
        off = np.where(free, 0.0, np.abs(mine - made))
        too_far: Flags = ~np.all(off <= PROOF_TOLERANCE_MM, axis=1)
        _refuse(source, ours, name, too_far)
        largest = max(largest, float(off.max(initial=0.0)))
    return largest


def _refuse(source: str, ours: Path, name: str, different: Flags) -> None:
    if different.any():
        line = int(ours.line[int(np.argmax(different))])
        what = name.split("_mm")[0].replace("_", " ")
        raise ProofError(f"{source}:{line}: the {what} of this motion would change")
