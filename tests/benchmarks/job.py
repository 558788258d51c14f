"""Measure the check of the demo paddle, with and without its picture.

python tests/benchmarks/job.py --rounds 5

Four setups, sixteen programs, all maps at the default grid. Every round runs every command once, one after the other,
as whole processes; the table has medians of wall seconds and the ratio to `python -c "import numpy"`, which carries
over to another machine.
"""

import argparse
import statistics
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

TOP = Path(__file__).parents[2]
JOB = str(TOP / "samples/paddle/job.toml")


def seconds(command: Sequence[str]) -> float:
    """Return how long a command takes; it has to end with status 0."""
    begin = perf_counter()
    subprocess.run(command, cwd=TOP, check=True, capture_output=True)
    return perf_counter() - begin


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    check = [sys.executable, "-m", "flipreg", "check", JOB]
    with TemporaryDirectory() as folder:
        commands = {
            "import numpy": [sys.executable, "-c", "import numpy"],
            "check": check,
            "check --picture png": [*check, "--picture", f"{folder}/job.png"],
            "check --picture pdf": [*check, "--picture", f"{folder}/job.pdf"],
        }
        took: dict[str, list[float]] = {name: [] for name in commands}
        for _ in range(rounds):
            for name, command in commands.items():
                took[name].append(seconds(command))
    median = {name: statistics.median(times) for name, times in took.items()}
    for name, value in median.items():
        sys.stdout.write(f"{name:<22} {value:6.2f} s  {value / median['import numpy']:6.1f} x import numpy\n")
    for name in ("check --picture png", "check --picture pdf"):
        sys.stdout.write(f"{name:<22} adds {median[name] - median['check']:.2f} s\n")


if __name__ == "__main__":
    main()
