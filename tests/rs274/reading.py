"""Programs of these tests, read and interpreted in chunks of a chosen number of lines."""

from collections.abc import Iterable, Iterator
from dataclasses import fields, replace

import numpy as np

from flipreg.path import Path
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["assert_same_path", "chunks_of", "modes_of", "path_of", "path_of_chunks", "state_after"]


def chunks_of(text: str, *, lines: int = 10_000) -> Iterator[Blocks]:
    """Yield a program in chunks of so many lines; every chunk needs a word."""
    each = text.splitlines(keepends=True)
    for first in range(0, len(each), lines):
        for blocks in scan_chunks(["".join(each[first : first + lines]).encode()], "test.ngc"):
            yield replace(blocks, first_line=first + blocks.first_line)


def path_of(text: str, *, lines: int = 10_000) -> Path:
    """Return the motions of a program."""
    return path_of_chunks(chunks_of(text, lines=lines))


def path_of_chunks(chunks: Iterable[Blocks]) -> Path:
    """Return the motions of blocks in chunks of any size."""
    state, parts = State(), [Path.empty()]
    for blocks in chunks:
        _, path, state = interpret_blocks(blocks, state)
        parts.append(path)
    return Path.concatenate(parts)


def state_after(text: str, *, lines: int = 10_000) -> State:
    """Return the state after a program."""
    state = State()
    for blocks in chunks_of(text, lines=lines):
        _, _, state = interpret_blocks(blocks, state)
    return state


def modes_of(text: str) -> Modes:
    """Return the modes of a program that fits one chunk."""
    (blocks,) = chunks_of(text)
    return interpret_blocks(blocks, State())[0]


def assert_same_path(expected: Path, actual: Path) -> None:
    """Assert that two paths agree to the last bit."""
    for field in fields(Path):
        np.testing.assert_array_equal(getattr(actual, field.name), getattr(expected, field.name), err_msg=field.name)
