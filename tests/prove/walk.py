"""Every change of one word of the added lines in the outputs of random programs, run by hand.

``python -m tests.prove.walk --from 0 --to 20`` prints how many changes were tried, and each that the proof accepts and
the judge calls wrong. An output that the judge doesn't understand as it is gets counted and left out.
"""

import argparse
import sys
from collections.abc import Iterator
from random import Random

from flipreg.errors import FlipregError
from tests.machine.programs import ALL, write
from tests.prove.forged import Forge, HomeForge, JoinForge, SplitForge
from tests.prove.word_changes import changes

__all__ = ["main"]

_HOLDS = ALL - {"deletable"}


def main() -> int:
    """Walk the outputs of the programs that the arguments name."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="last", type=int, default=10)
    asked = parser.parse_args()
    tried = outputs = left_out = wrong = 0
    for seed in range(asked.first, asked.last):
        for forge in _forges(Random(f"walk {seed}")):
            try:
                lines, added = forge.written()
                if not added or not forge.is_accepted(lines, added):
                    continue
                if forge.is_wrong(lines, added):
                    left_out += 1
                    continue
            except (FlipregError, KeyError, ValueError, IndexError):
                left_out += 1
                continue
            outputs += 1
            for what, new, claim in changes(lines, added):
                tried += 1
                if forge.is_accepted(new, claim) and (found := forge.is_wrong(new, claim)):
                    wrong += 1
                    sys.stdout.write(f"{seed} {type(forge).__name__}: {what}: {found}\n")
    sys.stdout.write(f"{outputs} outputs, {tried} changes, {wrong} accepted and wrong; {left_out} left out\n")
    return 1 if wrong else 0


def _forges(random: Random) -> Iterator[Forge]:
    one, two = (write(random, _HOLDS - {"tools"}).text for _ in range(2))
    yield HomeForge(one)
    yield JoinForge((one, one))
    yield JoinForge((one, two))
    several = write(random, _HOLDS, several=True).text
    yield from (SplitForge(several, part) for part in range(2))


if __name__ == "__main__":
    raise SystemExit(main())
