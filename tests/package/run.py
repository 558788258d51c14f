"""Build the package, install its wheel alone into an empty environment, and run there what the README shows.

Run by hand before a release; it needs a package index for the dependencies, and takes a minute or two:

    python tests/package/run.py

It prints each command with its exit status, and ends with 1 if one could not run, if the checkout is needed, or if
`twine check` has something to say.
"""

import os
import re
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from tempfile import TemporaryDirectory

TOP = Path(__file__).parents[2]

_FENCE = re.compile(r"```\n(.*?)```", re.DOTALL)
_SPAN = re.compile(r"`(flipreg [^`]+)`")

_PROGRAMS = {
    "pocket.nc": "bracket/heel-pocket.nc",
    "slot.nc": "tray/back-rough.nc",
    "rough.nc": "tray/front-rough.nc",
    "profile.nc": "tray/front-profile.nc",
    "front.nc": "tray/front-profile.nc",
    "back.nc": "tray/back-profile.nc",
}
"""What programs that the README only names are here, under `samples`; the tray's are there under their own names."""

_MORE_OF_THE_JOB = """
[[marks]]
name = "tip"
face = "both"
along = 350

[budget]
lines = { rectangular = 0.25 }
jog = { rectangular = 0.05 }
"""
"""What the README's `touch` and `budget` need, and the tray's job has not."""


def main() -> int:
    """Return 0 if the wheel does by itself what the README shows."""
    with TemporaryDirectory() as made:
        folder = Path(made)
        builder = _environment(folder / "builder", "build", "twine")
        _run([builder / "python", "-m", "build", "-q", "--outdir", folder / "dist", TOP], folder)
        dist = sorted((folder / "dist").iterdir())
        _run([builder / "twine", "check", "--strict", *dist], folder)
        wheel = next(file for file in dist if file.suffix == ".whl")
        empty = _environment(folder / "empty", str(wheel))
        bench = folder / "bench"
        _lay_out(bench)
        where = "import flipreg; print(flipreg.__file__)"
        found = _run([empty / "python", "-c", where], bench).strip()
        if not found.startswith(str(folder)):
            sys.exit(f"{found} was imported, and not what the wheel has")
        return max([_shown(command, bench, empty) for command in _commands()])


def _environment(folder: Path, *packages: str) -> Path:
    """Return the folder of the commands of a new environment with packages."""
    venv.create(folder, with_pip=True)
    commands = folder / ("Scripts" if os.name == "nt" else "bin")
    _run([commands / "python", "-m", "pip", "install", "-q", "--disable-pip-version-check", *packages], folder)
    return commands


def _run(arguments: list[object], folder: Path) -> str:
    """Return what a command prints; it has to succeed."""
    done = subprocess.run(list(map(str, arguments)), cwd=folder, stdout=subprocess.PIPE, text=True, check=True)
    return done.stdout


def _lay_out(bench: Path) -> None:
    """Put the files that the README's commands name into a folder of their own."""
    shutil.copytree(TOP / "samples", bench / "samples")
    for file in (bench / "samples" / "tray").glob("*.nc"):
        shutil.copy(file, bench)
    for name, sample in _PROGRAMS.items():
        shutil.copy(bench / "samples" / sample, bench / name)
    job = (bench / "samples" / "tray" / "job.toml").read_text()
    (bench / "job.toml").write_text(job + _MORE_OF_THE_JOB)


def _commands() -> list[str]:
    """Return the README's command lines: of its table, of the first try, and of the pipe."""
    readme = (TOP / "README.md").read_text()
    shown = [line for block in _FENCE.findall(readme) for line in block.splitlines() if "flipreg" in line]
    tried = [line.partition("pip install -q . && ")[2].replace(".venv/bin/", "") or line for line in shown]
    # A draft is never written over.
    spans = [command for command in _SPAN.findall(readme) if "." in command]
    table = [command.replace("-o job.toml", "-o drafted.toml") for command in spans]
    return [*(line for line in tried if "-m pytest" not in line), *table]


def _shown(command: str, bench: Path, commands: Path) -> int:
    """Run a command line and say how it ended; return 1 if it could not do what it was asked for."""
    environment = {**os.environ, "PATH": f"{commands}{os.pathsep}{os.environ['PATH']}"}
    environment.pop("PYTHONPATH", None)
    done = subprocess.run(
        ["bash", "-c", command], cwd=bench, env=environment, capture_output=True, text=True, check=False
    )
    sys.stdout.write(f"{done.returncode}  {command}\n")
    # 1 is an answer: not shown to be in register.
    if done.returncode in (0, 1) and "Traceback" not in done.stderr:
        return 0
    sys.stdout.write(done.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())
