"""Judge many random programs with habits, by the outsider's reading, and print what came out.

`python -m tests.habits reading --from 0 --to 2000` reads; a verb, or `verbs` for all, is done to each program and
judged. `--cases` takes the programs of `tests/cases/habits` in place of random ones.
"""

import argparse
import re
import sys
import time
import warnings
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import flipreg
from tests.habits.judge_reading import faults_of_reading
from tests.habits.random_habits import random_program
from tests.habits.slow_judge import JUDGES
from tests.habits.slow_lines import Unreadable

CASES = Path(__file__).parents[1] / "cases" / "habits"
SHOWN = 3
"""Examples of each kind."""


def main() -> None:
    """Run the campaign."""
    warnings.simplefilter("error")
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", nargs="+", choices=["reading", "verbs", *JUDGES])
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="stop", type=int, default=1000)
    parser.add_argument("--cases", action="store_true", help="the programs of tests/cases/habits")
    wanted = parser.parse_args()
    verbs = [verb for verb in JUDGES if verb in wanted.what or "verbs" in wanted.what]
    outcomes: Counter[str] = Counter()
    examples: dict[str, list[str]] = defaultdict(list)
    began = time.process_time()
    for name, text in _texts(wanted.first, wanted.stop, are_cases=wanted.cases):
        judged: list[tuple[str, Callable[[], list[str | None]]]] = [
            (verb, partial(_judged, verb, text)) for verb in verbs
        ]
        if "reading" in wanted.what and not wanted.cases:
            judged.append(("reading", partial(_read, int(name))))
        for verb, judge in judged:
            for outcome, example in _outcomes(verb, judge):
                outcomes[outcome] += 1
                examples[outcome].append(f"{name}: {example}")
    for outcome, count in outcomes.most_common():
        _print(f"{count} {outcome}")
        for example in examples[outcome][:SHOWN] if not outcome.endswith("right") else ():
            _print(f"    {example[:600]}")
    _print(f"{time.process_time() - began:.0f} s")


def _texts(first: int, stop: int, *, are_cases: bool) -> Iterator[tuple[str, bytes]]:
    if not are_cases:
        for seed in range(first, stop):
            yield str(seed), random_program(seed).text
        return
    for file in sorted(CASES.glob("*.txt")):
        with_habits, _, without = file.read_bytes().partition(b"\n; ---\n")
        yield file.stem, with_habits
        yield f"{file.stem}, without", without


def _judged(verb: str, text: bytes) -> list[str | None]:
    return [JUDGES[verb](text)]


def _read(seed: int) -> list[str | None]:
    return [*faults_of_reading(random_program(seed))]


def _outcomes(verb: str, judge: Callable[[], list[str | None]]) -> Iterator[tuple[str, str]]:
    """Yield what came of one judgement: right, wrong, refused with its message, or unreadable for the outsider."""
    try:
        wrong = [each for each in judge() if each is not None]
    except flipreg.FlipregError as error:
        said = re.sub(r"^\S+:\d+:\d+: ", "", str(error).splitlines()[0])
        yield f"{verb} refused: {type(error).__name__} {re.sub(r'[0-9.]+', '#', said)[:110]}", str(error)
        return
    except Unreadable as error:
        yield f"{verb} unreadable", str(error)
        return
    except Exception as error:
        # Nothing but an error of the package's own may come out of it.
        yield f"{verb} CRASH: {type(error).__name__}", repr(error)
        return
    for each in wrong:
        yield f"{verb} WRONG: {each.split(':')[0][:60]}", each
    if not wrong:
        yield f"{verb} right", ""


def _print(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main()
