"""What somebody says of the language of a program: how strictly it is held to the report, which codes move nothing."""

import re
from collections.abc import Iterable
from typing import NamedTuple

from flipreg.errors import UsageError
from flipreg.rs274.code_groups import is_known_code

__all__ = ["USUAL", "Dialect", "moves_something", "passive_codes"]

_CODE = re.compile(r"([GM])[ \t]*0*([0-9]{1,4})(?:\.([0-9]))?", re.IGNORECASE)

_MOVES = {
    "G": frozenset(
        {*range(5, 9), 12, 13, 16, 22, 24, 27, 29, *range(31, 39), *range(44, 49), 51, 52, 60, 63, 65, 66, 68}
        | {*range(70, 80), 95, 96}
    ),
    "M": frozenset({96, 97}),
}
"""Codes that move something or change what numbers mean on usual machines,
never passive. Common practice, no source.
"""

_DO_NOT_MOVE = frozenset({4, 61, 64})
"""Dwell and path control: of the report's codes the only ones whose variants with a decimal move nothing and change no
number, as G38.3 or G54.1 would. Common practice, no source."""


class Dialect(NamedTuple):
    """What somebody says of a program's language; `Dialect()` reads what people have wherever it means one thing.

    Attributes
    ----------
    strict : bool
        Whether every habit outside NISTIR 6556 is an error.
    passive : frozenset of str
        Codes of the machine's own that move nothing and change no number's meaning, such as M25.
    """

    strict: bool = False
    passive: frozenset[str] = frozenset()

    def codes(self, letter: str) -> frozenset[int]:
        """Return the passive codes with a letter, ten times their number for G."""
        scale = 10 if letter == "G" else 1
        return frozenset(round(float(code[1:]) * scale) for code in self.passive if code[0] == letter)


USUAL = Dialect()


def passive_codes(texts: Iterable[str]) -> frozenset[str]:
    """Return the codes that texts name, as they are usually written.

    Raises
    ------
    UsageError
        At a text that is no code, or a code that is no machine's own.

    Examples
    --------
    >>> sorted(passive_codes(["m025", "G187"]))
    ['G187', 'M25']
    """
    return frozenset(map(_passive, texts))


def moves_something(name: str) -> bool:
    """Return whether a code such as `G68` moves something or changes what numbers mean on usual machines."""
    whole, _, decimal = name[1:].partition(".")
    is_variant = bool(decimal) and int(whole) not in _DO_NOT_MOVE and is_known_code(f"{name[0]}{whole}")
    return is_variant or int(whole) in _MOVES[name[0]]


def _passive(text: str) -> str:
    match = _CODE.fullmatch(text.strip())
    if match is None or (match[1].upper() == "M" and match[3]):
        raise UsageError(f"{text!r} is not a code; expected one of the machine's own such as M25 or G187")
    letter, number = match[1].upper(), int(match[2])
    name = f"{letter}{number}" + (f".{match[3]}" if match[3] and match[3] != "0" else "")
    if is_known_code(name):
        raise UsageError(f"{name} is a code of RS-274/NGC and cannot be passive: what it does is known")
    if moves_something(name):
        raise UsageError(
            f"{name} moves the tool or changes what numbers mean on usual machines, so that it cannot be passive; "
            "write the program without it"
        )
    return name
