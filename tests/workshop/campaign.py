"""Judge the check of two faces on many random jobs of each kind, and print a table.

Run it from the top of the tree: ``python -m tests.workshop.campaign --jobs 20 --first 0``.
"""

import argparse
import sys
import time
from collections import Counter, defaultdict
from dataclasses import replace

from tests.workshop.catalogue import KINDS
from tests.workshop.job import ALL_TOLD, FAULTS, NONE, Job, make
from tests.workshop.judge import Judgement, judge
from tests.workshop.wrong import COUNTED, Kind

_SAID = ("in register", "not in register", "not determined", "refused", "crash", "skipped")
_SHORT = ("in", "not in", "open", "refused", "crash", "skipped")
_LONGEST = 400


def main() -> None:
    parser = argparse.ArgumentParser(description="Judge the check of two faces on random jobs.")
    parser.add_argument("--jobs", type=int, default=5, help="jobs of each kind")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--kind", action="append", choices=sorted(KINDS), help="only this kind")
    parser.add_argument("--fault", choices=[NONE, *FAULTS], help="only this fault, or none")
    parser.add_argument("--all-told", action="store_true", help="tell the flip, the tools and the thickness")
    parser.add_argument("--counted", action="store_true", help="print a line for what only counts, too")
    asked = parser.parse_args()
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    faults: dict[str, Counter[str]] = defaultdict(Counter)
    began, slowest = time.process_time(), (0.0, "")
    for kind in asked.kind or KINDS:
        for seed in range(asked.first, asked.first + asked.jobs):
            job, started = make(kind, seed, asked.fault), time.process_time()
            if asked.fault not in (None, job.fault):
                continue  # The part has nothing that this fault could spoil.
            if asked.all_told:
                job = replace(job, told=ALL_TOLD)
            judgement = judge(job)
            slowest = max(slowest, (time.process_time() - started, f"{kind} {seed}"))
            _tell(job, judgement, counted=asked.counted)
            for table, row in ((kinds, kind), (faults, job.fault)):
                state = "right" if job.fault == NONE else "spoilt"
                table[row][f"{state} {judgement.said}"] += 1
                table[row].update(wrong.kind.value for wrong in judgement.wrongs)
    for name, table in (("kind", kinds), ("fault", faults)):
        _table(name, table)
    _say(f"{time.process_time() - began:.0f} s of processor time; the slowest {slowest[1]} with {slowest[0]:.2f} s")


def _tell(job: Job, judgement: Judgement, *, counted: bool) -> None:
    told = f"flip {job.told.flip}, tools {job.told.tools}, thickness {job.told.thickness}"
    for wrong in judgement.wrongs:
        if counted or not wrong.counts_only:
            where = f"{wrong.kind.value.upper()} {job.kind} {job.seed} ({job.fault}; told: {told})"
            detail = f"said {judgement.said}; {wrong.detail[:_LONGEST]} | {job.spoilt.detail[:_LONGEST // 2]}"
            _say(f"{where}: {detail}")


def _table(name: str, rows: dict[str, Counter[str]]) -> None:
    """Print the verdicts on right and on spoilt jobs, and what was wrong; what only counts comes last."""
    wrongs = [kind for kind in (*(k for k in Kind if k not in COUNTED), *(k for k in Kind if k in COUNTED))
              if any(row[kind.value] for row in rows.values())]  # fmt: skip
    heads = [f"{state} {short}" for state in ("right", "spoilt") for short in _SHORT[:3]]
    _say("| " + " | ".join([name, "jobs", *heads, *(kind.value for kind in wrongs)]) + " |")
    _say("|---" * (2 + len(heads) + len(wrongs)) + "|")
    total: Counter[str] = Counter()
    for row in rows.values():
        total.update(row)
    for title, row in [*sorted(rows.items()), ("all", total)]:
        jobs = sum(row[f"{state} {said}"] for state in ("right", "spoilt") for said in _SAID)
        cells = [row[f"{state} {said}"] for state in ("right", "spoilt") for said in _SAID[:3]]
        _say("| " + " | ".join(map(str, [title, jobs, *cells, *(row[kind.value] for kind in wrongs)])) + " |")


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
