"""Try many random programs on each verb, and print what was written, refused and wrong.

Run by hand: ``python -m tests.machine.campaign join split --from 0 --to 1000``.
"""

import argparse
import collections
import re
import sys
import time
import traceback

from tests.machine.trials import VERBS, Trial, shrunk, trial

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Run the campaign that the arguments name."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("verbs", nargs="*", default=list(VERBS))
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="last", type=int, default=1000)
    parser.add_argument("--examples", type=int, default=3, help="wrong programs to make small and show, of each verb")
    asked = parser.parse_args(arguments)
    wrong = 0
    for verb in asked.verbs or list(VERBS):
        wrong += _campaign(verb, range(asked.first, asked.last), asked.examples)
    return 1 if wrong else 0


def _campaign(verb: str, seeds: range, examples: int) -> int:
    outcomes: collections.Counter[str] = collections.Counter()
    refusals: collections.Counter[str] = collections.Counter()
    shown: dict[str, int] = {}
    begin = time.process_time()
    for seed in seeds:
        try:
            made = trial(verb, seed)
        except Exception:
            outcomes["broken"] += 1
            _say(f"{verb} {seed}: {traceback.format_exc(limit=-3)}")
            continue
        outcomes[made.outcome] += 1
        if made.outcome in {"refused", "not in register"}:
            assert made.ran is not None
            refusals[re.sub(r"-?\d+(\.\d+)?", "#", made.ran.said.split("\n")[0])[:170]] += 1
        elif made.outcome == "wrong":
            kind = made.faults[0].kind + re.sub(r"[-\d.]+", "#", made.faults[0].message)[:25]
            shown[kind] = shown.get(kind, 0) + 1
            if shown[kind] == 1 and len(shown) <= examples:
                _say(f"{verb} {seed}: {shown_text(made)}")
    counts = ", ".join(f"{name} {count}" for name, count in sorted(outcomes.items()))
    _say(f"\n== {verb}: {len(seeds)} tried; {counts}; {time.process_time() - begin:.0f} s")
    for kind, count in sorted(shown.items(), key=lambda item: -item[1]):
        _say(f"  wrong {count:5d}  {kind}")
    for message, count in refusals.most_common():
        _say(f"  {count:5d}  {message}")
    return outcomes["wrong"] + outcomes["broken"]


def shown_text(made: Trial) -> str:
    """Return the smallest program that is wrong in the same way, its command and its faults."""
    small = shrunk(made)
    assert small.ran is not None
    texts = [f"--- {name}\n{text}" for name, text in [*small.sources.items(), *small.ran.out.items()]]
    faults = "\n".join(f"  {fault.kind} at line {fault.line}: {fault.message}" for fault in small.faults[:4])
    return f"flipreg {' '.join(small.words)}\n{faults}\n{''.join(texts)}\n{small.ran.said}"


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())
