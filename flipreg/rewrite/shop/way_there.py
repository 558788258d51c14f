"""The way to where a tool stood when the tool before it was done: up, across, down; and the way up after it."""

from decimal import Decimal

import numpy as np

from flipreg.rewrite.shop.ending import EndFinder
from flipreg.rewrite.shop.in_force import InForce
from flipreg.rewrite.shop.standing_alone import spelled_z
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rewrite.text.stand import ByMachine, Stand, stand_at
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.part import part_of
from flipreg.units import INCH

__all__ = ["WayThere", "goes_home"]

_HOMES = (280, 300)
_WORK = tuple(range(540, 600))
_RESETS = (921, 922)
_OFFSETS = (100, 430, 490, *_RESETS, *_WORK)
_ALL = frozenset({0, 1, 2})
_SAME = 1e-6


class WayThere:
    """Finds the ways that a part needs and its own lines do not have.

    Parameters
    ----------
    whole : Whole
        The program.
    in_force : InForce
        What is in force in it.
    safe_z_mm : Decimal
        The height the parts end at.
    shared : int
        The lines that every part begins with.
    """

    def __init__(self, whole: Whole, in_force: InForce, safe_z_mm: Decimal, shared: int) -> None:
        self._whole, self._in_force, self._safe, self._shared = whole, in_force, safe_z_mm, shared

    def ways(self, state: State, first: int, change: int, stop: int) -> tuple[list[str], list[str]]:
        """Return the traverses before the tool is changed, and the ones after it.

        What moves by numbers is said with the new tool in: nobody knows what is in before.

        Parameters
        ----------
        state : State
            The state before the part.
        first, change, stop : int
            Its first block, the block that changes the tool, and the block after its last.

        Raises
        ------
        RefusedError
            If it can't be said where the tool stood, and the part relies on it.
        """
        stand = stand_at(self._whole, state, first)
        height = stand[2]
        if not isinstance(height, ByMachine) and self._is_clear(change, stop, _ALL):
            return [], []
        unknown = frozenset(axis for axis in (0, 1) if stand[axis] is None)
        if unknown and self._moved(first) and not self._is_clear(change, stop, unknown):
            raise refusal_in(self._whole.blocks, change, _NOT_SAID.format(self._safe.normalize()))
        if isinstance(height, ByMachine):
            before = [] if self._is_shared(2, height) else self._machine_lines({2: height}, change, inch=state.inch)
            return before, self._across(stand, change, inch=state.inch)
        return [], self._position(stand, (first, change, stop), inch=state.inch)

    def rise(self, first: int, stop: int) -> tuple[list[str], int]:
        """Return the way up after the last motion of a part, and the block before which it goes."""
        finder = EndFinder(float("-inf"))
        blocks = part_of(self._whole.blocks, 0, stop)
        modes, path, after = interpret_blocks(blocks, self._whole.before)
        finder.add(blocks, modes, path)
        end = finder.found
        if end.line <= first or end.is_up_by_machine:
            return [], stop
        if end.refusal is not None:
            raise end.refusal
        if end.end_mm[2] >= float(self._safe) - _SAME:
            return [], stop
        if end.rise_refusal is not None:
            raise end.rise_refusal
        unit = ("G20 " if end.inch else "G21 ") if after.units_stated else ""
        lines = [f"{unit}G90 G0 Z{spelled_z(self._safe, inch=end.inch)}", *(["G91"] if end.incremental else [])]
        return lines, end.line

    def _is_clear(self, change: int, stop: int, unknown: frozenset[int]) -> bool:
        """Return whether a part comes to its place by itself, wherever it begins along some axes.

        Then its own first motions are traverses: straight to the safe height or by the machine, and across, until all
        these axes are named.
        """
        whole = self._whole
        path, modes = whole.path, whole.modes
        left = set(unknown)
        for row in range(int(np.searchsorted(path.line, change + 2)), int(np.searchsorted(path.line, stop + 1))):
            block = int(path.line[row]) - 1
            apart = modes.apart.get(block)
            named = self._named(block)
            if path.is_cut[row]:
                return False
            if apart is not None:
                if not (named == {2} and (modes.incremental[block] or not goes_home(whole, block))):
                    return False
            elif modes.incremental[block]:
                return False
            elif named == {2}:
                if not path.end[row, 2] >= float(self._safe) - _SAME:
                    return False
            elif 2 in named or 2 in left:
                return False
            if apart is None or not goes_home(whole, block):
                left -= named
            if not left:
                return True
        return True

    def _named(self, block: int) -> set[int]:
        blocks = self._whole.blocks
        low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
        return {"XYZ".index(chr(letter)) for letter in blocks.letter[low:high] if chr(letter) in "XYZ"}

    def _position(self, stand: Stand, blocks: tuple[int, int, int], *, inch: bool) -> list[str]:
        """Return traverses by numbers to where the tool stood: up, across, and down to its height."""
        first, change, stop = blocks
        z = stand[2]
        across = self._across(stand, change, inch=inch)
        if not isinstance(z, float):
            if across or self._moved(first):
                message = (
                    "how high the tool stands is not known at this tool change; raise it by the machine (G53 G0 Z0) "
                    "before it, or name a Z in the work offset in force"
                )
                raise refusal_in(self._whole.blocks, change, message)
            return []
        self._refuse_other_numbers(first, change, stop)
        safe = float(self._safe)
        height = _spelled(Decimal(repr(z)), inch=inch)
        lines = [f"G0 Z{spelled_z(self._safe, inch=inch) if z < safe else height}", *across]
        return [*lines, f"G0 Z{height}"] if z < safe else lines

    def _across(self, stand: Stand, change: int, *, inch: bool) -> list[str]:
        """Return traverses to where the tool stood in X and Y, at the height it has."""
        places = {axis: place for axis, place in enumerate(stand[:2]) if isinstance(place, ByMachine)}
        moved = {axis: place for axis, place in places.items() if not self._is_shared(axis, place)}
        lines = self._machine_lines(moved, change, inch=inch)
        words = [
            f"{letter}{_spelled(Decimal(repr(value)), inch=inch)}"
            for letter, value in zip("XY", stand[:2], strict=True)
            if isinstance(value, float)
        ]
        return [*lines, "G0 " + " ".join(words)] if words else lines

    def _machine_lines(self, places: dict[int, ByMachine], change: int, *, inch: bool) -> list[str]:
        """Return traverses to positions of the machine, under G90."""
        words: dict[int, list[str]] = {}
        for axis, place in places.items():
            if place.code in _HOMES:
                words.setdefault(place.code, []).append(f"{'XYZ'[axis]}0")
                continue
            if place.number_mm is None:
                message = "the tool is changed at a position of the machine (G53) that is no plain number; write one"
                raise refusal_in(self._whole.blocks, change, message)
            words.setdefault(place.code, []).append(f"{'XYZ'[axis]}{_spelled(place.number_mm, inch=inch)}")
        lines = []
        for code, each in words.items():
            named = " ".join(each)
            lines += [f"G91 G{code // 10} {named}", "G90"] if code in _HOMES else [f"G53 G0 {named}"]
        return lines

    def _is_shared(self, axis: int, place: ByMachine) -> bool:
        """Return whether the lines that every part begins with lead to a position of the machine already."""
        return stand_at(self._whole, self._in_force.state(self._shared), self._shared)[axis] == place

    def _moved(self, block: int) -> bool:
        return bool((self._whole.path.line <= block).any())

    def _refuse_other_numbers(self, first: int, change: int, stop: int) -> None:
        """Refuse a height by numbers that mean another height where the new tool cuts."""
        whole = self._whole
        blocks, path = whole.blocks, whole.path
        cuts = path.line[path.is_cut & (path.line > change + 1) & (path.line <= stop)]
        last = int(cuts[0]) - 1 if cuts.size else stop - 1
        rows = blocks.rows("G")
        codes = np.rint(whole.modes.values[rows] * 10)
        # A work offset that is in force already may be named again, and an axis offset that was reset reset again.
        stays = np.isin(codes, _WORK) & (np.diff(whole.modes.work_offset, prepend=1)[blocks.block[rows]] == 0)
        resets = np.isin(codes, _RESETS)
        stays |= resets & (np.cumsum(resets) > 1)
        rows = rows[np.isin(codes, _OFFSETS) & ~stays & (blocks.block[rows] >= first) & (blocks.block[rows] <= last)]
        if rows.size:
            what = "reset" if np.rint(whole.modes.values[rows[0]] * 10) in _RESETS else "set"
            message = (
                f"an offset is {what} after the tool is changed at a height by numbers, so that nobody knows how high "
                "the new tool is there; raise it by the machine (G53 G0 Z0) before the tool change"
            )
            raise blocks.refusal(message, row=int(rows[0]))


def goes_home(whole: Whole, block: int) -> bool:
    """Return whether a block goes to a reference position (G28, G30)."""
    apart = whole.modes.apart.get(block)
    return apart is not None and apart.code in _HOMES


_NOT_SAID = (
    "where the tool stands in X or Y is not known at this tool change, and what comes next relies on it; name X and Y "
    "after it, at Z{0:f} or higher"
)


def _spelled(value_mm: Decimal, *, inch: bool) -> str:
    value = round(value_mm / INCH if inch else value_mm, 9)
    return f"{value.normalize() + 0:f}"
