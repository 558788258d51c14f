"""Several programs with one tool and one zero as one program, proved."""

from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from flipreg.errors import UsageError
from flipreg.produce import Produced, headed
from flipreg.prove.part import ENDS, compare_part
from flipreg.prove.read import ProofError, Read
from flipreg.rewrite.join import Joined, check_agreement, closing_lines, joined_chunks, survey_all
from flipreg.rs274.block import Blocks
from flipreg.rs274.interpret import interpret_blocks
from flipreg.rs274.location import ProgramError
from flipreg.rs274.program import Readable
from flipreg.rs274.scan import Scanner
from flipreg.rs274.state import State

__all__ = ["join"]


def join(programs: Sequence[Readable], *, safe_z_mm: Decimal | None = None) -> Produced:
    r"""Make one program of several that share tool, unit and zero.

    Parameters
    ----------
    programs : sequence of Program or ProgramFile
        The programs in the order they are to run; each is read twice, none is held whole.
    safe_z_mm : Decimal, optional
        The height the tool is raised to between two programs, in millimetres; by default the highest place that
        any of them goes to.

    Returns
    -------
    Produced
        One program with one end. Between two programs the tool is raised, the spindle stopped, and the modes are
        named that the next program would start in by itself.

    Raises
    ------
    ProgramError
        If a program is not legal.
    RefusedError
        If the programs do not agree, or one relies on what the one before leaves behind.
    ProofError
        If the result does not do what they do one after the other; never written.
    UsageError
        If there is no program, or the height is not over 0.

    Examples
    --------
    >>> from flipreg.rs274.program import parse
    >>> one = parse("G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nG0 Z5\nM2\n", source="one.nc")
    >>> other = parse("G21\nG0 X9 Y0 Z5\nG1 Z-1 F300\nG0 Z5\nM2\n", source="other.nc")
    >>> join([one, other]).text.splitlines()[9:12]
    [b'(joined: other.nc follows)', b'M5', b'G17 G21 G90 G94 G40 G80 G54 G98']
    """
    if not programs:
        raise UsageError("no program to join; name at least two")
    surveys = survey_all(programs)
    check_agreement(surveys)
    highest = max(survey.highest_mm for survey in surveys)
    safe = Decimal(repr(round(highest, 6))) if safe_z_mm is None else safe_z_mm
    if not safe > 0:
        raise UsageError(f"a safe height is a Z over 0 mm, got {safe}; say which with --safe-z")
    proving = _Proving(float(safe))
    texts: list[bytes] = []
    head: Blocks | None = None
    for joined in joined_chunks(programs, surveys, safe):
        texts.append(joined.text)
        proving.add(joined)
        head = head or joined.blocks
    closing = closing_lines(surveys)
    if closing:
        end = surveys[0].line_end
        texts[-1] += b"" if texts[-1].endswith((b"\n", b"\r")) else end
        texts.append(b"".join(line + end for line in closing))
    deviation = proving.finish(texts, sources=len(programs))
    assert head is not None
    names = ", ".join(program.source.replace("\\", "/").rsplit("/", 1)[-1] for program in programs)
    notes = (f"raised to Z{safe.normalize():f} between programs",)
    produced = Produced((), _short(names), deviation, proving.motions, notes)
    return headed(head, texts, produced, (f"joined from {len(programs)} programs", *notes))


def _short(names: str) -> str:
    return names if len(names) <= 60 else f"{names[:57]}..."


class _Proving:
    """Reads the joined program like any other, and each program by itself, and compares them."""

    def __init__(self, safe_mm: float) -> None:
        self._safe_mm = safe_mm
        self._scanner = Scanner("<joined>")
        self._state, self._alone = State(), State()
        self._program = 0
        self._largest_mm = 0.0
        self.motions = 0

    def add(self, joined: Joined) -> None:
        """Prove the next chunk; raises ProofError if it does not do what its source does."""
        if joined.program != self._program:
            self._program, self._alone = joined.program, State()
        begins = self._alone == State()
        modes, path, self._alone = interpret_blocks(joined.blocks, self._alone)
        source = Read(joined.blocks, modes, path)
        self.motions += len(path)
        name = joined.blocks.source
        if not joined.text:
            if len(path) or (joined.blocks.letter != ord("O")).any() or len(joined.blocks.comment_start):
                raise ProofError(f"{name}: lines would be lost; nothing was written")
            return
        try:
            parts = list(self._scanner.scan(joined.text))
            if len(parts) != 1:
                raise ProofError(f"{name}: the joined program would end early; nothing was written")
            modes, path, self._state = interpret_blocks(parts[0], self._state)
        except ProgramError as error:
            raise ProofError(f"the joined program would not be legal, nothing was written:\n{error}") from None
        output = Read(parts[0], modes, path)
        if begins and joined.program:
            self._check_height(name, output, joined.added)
        off = compare_part(source, output, joined.added, moved_start=begins)
        self._largest_mm = max(self._largest_mm, off)

    def _check_height(self, name: str, output: Read, added: Sequence[int]) -> None:
        """Check that the tool is up before the next program moves."""
        path = output.path
        own = np.flatnonzero(~np.isin(path.line - output.blocks.first_line, np.array(added, np.int64)))
        if own.size and not path.start[own[0], 2] >= self._safe_mm - 1e-3:
            raise ProofError(f"{name}: the tool would not be up before this program; nothing was written")
        up = path.take(slice(0, int(own[0]) if own.size else len(path)))
        if (up.end[:, 2] < up.start[:, 2]).any() or not np.array_equal(up.start[:, :2], up.end[:, :2], equal_nan=True):
            raise ProofError(f"{name}: the way up before this program would not lead straight up; nothing was written")

    def finish(self, texts: list[bytes], *, sources: int) -> float:
        """Return the largest deviation; raises ProofError unless the program has one end and is whole."""
        if self._program != sources - 1:
            raise ProofError("a program would be lost; nothing was written")
        scanner, state, ends = Scanner("<joined>"), State(), 0
        try:
            for text in filter(None, texts):
                for blocks in scanner.scan(text):
                    modes, _, state = interpret_blocks(blocks, state)
                    codes = np.rint(np.nan_to_num(modes.values))[blocks.letter == ord("M")]
                    ends += int(np.isin(codes, ENDS).sum())
            scanner.check_end()
        except ProgramError as error:
            raise ProofError(f"the joined program would not be whole, nothing was written:\n{error}") from None
        if ends > 1:
            raise ProofError(f"the joined program would have {ends} ends; nothing was written")
        return self._largest_mm
