"""The judges find faults that are planted in right outputs: else they would prove nothing."""

import re
from collections.abc import Callable, Iterator

import pytest

from tests.machine.compare import Fault
from tests.machine.judge_depth import Asked, judge_depth
from tests.machine.judge_home import judge_home
from tests.machine.judge_join import judge_join, judge_split
from tests.machine.judge_moved import flipped, judge_moved
from tests.machine.shops import places
from tests.machine.simulator import Unrunnable, run
from tests.machine.state import Trace

ON = places(5)

HOBBY = "G21 G90\nM3 S9000\nG0 X5 Y5\nZ2\nG1 Z-1 F300\nX20\nG0 Z2\nM5\nM2\n"
HOBBY_HOME = (
    "G21 G90\nM3 S9000\n+G0 Z10\n+G0 X0 Y0\nG0 X5 Y5\nZ2\nG1 Z-1 F300\nX20\nG0 Z2\n+G0 Z10\n+G0 X0 Y0\nM5\nM2\n"
)
POST = "G21 G90\nG53 G0 Z0\nT1 M6\nG54\nS9000 M3\nG0 X5 Y5\nG43 Z15 H1\nG1 Z-1 F300\nX20\nG0 Z15\nM5\nM30\n"
POST_HOME = (
    "G21 G90\nG53 G0 Z0\nT1 M6\nG54\nS9000 M3\n+G0 X0 Y0\nG0 X5 Y5\nG43 Z15 H1\nG1 Z-1 F300\nX20\nG0 Z15\n"
    "+G0 X0 Y0\nM5\nM30\n"
)
FLIPPED = "G21 G90\nM3 S9000\nG0 Z15\nX50 Y0\nX40 Y20\nG1 Z-1 F300\nX20\nG0 Z15\nX50 Y0\nM5\nM2\n"
FLIPPED_HOME = FLIPPED.replace("X50 Y0", "+X0 Y0")
POST_TWICE = (
    POST.replace("M5\nM30\n", "M5\n") + "+M9\n+G17 G21 G90 G94 G40 G80 G54 G98\n" + POST
)
FIRST = "T1 M6\nS9000 M3\nM8\nG0 Z15\nX0 Y0\nG1 Z-2 F600\nX50\nG0 Z15\n"
SECOND = "T2 M6\nM3\nG0 Z15\nX9 Y9\nG1 Z-5\nG0 Z15\nM5\nM9\nM30\n"
PARTS = (
    f"G21 G90 G17\n{FIRST}+M5\n+M9\n+M30\n",
    f"G21 G90 G17\n+G17 G21 G90 G94\n+F600\n+S9000\n+M8\n{SECOND}",
)

Judge = Callable[[str], list[Fault]]
CASES: dict[str, tuple[str, Judge]] = {
    "home, by hand": (HOBBY_HOME, lambda out: judge_home(HOBBY, out, 10, ON, "")),
    "home, of a post": (POST_HOME, lambda out: judge_home(POST, out, 10, ON, "")),
    "home, of a flipped program": (FLIPPED_HOME, lambda out: judge_home(FLIPPED, out, 10, ON, "")),
    "join": (POST_TWICE, lambda out: judge_join([POST, POST], out, ON)),
    "split, the first": (PARTS[0], lambda out: judge_split(f"G21 G90 G17\n{FIRST}{SECOND}", [out, good(PARTS[1])], ON)),
    "split, the last": (PARTS[1], lambda out: judge_split(f"G21 G90 G17\n{FIRST}{SECOND}", [good(PARTS[0]), out], ON)),
}
OTHER = {"G0": "G1", "G90": "G91", "G21": "G20", "G54": "G55", "M5": "M3", "M9": "M8", "M8": "M7", "M3": "M4"}


def good(marked: str) -> str:
    return marked.replace("+", "")


def changes(marked: str) -> Iterator[str]:
    """Yield programs with one added line changed: gone, deletable, with a word more, other or less, or moved."""
    lines = marked.splitlines()
    for at, line in enumerate(lines):
        if not line.startswith("+"):
            continue
        words = line[1:].split()
        news = [None, "/" + line[1:], line[1:] + " M8", line[1:] + " M49", line[1:] + " G55", line[1:] + " G43 H3"]
        for index, word in enumerate(words):
            letter, value = word[0], word[1:]
            rest = (*words[:index], *words[index + 1 :])
            news.append(" ".join(rest))
            others = [OTHER[word]] if word in OTHER else []
            if letter in "XYZFS":
                others += [f"{letter}{float(value) - 1:g}", f"{letter}{-float(value) - 20:g}"]
            news += [" ".join((*words[:index], other, *words[index + 1 :])) for other in others]
        for new in news:
            yield good("\n".join(lines[:at] + ([new] if new else []) + lines[at + 1 :]) + "\n")
        if at + 1 < len(lines):
            swapped = [*lines[:at], lines[at + 1], line, *lines[at + 2 :]]
            yield good("\n".join(swapped) + "\n")


def harmless(right: str, planted: str) -> bool:
    """Return whether a change makes no motion or state another, or only an added way higher than it has to be."""
    for place in ON:
        for skip in (False, True):
            one = run(right, place.shop, place.start)
            two = run(planted, place.shop, place.start, skip_deletable=skip)
            if not _alike(one, two):
                return False
    return True


def _alike(one: Trace, two: Trace) -> bool:
    stops = {"dwell", "stop", "tool"}
    mine, other = ([e for e in trace.events if e.way[0] != e.way[-1] or e.kind in stops] for trace in (one, two))
    if len(mine) != len(other) or one.ended != two.ended:
        return False
    for a, b in zip(mine, other, strict=True):
        higher = all(q[2] >= p[2] - 1e-9 and p[:2] == q[:2] for p, q in zip(a.way, b.way, strict=True))
        used = a.state.feed == b.state.feed or a.kind == "rapid"
        speed = a.state.speed == b.state.speed or a.state.spindle == "M5"
        names = ["spindle", "mist", "flood", "overrides", "path", "length_offset", "offset", "axis_offsets", "tool"]
        if a.kind != b.kind or not higher or not used or not speed:
            return False
        # An added way with the spindle off is as good.
        names = ["tool"] if a.kind in {"rapid", "tool"} and b.state.spindle == "M5" else names
        if any(getattr(a.state, name) != getattr(b.state, name) for name in names):
            return False
    names = ["spindle", "mist", "flood", "overrides"]
    return all(getattr(one.last, name) == getattr(two.last, name) for name in names)


@pytest.mark.parametrize("case", CASES)
def test_each_single_change_of_an_added_line_that_does_something_is_found(case: str) -> None:
    marked, judge = CASES[case]
    right = good(marked)
    assert judge(right) == []
    missed = []
    for planted in changes(marked):
        try:
            if not judge(planted) and not harmless(right, planted):
                missed.append(planted)
        except Unrunnable:
            continue  # the machine stops with an alarm, and so does the judge
    assert missed == []


@pytest.mark.parametrize("case", CASES)
def test_each_line_of_the_source_that_is_lost_or_changed_is_found(case: str) -> None:
    marked, judge = CASES[case]
    lines = marked.splitlines()
    for at, line in enumerate(lines):
        if line.startswith("+"):
            continue
        more = [] if line in {"M2", "M30"} else [line + " M49"]
        for new in ([], more, [re.sub(r"([XYZ])(-?\d+)", r"\g<1>\g<2>.5", line)]):
            planted = good("\n".join([*lines[:at], *new, *lines[at + 1 :]]) + "\n")
            if planted != good(marked):
                try:
                    assert judge(planted), planted
                except Unrunnable:
                    continue


def test_depths_and_traverses_that_are_changed_are_found() -> None:
    def square(level: float) -> str:
        return f"G0 X0 Y0\nZ2\nG1 Z{level:g} F300\nX30 F900\nY30\nX0\nY0\nG0 Z15\n"

    head = "G21 G90\nM3 S9000\nM8\nG0 Z5\n"
    source = head + square(-2) + square(-4) + "M5\nM9\nM2\n"
    out = head + square(-2) + square(-4) + square(-6) + "M5\nM9\nM2\n"
    asked = Asked(-4, -6)
    assert judge_depth(source, out, asked, ON[:1]) == []
    for old, new in {
        "G0 Z5": "G0 Z-5",
        "Z-6": "Z-7",
        "G1 Z-4": "G1 Z-5",
        "G1 Z-2": "G1 Z-1",
        "M8": "M7",
        "F900": "F600",
        "Y30": "Y31",
        square(-4): "",
        square(-2): "",
        "G0 Z15": "G0 Z-3",
        "M3": "M4",
    }.items():
        assert judge_depth(source, out.replace(old, new, 1), asked, ON[:1]), new


@pytest.mark.parametrize(
    ("tail", "old", "new"),
    [
        ("G91 G28 Z0\nZ-5", "Z-5", "Z-50"),
        ("G38.2 Z-9 F50\nG91\nG0 Z2", "Z2", "Z-2"),
        ("G91 G28 Z0\nG0 X4", "X-4", "X4"),
        ("G2 X13 Y4 I5 J0 F99", "G3", "G2"),
        ("G41 D2 G1 X9 F99", "G42", "G41"),
        ("G81 X4 Y4 Z-3 R2 F99", "R2", "R1"),
        ("M7", "M7", "M8"),
    ],
)
def test_a_mirrored_program_that_is_changed_is_found(tail: str, old: str, new: str) -> None:
    source = f"G21 G90\nG43 H1\nG0 Z5\nX3 Y4\n{tail}\nG0 X1\nM30\n"
    mirrored = re.sub(r"X(\d)", r"X-\1", source).replace("G2 ", "G3 ").replace("I5", "I-5").replace("G41", "G42")
    move = flipped("y", (0, 0))
    assert judge_moved(source, mirrored, lambda _: move, ON) == []
    assert judge_moved(source, mirrored.replace(old, new, 1), lambda _: move, ON) != []
