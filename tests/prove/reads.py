"""Chunks as the proof gets them, made of a program's text."""

from flipreg.prove import Read
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["read"]


def read(text: str, source: str = "front.ngc") -> Read:
    """Return a short program's one chunk."""
    (blocks,) = scan_chunks([text.encode("latin-1")], source)
    modes, path, _ = interpret_blocks(blocks, State())
    return Read(blocks, modes, path)
