"""Programs whose lines were moved, repeated, left out or added: which stand for which, and that they say the same.

A rewriter claims which of the output's lines stand for which of the source's. The claim is checked, not believed:
it has to cover both programs, line by line and in order, and all words that are not meant to change have to be
the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import Blocks

__all__ = ["Claimed", "check_cover", "check_words", "fault", "rows_between", "said"]

_MOTION_CODES = (0, 10, 20, 30)
_NEW_LETTERS = ("F", "N")
_WAY_LETTERS = (*_NEW_LETTERS, "G", "X", "Y", "Z")


@dataclass(frozen=True, slots=True)
class Claimed:
    """Lines of the output, and the lines of the source that they are said to stand for; from 1, both included.

    Attributes
    ----------
    out_first, out_last : int
        The output's lines.
    first, last : int
        The source's lines; `last` is `first - 1` where the output's are new.
    level_mm : float or None
        Where the floor of these lines is said to be now; None where they do what they did.
    dropped : bool
        The source's lines are said to run no more.
    """

    out_first: int
    out_last: int
    first: int
    last: int
    level_mm: float | None = None
    dropped: bool = False

    @property
    def runs(self) -> bool:
        """Whether the lines stand for lines of the source that run."""
        return self.last >= self.first and not self.dropped


def fault(source: Whole, line: int, message: str) -> ProofError:
    """Return the error that names a line of the source, or of a piece of it, counted from its first."""
    return ProofError(f"{source.blocks.source}:{source.blocks.first_line - 1 + line}: {message}")


def rows_between(whole: Whole, first: int, last: int) -> slice:
    """Return the rows of the motions that lines command."""
    low, high = np.searchsorted(whole.path.line, [first, last + 1]).tolist()
    return slice(low, high)


def check_cover(source: Whole, output: Whole, claims: Sequence[Claimed]) -> None:
    """Check that the claims cover both programs in order, and that new lines hold no more than they may.

    They may hold feeds and traverses; whether the motions are right is not looked at here.

    Raises
    ------
    ProofError
        At the first line that is not accounted for.
    """
    if (np.diff(output.path.line) < 0).any() or source.tail != output.tail:
        raise fault(source, 1, "the output's lines would run in another order")
    after, out_after = 1, 1
    last_claim: Claimed | None = None
    for claim in claims:
        if claim.out_first != out_after or claim.out_last < claim.out_first - 1:
            raise fault(source, claim.first, "a line of the output stands for nothing")
        out_after = claim.out_last + 1
        if not claim.runs:
            _check_new(source, output, claim)
        if claim.last < claim.first:
            continue
        again = last_claim is not None and (last_claim.first, last_claim.last) == (claim.first, claim.last)
        if claim.first != after and not (again and claim.level_mm is not None):
            raise fault(source, claim.first, "lines would be lost or run in another order")
        after, last_claim = claim.last + 1, claim
    if after != len(source.blocks) + 1 or out_after != len(output.blocks) + 1:
        raise fault(source, after, "lines would be lost or added")


def _check_new(source: Whole, output: Whole, claim: Claimed) -> None:
    blocks = output.blocks
    rows = _between(blocks.block, claim.out_first, claim.out_last)
    letters = {chr(letter) for letter in blocks.letter[rows]}
    allowed = set(_NEW_LETTERS if claim.dropped or not _only_traverses(output, rows) else _WAY_LETTERS)
    if not letters <= allowed or blocks.flags[claim.out_first - 1 : claim.out_last].any():
        raise fault(source, claim.first, "an added line would do more than say what was done")
    if claim.dropped:
        kept = said(output.blocks, claim.out_first, claim.out_last)
        if not all(comment in kept for comment in said(source.blocks, claim.first, claim.last)):
            raise fault(source, claim.first, "a comment would be lost")


def _only_traverses(whole: Whole, rows: slice) -> bool:
    """Return whether each block of words that moves an axis names G0, and no block another code."""
    letter, block = whole.blocks.letter[rows], whole.blocks.block[rows]
    is_code = letter == ord("G")
    names_rapid = block[is_code & (whole.modes.values[rows] == 0.0)]
    moving = block[np.isin(letter, list(b"XYZ"))]
    return len(names_rapid) == int(is_code.sum()) and bool(np.isin(moving, names_rapid).all())


def check_words(source: Whole, output: Whole, claim: Claimed, *, is_copy: bool, free: str) -> None:
    """Check that lines hold the same words and comments as the lines they stand for.

    Parameters
    ----------
    source, output : Whole
        The two programs.
    claim : Claimed
        Lines that run.
    is_copy : bool
        The lines run again later: they have no line numbers then.
    free : str
        Letters whose values may differ; the motions show whether they are right.

    Raises
    ------
    ProofError
        At the first difference.
    """
    ours = _words(source, claim.first, claim.last, free)
    theirs = _words(output, claim.out_first, claim.out_last, free)
    if len(source.blocks.flags[claim.first - 1 : claim.last]) != claim.out_last - claim.out_first + 1:
        raise fault(source, claim.first, "lines would be lost or added")
    if is_copy:
        ours = [word for word in ours if word[1] != "N"]
    if ours != theirs and not _differs_by_a_motion_code(ours, theirs):
        line = next((mine[0] for mine, made in zip(ours, theirs, strict=False) if mine != made), 0) + claim.first
        raise fault(source, line, "a word would change")
    if said(source.blocks, claim.first, claim.last) != said(output.blocks, claim.out_first, claim.out_last):
        raise fault(source, claim.first, "a comment would change")
    flags = source.blocks.flags[claim.first - 1 : claim.last]
    if not np.array_equal(flags, output.blocks.flags[claim.out_first - 1 : claim.out_last]):
        raise fault(source, claim.first, "a line would be skipped, or not be skipped any more")
    if _settings(source, claim.first, claim.last) != _settings(output, claim.out_first, claim.out_last):
        raise fault(source, claim.first, "a parameter setting would change")


_Word = tuple[int, str, float]


def _words(whole: Whole, first: int, last: int, free: str) -> list[_Word]:
    """Return each word's line within the stretch, letter and value; values that may differ are zero."""
    blocks = whole.blocks
    rows = _between(blocks.block, first, last)
    line = (blocks.block[rows] - (first - 1)).tolist()
    values = np.nan_to_num(whole.modes.values[rows]).tolist()
    letters = map(chr, blocks.letter[rows].tolist())
    words = zip(line, letters, values, strict=True)
    return [(at, letter, 0.0 if letter in free else value) for at, letter, value in words]


def _differs_by_a_motion_code(ours: list[_Word], theirs: list[_Word]) -> bool:
    """Return whether the output names one motion code more, in its first block that is not the same."""
    if len(theirs) != len(ours) + 1:
        return False
    at = next((index for index, (mine, made) in enumerate(zip(ours, theirs, strict=False)) if mine != made), len(ours))
    _, letter, value = theirs[at]
    return letter == "G" and round(value * 10) in _MOTION_CODES and theirs[:at] + theirs[at + 1 :] == ours


def _settings(whole: Whole, first: int, last: int) -> list[tuple[int, object, object]]:
    return [
        (setting.block - first, setting.index, setting.value)
        for setting in whole.blocks.settings
        if first - 1 <= setting.block < last
    ]


def said(blocks: Blocks, first: int, last: int) -> list[bytes]:
    """Return the comments of lines."""
    rows = _between(blocks.comment_block, first, last)
    spans = zip(blocks.comment_start[rows].tolist(), blocks.comment_end[rows].tolist(), strict=True)
    return [blocks.text[start:end] for start, end in spans]


def _between(column: NDArray[np.int64], first: int, last: int) -> slice:
    low, high = np.searchsorted(column, [first - 1, last]).tolist()
    return slice(low, high)
