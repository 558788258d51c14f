"""Measure the check of a job: the demo paddle, with and without its picture, and a long finishing program.

python tests/benchmarks/job.py --rounds 5

The paddle has four setups and sixteen programs, all maps at the default grid. The long job has one made-up program of
a million blocks over 300 x 200 mm. Every round runs every command once, one after the other, as whole processes, with
bytecode in a folder of their own, written by a run before: an installed package has its bytecode. The
table has medians of wall seconds, the ratio to `python -c "import numpy"`, which carries over to another machine, and
the most memory that a process took.
"""

import argparse
import os
import statistics
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

TOP = Path(__file__).parents[2]
JOB = str(TOP / "samples/paddle/job.toml")
LONG_JOB = """\
name = "Relief"
units = "mm"
tolerance = 0.1

[blank]
length = 240
width = 340
thickness = 30
edge = "left"
centre_line = 20

[[marks]]
name = "A"
face = "both"
along = 20

[[tools]]
name = "6 ball"
shape = "ball"
diameter = 6
plunge = true

[[setups]]
name = "front"
up = "front"
mark = "A"
zero = [0, 0]
z_zero = "top"
programs = [{ file = "relief.nc", tool = "6 ball" }]
"""


def run(command: list[str], bytecode: Path) -> tuple[float, float]:
    """Return how many seconds a command takes, and its memory in MiB; it has to end with status 0 or 1."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"PYTHONPATH": str(TOP), "PYTHONPYCACHEPREFIX": str(bytecode)}
    begin = perf_counter()
    quiet = [(os.POSIX_SPAWN_OPEN, stream, os.devnull, os.O_WRONLY, 0) for stream in (1, 2)]
    child = os.posix_spawn(command[0], [*command], environment, file_actions=quiet)
    _, status, used = os.wait4(child, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"{' '.join(command)}: exit status {os.waitstatus_to_exitcode(status)}")
    return perf_counter() - begin, used.ru_maxrss / 1024


def write_long_job(folder: Path, blocks: int) -> str:
    """Write the long job and its program, and return the job file's name."""
    script = [sys.executable, str(Path(__file__).with_name("programs.py")), "finishing", "--blocks", str(blocks)]
    subprocess.run([*script, "--output", str(folder / "relief.nc")], check=True)
    job = folder / "job.toml"
    job.write_text(LONG_JOB, encoding="ascii")
    return str(job)


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--blocks", type=int, default=1_000_000, help="of the long program")
    options = parser.parse_args()
    check = [sys.executable, "-m", "flipreg", "check"]
    with TemporaryDirectory() as folder:
        commands = {
            "import numpy": [sys.executable, "-c", "import numpy"],
            "check": [*check, JOB],
            "check --picture png": [*check, JOB, "--picture", f"{folder}/job.png"],
            "check --picture pdf": [*check, JOB, "--picture", f"{folder}/job.pdf"],
            "check of a long job": [*check, write_long_job(Path(folder), options.blocks)],
        }
        bytecode = Path(folder) / "bytecode"
        for name in ("import numpy", "check --picture png", "check --picture pdf"):
            run(commands[name], bytecode)
        took: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
        for _ in range(options.rounds):
            for name, command in commands.items():
                took[name].append(run(command, bytecode))
    median = {name: statistics.median(seconds for seconds, _ in each) for name, each in took.items()}
    for name, value in median.items():
        most = max(mib for _, mib in took[name])
        ratio = value / median["import numpy"]
        sys.stdout.write(f"{name:<22} {value:6.2f} s  {ratio:6.1f} x import numpy  {most:6.0f} MiB\n")
    for name in ("check --picture png", "check --picture pdf"):
        sys.stdout.write(f"{name:<22} adds {median[name] - median['check']:.2f} s\n")


if __name__ == "__main__":
    main()
