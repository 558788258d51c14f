"""The proof of a part: that lines of an output say and do what lines of a source do, with lines added between.

What may be taken away is the framing of a program: percent lines, program numbers, the end. What added lines may do
is looked at in the machine's frame, by `flipreg.prove.joined` and `flipreg.prove.taken_apart`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.path import Kind, Path
from flipreg.prove.added import compare_paths
from flipreg.prove.read import Read
from flipreg.rs274.read.blocks import BlockFlag, Blocks

__all__ = ["ENDS", "compare_part"]

ENDS = (2, 30)
"""M codes that end a program."""

_BY_MACHINE = (280, 300, 530)


@dataclass(frozen=True, eq=False, slots=True)
class _Words:
    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    line: NDArray[np.int64]
    begins: NDArray[np.bool_]
    """Whether a word is the first one of its line."""
    flags: NDArray[np.uint8]
    """Whether a word's line is left out under block delete."""


def compare_part(source: Read, output: Read, added: Sequence[int], *, moved_start: bool) -> float:
    """Return the largest deviation of an output's lines from a source's, in millimetres.

    Parameters
    ----------
    source, output : Read
        The lines of both.
    added : sequence of int
        Lines of the output that are added, from 0 within its blocks; checked, not believed.
    moved_start : bool
        Whether traverses may start elsewhere than in the source: the first one, and those after added lines.

    Raises
    ------
    ProofError
        If a word, a comment or a motion is lost, added or changed.
    """
    ours, theirs = source.blocks, output.blocks
    lines = np.array(added, np.int64)
    mine, made = _words(source, np.empty(0, np.int64)), _words(output, lines)
    size = min(len(mine.letter), len(made.letter))
    same = (mine.letter[:size] == made.letter[:size]) & (
        (mine.value[:size] == made.value[:size]) | (np.isnan(mine.value[:size]) & np.isnan(made.value[:size]))
    )
    # A word that comes a line earlier would act earlier, and motions alone don't show what coolant does.
    same &= (mine.begins[:size] == made.begins[:size]) & (mine.flags[:size] == made.flags[:size])
    if not same.all() or len(mine.letter) != len(made.letter):
        at = int(np.argmin(same)) if not same.all() else max(0, min(size, len(mine.line) - 1))
        line = ours.first_line + (int(mine.line[at]) if len(mine.line) else 0)
        raise ProofError(f"{ours.source}:{line}: a word would change")
    if _comments(ours, np.empty(0, np.int64)) != _comments(theirs, lines):
        raise ProofError(f"{ours.source}:{ours.first_line}: a comment would change")
    if [(each.index, each.value) for each in ours.settings] != [(each.index, each.value) for each in theirs.settings]:
        raise ProofError(f"{ours.source}:{ours.first_line}: a parameter setting would change")
    block = output.path.line - theirs.first_line
    is_added = np.isin(block, lines)
    _check_traverses(ours.source, output.path, is_added)
    kept = np.flatnonzero(~is_added)
    follows = np.zeros(len(kept), np.bool_)
    if moved_start and len(is_added):
        follows = np.r_[True, is_added[:-1]][kept]
    path = output.path.take(kept)
    if len(path) == len(source.path):
        # A traverse to a position of the machine is the same whatever is in the spindle.
        by_machine = [block for block, apart in source.modes.apart.items() if apart.code in _BY_MACHINE]
        is_free = np.isin(source.path.line - ours.first_line, by_machine) & ~source.path.is_cut
        path = replace(path, tool=np.where(is_free, source.path.tool, path.tool))
        # A traverse may begin where nobody knows; the proof in the machine's frame says whether it is clear there.
        unknown = {
            name: np.where(
                np.isnan(getattr(path, name)) & (path.kind == Kind.RAPID)[:, None],
                getattr(source.path, name),
                getattr(path, name),
            )
            for name in ("start", "end")
        }
        path = replace(path, **unknown)
    return compare_paths(ours.source, source.path, path, moved_start=follows)


def _check_traverses(source: str, path: Path, is_added: NDArray[np.bool_]) -> None:
    """Check that added motions are traverses."""
    if (path.kind[is_added] != Kind.RAPID).any():
        raise ProofError(f"{source}: an added line would cut")


def _words(read: Read, added: NDArray[np.int64]) -> _Words:
    """Return the words of all lines but the added ones, without program numbers and ends."""
    blocks, values = read.blocks, read.modes.values
    is_end = (blocks.letter == ord("M")) & np.isin(np.rint(np.nan_to_num(values)), ENDS)
    kept = ~is_end & (blocks.letter != ord("O")) & ~np.isin(blocks.block, added)
    line = blocks.block[kept]
    flags = blocks.flags[line] & np.uint8(BlockFlag.DELETE)
    return _Words(blocks.letter[kept], values[kept], line, np.diff(line, prepend=-1) > 0, flags)


def _comments(blocks: Blocks, added: NDArray[np.int64]) -> list[bytes]:
    kept = ~np.isin(blocks.comment_block, added)
    spans = zip(blocks.comment_start[kept].tolist(), blocks.comment_end[kept].tolist(), strict=True)
    return [blocks.text[start:end] for start, end in spans]
