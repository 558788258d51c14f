"""Every change of one word of an added line, and of the lines themselves: none passes that changes a motion or a state.

The judge is a small machine with numbers, for several tables of offsets and lengths; it knows no proof and no rewriter.
The test run tries every change of a first part, and of the other edits every third, another third of the next edit;
`python -m tests.prove.test_word_changes` tries all.
"""

import sys
from collections.abc import Iterator
from itertools import islice

import pytest

from tests.prove.forged import Forge, HomeForge, JoinForge, SplitForge
from tests.prove.word_changes import changes

AWAY = "G21 G90\nT1 M6\nS9000 M3\nG0 X5 Y5\nZ2\nG1 Z-1 F300\nX20\nG0 Z2\nM5\nM30\n"
POST = (
    "G21 G90 G17\nG53 G0 Z0\nT1 M6\nG54\nS9000 M3\nG0 X5 Y5\nG43 Z15 H1\nM8\nG1 Z-1 F300\nX20\nG0 Z5\nG49\nM9\n"
    "M5\nM30\n"
)
STEPS = (
    "G21 G90 G17\nG28 G91 Z0\nT1 M6\nG90 G54\nG43 H1\nG0 Z15\nG0 X5 Y5\nG91\nG1 Z-16 F300\nX20\nG0 Z6\nM5\nG90\nM30\n"
)
INCHES = "G20 G90\nT2 M6\nG55\nG43 H2\nM7\nG0 Z1\nX2 Y1\nG1 Z-.1 F10\nX3\nG0 Z.1\nM9\nM30\n"
LEAVING = (
    "G21 G90 G17\nT1 M6\nG54\nG43 H1\nG0 Z15\nX5 Y5\nS900 M3\nM7\nM49\nG1 Z-1 F300\nG91 X2\nM8\nG0 Z2\nM30\n"
)
"""It ends in steps, with its length offset, its coolant and its overrides as they were."""
NUMBERS = (
    "G21 G90 G17\nT1 M6\nS9000 M3\nG55\nM8\nM7\nG0 Z15\nX5 Y5\nG1 Z-1 F300\nX20\nG0 Z5\nG91\nM5\nG61\nT2 M6\nM3\n"
    "G90 G0 X9 Y9\nG1 Z-2\nG0 Z15\nM9\nM5\nM30\n"
)
CHANGER = (
    "G21 G90 G17\nG28 G91 Z0\nG90\nT1 M6\nS9000 M3\nG0 X5 Y5\nG43 Z15 H1\nM8\nG1 Z-1 F300\nX20\nG0 Z15\nM5\n"
    "G91 G28 Z0\nG28 X0 Y0\nG90\nT2 M6\nM3\nG0 X9 Y9\nG43 Z15 H2\nG1 Z-2\nG0 Z15\nM5\nM30\n"
)

FORGES: dict[str, Forge] = {
    "home": HomeForge(AWAY),
    "home, up by the machine": HomeForge(POST),
    "home, in steps": HomeForge(STEPS),
    "home, in inches": HomeForge(INCHES),
    "join": JoinForge((POST, LEAVING)),
    "join, much left behind": JoinForge((LEAVING, LEAVING)),
    "split, first": SplitForge(NUMBERS, 0),
    "split, by numbers": SplitForge(NUMBERS, 1),
    "split, by the machine": SplitForge(CHANGER, 1),
}


EVERY = {name: 1 if name == "split, first" else 3 for name in FORGES}
"""How many changes one is tried of: so each line of the proof that refuses any of all changes refuses some of these."""


def accepted_and_wrong(forge: Forge, first: int = 0, every: int = 1) -> Iterator[str]:
    lines, added = forge.written()
    assert forge.is_accepted(lines, added)
    assert forge.is_wrong(lines, added) == ""
    refused = 0
    for what, new, claim in islice(changes(lines, added), first, None, every):
        if not forge.is_accepted(new, claim):
            refused += 1
            continue
        wrong = forge.is_wrong(new, claim)
        if wrong:
            yield f"{what}: {wrong}"
    assert refused > 120 / every


@pytest.mark.slow
@pytest.mark.parametrize("name", FORGES)
def test_no_change_passes_that_changes_a_motion_or_a_state(name: str) -> None:
    assert list(accepted_and_wrong(FORGES[name], [*FORGES].index(name) % EVERY[name], EVERY[name])) == []


@pytest.mark.parametrize("name", ["home", "join", "split, by numbers"])
def test_the_judge_sees_what_is_wrong(name: str) -> None:
    forge = FORGES[name]
    lines, added = forge.written()
    for at in added:
        if "G0" in lines[at]:
            assert forge.is_wrong([*lines[:at], f"/{lines[at]}", *lines[at + 1 :]], added)
            assert forge.is_wrong([*lines[:at], f"{lines[at]} G1", *lines[at + 1 :]], added)


if __name__ == "__main__":
    for each, forge in FORGES.items():
        sys.stdout.writelines(f"{each}: {wrong}\n" for wrong in accepted_and_wrong(forge))
