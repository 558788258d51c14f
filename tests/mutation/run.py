"""Mutation testing: one module at a time, each with the tests that are meant to hold it.

`mutmut` changes one thing at a time in a copy of the tree, runs the tests, and says which changes nobody noticed. The
whole test command takes minutes, so that each module has a short list of test files here. Run by hand from the top of
the tree; `DEVELOPERS.md` says how, and what came out.
"""

import argparse
import json
import random
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

__all__ = ["main"]

TOP = Path(__file__).parents[2]

_PLANTED = ("tests/prove/test_planted_faults.py",)
_EDITS = (
    "tests/prove/test_levels.py",
    "tests/prove/test_stretches.py",
    "tests/prove/test_levels_faults.py",
    "tests/commands/test_depth.py",
    "tests/commands/test_split.py",
    "tests/commands/test_join.py",
    "tests/commands/test_home.py",
)
_DEPTH = (
    "tests/rewrite/test_passes.py",
    "tests/prove/test_levels_faults.py",
    "tests/commands/test_depth.py",
    "tests/commands/test_depth_bites.py",
    "tests/commands/test_depth_entries.py",
    "tests/commands/test_depth_fresh_ground.py",
    "tests/commands/test_fitted_part.py",
)
_CLIMB = ("tests/prove/test_climb.py", "tests/prove/test_climb_faults.py", "tests/commands/test_keep_climb.py")
_REWRITING = (
    "tests/rewrite/test_cases.py",
    "tests/rewrite/test_digits.py",
    "tests/rewrite/test_machine.py",
    "tests/rewrite/test_splice.py",
    "tests/rewrite/test_table.py",
    "tests/commands/test_written_numbers.py",
    "tests/commands/test_several_zeros.py",
    "tests/commands/test_planes.py",
    "tests/commands/test_turned_arcs.py",
    "tests/commands/test_spelled_out.py",
    "tests/commands/test_said_twice.py",
    "tests/commands/test_back_boring.py",
    "tests/commands/test_many_decimals.py",
)

TESTS: dict[str, tuple[str, ...]] = {
    "geometry/isometry": ("tests/geometry/test_isometry.py",),
    **dict.fromkeys(
        ("prove/expected", "prove/motions", "prove/words", "prove/axis_offsets", "prove/chunk", "prove/proving"),
        (
            "tests/prove/test_motions.py",
            "tests/prove/test_words.py",
            "tests/prove/test_axis_offsets.py",
            "tests/prove/test_chunk.py",
            *_PLANTED,
            "tests/prove/test_apart.py",
            "tests/commands/test_several_zeros.py",
        ),
    ),
    "prove/added": ("tests/prove/test_added.py", "tests/prove/test_added_faults.py"),
    "prove/part": ("tests/prove/test_part.py", "tests/prove/test_added_faults.py", "tests/commands/test_join.py"),
    **dict.fromkeys(
        ("prove/spelled", "prove/calls"),
        (
            "tests/prove/test_spelled.py",
            "tests/prove/test_calls.py",
            "tests/prove/test_calls_faults.py",
            *_PLANTED,
            "tests/commands/test_turned_arcs.py",
            "tests/commands/test_spelled_out.py",
        ),
    ),
    **dict.fromkeys(("prove/levels", "prove/stretches"), _EDITS),
    "prove/climb": _CLIMB,
    **dict.fromkeys(
        (
            "rewrite/aligned",
            "rewrite/turned",
            "rewrite/arc_direction",
            "rewrite/digits",
            "rewrite/splice",
            "rewrite/header",
            "rewrite/machine",
            "rewrite/rewriter",
            "rewrite/spelled",
            "rewrite/rows",
        ),
        _REWRITING,
    ),
    **dict.fromkeys(
        (
            "prove/machine/advance",
            "prove/machine/beside",
            "prove/machine/coordinate",
            "prove/machine/drill",
            "prove/machine/history",
            "prove/machine/ours",
            "prove/machine/step",
        ),
        (
            "tests/prove/machine/test_beside.py",
            "tests/prove/machine/test_coordinate.py",
            "tests/prove/machine/test_ours.py",
            "tests/prove/machine/test_step.py",
        ),
    ),
    **dict.fromkeys(
        ("rewrite/join", "rewrite/standing_alone"),
        ("tests/commands/test_join.py", "tests/commands/test_no_plunge.py", "tests/commands/test_usual_posts.py"),
    ),
    **dict.fromkeys(
        ("rewrite/split", "rewrite/in_force", "rewrite/stand", "rewrite/way_there"),
        ("tests/commands/test_split.py", "tests/commands/test_no_plunge.py", "tests/commands/test_usual_posts.py"),
    ),
    **dict.fromkeys(
        ("rewrite/ending", "rewrite/home", "rewrite/home_start"),
        ("tests/commands/test_home.py", "tests/commands/test_no_plunge.py", "tests/commands/test_usual_posts.py"),
    ),
    "rewrite/junction": _EDITS,
    **dict.fromkeys(
        (
            "rewrite/depth",
            "rewrite/depth_plan",
            "rewrite/depth_ground",
            "rewrite/relevel",
            "rewrite/passes",
            "rewrite/way_back",
        ),
        _DEPTH,
    ),
    "prove/way": ("tests/prove/test_way.py", "tests/prove/test_stretches.py"),
    **dict.fromkeys(
        ("contour", "contour_count", "unturned"),
        ("tests/test_contour.py", "tests/test_unturned.py", "tests/commands/test_keep_climb.py"),
    ),
    "rewrite/climb": _CLIMB,
}
"""Modules, below the package, and the tests that hold them."""

_CONFIGURATION = """
[tool.mutmut]
source_paths = ["flipreg"]
only_mutate = {modules}
also_copy = ["samples", "docs"]
pytest_add_cli_args_test_selection = {tests}
pytest_add_cli_args = [
  "-p", "no:cacheprovider", "-p", "no:doctest",
  "-p", "tests.mutation.profile",
  "-o", "addopts=--import-mode=importlib",
  "-m", "not slow",
]
timeout_multiplier = 3.0
use_git_change_detection = false
"""

_STATUS = {0: "survived", 1: "killed", 3: "killed", 33: "no tests", 36: "timeout", 24: "timeout", -24: "timeout"}
"""What mutmut's exit codes mean; others are killed by a crash."""


def main() -> None:
    """Mutate modules and say what survived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("room", type=Path, help="a folder for the copy, outside of the tree")
    parser.add_argument("modules", nargs="+", choices=sorted(TESTS), help="modules that share their tests")
    parser.add_argument("--most", type=int, help="mutants of a module to try, drawn with a fixed seed; all by default")
    arguments = parser.parse_args()
    tests = sorted({name for module in arguments.modules for name in TESTS[module]})
    copy = _copy(arguments.room, arguments.modules, [name for name in tests if (TOP / name).exists()])
    for module in arguments.modules:
        # Mutants have no names before the first run makes them; this one tries a single mutant.
        _mutmut(copy, [f"flipreg.{module.replace('/', '.')}.*__mutmut_1"])
        names = _names(copy, module)
        if arguments.most is not None and len(names) > arguments.most:
            names = sorted(random.Random(1).sample(names, arguments.most))
        _mutmut(copy, names)
        _report(copy, module, names)


def _copy(room: Path, modules: list[str], tests: list[str]) -> Path:
    """Lay a copy of the tree that has mutmut's settings in its pyproject."""
    copy = room / "copy"
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(TOP, copy, ignore=shutil.ignore_patterns(".*", "__pycache__", "mutants"))
    paths = [f"flipreg/{module}.py" for module in modules]
    with (copy / "pyproject.toml").open("a") as file:
        file.write(_CONFIGURATION.format(modules=json.dumps(paths), tests=json.dumps(tests)))
    return copy


def _mutmut(copy: Path, names: list[str]) -> None:
    subprocess.run(
        [sys.executable, "-m", "mutmut", "run", "--max-children", "1", *names], cwd=copy, check=False
    )


def _results(copy: Path, module: str) -> dict[str, int | None]:
    text = (copy / f"mutants/flipreg/{module}.py.meta").read_text()
    results: dict[str, int | None] = json.loads(text)["exit_code_by_key"]
    return results


def _names(copy: Path, module: str) -> list[str]:
    return sorted(_results(copy, module))


def _report(copy: Path, module: str, names: list[str]) -> None:
    results = _results(copy, module)
    found = {name: _status(results[name]) for name in names}
    counts = Counter(found.values())
    shown = ", ".join(f"{count} {what}" for what, count in sorted(counts.items()))
    sys.stdout.write(f"{module}: {len(names)} of {len(results)} mutants tried: {shown}\n")
    for name, what in found.items():
        if what != "killed":
            sys.stdout.write(f"  {what}: {name}\n")
    sys.stdout.flush()


def _status(code: int | None) -> str:
    return "not run" if code is None else _STATUS.get(code, "killed")


if __name__ == "__main__":
    main()
