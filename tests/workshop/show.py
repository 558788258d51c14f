"""Write the programs of one job into a folder, with the command line that checks them and what is true of them.

Run it from the top of the tree: ``python -m tests.workshop.show KIND SEED FOLDER``.
"""

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from tests.workshop.catalogue import KINDS
from tests.workshop.cuts import FACES, Cutter
from tests.workshop.job import ALL_TOLD, FAULTS, NONE, Job, make
from tests.workshop.truth import corner_off, misfit


def main() -> None:
    parser = argparse.ArgumentParser(description="Write the programs of one job.")
    parser.add_argument("kind", choices=sorted(KINDS))
    parser.add_argument("seed", type=int)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--fault", choices=[NONE, *FAULTS])
    parser.add_argument("--all-told", action="store_true", help="tell the flip, the tools and the thickness")
    asked = parser.parse_args()
    job = make(asked.kind, asked.seed, asked.fault)
    if asked.all_told:
        job = replace(job, told=ALL_TOLD)
    write_job(job, asked.folder)
    sys.stdout.write(f"{command(job)}\n{truth(job)}")


def write_job(job: Job, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for face in FACES:
        for name, text in job.programs[face].items():
            (folder / name).write_text(text, encoding="utf-8")
    (folder / "command.txt").write_text(command(job) + "\n", encoding="utf-8")
    (folder / "truth.txt").write_text(truth(job), encoding="utf-8")


def command(job: Job) -> str:
    """Return the command line that checks the programs, run in their folder."""
    words = ["flipreg check", *(f"--{face} {' '.join(job.programs[face])}" for face in FACES)]
    if job.told.flip != "nothing":
        words.append(f"--axis {job.axis}")
    if job.told.flip == "all":
        words.append(f"--datum={job.datum[0]},{job.datum[1]}")
    words.append(f"--tolerance {job.tolerance}")
    if job.told.tools:
        words += [f"--tool T{number}={_tool(tool)}" for tool, number in job.tools.items()]
    if job.told.thickness:
        words.append(f"--thickness {job.thickness}")
    return " ".join(words)


def truth(job: Job) -> str:
    apart, kinds = misfit(job, job.flip)
    return (
        f"{job.kind} {job.seed}, fault: {job.fault}\n{job.spoilt.detail}\n"
        f"flipped about {job.axis.upper()}, datum {job.datum}, thickness {job.thickness}, tolerance {job.tolerance}\n"
        f"as planned what both faces share misses itself by {apart}: {kinds}\n"
        f"and the corners of the part are off by {corner_off(job, job.flip):.4f}\n"
    )


def _tool(tool: Cutter) -> str:
    shape = "" if tool.shape == "flat" else f"{tool.shape}:"
    angle = "" if tool.angle is None else f":{tool.angle:g}"
    return f"{shape}{tool.diameter:g}{angle}"


if __name__ == "__main__":
    main()
