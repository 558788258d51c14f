"""Lines that do no more than cut and move: others can be neither run again nor left out."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.floor.passes import Pass
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.code_groups import G_GROUPS, Group
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole

__all__ = ["begun_after_events", "check_movable", "does_more"]

_STAY_LETTERS = b"MSTHLPQ"
_COMPARED_CODES = tuple(
    code
    for group, codes in G_GROUPS.items()
    if group not in (Group.NON_MODAL, Group.PATH_CONTROL)
    for code in codes
    if code != G.PROBE
)
"""Codes that move, or whose modes are compared where a pass is reached from another line than it was."""


def check_movable(whole: Whole, first: int, last: int, what: str) -> None:
    """Refuse lines that do more than cut.

    Parameters
    ----------
    whole : Whole
        The program.
    first, last : int
        Lines, from 1.
    what : str
        What is to be done with them, for the message.
    """
    blocks, modes = whole.blocks, whole.modes
    low, high = np.searchsorted(blocks.block, [first - 1, last]).tolist()
    stays = low + np.flatnonzero(_stays(whole, slice(low, high)))
    if stays.size:
        message = f"a pass that has to be {what} holds {blocks.spelling(int(stays[0]))}"
        raise blocks.refusal(f"{message}; put that outside of the passes", row=int(stays[0]))
    if any(first - 1 <= setting.block < last for setting in blocks.settings):
        raise refusal_at(whole, first, f"a pass that has to be {what} sets a parameter")
    if any(first - 1 <= block < last for block in modes.apart):
        raise refusal_at(whole, first, f"a pass that has to be {what} moves in machine coordinates")
    if modes.incremental[first - 1 : last].any():
        raise refusal_at(whole, first, f"a pass that has to be {what} is in increments (G91)")
    if (blocks.flags[first - 1 : last] != 0).any():
        raise refusal_at(whole, first, f"a pass that has to be {what} holds a line that may be skipped")


def begun_after_events(whole: Whole, each: Pass, top_mm: float) -> Pass:
    """Return a pass without what is done on the way to it: a tool change, coolant, a machine position.

    The lines up to the last of these run once, as they did, where nothing is fed in them and they stay out of the wood.
    """
    path = whole.path
    rows = range(each.first, each.cut + 1)
    fed = next(row for row in rows if path.is_cut[row])
    first, stop = int(path.line[each.first]), int(path.line[fed])
    events = np.flatnonzero(does_more(whole)[first - 1 : stop - 1])
    if not events.size:
        return each
    begin = int(np.searchsorted(path.line, first + int(events[-1]), "right"))
    is_low = (path.end[each.first : begin, 2] < top_mm).any()
    return each if is_low else replace(each, first=begin)


def _stays(whole: Whole, rows: slice) -> NDArray[np.bool_]:
    """Return which words do more than cut and move, machine positions left out."""
    letter, codes = whole.blocks.letter[rows], np.rint(whole.modes.values[rows] * 10)
    apart = np.isin(whole.blocks.block[rows], list(whole.modes.apart))
    other_code = (letter == ord("G")) & ~np.isin(codes, _COMPARED_CODES) & ~apart
    return np.asarray(np.isin(letter, list(_STAY_LETTERS)) | other_code)


def does_more(whole: Whole) -> NDArray[np.bool_]:
    """Return which blocks `check_movable` refuses."""
    blocks, modes = whole.blocks, whole.modes
    more: NDArray[np.bool_] = (blocks.flags != 0) | modes.incremental
    more[blocks.block[_stays(whole, slice(None))]] = True
    more[[setting.block for setting in blocks.settings]] = True
    more[list(modes.apart)] = True
    return more
