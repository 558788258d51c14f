"""Mutation testing: one module at a time, each with the tests that are meant to hold it.

`mutmut` makes a module that holds all its mutants, each changed in one thing; `tests.mutation.forked` runs the tests
that reach it for one mutant after the other, in a copy of the tree, and says which changes nobody noticed. The whole
test command takes minutes, so that each module has a short list of test files here. Run by hand from the top of the
tree; `DEVELOPERS.md` says how, and what came out.
"""

import argparse
import json
import os
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
    "tests/rewrite/test_junction.py",
    "tests/rewrite/test_passes.py",
    "tests/prove/test_levels_faults.py",
    "tests/commands/test_depth.py",
    "tests/commands/test_depth_bites.py",
    "tests/commands/test_depth_entries.py",
    "tests/commands/test_depth_fresh_ground.py",
    "tests/commands/test_fitted_part.py",
)
_ADDED = (
    "tests/commands/test_no_plunge.py",
    "tests/commands/test_usual_posts.py",
    "tests/commands/test_edit_dialects.py",
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
    **dict.fromkeys(("prove/levels", "prove/stretches", "prove/dropped"), _EDITS),
    **dict.fromkeys(("prove/climb", "prove/turned_loops", "prove/loops"), (*_CLIMB, "tests/prove/test_loops.py")),
    **dict.fromkeys(
        ("prove/turned_pieces", "produce/pieces", "produce/source_place"), ("tests/produce/test_pieces.py",)
    ),
    **dict.fromkeys(
        (
            "rewrite/isometry/aligned",
            "rewrite/isometry/turned",
            "rewrite/isometry/arc_direction",
            "rewrite/text/digits",
            "rewrite/text/splice",
            "rewrite/isometry/machine",
            "rewrite/isometry/rewriter",
            "rewrite/isometry/spelled",
            "rewrite/text/rows",
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
    "rewrite/text/header": ("tests/rewrite/test_header.py",),
    **dict.fromkeys(
        (
            "rewrite/shop/join",
            "rewrite/text/framing",
            "rewrite/shop/standing_alone",
        ),
        ("tests/commands/test_join.py", *_ADDED),
    ),
    **dict.fromkeys(
        (
            "rewrite/shop/split",
            "rewrite/shop/in_force",
            "rewrite/text/stand",
            "rewrite/shop/way_there",
            "prove/ahead",
        ),
        ("tests/commands/test_split.py", *_ADDED),
    ),
    **dict.fromkeys(
        (
            "rewrite/shop/ending",
            "rewrite/text/events",
            "rewrite/shop/home",
            "rewrite/shop/home_start",
            "rewrite/shop/way_from_zero",
            "rewrite/shop/instead",
        ),
        ("tests/commands/test_home.py", *_ADDED),
    ),
    **dict.fromkeys(
        (
            "rewrite/floor/crossing",
            "rewrite/floor/depth",
            "rewrite/floor/depth_plan",
            "rewrite/floor/depth_ground",
            "rewrite/floor/floors",
            "rewrite/floor/left_out",
            "rewrite/text/junction",
            "rewrite/floor/movable",
            "rewrite/floor/relevel",
            "rewrite/floor/passes",
            "rewrite/floor/trace",
            "rewrite/floor/way_back",
        ),
        _DEPTH,
    ),
    "prove/way": ("tests/prove/test_way.py", "tests/prove/test_stretches.py"),
    **dict.fromkeys(
        ("contours/contour", "contours/ways_back", "contours/count", "contours/unturned"),
        ("tests/contours/test_contour.py", "tests/contours/test_unturned.py", "tests/commands/test_keep_climb.py"),
    ),
    **dict.fromkeys(
        (
            "rewrite/climb/climb",
            "rewrite/text/feeds",
            "rewrite/climb/motion_words",
            "rewrite/climb/runs",
            "rewrite/climb/turnable",
        ),
        _CLIMB,
    ),
}
"""Modules, below the package, and the tests that hold them."""


def main() -> None:
    """Mutate modules and say what survived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("room", type=Path, help="a folder for the copy, outside of the tree")
    parser.add_argument("modules", nargs="+", choices=sorted(TESTS), metavar="module", help="modules to mutate")
    parser.add_argument("--most", type=int, help="mutants of a module to try, drawn with a fixed seed; all by default")
    parser.add_argument("--only", nargs="+", default=[], help="names of mutants to try again")
    arguments = parser.parse_args()
    room = arguments.room.resolve()
    for module in arguments.modules:
        copy = room / "copy"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(TOP, copy, ignore=shutil.ignore_patterns(".*", "__pycache__", "mutants"))
        names = _mutated(copy, module)
        tried = [name for name in names if name.rpartition(".")[2] in arguments.only] if arguments.only else names
        if arguments.most is not None and len(tried) > arguments.most:
            tried = sorted(random.Random(1).sample(tried, arguments.most))
        _report(module, _tried(copy, module, tried), len(names))


def _mutated(copy: Path, module: str) -> list[str]:
    """Put all mutants of a module into the copy, and return their names."""
    from mutmut.mutation.file_mutation import mutate_file_contents

    with (copy / "pyproject.toml").open("a") as file:
        file.write('\n[tool.mutmut]\nsource_paths = ["flipreg"]\n')
    # mutmut reads its settings where it runs.
    os.chdir(copy)
    path = copy / f"flipreg/{module}.py"
    made = mutate_file_contents(f"flipreg/{module}.py", path.read_text())
    path.write_text(made.code)
    return sorted(f"flipreg.{module.replace('/', '.')}.{name}" for name in made.mutant_names)


def _tried(copy: Path, module: str, names: list[str]) -> dict[str, str]:
    """Run the tests of a module for each mutant, and return what became of it."""
    asked, found = copy / "mutants.json", copy / "found.json"
    asked.write_text(json.dumps(names))
    tests = TESTS[module]
    options = ["-q", "-p", "no:cacheprovider", "-p", "no:doctest", "-o", "addopts=--import-mode=importlib"]
    options += ["-p", "tests.mutation.profile", "-p", "tests.mutation.forked", "-m", "not slow", *tests]
    environment = {**os.environ, "MUTANTS": str(asked), "FOUND": str(found), "PYTHONPATH": str(copy)}
    subprocess.run([sys.executable, "-m", "pytest", *options], cwd=copy, env=environment, check=False)
    results: dict[str, str] = json.loads(found.read_text())
    return results


def _report(module: str, results: dict[str, str], count: int) -> None:
    counts = Counter(what.partition(" ")[0] for what in results.values())
    shown = ", ".join(f"{number} {what}" for what, number in sorted(counts.items()))
    sys.stdout.write(f"{module}: {len(results)} of {count} mutants tried: {shown}\n")
    for name, what in results.items():
        if not what.startswith("killed"):
            sys.stdout.write(f"  {what}: {name}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
