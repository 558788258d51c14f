"""The guesses of a job file: comments `# check: ...` beside the values that nobody has confirmed yet.

They are comments and not keys, so that confirming one is taking its words away, and the value stays as it is.
"""

import re
from collections.abc import Mapping

from flipreg.job.file.lines import TOML_STRING
from flipreg.job.guess import Guess
from flipreg.job.problem import KeyPath

__all__ = ["GUESS_MARK", "guesses"]

GUESS_MARK = "# check: "
"""How the comment begins."""

_PIECE = re.compile(rf"{TOML_STRING.pattern}|#(?P<comment>[^\n]*)", re.DOTALL)
_GUESS = re.compile(r"\s*check:\s*(.*?)\s*", re.IGNORECASE)


def guesses(text: str, lines: Mapping[KeyPath, int]) -> tuple[Guess, ...]:
    """Return the guesses of a legal TOML text, in its order.

    Parameters
    ----------
    text : str
        The text.
    lines : mapping
        The line of each of its tables, keys and list elements, as `line_numbers` gives them.

    Returns
    -------
    tuple of Guess
        Each with the key that begins on its line, or on the next line that has one where it stands alone.
    """
    found = []
    for piece in _PIECE.finditer(text):
        said = None if piece["comment"] is None else _GUESS.fullmatch(piece["comment"])
        if said is not None:
            line = text.count("\n", 0, piece.start()) + 1
            found.append(Guess(_beside(line, lines), said[1], line))
    return tuple(found)


def _beside(line: int, lines: Mapping[KeyPath, int]) -> KeyPath:
    later = [at for at in lines.values() if at >= line]
    if not later:
        return ()
    nearest = min(later)
    return min((path for path, at in lines.items() if at == nearest), key=len)
