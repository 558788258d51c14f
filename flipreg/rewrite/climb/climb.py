"""Closed contours run the other way round: the same motions, each from its end to its start, last one first.

A run that is turned round is a contour by itself; or a contour with the lead-in before it and the lead-out after
it, which change places, so that the tool meets the contour as smoothly as before. Where there are several contours in
one stretch, or a lead on one side only, each contour is turned round where it starts and ends, and what leads there
stays. Line numbers and comments stay on their lines.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from flipreg.contours.contour import find_contours
from flipreg.rewrite.climb.motion_words import MotionWords
from flipreg.rewrite.climb.runs import Chosen, Run, choose_runs
from flipreg.rewrite.climb.turnable import Turnable
from flipreg.rewrite.text.feeds import Feeds, feed_value
from flipreg.rewrite.text.junction import first_word
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rewrite.text.spans import Span, spliced
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["CarriedFeed", "Turned", "turn_contours"]

_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class CarriedFeed:
    """The F words in force after a piece of a program: in the source, and in the new program; None before the first."""

    source: bytes | None = None
    new: bytes | None = None


@dataclass(frozen=True, slots=True)
class Turned:
    """The new text of a piece, what of its motions was turned round in it, and the feed after it."""

    text: bytes
    chosen: Chosen
    feed: CarriedFeed


def turn_contours(piece: Whole, feed: CarriedFeed) -> Turned:
    """Return a piece of a program with its closed contours run the other way round.

    Parameters
    ----------
    piece : Whole
        Lines that no contour and no lead goes on from; the first of all begins with the program.
    feed : CarriedFeed
        The feed before it.

    Raises
    ------
    RefusedError
        Where a contour can't be turned round without a guess, with the line, counted from the piece's first.
    """
    chosen = choose_runs(piece, find_contours(piece.path))
    if not chosen.runs and feed.source == feed.new:
        last = Feeds(piece.blocks, feed.source).on(len(piece.blocks))
        return Turned(piece.blocks.text, chosen, CarriedFeed(last, last))
    turner = _Turner(piece, feed)
    return Turned(turner.turned(chosen.runs), chosen, turner.feed_after())


class _Turner:
    def __init__(self, whole: Whole, feed: CarriedFeed) -> None:
        self._whole = whole
        self._words = MotionWords(whole)
        self._line = self._words.line
        self._turnable = Turnable(whole)
        path = whole.path
        self._apart = [*whole.modes.apart.items()]
        self._feeds = Feeds(whole.blocks, feed.source)
        self._is_arc: list[bool] = path.is_arc.tolist()
        self._is_cut: list[bool] = path.is_cut.tolist()
        # Of each motion run the other way round.
        self._code = np.where(path.is_arc, np.where(path.sweep_deg > 0, b"G2", b"G3"), b"G1").tolist()
        step = np.nan_to_num(path.end - path.start)
        self._is_level: list[bool] = (path.start[:, 2] == path.end[:, 2]).tolist()
        self._rises: list[bool] = (path.end[:, 2] > path.start[:, 2]).tolist()
        self._falls: list[bool] = (path.end[:, 2] < path.start[:, 2]).tolist()
        moves = np.any(path.end[:, :2] != path.start[:, :2], axis=1)
        self._is_across: list[bool] = (moves | path.is_arc).tolist()
        self._is_straight: list[bool] = np.all(np.abs(step[:, :2]) <= _SAME_MM, axis=1).tolist()
        self._descents: list[int] = np.concatenate(([0], np.cumsum(self._falls))).tolist()
        self._spans: list[Span] = []
        # A line that was written anew, and the feed in force after it; None where it is the source's again.
        self._left: tuple[int, bytes | None] | None = None if feed.source == feed.new else (0, feed.new)

    def turned(self, runs: tuple[Run, ...]) -> bytes:
        """Return the new text."""
        firsts = [run.first for run in runs]
        stops = [*firsts, len(self._line)]
        self._settle_feed(0, stops[0])
        for run, stop in zip(runs, stops[1:], strict=True):
            self._turn(run)
            self._carry_on(run, stop)
        return spliced(self._whole.blocks.text, self._spans)

    def feed_after(self) -> CarriedFeed:
        """Return the feed after the last line."""
        last = len(self._whole.blocks)
        return CarriedFeed(self._feeds.on(last), self._running(last + 1))

    def _turn(self, run: Run) -> None:
        self._turnable.check(run)
        unknown = self._words.unknown_end(run.first - 1, run.last)
        if unknown:
            message = f"{unknown} of this contour's start is not a plain number in G90"
            message = f"{message}, so that it can't be written again"
            raise refusal_at(self._whole, self._line[run.first], message)
        self._slots(run)
        path = self._whole.path
        differ = [letter for axis, letter in enumerate("XY") if path.start[run.first, axis] != path.end[run.last, axis]]
        if differ:
            self._approach(run)
            self._check_way_out(run, differ)

    def _slots(self, run: Run) -> None:
        """Write the motions, last one first, into the lines."""
        words, slowest, feeds, text = self._words, self._slowest_descent(run), self._feeds, self._whole.blocks.text
        x, y = (words.ends(letter, run.first - 1, run.last) for letter in "XY")
        rows = range(run.last, run.first - 1, -1)
        lines = self._line[run.first : run.last + 1]
        feed_of = [feeds.on(line) for line in lines]
        running, before = self._running(lines[0]), lines[0]
        begin = done = words.start[lines[0] - 1]
        parts: list[bytes] = []
        for row, line, feed, to_x, to_y in zip(rows, lines, reversed(feed_of), reversed(x), reversed(y), strict=True):
            is_level = self._is_level[row]
            said = self._code[row]
            # A motion that goes nowhere is legal only with an axis word.
            if is_level or self._is_across[row]:
                said = b"%s X%s Y%s" % (said, to_x, to_y)
            if not is_level:
                said = b"%s Z%s" % (said, words.end("Z", row - 1))
            if self._is_arc[row]:
                said = b"%s %s" % (said, self._centre(row))
            if slowest is not None and self._rises[row] and feed_value(feed) > feed_value(slowest):
                feed = slowest
            if line > before + 1:
                running = feeds.named_between(before + 1, line - 1) or running
            if feed is not None and feed != running:
                said = b"%s %s" % (said, feed)
                running = feed
            before = line
            start, end = words.start[line - 1], words.end_of_one[line - 1]
            parts.append(text[done:start])
            parts.append(said)
            if end < 0:
                kept, end = words.between(line)
                parts.append(kept)
            done = end
        self._spans.append((begin, done, b"".join(parts)))
        self._left = before, running

    def _slowest_descent(self, run: Run) -> bytes | None:
        """Return the slowest feed that goes down in a run: what went up fast must not come down as fast."""
        if self._descents[run.first] == self._descents[run.last + 1]:
            return None
        rows = [row for row in range(run.first, run.last + 1) if self._falls[row]]
        feeds = [feed for row in rows if (feed := self._feeds.on(self._line[row])) is not None]
        return min(feeds, key=feed_value) if feeds else None

    def _centre(self, row: int) -> bytes:
        """Return the words of an arc from its end to its start."""
        words, block = self._words, self._line[row] - 1
        radius = words.word["R"][block]
        if radius >= 0:
            return b"R" + words.text(radius)
        values = [words.value(words.word[letter][block]) for letter in "IJ"]
        if not self._whole.modes.absolute_centres[block]:
            values = [
                value + Decimal(words.end(letter, row - 1).decode()) - Decimal(words.end(letter, row).decode())
                for letter, value in zip("XY", values, strict=True)
            ]
        return b"I%s J%s" % (_spelled(values[0]), _spelled(values[1]))

    def _approach(self, run: Run) -> None:
        """Let the way to a run lead to its new start."""
        whole, path, word = self._whole, self._whole.path, self._words.word
        row = run.first - 1
        while row > 0 and self._is_straight[row] and not self._names_place(row):
            row -= 1
        named = all(word[letter][self._line[row] - 1] >= 0 for letter in "XY")
        if self._is_cut[row] or path.cycle[row] or not named or self._sets_axis_offset(row, run.first):
            message = (
                "the way to this contour's lead-in has to lead to its lead-out now; name X and Y of it in one traverse "
                "before the plunge"
            )
            raise refusal_at(whole, self._line[run.first], message)
        blocks = whole.blocks
        for each in range(row, run.first):
            for letter in "XY":
                at = word[letter][self._line[each] - 1]
                if at >= 0:
                    if whole.modes.incremental[self._line[each] - 1] or blocks.decimals[at] == EXPRESSION:
                        raise blocks.refusal("the way to a contour has to be named in plain numbers in G90", row=at)
                    self._spans.append((int(blocks.number[at]), int(blocks.end[at]), self._words.end(letter, run.last)))

    def _names_place(self, row: int) -> bool:
        block = self._line[row] - 1
        return not self._is_cut[row] and any(self._words.word[letter][block] >= 0 for letter in "XY")

    def _sets_axis_offset(self, first: int, last: int) -> bool:
        """Return whether the place between two rows gets another number (G92), which counts from where it is."""
        lines = range(self._line[first], self._line[last])
        return any(block + 1 in lines and apart.code == G.AXIS_OFFSET for block, apart in self._apart)

    def _check_way_out(self, run: Run, differ: list[str]) -> None:
        """Refuse a way on from a run that does not say where it goes, and would go there from another place."""
        path, modes = self._whole.path, self._whole.modes
        for row in range(run.last + 1, len(self._line)):
            block = self._line[row] - 1
            named = [letter for letter in "XY" if self._words.word[letter][block] >= 0]
            if not named and not self._is_cut[row]:
                continue
            missing = [letter for letter in differ if letter not in named]
            leans = modes.incremental[block] and block not in modes.apart
            if missing or path.cycle[row] or self._is_cut[row] or leans or self._sets_axis_offset(run.last, row):
                what = missing[0] if missing else "its own start"
                message = f"the way on from the contour before does not name {what}; name X and Y in one traverse"
                raise refusal_at(self._whole, self._line[row], message)
            return

    def _carry_on(self, run: Run, stop: int) -> None:
        """Name motion code and feed in what follows a run, where it depended on the run's last line."""
        if run.last + 1 < stop:
            block = self._line[run.last + 1] - 1
            code = b"G%d" % (int(self._whole.modes.motion[block]) // 10)
            # The last line holds the run's first motion now.
            if self._code[run.first] != code and not self._words.names_motion[block]:
                self._insert(block, code + b" ")
        self._settle_feed(run.last + 1, stop)

    def _settle_feed(self, first: int, stop: int) -> None:
        """Name the source's feed in the first of some motions that is fed, if another one is in force there."""
        if self._left is None:
            return
        for row in range(first, stop):
            if self._is_cut[row]:
                line = self._line[row]
                expected = self._feeds.on(line)
                if self._running(line + 1) != expected:
                    if expected is None:
                        message = "this line would take a contour's feed: none is named before"
                        raise refusal_at(self._whole, line, message)
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
