"""A made pair for people: what it is in a line, its programs as files, and the command that shows it."""

from pathlib import Path

from tests.pairs.pair import Pair
from tests.pairs.truth import truth


def describe(pair: Pair) -> str:
    """Return what a pair is and what is told of it, in one line."""
    known = truth(pair)
    told = pair.told
    tools = "tools told" if any(made.tools_mm for made in pair.front) else "no tools"
    thick = "thickness told" if told.thickness is not None else "no thickness"
    return (
        f"{pair.family} {pair.seed} ({pair.treatment}; told {told.words}, {tools}, {thick}, "
        f"tolerance {told.tolerance}): shown out by {known.shown_mm:.3f}, part out by {known.part_mm:.3f}, "
        f"{pair.shared} places shared, {len(set(pair.equal))} placements fit"
    )


def write(pair: Pair, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for made in (*pair.front, *pair.back):
        (folder / made.name).write_text(made.text)


def command(pair: Pair, folder: Path) -> str:
    """Return the command that checks the written pair."""
    told = pair.told
    words = ["flipreg check --front", *(str(folder / made.name) for made in pair.front)]
    words += ["--back", *(str(folder / made.name) for made in pair.back)]
    if told.axis is not None:
        words += ["--axis", told.axis]
    if told.datum is not None:
        words.append(f"--datum={told.datum[0]},{told.datum[1]}")
    words += ["--tolerance", str(told.tolerance)]
    if told.thickness is not None:
        words += ["--thickness", str(told.thickness)]
    told_tools = {
        f"T{number}={'ball:' if number in made.balls else ''}{mm:g}"
        for made in (*pair.front, *pair.back)
        for number, mm in made.tools_mm.items()
    }
    for tool in sorted(told_tools):
        words += ["--tool", tool]
    return " ".join(words)
