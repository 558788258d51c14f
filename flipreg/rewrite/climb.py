"""Closed contours run the other way round: the same motions, each from its end to its start, last one first.

A run that is turned round is a contour by itself; or a contour with the lead-in before it and the lead-out after
it, which change places, so that the tool meets the contour as smoothly as before. Where there are several contours in
one stretch, or a lead on one side only, each contour is turned round where it starts and ends, and what leads there
stays. Line numbers and comments stay on their lines.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from flipreg.contour import find_contours
from flipreg.path import Kind, Path
from flipreg.rewrite.feeds import Feeds, feed_value
from flipreg.rewrite.junction import first_word, names_motion
from flipreg.rewrite.refuse import refusal_at
from flipreg.rewrite.rows import rows_of, word_in_block
from flipreg.rewrite.runs import Chosen, Run, choose_runs
from flipreg.rewrite.spans import Span, spliced
from flipreg.rewrite.turnable import MOTION_CODES, check_turnable
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["Turned", "turn_contours"]

_SAME_MM = 1e-6
_SAID_AGAIN = b"XYZIJKRF"


@dataclass(frozen=True, slots=True)
class Turned:
    """The new text, and what of the program's motions was turned round in it."""

    text: bytes
    chosen: Chosen


def turn_contours(whole: Whole) -> Turned:
    """Return a program with its closed contours run the other way round.

    Raises
    ------
    RefusedError
        Where a contour can't be turned round without a guess, with the line.
    """
    contours = find_contours(whole.path)
    if not contours:
        return Turned(whole.blocks.text, Chosen((), (), ()))
    chosen = choose_runs(whole, contours)
    return Turned(_Turner(whole).turned(chosen.runs), chosen)


@dataclass(frozen=True, slots=True)
class _Place:
    """A point as it is written: X, Y and Z, in the program's unit."""

    x: Decimal
    y: Decimal
    z: Decimal


class _Turner:
    def __init__(self, whole: Whole) -> None:
        self._whole = whole
        blocks, modes = whole.blocks, whole.modes
        self._word = {letter: word_in_block(blocks, rows_of(blocks, modes, letter)).tolist() for letter in "XYZIJRF"}
        self._line: list[int] = whole.path.line.tolist()
        self._last_named = {letter: self._rows_that_name(letter) for letter in "XYZ"}
        self._apart = [*modes.apart.items()]
        self._feeds = Feeds(blocks)
        self._is_arc: list[bool] = whole.path.is_arc.tolist()
        self._is_cut: list[bool] = whole.path.is_cut.tolist()
        self._spans: list[Span] = []
        # A line that was written anew, and the feed in force after it; None where it is the source's again.
        self._left: tuple[int, bytes | None] | None = None

    def turned(self, runs: tuple[Run, ...]) -> bytes:
        """Return the new program."""
        for run, following in zip(runs, [*runs[1:], None], strict=True):
            self._turn(run, following)
        return spliced(self._whole.blocks.text, self._spans)

    def _rows_that_name(self, letter: str) -> list[int]:
        """Return for each motion the last one up to it whose line names a coordinate; -1 where none does."""
        named = np.array(self._word[letter])[self._whole.path.line - 1] >= 0
        rows: list[int] = np.maximum.accumulate(np.where(named, np.arange(len(named)), -1)).tolist()
        return rows

    def _turn(self, run: Run, following: Run | None) -> None:
        check_turnable(self._whole, run)
        places = [self._place(run.first - 1, run.first)]
        places += [self._place(row, run.first) for row in range(run.first, run.last + 1)]
        self._slots(run, places)
        if (places[0].x, places[0].y) != (places[-1].x, places[-1].y):
            self._approach(run, places[-1])
            self._check_way_out(run, (places[0], places[-1]))
        self._carry_on(run, following)

    def _place(self, row: int, first: int) -> _Place:
        """Return where a motion ends, as it is written."""
        return _Place(*(self._coordinate(row, letter, first) for letter in "XYZ"))

    def _coordinate(self, row: int, letter: str, first: int) -> Decimal:
        whole = self._whole
        at = self._last_named[letter][row] if row >= 0 else -1
        if at >= 0:
            word = self._word[letter][self._line[at] - 1]
            if self._is_plain(at, row, word):
                return self._number(word)
        message = f"{letter} of this contour's start is not a plain number in G90, so that it can't be written again"
        raise refusal_at(whole, self._line[first], message)

    def _is_plain(self, at: int, row: int, word: int) -> bool:
        """Return whether the number that a row wrote is the number another row would write for the same place."""
        modes = self._whole.modes
        block, other = self._line[at] - 1, self._line[row] - 1
        literal = self._whole.blocks.decimals[word] != EXPRESSION and self._whole.path.cycle[at] == 0
        same_unit = modes.inch[block] == modes.inch[other]
        # Where no axis offset is ever set one row stands for all blocks.
        same_zero = len(modes.origin_mm) == 1 or (modes.origin_mm[block] == modes.origin_mm[other]).all()
        return bool(literal and same_unit and same_zero and not modes.incremental[block])

    def _slots(self, run: Run, places: list[_Place]) -> None:
        """Write the motions, last one first, into the lines."""
        slowest = self._slowest_descent(run)
        for slot, line in enumerate(self._line[run.first : run.last + 1]):
            row = run.last - slot
            here, there = places[row - run.first + 1], places[row - run.first]
            words = [self._code(row)]
            # A motion that goes nowhere is legal only with an axis word.
            if self._is_arc[row] or (here.x, here.y) != (there.x, there.y) or here.z == there.z:
                words.append(b"X%s Y%s" % (_spelled(there.x), _spelled(there.y)))
            if here.z != there.z:
                words.append(b"Z" + _spelled(there.z))
            if self._is_arc[row]:
                words.append(self._centre(row, here, there))
            feed = self._feeds.on(self._line[row])
            if there.z < here.z and slowest is not None and feed_value(feed) > feed_value(slowest):
                feed = slowest
            running = self._running(line)
            if feed is not None and feed != running:
                words.append(feed)
                running = feed
            self._left = line, running
            self._in_place(line, b" ".join(words))

    def _slowest_descent(self, run: Run) -> bytes | None:
        """Return the slowest feed that goes down in a run: what went up fast must not come down as fast."""
        path = self._whole.path
        rows = [row for row in range(run.first, run.last + 1) if path.end[row, 2] < path.start[row, 2]]
        feeds = [feed for row in rows if (feed := self._feeds.on(self._line[row])) is not None]
        return min(feeds, key=feed_value) if feeds else None

    def _code(self, row: int) -> bytes:
        path = self._whole.path
        if path.kind[row] == Kind.LINE:
            return b"G1"
        return b"G2" if path.sweep_deg[row] > 0 else b"G3"

    def _centre(self, row: int, here: _Place, there: _Place) -> bytes:
        """Return the words of an arc from `here` to `there`, which the source runs from `there` to `here`."""
        blocks, block = self._whole.blocks, self._line[row] - 1
        radius = self._word["R"][block]
        if radius >= 0:
            return blocks.text[int(blocks.start[radius]) : int(blocks.end[radius])]
        values = [self._number(self._word[letter][block]) for letter in "IJ"]
        if not self._whole.modes.absolute_centres[block]:
            values = [values[0] + there.x - here.x, values[1] + there.y - here.y]
        return b"I%s J%s" % (_spelled(values[0]), _spelled(values[1]))

    def _number(self, word: int) -> Decimal:
        blocks = self._whole.blocks
        return Decimal(0) if word < 0 else Decimal(int(blocks.mantissa[word])).scaleb(-int(blocks.decimals[word]))

    def _in_place(self, line: int, text: bytes) -> None:
        """Put words where a line's motion stands; its line number and comments stay."""
        blocks, values = self._whole.blocks, self._whole.modes.values
        low, high = np.searchsorted(blocks.block, [line - 1, line]).tolist()
        rows = [
            row
            for row in range(low, high)
            if blocks.letter[row] in _SAID_AGAIN
            or (blocks.letter[row] == ord("G") and round(float(values[row]), 1) in MOTION_CODES)
        ]
        start, end = int(blocks.start[rows[0]]), int(blocks.end[rows[0]])
        self._spans.append((start, end, text))
        for row in rows[1:]:
            start, end = int(blocks.start[row]), int(blocks.end[row])
            while blocks.text[start - 1 : start] in (b" ", b"\t"):
                start -= 1
            self._spans.append((start, end, b""))

    def _approach(self, run: Run, start: _Place) -> None:
        """Let the way to a run lead to its new start."""
        whole, path = self._whole, self._whole.path
        row = run.first - 1
        while row > 0 and _goes_straight(path, row) and not self._names_place(row):
            row -= 1
        named = all(self._word[letter][self._line[row] - 1] >= 0 for letter in "XY")
        is_renamed = self._sets_axis_offset(row, run.first)
        if path.kind[row] != Kind.RAPID or path.cycle[row] or not named or is_renamed:
            message = (
                "the way to this contour's lead-in has to lead to its lead-out now; name X and Y of it in one traverse "
                "before the plunge"
            )
            raise refusal_at(whole, self._line[run.first], message)
        for each in range(row, run.first):
            for letter, value in (("X", start.x), ("Y", start.y)):
                word = self._word[letter][self._line[each] - 1]
                if word >= 0:
                    blocks = whole.blocks
                    if whole.modes.incremental[self._line[each] - 1] or blocks.decimals[word] == EXPRESSION:
                        raise blocks.refusal("the way to a contour has to be named in plain numbers in G90", row=word)
                    self._spans.append((int(blocks.number[word]), int(blocks.end[word]), _spelled(value)))

    def _names_place(self, row: int) -> bool:
        return any(self._word[letter][self._line[row] - 1] >= 0 for letter in "XY") and not self._is_cut[row]

    def _sets_axis_offset(self, first: int, last: int) -> bool:
        """Return whether the place between two rows gets another number (G92), which counts from where it is."""
        lines = range(self._line[first], self._line[last])
        return any(block + 1 in lines and apart.code == G.AXIS_OFFSET for block, apart in self._apart)

    def _check_way_out(self, run: Run, ends: tuple[_Place, _Place]) -> None:
        """Refuse a way on from a run that does not say where it goes, and would go there from another place."""
        path, modes = self._whole.path, self._whole.modes
        one, other = ends
        differ = ["X"] * (one.x != other.x) + ["Y"] * (one.y != other.y)
        for row in range(run.last + 1, len(path)):
            named = [letter for letter in "XY" if self._word[letter][self._line[row] - 1] >= 0]
            if not named and not self._is_cut[row]:
                continue
            missing = [letter for letter in differ if letter not in named]
            block = self._line[row] - 1
            leans = modes.incremental[block] and block not in modes.apart
            if missing or path.cycle[row] or self._is_cut[row] or leans or self._sets_axis_offset(run.last, row):
                what = missing[0] if missing else "its own start"
                message = f"the way on from the contour before does not name {what}; name X and Y in one traverse"
                raise refusal_at(self._whole, self._line[row], message)
            return

    def _carry_on(self, run: Run, following: Run | None) -> None:
        """Name motion code and feed in what follows a run, where it leaned on the run's last line."""
        whole, path = self._whole, self._whole.path
        stop = len(path) if following is None else following.first
        if run.last + 1 < stop:
            block = self._line[run.last + 1] - 1
            # The last line holds the run's first motion now.
            left = self._code(run.first) != b"G%d" % (int(whole.modes.motion[block]) // 10)
            if left and not names_motion(whole, block):
                self._insert(block, b"G%d " % (int(whole.modes.motion[block]) // 10))
        for row in range(run.last + 1, stop):
            if self._is_cut[row]:
                line = self._line[row]
                expected = self._feeds.on(line)
                if self._running(line + 1) != expected:
                    if expected is None:
                        raise refusal_at(whole, line, "this line would take a contour's feed: none is named before")
                    self._insert(line - 1, expected + b" ")
                self._left = None
                return

    def _insert(self, block: int, text: bytes) -> None:
        at = first_word(self._whole.blocks, block)
        self._spans.append((at, at, text))

    def _running(self, line: int) -> bytes | None:
        """Return the feed in force before a line of the new program."""
        if self._left is None:
            return self._feeds.on(line - 1)
        left_line, feed = self._left
        return self._feeds.named_between(left_line + 1, line - 1) or feed


def _spelled(value: Decimal) -> bytes:
    return f"{value + 0:f}".encode()


def _goes_straight(path: Path, row: int) -> bool:
    return bool((np.abs(np.nan_to_num(path.end[row, :2] - path.start[row, :2])) <= _SAME_MM).all())
