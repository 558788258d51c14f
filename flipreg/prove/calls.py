"""The proof of a program with subprograms: both programs are run, call for call, and compared step by step."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import zip_longest

import numpy as np

from flipreg.prove.expected import Expected
from flipreg.prove.labels import compare_labels
from flipreg.prove.motions import compare_motions
from flipreg.prove.read import PROOF_TOLERANCE_MM, ProofError, Read
from flipreg.prove.words import compare_words
from flipreg.rs274.location import ProgramError
from flipreg.rs274.part import part_of
from flipreg.rs274.program import Readable
from flipreg.rs274.run import Step, run
from flipreg.rs274.scan import scan_chunks
from flipreg.rs274.state import BlockDelete

__all__ = ["prove_calls"]


def prove_calls(source: Readable, expected: Expected, output: Readable, *, block_delete: BlockDelete) -> float:
    """Run both programs and return the largest deviation of the output's motions, in millimetres.

    Raises
    ------
    ProofError
        If the output is not legal, or does not do what the source does.
    """
    largest = 0.0
    steps, made_steps = _steps(source, block_delete), _made(output, block_delete)
    for ours, theirs in zip_longest(steps, made_steps):
        if ours is None or theirs is None or len(ours.blocks) != len(theirs.blocks):
            raise ProofError(f"{source.source}: the output would run other lines; nothing was written")
        mine = Read(ours.blocks, ours.modes, ours.path)
        made = Read(theirs.blocks, theirs.modes, theirs.path)
        largest = max(largest, compare_labels(mine, expected, made, PROOF_TOLERANCE_MM))
        largest = max(largest, compare_motions(mine, expected, made, PROOF_TOLERANCE_MM))
        if block_delete is BlockDelete.OFF:
            compare_words(_executed(mine), _executed(made))
    if block_delete is BlockDelete.OFF:
        _compare_lines_not_run(source, output, steps)
    return largest


def _executed(read: Read) -> Read:
    """Return the blocks of a step up to the end of the program, if that is in it."""
    count = int(np.count_nonzero(read.modes.executes))
    blocks = part_of(read.blocks, 0, count)
    modes = replace(
        read.modes, executes=read.modes.executes[:count].copy(), values=read.modes.values[: len(blocks.letter)].copy()
    )
    return Read(blocks, modes, read.path)


def _compare_lines_not_run(source: Readable, output: Readable, steps: list[Step]) -> None:
    runs: set[int] = set()
    for step in steps:
        runs.update((np.flatnonzero(step.modes.executes) + step.blocks.first_line).tolist())
    pairs = zip_longest(_lines(source), _lines(output))
    for line, (ours, theirs) in enumerate(pairs, 1):
        if ours != theirs and (line not in runs or ours is None or theirs is None):
            raise ProofError(f"{source.source}:{line}: a line that is never run would change; nothing was written")


def _lines(program: Readable) -> Iterator[str]:
    for blocks in scan_chunks(program.pieces(), program.source):
        yield from map(blocks.line, range(len(blocks)))


def _steps(source: Readable, block_delete: BlockDelete) -> list[Step]:
    steps: list[Step] = []
    try:
        steps.extend(run(source, block_delete=block_delete))
    except ProgramError:
        if block_delete is BlockDelete.OFF:
            raise
        # With the switch on the source itself is not legal: nobody can run either of them so.
        return []
    return steps


def _made(output: Readable, block_delete: BlockDelete) -> list[Step]:
    try:
        return list(run(output, block_delete=block_delete))
    except ProgramError as error:
        if block_delete is BlockDelete.ON:
            return []
        raise ProofError(f"the output would not be legal, nothing was written:\n{error}") from None
