"""Measure the library and the command side by side with a naive script, as ratios.

python tests/benchmarks/run.py                     five rounds, programs of 1,000,000 and 100,000 blocks
python tests/benchmarks/run.py --rounds 1 --blocks 100000
python tests/benchmarks/run.py --ten-million       also the memory of a flip of ten times the blocks

Only ratios of one run carry over to another machine, so every round runs every measurement once, one after the
other, and the table compares medians. The naive script is one line of awk: it negates X and I and swaps G2 and G3,
knows no modal state and no comments, and proves nothing. What cannot be measured is 'not measured', never met.
This process imports nothing heavy: the peak memory of a child includes that of its parent at the fork.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter

__all__ = ["NAIVE_MIRROR", "main"]

_HERE = Path(__file__).resolve().parent
_ROOT = _HERE.parents[1]

NAIVE_MIRROR = (
    '{for(i=1;i<=NF;i++){c=substr($i,1,1);if(c=="X"||c=="I")$i=c sprintf("%.3f",-substr($i,2));'
    'else if($i=="G2")$i="G3";else if($i=="G3")$i="G2"}print}'
)

_FLIPREG = [sys.executable, "-m", "flipreg"]

_MIB = 1024 * 1024
_RSS_UNITS_A_MIB = _MIB if sys.platform == "darwin" else 1024
"""ru_maxrss is in kibibytes on Linux and in bytes on macOS."""


@dataclass(frozen=True, slots=True)
class Ran:
    """One process: wall-clock seconds, peak memory in MiB, exit status, last line of standard error."""

    seconds: float
    peak_mib: float
    status: int
    last_words: str


class NotMeasuredError(Exception):
    """A measurement that could not be made; the text says why."""


@dataclass(frozen=True, slots=True)
class Target:
    """One line of the table: the median of one figure over that of another, and the bound to keep.

    A figure is named `measurement.field`. Without a bound the line only tells.
    """

    what: str
    over: str
    under: str | None = None
    at_least: float | None = None
    at_most: float | None = None

    def line(self, medians: Mapping[str, float], failures: Mapping[str, str]) -> str:
        """Return the table's line."""
        wanted = [name for name in (self.over, self.under) if name is not None]
        missing = [name for name in wanted if name not in medians]
        if missing:
            why = failures.get(missing[0].split(".")[0], "no such figure")
            return f"{self.what:<58} {'-':>9}  {self._bound():<10} not measured: {why}"
        figure = medians[self.over] / (medians[self.under] if self.under else 1.0)
        return f"{self.what:<58} {figure:>9.3f}  {self._bound():<10} {self._verdict(figure)}".rstrip()

    def _bound(self) -> str:
        if self.at_least is not None:
            return f">= {self.at_least:g}"
        return "" if self.at_most is None else f"<= {self.at_most:g}"

    def _verdict(self, figure: float) -> str:
        if self.at_least is not None:
            return "met" if figure >= self.at_least else f"missed by {1 - figure / self.at_least:.0%}"
        if self.at_most is not None:
            return "met" if figure <= self.at_most else f"missed by {figure / self.at_most - 1:.0%}"
        return ""


@dataclass(frozen=True, slots=True)
class Bench:
    """The programs to measure with, and where output goes."""

    awk: str
    front: Path
    back: Path
    quarter_front: Path
    quarter_back: Path
    arcs: Path
    habits: Path
    no_habits: Path
    small: Path
    scratch: Path

    def naive(self, program: Path) -> dict[str, float]:
        """Mirror by the naive script."""
        ran = self._process([self.awk, NAIVE_MIRROR, str(program)])
        return {"seconds": ran.seconds}

    def scan(self, program: Path) -> dict[str, float]:
        """Scan to columns, timed inside the process."""
        return self._inside("scan", program)

    def rewrite(self, program: Path) -> dict[str, float]:
        """Rewrite from columns to text, timed inside the process."""
        return self._inside("rewrite", program)

    def flip(self, program: Path) -> dict[str, float]:
        """Flip with the proof, as a whole process."""
        ran = self._process([*_FLIPREG, "flip", str(program), "--axis", "y", "--at", "0"])
        if self._output_mib() * _MIB < program.stat().st_size / 2:
            raise NotMeasuredError("the output is less than half the program")
        return {"seconds": ran.seconds, "peak_mib": ran.peak_mib}

    def check(self, front: Path, back: Path) -> dict[str, float]:
        """Check two programs for register, as a whole process."""
        given = ["--axis", "y", "--at", "0", "--tolerance", "0.1", "--tool", "6", "--json"]
        ran = self._process([*_FLIPREG, "check", str(front), str(back), *given], accepted=(0, 1))
        # Python itself ends with 1 when it cannot start: only a report shows that the check ran.
        report = (self.scratch / "stdout").read_text()
        if '"in_register"' not in report:
            raise NotMeasuredError(f"exit status {ran.status} without a report: {ran.last_words}")
        return {"seconds": ran.seconds, "peak_mib": ran.peak_mib, "status": ran.status}

    def flip_ten_times(self, ten: Path) -> dict[str, float]:
        """Flip ten times the blocks, and tell by how much memory grew for each byte the output grew."""
        once, once_mib = self.flip(self.front), self._output_mib()
        large, large_mib = self.flip(ten), self._output_mib()
        growth = (large["peak_mib"] - once["peak_mib"]) / (large_mib - once_mib)
        return {**large, "growth": growth}

    def import_numpy(self) -> dict[str, float]:
        """Start Python and import numpy: the floor for anything that uses it."""
        return {"seconds": self._process([sys.executable, "-c", "import numpy"]).seconds}

    def _inside(self, stage: str, program: Path) -> dict[str, float]:
        self._process([sys.executable, str(_HERE / "inside.py"), stage, str(program)])
        found: dict[str, float] = json.loads((self.scratch / "stdout").read_text())
        return found

    def _output_mib(self) -> float:
        return (self.scratch / "stdout").stat().st_size / _MIB

    def _process(self, command: list[str], *, accepted: tuple[int, ...] = (0,)) -> Ran:
        """Run a command to its end, its output to a file, and raise NotMeasuredError where it fails."""
        # Modules are compiled once, as those of an installed package are, whatever this process was told.
        environment = {**os.environ, "PYTHONPATH": str(_ROOT), "PYTHONPYCACHEPREFIX": str(self.scratch / "compiled")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        with (self.scratch / "stdout").open("wb") as out, (self.scratch / "stderr").open("w+b") as err:
            begin = perf_counter()
            child = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=out, stderr=err, env=environment, cwd=self.scratch
            )
            _, wait_status, usage = os.wait4(child.pid, 0)
            seconds = perf_counter() - begin
            child.returncode = os.waitstatus_to_exitcode(wait_status)
            err.seek(0)
            lines = err.read().decode(errors="replace").strip().splitlines() or ["no message"]
        if child.returncode not in accepted:
            raise NotMeasuredError(f"exit status {child.returncode}: {lines[-1]}")
        return Ran(seconds, usage.ru_maxrss / _RSS_UNITS_A_MIB, child.returncode, lines[-1])


_TARGETS = (
    Target("naive script on the finishing program, seconds", "naive.seconds"),
    Target("scanning to columns: times as fast as naive", "naive.seconds", "scan.scan", at_least=3.5),
    Target("rewriting alone: times as fast as naive", "naive.seconds", "rewrite.rewrite", at_least=3.5),
    Target("  interpreting alone: times as fast as naive", "naive.seconds", "rewrite.interpret"),
    Target("flip with proof: times as fast as naive", "naive.seconds", "flip.seconds", at_least=1.0),
    Target("flip with proof: peak memory, MiB", "flip.peak_mib", at_most=250.0),
    Target("flip with proof: time of all blocks / of a quarter", "flip.seconds", "flip quarter.seconds"),
    Target("naive script on the arc program, seconds", "naive arcs.seconds"),
    Target("arcs, scanning: times as fast as naive", "naive arcs.seconds", "scan arcs.scan", at_least=1.5),
    Target("arcs, rewriting: times as fast as naive", "naive arcs.seconds", "rewrite arcs.rewrite", at_least=2.5),
    Target("arcs, flip with proof: times as fast as naive", "naive arcs.seconds", "flip arcs.seconds", at_least=0.5),
    Target("a habit on every line, flip: times without", "flip habits.seconds", "flip no habits.seconds", at_most=1.2),
    Target("50 blocks, flip: times `import numpy`", "flip small.seconds", "import numpy.seconds", at_most=2.5),
    Target("check of both faces: times naive", "check.seconds", "naive.seconds", at_most=5.0),
    Target("check: time of all blocks / of a quarter", "check.seconds", "check quarter.seconds", at_most=4.6),
    Target("check: peak memory, MiB", "check.peak_mib", at_most=400.0),
    Target("  check: exit status (0 in register, 1 not shown)", "check.status"),
    Target("10 x the blocks, flip: peak memory, MiB", "ten.peak_mib"),
    Target("  growth of the peak / growth of the output", "ten.growth", at_most=1.0),
)

_QUARTER = 4
_SMALL_BLOCKS = 50


def main() -> int:
    """Run the rounds and write the table."""
    arguments = _arguments()
    with tempfile.TemporaryDirectory() as folder:
        bench = _prepared(Path(folder), arguments)
        measurements = _measurements(bench)
        if arguments.ten_million:
            ten = _program(bench.scratch, "ten", arguments.blocks * 10)
            measurements["ten"] = lambda: bench.flip_ten_times(ten)
        figures: dict[str, list[float]] = {}
        failures: dict[str, str] = {}
        for number in range(arguments.rounds):
            sys.stderr.write(f"round {number + 1} of {arguments.rounds}\n")
            for name, measure in measurements.items():
                # The largest run is for its memory, which one run shows.
                if name in failures or (name == "ten" and number):
                    continue
                try:
                    for field, figure in measure().items():
                        figures.setdefault(f"{name}.{field}", []).append(figure)
                except NotMeasuredError as error:
                    failures[name] = str(error)
    medians = {name: median(values) for name, values in figures.items() if name.split(".")[0] not in failures}
    targets = [target for target in _TARGETS if arguments.ten_million or not target.over.startswith("ten.")]
    sys.stdout.write(
        f"{arguments.blocks:,} blocks finishing, {arguments.arc_blocks:,} blocks arcs; naive script: "
        f"{Path(bench.awk).name}; medians of {arguments.rounds} interleaved rounds; Python "
        f"{sys.version.split()[0]}, {os.cpu_count()} cores\n\n"
    )
    sys.stdout.writelines(f"{target.line(medians, failures)}\n" for target in targets)
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Measure side by side with a naive script, as ratios.")
    parser.add_argument("--rounds", type=int, default=5, help="interleaved rounds (default: 5)")
    parser.add_argument("--blocks", type=int, default=1_000_000, help="of the finishing program (default: 1000000)")
    parser.add_argument("--arc-blocks", type=int, default=100_000, help="of the arc program (default: 100000)")
    parser.add_argument("--ten-million", action="store_true", help="also flip ten times the finishing blocks, once")
    return parser.parse_args()


def _prepared(folder: Path, arguments: argparse.Namespace) -> Bench:
    """Write the programs and choose the awk: mawk where there is one, else whatever awk there is."""
    awk = shutil.which("mawk") or shutil.which("awk")
    if awk is None:
        raise SystemExit("no mawk or awk to compare with")
    quarter = arguments.blocks // _QUARTER
    return Bench(
        awk=awk,
        front=_program(folder, "front", arguments.blocks),
        back=_program(folder, "back", arguments.blocks, face="back"),
        quarter_front=_program(folder, "quarter-front", quarter),
        quarter_back=_program(folder, "quarter-back", quarter, face="back"),
        arcs=_program(folder, "arcs", arguments.arc_blocks, sort="arcs"),
        habits=_program(folder, "habits", arguments.blocks, sort="habits"),
        no_habits=_program(folder, "no-habits", arguments.blocks, sort="no-habits"),
        small=_program(folder, "small", _SMALL_BLOCKS),
        scratch=folder,
    )


def _program(folder: Path, name: str, blocks: int, *, sort: str = "finishing", face: str = "front") -> Path:
    output = folder / f"{name}.ngc"
    script = [sys.executable, str(_HERE / "programs.py"), sort]
    subprocess.run([*script, "--blocks", str(blocks), "--face", face, "--output", str(output)], check=True)
    return output


def _measurements(bench: Bench) -> dict[str, Callable[[], dict[str, float]]]:
    return {
        "naive": lambda: bench.naive(bench.front),
        "scan": lambda: bench.scan(bench.front),
        "rewrite": lambda: bench.rewrite(bench.front),
        "flip": lambda: bench.flip(bench.front),
        "flip quarter": lambda: bench.flip(bench.quarter_front),
        "naive arcs": lambda: bench.naive(bench.arcs),
        "scan arcs": lambda: bench.scan(bench.arcs),
        "rewrite arcs": lambda: bench.rewrite(bench.arcs),
        "flip arcs": lambda: bench.flip(bench.arcs),
        "flip habits": lambda: bench.flip(bench.habits),
        "flip no habits": lambda: bench.flip(bench.no_habits),
        "import numpy": bench.import_numpy,
        "flip small": lambda: bench.flip(bench.small),
        "check": lambda: bench.check(bench.front, bench.back),
        "check quarter": lambda: bench.check(bench.quarter_front, bench.quarter_back),
    }


if __name__ == "__main__":
    sys.exit(main())
