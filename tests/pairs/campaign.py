"""Judge the check of two faces on many made pairs, and print tables of what it said and what of it is wrong.

Run it from the top of the tree: ``python -m tests.pairs.campaign --pairs 200 --first 0``.
"""

import argparse
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path
from statistics import median

from tests.pairs.families import FAMILIES
from tests.pairs.judge import Outcome, judge
from tests.pairs.pair import Pair, make
from tests.pairs.treatments import TREATMENTS
from tests.pairs.written import command, describe, write

VERDICTS = ("passed", "failed", "open")
# Treatments after which the back still lies near to where it should, so that there is an offset to estimate.
ESTIMATED = (
    "right", "by a pitch", "shifted", "by the cutter", "small turn", "inch, right", "hole missing", "hole extra",
)  # fmt: skip
FLIPS = ("found", "wrong", "open")


def main() -> None:
    parser = argparse.ArgumentParser(description="Judge the check of two faces on made pairs.")
    parser.add_argument("--pairs", type=int, default=120, help="pairs in all")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--family", action="append", choices=sorted(FAMILIES), help="only this family")
    parser.add_argument("--treatment", choices=sorted(TREATMENTS), help="only this treatment")
    parser.add_argument("--quiet", action="store_true", help="print tables only")
    parser.add_argument("--write", nargs=2, metavar=("SEED", "FOLDER"), help="write the pair of a seed and a family")
    asked = parser.parse_args()
    families = asked.family or list(FAMILIES)
    if asked.write:
        for family in families:
            pair = make(family, int(asked.write[0]), asked.treatment)
            write(pair, Path(asked.write[1]))
            _say(describe(pair) + "\n" + command(pair, Path(asked.write[1])))
        return
    tally = Tally()
    began = time.process_time()
    for count in range(asked.pairs):
        seed, family = asked.first + count // len(families), families[count % len(families)]
        pair = make(family, seed, asked.treatment)
        outcome = judge(pair)
        tally.add(pair, outcome)
        if outcome.wrong and not asked.quiet:
            _say(describe(pair) + "\n    " + "; ".join(outcome.wrong))
    tally.tell()
    _say(f"{asked.pairs} pairs, {time.process_time() - began:.0f} s of processor time")


class Tally:
    """Counts over many pairs."""

    def __init__(self) -> None:
        self.told: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
        self.open: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
        self.errors: dict[str, list[float]] = defaultdict(list)
        self.plain: dict[str, Counter[str]] = defaultdict(Counter)
        self.smallest: dict[str, tuple[int, str]] = {}
        self.wrong: Counter[str] = Counter()
        self.misnamed: list[str] = []
        self.undetermined: list[str] = []

    def add(self, pair: Pair, outcome: Outcome) -> None:
        # Families at each tolerance first, then treatments at any.
        for key in ((pair.family, f"{pair.told.tolerance:g} mm"), (pair.treatment, "")):
            if pair.told.datum is not None:
                self.told[key][outcome.verdict] += 1
                self.told[key]["wrong"] += bool(outcome.wrong)
                self.told[key][f"named {outcome.named}"] += 1
            else:
                self.open[key][f"flip {outcome.flip}"] += 1
                self.open[key][outcome.verdict] += 1
                self.open[key]["wrong"] += bool(outcome.wrong)
        is_sound = outcome.is_determined and not outcome.wrong and pair.treatment in ESTIMATED
        if outcome.error_mm is not None and is_sound:
            self.errors["wood" if pair.part.wood_only else "features"].append(outcome.error_mm)
        if pair.is_plain and (pair.told.datum is not None or is_unique(pair)) and pair.treatment != "inch, wrong":
            self.plain[f"{pair.family}, {pair.told.words}"][str(outcome.is_determined)] += 1
            if not outcome.is_determined:
                self.undetermined.append(describe(pair))
        if outcome.named == "wrong":
            self.misnamed.append(f"{describe(pair)}: {outcome.report['diagnosis']}")
        size = sum(len(made.text.splitlines()) for made in (*pair.front, *pair.back))
        for words in outcome.wrong:
            kind = " ".join(words.split()[:3]).rstrip(":")
            self.wrong[kind] += 1
            if kind not in self.smallest or size < self.smallest[kind][0]:
                self.smallest[kind] = size, f"{describe(pair)}: {words}"

    def tell(self) -> None:
        _say("\nflip told\n| family or treatment | tolerance | pairs | passed | failed | open | wrong "
             "| mistake named rightly | wrongly | vaguely |\n|---|---|---|---|---|---|---|---|---|---|")  # fmt: skip
        _tell(self.told, (*VERDICTS, "wrong", "named right", "named wrong", "named vague"))
        _say("\naxis or nothing told\n| family or treatment | tolerance | pairs | flip found | flip wrong | flip open "
             "| passed | failed | open | wrong |\n|---|---|---|---|---|---|---|---|---|---|")  # fmt: skip
        _tell(self.open, (*(f"flip {f}" for f in FLIPS), *VERDICTS, "wrong"))
        _say("\ndetermined, of pairs that share three places or an edge and fit one way only")
        total: Counter[str] = Counter()
        for name, counts in sorted(self.plain.items()):
            total += counts
            _say(f"  {name}: {counts['True']} of {counts.total()}")
        if total:
            _say(f"  all: {total['True']} of {total.total()}, {100 * total['True'] / total.total():.1f} %")
        for name, errors in self.errors.items():
            _say(f"estimated placement against the planted one, {name}: median {median(errors):.4f} mm, "
                 f"worst {max(errors):.4f} mm, of {len(errors)}")  # fmt: skip
        for words in self.undetermined:
            _say(f"not determined: {words}")
        for words in self.misnamed:
            _say(f"mistake named that is none: {words}")
        for kind, number in self.wrong.most_common():
            _say(f"{kind}: {number}; smallest: {self.smallest[kind][1]}")
        _say(f"wrong: {sum(self.wrong.values())}")


def _tell(table: dict[tuple[str, str], Counter[str]], columns: tuple[str, ...]) -> None:
    for (name, tolerance), counts in sorted(table.items(), key=lambda row: (not row[0][1], row[0])):
        row = [str(counts[column]) for column in columns]
        _say(f"| {name} | {tolerance} | {sum(counts[v] for v in VERDICTS)} | " + " | ".join(row) + " |")


def is_unique(pair: Pair) -> bool:
    """Return whether one flip only, of the axes that are allowed, brings nearly all of what is shown to coincide."""
    ways = (pair.posted.placed @ ~move for move in pair.near)
    # A blank lies on the table turned over about an axis of the machine, or it isn't turned over.
    axes = {"y": -1, "x": 1}
    allowed = [axes[pair.told.axis]] if pair.told.axis else list(axes.values())
    flips = {
        (round(lies.xx), round(lies.dx, 2), round(lies.dy, 2))
        for lies in ways
        if lies.is_mirror and round(lies.xx) in allowed
    }
    return len(flips) == 1


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
