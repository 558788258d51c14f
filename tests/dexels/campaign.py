"""Compare the check of a job with the simulator on many random jobs, and print a table.

Run it from the top of the tree: ``python -m tests.dexels.campaign --jobs 60 --first 0``.
"""

import argparse
import sys
import time
from collections import Counter, defaultdict
from random import Random

from tests.dexels.board import Job, NoRoomError
from tests.dexels.compare import NotConfirmedError, Result, compare
from tests.dexels.planted import PLANTED
from tests.dexels.right import RIGHT

BUILDERS = {build.__name__: build for build in (*RIGHT, *PLANTED)}


def make(family: str, seed: int) -> Job:
    """Return a job of a family; the same seed gives the same job, and where a part has no room the next one."""
    for attempt in range(50):
        try:
            return BUILDERS[family](Random(f"{family}-{seed}-{attempt}"))
        except NoRoomError:
            continue
    raise NoRoomError


def main() -> None:
    parser = argparse.ArgumentParser(description="Compare the check of a job with simulated wood.")
    parser.add_argument("--jobs", type=int, default=10, help="jobs of each family")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--family", action="append", choices=sorted(BUILDERS), help="only this family")
    parser.add_argument("--quiet", action="store_true", help="print the tables and no disagreements")
    asked = parser.parse_args()
    answers: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    began = time.process_time()
    for family in asked.family or BUILDERS:
        for seed in range(asked.first, asked.first + asked.jobs):
            job = make(family, seed)
            key = (family, job.name)
            try:
                result = compare(job)
            except NotConfirmedError as error:
                answers[key]["unconfirmed"] += 1
                _say(f"{family} {seed}: NOT CONFIRMED: {error}")
                continue
            answers[key][result.answer] += 1
            answers[key]["disagreements"] += bool(result.notes)
            if not asked.quiet:
                _tell(family, seed, result)
    _table(answers)
    _say(f"{time.process_time() - began:.0f} s of processor time")


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def _tell(family: str, seed: int, result: Result) -> None:
    if result.answer not in ("right", "passed"):
        fails = [f"{f['check']}: {f['message'][:160]}" for f in result.report.get("findings", ())
                 if f["status"] == "fail"]
        _say(f"{family} {seed} ({result.job.name}): {result.answer}, exit {result.status} {fails}")
    for note in result.notes:
        _say(f"{family} {seed} ({result.job.name}): {note}")


def _table(answers: dict[tuple[str, str], Counter[str]]) -> None:
    columns = ("right", "otherwise", "passed", "not determined", "missed", "failed", "unconfirmed", "disagreements")
    _say("| family | job | jobs | " + " | ".join(columns) + " |")
    _say("|---" * (len(columns) + 3) + "|")
    total: Counter[str] = Counter()
    for (family, name), counts in answers.items():
        jobs = sum(counts.values()) - counts["disagreements"]
        total += counts
        _say(f"| {family} | {name} | {jobs} | " + " | ".join(str(counts[c]) for c in columns) + " |")
    jobs = sum(total.values()) - total["disagreements"]
    _say(f"| all | | {jobs} | " + " | ".join(str(total[c]) for c in columns) + " |")


if __name__ == "__main__":
    main()
