"""Which motions are run the other way round: contours by themselves, or with the leads that change places."""

from dataclasses import dataclass

import numpy as np

from flipreg.contours.contour import Contour, are_laps
from flipreg.path import Path
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.interpret.whole import Whole

__all__ = ["Chosen", "Run", "choose_runs"]

_SAME_MM = 1e-6

Rows = tuple[int, int]
"""The first and the last of consecutive rows."""


@dataclass(frozen=True, slots=True)
class Run:
    """Rows of a program's motions that are run the other way round, both included; and the contours in them.

    There are several only where they are laps of one contour.
    """

    first: int
    last: int
    contours: int


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is turned round, and what leads to it and stays.

    Attributes
    ----------
    runs : tuple of Run
        In the order they are cut.
    ramps : tuple of int
        The first row of each ramp that leads to one.
    leads : tuple of Rows
        Leads at the level of a contour that stay, because several contours share them or the other side has none.
    """

    runs: tuple[Run, ...]
    ramps: tuple[int, ...]
    leads: tuple[Rows, ...]


def choose_runs(whole: Whole, contours: list[Contour]) -> Chosen:
    """Return what is turned round of the contours of a program.

    Raises
    ------
    RefusedError
        At a ramp that leads to a lead-in which would have to change places.
    """
    runs: list[Run] = []
    ramps: list[int] = []
    leads: list[Rows] = []
    around = _Around(whole.path)
    for stretch in _stretches(whole.path, contours):
        first, last = stretch[0].first, stretch[-1].last
        begin, stop = around.level(first, last)
        ramp = begin - 1 if begin and around.is_ramp(begin - 1) else -1
        ramps += [ramp] if ramp >= 0 else []
        if begin < first and stop > last and are_laps(whole.path, stretch):
            _refuse_ramp(whole, ramp, (begin, stop))
            runs.append(Run(begin, stop, len(stretch)))
            continue
        runs += [Run(each.first, each.last, 1) for each in stretch]
        leads += [rows for rows in ((begin, first - 1), (last + 1, stop)) if rows[0] <= rows[1]]
    return Chosen(tuple(runs), tuple(ramps), tuple(leads))


def _stretches(path: Path, contours: list[Contour]) -> list[list[Contour]]:
    """Return contours by the stretch of cutting that they are in."""
    rapid = np.concatenate(([0], np.cumsum(~path.is_cut)))
    groups: list[list[Contour]] = []
    for each in contours:
        if groups and rapid[groups[-1][-1].last] == rapid[each.first]:
            groups[-1].append(each)
        else:
            groups.append([each])
    return groups


def _refuse_ramp(whole: Whole, ramp: int, rows: Rows) -> None:
    """Refuse a ramp before leads that change places and do not meet."""
    begin, stop = rows
    apart = (np.abs(whole.path.start[begin] - whole.path.end[stop]) > _SAME_MM).any()
    if ramp >= 0 and apart:
        message = (
            "a ramp leads to the lead-in of this contour, which would have to change places with the lead-out; "
            "plunge straight down before the lead-in, or flip it as it is"
        )
        raise refusal_at(whole, int(whole.path.line[ramp]), message)


class _Around:
    """What is cut around contours, read from columns that are made once."""

    def __init__(self, path: Path) -> None:
        self._fed: list[bool] = (path.is_cut & (path.cycle == 0)).tolist()
        across = (np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME_MM).any(axis=1) | path.is_arc
        self._across: list[bool] = (path.is_cut & across).tolist()
        self._from_mm: list[float] = path.start[:, 2].tolist()
        self._to_mm: list[float] = path.end[:, 2].tolist()

    def level(self, first: int, last: int) -> Rows:
        """Return the rows that are cut at the level that a row begins at, around that row and a later one."""
        begin, stop, level = first, last, self._from_mm[first]
        while begin and self._is_at(begin - 1, level):
            begin -= 1
        while stop + 1 < len(self._fed) and self._is_at(stop + 1, level):
            stop += 1
        return begin, stop

    def is_ramp(self, row: int) -> bool:
        """Return whether a row is fed across and changes its height."""
        return self._across[row] and abs(self._to_mm[row] - self._from_mm[row]) > _SAME_MM

    def _is_at(self, row: int, level_mm: float) -> bool:
        heights = self._from_mm[row], self._to_mm[row]
        return self._fed[row] and all(abs(height - level_mm) <= _SAME_MM for height in heights)
