"""Where the parser stopped in a line: what was read before, what stands there, which brackets are open."""

import re
from collections.abc import Iterator

from flipreg.rs274.read.foreign import BlockSyntaxError

__all__ = ["Stopped"]


class Stopped:
    """The place where the parser stopped.

    Parameters
    ----------
    text : str
        The line.
    position : int
        Offset of the first thing that cannot be read, or the length of the line.
    """

    def __init__(self, text: str, position: int) -> None:
        self.text = text
        self.before = text[:position].rstrip(" \t")
        self.rest = text[position:].lstrip(" \t")
        self.at = len(text) - len(self.rest) if self.rest else len(self.before)
        self.head = self.before.lstrip(" \t")
        self.last = self.before[-1:]

    def error(self, message: str, *, start: int | None = None, length: int | None = None) -> BlockSyntaxError:
        """Return the error that points at what was found, or from `start` on for `length` characters."""
        begin = self.at if start is None else start
        whole = len(self.text.rstrip(" \t")) - begin if start is not None else min(1, len(self.rest))
        return BlockSyntaxError(message, begin, begin + (whole if length is None else length))

    def found(self) -> str:
        """Return a name for what stands where the parser stopped."""
        return repr(self.rest[0]) if self.rest else "the end of the line"

    def is_open(self, pair: str) -> bool:
        """Return whether a bracket is open where the parser stopped."""
        return next(self.unclosed(pair), None) is not None

    def opened(self, pair: str) -> int:
        """Return the offset of the outermost bracket that is still open."""
        return next(self.unclosed(pair))

    def unclosed(self, pair: str) -> Iterator[int]:
        """Return the offsets of the brackets that are open where the parser stopped, the outermost first.

        What has been read is in the language, so that a `;` in it can only be inside a comment.
        """
        stack: list[int] = []
        depth = 0
        for match in re.finditer(r"[()[\]]", self.before):
            char = match[0]
            depth += {"(": 1, ")": -1}.get(char, 0)
            if char == pair[0] and (pair == "()" or not depth):
                stack.append(match.start())
            elif char == pair[1] and (pair == "()" or not depth):
                stack.pop()
        return iter(stack)
