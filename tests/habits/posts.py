"""Programs as different posts and hands write them: each line with its habits, and the same line without.

`python -m tests.habits.posts` writes the cases in `tests/cases/habits/`; long programs are made at test time.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

__all__ = ["PARTS", "POSTS", "Pair", "Part", "Post", "written"]

FOLDER = Path(__file__).parents[1] / "cases" / "habits"

Pair = tuple[str | None, str | None]
"""A line with habits, and the line that says the same without; None where there is none."""

Cut = tuple[str, tuple[float, ...]]
"""What to do: `to x y` in a traverse, `down z`, `line x y`, `arc cw x y i j`, `ring i j`, `drill z r x y ...`, `up`."""


@dataclass(frozen=True)
class Part:
    """A part of wood: its name, its unit and its cuts; lengths in that unit."""

    name: str
    unit: str
    feed: int
    cuts: tuple[Cut, ...]


def ring_of_holes(count: int) -> tuple[float, ...]:
    """Return places on a line of holes, a little apart."""
    return tuple(value for index in range(count) for value in (10.0 + 12.5 * index, 8.0 + 0.25 * index))


PARTS = (
    Part(
        "tray", "G21", 1500,
        (("to", (20, 20)), ("down", (-2,)), ("line", (180, 20)), ("arc", (0, 200, 40, 0, 20)), ("line", (200, 100)),
         ("line", (20, 100)), ("line", (20, 20)), ("up", ())),
    ),
    Part(
        "paddle", "G21", 1800,
        (("to", (0, 0)), ("down", (-3,)), ("line", (150, 0)), ("arc", (0, 150, 60, 0, 30)), ("line", (40, 60)),
         ("arc", (1, 0, 20, 0, -40)), ("line", (0, 0)), ("up", ()), ("to", (150, 30)), ("down", (-8,)),
         ("ring", (5, 0)), ("up", ())),
    ),
    Part(
        "bowl", "G21", 1200,
        (("to", (60, 50)), ("down", (-4,)), ("ring", (-10, 0)), ("line", (70, 50)), ("down", (-6,)), ("ring", (-20, 0)),
         ("line", (80, 50)), ("ring", (-30, 0)), ("up", ())),
    ),
    Part("peg-rack", "G21", 400, (("drill", (-12.5, 1.0, *ring_of_holes(9))), ("to", (0, 0)), ("up", ()))),
    Part(
        "spoon", "G21", 900,
        (("to", (12.345, 7.5)), ("down", (-1.25,)), ("line", (33.375, 9.125)), ("arc", (1, 41.375, 17.125, 8, 0)),
         ("line", (12.345, 17.125)), ("line", (12.345, 7.5)), ("up", ())),
    ),
    Part(
        "coaster", "G20", 60,
        (("to", (2, 2)), ("down", (-0.125,)), ("ring", (-0.5, 0)), ("line", (2.25, 2)), ("ring", (-0.75, 0)),
         ("up", ()), ("to", (0.5, 0.5)), ("down", (-0.25,)), ("line", (3.5, 0.5)), ("up", ())),
    ),
    Part(
        "box-lid", "G20", 80,
        (("to", (0.25, 0.25)), ("down", (-0.0625,)), ("line", (5.75, 0.25)), ("arc", (0, 6, 0.5, 0, 0.25)),
         ("line", (6, 3.75)), ("line", (0.25, 3.75)), ("line", (0.25, 0.25)), ("up", ()),
         ("drill", (-0.5, 0.1, 1, 1, 5, 1, 5, 3, 1, 3))),
    ),
    Part(
        "comb", "G21", 700,
        tuple(
            cut
            for tooth in range(24)
            for cut in (("to", (4.0 * tooth, 0.0)), ("down", (-1.5,)), ("line", (4.0 * tooth, 55.5)), ("up", ()))
        ),
    ),
)


@dataclass(frozen=True)
class Post:
    """How a post or a hand writes: each part of a program as lines with habits beside lines without."""

    name: str
    head: Callable[[Part], list[Pair]]
    start: Callable[[Part], list[Pair]]
    feed: Callable[[int], list[Pair]]
    ring: Callable[[str], Pair]
    line: Callable[[str], Pair]
    drill: Callable[[list[str], str], list[Pair]]
    end: Callable[[Part], list[Pair]]
    number: Callable[[int], tuple[str, str]] = lambda _: ("", "")
    tail: tuple[bytes, bytes] = (b"", b"")


def same(*lines: str) -> list[Pair]:
    """Return lines that have no habit."""
    return [(line, line) for line in lines]


def clear(part: Part) -> str:
    """Return the height of traverses."""
    return "0.5" if part.unit == "G20" else "12"


def usual_drill(blocks: list[str], clearance: str) -> list[Pair]:
    """Return a run of a cycle as the report has it."""
    return same(*blocks, "G80", f"G0 Z{clearance}")


def usual_end(part: Part) -> list[Pair]:
    """Return the end of a program as the report has it."""
    return same(f"G0 Z{clear(part)}", "M5", "M30")


def _feed_alone(feed: int) -> list[Pair]:
    return [(f"G1 F{feed}", f"F{feed}")]


def _feed_word(feed: int) -> list[Pair]:
    return same(f"F{feed}")


POSTS = (
    Post(
        "smooth",
        lambda part: same(f"({part.name}, roughed and finished)"),
        lambda part: [
            ("G0 G17 G40 G49 G80 G90", "G17 G40 G49 G80 G90"),
            ("G64 P0.005 Q0.005", "G64"),
            *same(part.unit, "T1 M6", "S12000 M3"),
        ],
        _feed_alone,
        lambda block: (block, block),
        lambda block: (block, block),
        usual_drill,
        usual_end,
    ),
    Post(
        "by-hand",
        lambda part: [(f"({part.name} for the kitchen", f"({part.name} for the kitchen)")],
        lambda part: [
            (f"{part.unit.lower()}\xa0g90", f"{part.unit} G90"),
            *same("t1 m6", "s900 m3"),
            ("G4 X2.", "G4 P2."),
        ],
        _feed_word,
        lambda block: (block, block),
        lambda block: (f"{block} (side", f"{block} (side)"),
        usual_drill,
        usual_end,
    ),
    Post(
        "numbered",
        lambda part: [(f"O{part.name.upper()}7A", None)],
        lambda part: same(f"{part.unit} G17 G90", "T3 M6", "M3 S9000"),
        _feed_word,
        lambda block: (block, block),
        lambda block: (block, block),
        usual_drill,
        lambda part: [*usual_end(part), ("%", None)],
        number=lambda line: (f"N{100000 + 10 * line} ", f"N{line} "),
    ),
    Post(
        "dumped",
        lambda part: [("%", None), *same(f"({part.name})")],
        lambda part: [
            (f"G15 G50 G69 G90 G17 {part.unit}", f"G90 G17 {part.unit}"),
            *same("T2 M6"),
            ("G0 S11000 M3", "S11000 M3"),
        ],
        _feed_word,
        lambda block: (block, block),
        lambda block: (block, block),
        usual_drill,
        usual_end,
        tail=(b"\x1a\x00\x00", b""),
    ),
    Post(
        "parked",
        lambda part: same("%", f"({part.name}, kept clear of the clamps)"),
        lambda part: [
            *same(f"{part.unit} G90 G17"),
            ("G91 G28 G0 Z0", "G91 G28 Z0"),
            *same("G90 T1 M6", "S8000 M3"),
            ("M7 M8", "M7"),
            (None, "M8"),
        ],
        _feed_word,
        lambda block: (block, block),
        lambda block: (block, block),
        usual_drill,
        lambda part: [*same(f"G0 Z{clear(part)}", "G91 G28 X0 Y0"), ("M5 M9 M48 M6 M30", "M5 M9 M48 M30"), ("%", "%")],
    ),
    Post(
        "wordy",
        lambda part: same(f"({part.name})"),
        lambda part: [*same(f"{part.unit} G17 G90", "T5 M6"), ("G0 S7500 M3", "S7500 M3"), ("N5 /M8", "/N5 M8")],
        _feed_word,
        lambda block: (" ".join(word for word in block.split() if word[0] not in "XY"), block),
        lambda block: (f"{block} I0 J0", block),
        usual_drill,
        usual_end,
    ),
    Post(
        "long-tool",
        lambda part: same(f"({part.name})"),
        lambda part: [
            *same(f"{part.unit} G90 G17", "T4 M6"),
            (f"G49 G43 Z{clear(part)} G0", f"G43 H4 G0 Z{clear(part)}"),
            *same("S6000 M3"),
        ],
        _feed_alone,
        lambda block: (block, block),
        lambda block: (block, block),
        lambda blocks, clearance: [
            *same(*blocks),
            (f"G80 G0 Z{clearance}", "G80"),
            (None, f"G0 Z{clearance}"),
        ],
        usual_end,
    ),
    Post(
        "exact",
        lambda part: [("%", "%"), ("%", None), *same(f"({part.name})")],
        lambda part: [
            *same(f"{part.unit} G90 G17", "T1 M6"),
            ("G61.1 R0.1 L2", "G61.1"),
            ("M3 M8 M48 M1 M6 S500", "M3 M8 M48 M1 S500"),
        ],
        _feed_alone,
        lambda block: (block, block),
        lambda block: (f"{block} K0", block),
        usual_drill,
        lambda part: [*usual_end(part), ("%", "%"), ("%", None)],
    ),
)


def shown(value: float) -> str:
    """Return a number as posts write it: a point in any case."""
    text = f"{value:.4f}".rstrip("0")
    return text if text != "-0." else "0."


def cut_lines(post: Post, part: Part) -> Iterator[Pair]:
    """Yield the lines of the cuts."""
    clearance = clear(part)
    yield from same(f"G0 Z{clearance}")
    at: tuple[float, ...] = (0.0, 0.0)
    for what, values in part.cuts:
        if what == "to":
            yield from same(f"G0 X{shown(values[0])} Y{shown(values[1])}")
        elif what == "down":
            yield from post.feed(part.feed // 3)
            yield from same(f"G1 Z{shown(values[0])}")
            yield from post.feed(part.feed)
        elif what == "line":
            yield post.line(f"G1 X{shown(values[0])} Y{shown(values[1])}")
        elif what == "arc":
            code = "G3" if values[0] == 0 else "G2"
            yield from same(f"{code} X{shown(values[1])} Y{shown(values[2])} I{shown(values[3])} J{shown(values[4])}")
        elif what == "ring":
            yield post.ring(f"G2 X{shown(at[0])} Y{shown(at[1])} I{shown(values[0])} J{shown(values[1])}")
        elif what == "drill":
            places = [*zip(values[2::2], values[3::2], strict=True)]
            first = f"G98 G81 X{shown(places[0][0])} Y{shown(places[0][1])} Z{shown(values[0])} R{shown(values[1])}"
            yield from post.drill(
                [f"{first} F{part.feed}", *(f"X{shown(x)} Y{shown(y)}" for x, y in places[1:])], clearance
            )
        else:
            yield from same(f"G0 Z{clearance}")
        if what in ("to", "line"):
            at = values
        elif what == "arc":
            at = values[1:3]


def written(post: Post, part: Part) -> tuple[bytes, bytes]:
    """Return a part's program with the habits of a post, and the same program without."""
    pairs = [*post.head(part), *post.start(part), *cut_lines(post, part), *post.end(part)]
    texts: list[bytes] = []
    for which in (0, 1):
        lines: list[str] = []
        for pair in pairs:
            line = pair[which]
            if line is not None:
                is_framing = line[0] in "%O(" or line.startswith(("/N", "N5 "))
                lines.append(line if is_framing else post.number(len(lines) + 1)[which] + line)
        texts.append("\n".join(lines).encode("latin-1") + b"\n" + post.tail[which])
    return texts[0], texts[1]


def main() -> None:
    """Write the cases."""
    FOLDER.mkdir(exist_ok=True)
    for post in POSTS:
        for part in PARTS:
            with_habits, without = written(post, part)
            FOLDER.joinpath(f"{post.name}-{part.name}.txt").write_bytes(with_habits + b"\n; ---\n" + without)


if __name__ == "__main__":
    main()
