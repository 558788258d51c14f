"""One random trial of one verb: a program, the command, and what the judge finds."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from tests.machine.compare import Fault
from tests.machine.judge_climb import judge_climb
from tests.machine.judge_depth import Asked, judge_depth
from tests.machine.judge_home import judge_home
from tests.machine.judge_join import judge_join, judge_split
from tests.machine.judge_moved import Move, flipped, judge_moved, shifted
from tests.machine.programs import ALL, Written, write
from tests.machine.shops import Place, places
from tests.machine.verbs import Ran, ran

__all__ = ["VERBS", "Trial", "again", "shrunk", "trial"]


@dataclass
class Trial:
    """A command on programs; `judge` looks at what it wrote."""

    words: list[str]
    sources: dict[str, str]
    judge: Callable[[dict[str, str], Ran], list[Fault]]
    ran: Ran | None = None
    faults: list[Fault] = field(default_factory=list)

    @property
    def outcome(self) -> str:
        """Return written, wrong, refused or out of register."""
        assert self.ran is not None
        if self.ran.status:
            return "refused" if self.ran.status == 2 else "not in register"
        return "wrong" if self.faults else "written"


def trial(verb: str, seed: int) -> Trial:
    """Make and run the trial of a verb that a seed names."""
    made = VERBS[verb](Random(f"{verb} {seed}"), places(seed))
    return again(made, made.sources)


def again(old: Trial, sources: dict[str, str]) -> Trial:
    """Run the command of a trial on other programs."""
    new = Trial(old.words, sources, old.judge)
    new.ran = ran(new.words, **sources)
    new.faults = [] if new.ran.status else new.judge(sources, new.ran)
    return new


def shrunk(found: Trial, tries: int = 150) -> Trial:
    """Leave out lines of a wrong trial's programs, many at first, as long as it stays wrong in a way that it was."""
    kinds = {fault.kind for fault in found.faults}
    best = found
    alike = len(set(found.sources.values())) == 1
    size = max(len(source.splitlines()) for source in found.sources.values()) // 2
    while size:
        for name in best.sources if not alike else list(best.sources)[:1]:
            at = 0
            while at < len(best.sources[name].splitlines()) and tries:
                lines = best.sources[name].splitlines(keepends=True)
                rest = "".join(lines[:at] + lines[at + size :])
                new = _or_none(best, dict.fromkeys(best.sources, rest) if alike else {**best.sources, name: rest})
                tries -= 1
                if new and new.outcome == "wrong" and kinds & {fault.kind for fault in new.faults}:
                    best = new
                else:
                    at += size
        size //= 2
    return best


def _or_none(old: Trial, sources: dict[str, str]) -> Trial | None:
    try:
        return again(old, sources)
    except (ValueError, IndexError, KeyError):
        return None


def _home(random: Random, on: list[Place]) -> Trial:
    source = write(random).text
    safe = random.choice([10, 12.5, 30])
    return Trial(
        ["home", "a", "--safe-z", str(safe)],
        {"a": source},
        lambda sources, run: judge_home(sources["a"], run.out["-"], safe, on, run.said),
    )


def _join(random: Random, on: list[Place]) -> Trial:
    one = write(random, ALL - {"tools"}).text
    two = one if random.random() < 0.5 else write(random, ALL - {"tools"}).text
    if two != one:
        # Programs that are joined share a tool; hands see to that.
        tools = re.findall(r"\bT(\d)", one)
        if tools:
            two = re.sub(r"\b([THD])\d\b", rf"\g<1>{tools[0]}", two)
    return Trial(
        ["join", "a", "b"],
        {"a": one, "b": two},
        lambda sources, run: judge_join(list(sources.values()), run.out["-"], on),
    )


def _split(random: Random, on: list[Place]) -> Trial:
    source = write(random, several=True).text
    return Trial(
        ["split", "a", "--into", "into"],
        {"a": source},
        lambda sources, run: judge_split(sources["a"], list(run.out.values()), on),
    )


def _depth(random: Random, on: list[Place]) -> Trial:
    holds = ALL - {"probe", "increments"} - ({"inches"} if random.random() < 0.8 else set())
    level = random.choice([-4.0, -6.0, -7.5])
    written: Written
    if random.random() < 0.75:
        written = write(random, holds - {"compensation"}, floor=level)
    else:
        written = write(random, holds)
        level = random.choice(written.floors) if written.floors else -4.0
    scale = 25.4 if written.inches else 1.0
    level *= scale
    floor = level + random.choice([0, -0.26, -0.5, -1.5, -3.8, 0.3, 0.8, 2.2])
    words = ["depth", "a", "--floor", f"{floor:.4f}", "--level", f"{level:.4f}"]
    step = random.choice([None, None, 1.0, 2.0])
    if step:
        words += ["--step-down", str(step)]
    asked = Asked(float(f"{level:.4f}"), float(f"{floor:.4f}"), step)
    return Trial(words, {"a": written.text}, lambda sources, run: judge_depth(sources["a"], run.out["-"], asked, on))


def _flip_words(random: Random) -> tuple[list[str], Move]:
    axis = random.choice(["x", "y"])
    at = random.choice([0, 12.7, -40])
    datum = (float(at), 0.0) if axis == "y" else (0.0, float(at))
    if random.random() < 0.5:
        return ["--axis", axis, "--at", str(at)], flipped(axis, (2 * datum[0], 2 * datum[1]))
    datum = (float(random.randrange(-30, 30)), float(random.randrange(-30, 30)))
    return ["--axis", axis, f"--datum={datum[0]:g},{datum[1]:g}"], flipped(axis, datum)


def _flip(random: Random, on: list[Place]) -> Trial:
    words, move = _flip_words(random)
    source = write(random).text
    return Trial(
        ["flip", "a", *words],
        {"a": source},
        lambda sources, run: judge_moved(sources["a"], run.out["-"], lambda _: move, on),
    )


def _climb(random: Random, on: list[Place]) -> Trial:
    words, move = _flip_words(random)
    source = write(random, ALL - {"increments"}, floor=random.choice([-4.0, -6.0])).text
    return Trial(
        ["flip", "a", *words, "--keep-climb"],
        {"a": source},
        lambda sources, run: judge_climb(sources["a"], run.out["-"], move, on, run.said),
    )


def _shift(random: Random, on: list[Place]) -> Trial:
    by = (float(random.randrange(-30, 30)), random.choice([0.0, 12.7]))
    turn = random.choice([0, 90, 180, 3.3])
    about = random.choice([(0.0, 0.0), (7.0, -3.0)])
    source = write(random).text
    words = ["shift", "a", f"--by={by[0]:g},{by[1]:g}"]
    words += ["--turn", str(turn), f"--about={about[0]:g},{about[1]:g}"] if turn else []
    words += ["--chords", "0.05", "--spell-cycles"] if turn == 3.3 else []

    def judge(sources: dict[str, str], run: Ran) -> list[Fault]:
        first = 1 if re.search(r"G5[5-9]", sources["a"]) and not re.search("G54", sources["a"]) else 0
        return judge_moved(
            sources["a"],
            run.out["-"],
            lambda place: shifted(by, float(turn), about, place.shop.origins[first]),
            on,
            chords_mm=0.05,
        )

    return Trial(words, {"a": source}, judge)


def _hand(random: Random, on: list[Place]) -> Trial:
    axis = random.choice(["x", "y"])
    across = random.choice([0, 5])
    holds = ALL - {"probe", "tools", "deletable", "compensation", "offsets"}
    front = write(random, holds).text
    back = ran(["flip", "a", "--axis", axis, "--at", "0"], a=front).out["-"]
    words = ["hand", "--front", "a", "--back", "b", "--axis", axis, "--at", "0", "--across", f"x={across}"]
    words += ["--tolerance", "0.1", "--into", "into"]
    # Seen from the back, flipped about Y through zero, the line x = 5 of the front is x = -5.
    own = {"a": flipped("y", (2.0 * across, 0.0)), "b": flipped("y", (2.0 * (-across if axis == "y" else across), 0.0))}

    def judge(sources: dict[str, str], run: Ran) -> list[Fault]:
        return [
            fault
            for name, source in sources.items()
            for fault in judge_moved(source, run.out[f"{name}.nc"], lambda _, name=name: own[name], on)  # type: ignore[misc]
        ]

    return Trial(words, {"a": front, "b": back or front}, judge)


VERBS: dict[str, Callable[[Random, list[Place]], Trial]] = {
    "home": _home,
    "join": _join,
    "split": _split,
    "depth": _depth,
    "flip": _flip,
    "keep-climb": _climb,
    "shift": _shift,
    "hand": _hand,
}
