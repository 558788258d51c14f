"""Several programs with one tool and one zero as one program, proved."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from math import isfinite

from flipreg.errors import UsageError
from flipreg.names import bare_name
from flipreg.produce.header import headed
from flipreg.produce.produced import Produced
from flipreg.prove.joined import ProvingJoined
from flipreg.rewrite.shop.join import WayUp, check_agreement, closing_lines, joined_chunks, survey_all, ways_up
from flipreg.rs274.interpret.units import InchWatch
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Readable
from flipreg.units import plain

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
    >>> from flipreg.rs274.read.program import parse
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
    if not isfinite(highest):
        message = "no program names a height (Z), so that nobody knows how high the tool is between them"
        raise UsageError(f"{programs[0].source}: {message}; name a Z over the work in each of them")
    safe = Decimal(repr(round(highest, 6))) if safe_z_mm is None else safe_z_mm
    if not safe > 0:
        raise UsageError(f"a safe height is a Z over 0 mm, got {safe}; say which with --safe-z")
    proving = ProvingJoined(safe, programs)
    texts: list[bytes] = []
    head: Blocks | None = None
    inches = InchWatch(programs[0].units)
    for joined in joined_chunks(programs, surveys, safe):
        texts.append(joined.text)
        proving.add(joined.program, joined.blocks, joined.text, joined.added)
        inches.add(joined.blocks)
        head = head or joined.blocks
    closing = closing_lines(surveys)
    if closing:
        end = surveys[0].line_end
        texts[-1] += b"" if texts[-1].endswith((b"\n", b"\r")) else end
        texts.append(b"".join(line + end for line in closing))
    deviation = proving.finish(texts)
    assert head is not None
    names = ", ".join(bare_name(program.source) for program in programs)
    notes = _notes(ways_up(surveys, safe), safe)
    produced = Produced((), _short(names), deviation, proving.motions, notes)
    done = (f"joined from {len(programs)} programs", *notes)
    made = headed(head, texts, produced, done, in_inches=inches.in_inches)
    told = {f"{survey.source}: {each}": None for survey in surveys for each in survey.habits.sentences()}
    return replace(made, notes=(*made.notes, *told))


def _notes(ways: Sequence[WayUp], safe_mm: Decimal) -> tuple[str, ...]:
    """Say how the tool comes up between programs."""
    height = plain(safe_mm)
    found = {way: [number for number, each in enumerate(ways, 1) if each is way] for way in dict.fromkeys(ways)}
    notes = []
    for way, numbers in found.items():
        listed = f"program{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
        where = "between programs" if len(found) == 1 else f"after {listed}"
        notes.append(way.value.format(height=height, where=where))
    return tuple(notes)


def _short(names: str) -> str:
    return names if len(names) <= 60 else f"{names[:57]}..."
