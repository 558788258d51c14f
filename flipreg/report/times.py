"""How long things take: lines of the text reports."""

from itertools import compress

from flipreg.job_check.times import SetupTime
from flipreg.names import bare_name
from flipreg.program.duration import Duration, together
from flipreg.report.paragraph import WIDTH, entry, paragraph, table

__all__ = ["clock_text", "times_lines"]


def times_lines(times: tuple[SetupTime, ...], width: int = WIDTH) -> list[str]:
    """Return the table of a job's report, a row for every program, every setup and the whole."""
    if not times:
        text = "not determined: the job file's machine table needs rapid and acceleration"
        return ["", *entry("Time", text, width=width)]
    whole = together(setup.duration for setup in times)
    # Columns of nothing but zeros would only make the table wide.
    shows = (True, True, True, True, whole.dwell_s > 0.0, whole.unknown > 0)
    rows = [("setup", "program", *compress(("least", "estimate", "most", "rapids", "dwells", "unknown"), shows))]
    for setup in times:
        for program in setup.programs:
            rows.append((setup.setup, bare_name(program.program), *compress(_cells(program.duration), shows)))
        rows.append((setup.setup, "together", *compress(_cells(setup.duration), shows)))
    rows.append(("all setups", "together", *compress(_cells(whole), shows)))
    lines = ["", "Time of each program, hours:min:s", *table(rows, right="ll" + "r" * sum(shows))]
    lines += paragraph(
        "Tool changes, the spindle's run-up, dwells of canned cycles and the way to each program's first point are "
        "not counted.",
        mark="  ",
        width=width,
    )
    if whole.unknown:
        lines += paragraph(
            f"Not determined where motions are unknown, {whole.unknown} in all: they have no feed, or start or end "
            "where the program does not say, and are left out.",
            mark="  ",
            width=width,
        )
    return lines


def clock_text(seconds: float) -> str:
    """Return seconds as hours:min:s.

    Examples
    --------
    >>> clock_text(3723.6)
    '1:02:04'
    """
    whole = round(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _cells(duration: Duration) -> tuple[str, ...]:
    seconds = (duration.least_s, duration.estimate_s, duration.most_s, duration.rapid_s, duration.dwell_s)
    return *map(clock_text, seconds), str(duration.unknown)
