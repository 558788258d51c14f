"""Programs with habits, and what is made of them, by the reading of an outsider who knows the pages alone."""

import re
from itertools import cycle
from pathlib import Path

import pytest

import flipreg
from tests.habits.judge_reading import faults_of_reading
from tests.habits.random_habits import random_program
from tests.habits.random_hand import HABITS
from tests.habits.slow_compare import against_path, apart
from tests.habits.slow_judge import JUDGES
from tests.habits.slow_lines import Unreadable
from tests.habits.slow_places import Motion
from tests.habits.slow_reader import motions

FOLDER = Path(__file__).parents[1] / "cases" / "habits"
CASES = [file.stem for file in sorted(FOLDER.glob("*.txt"))]
SEEDS = range(15, 40)
REFUSED = {
    "home": ("long-tool", "wordy"),
    "join": ("dumped", "exact", "numbered", "wordy"),
    "split": ("wordy",),
}
"""The posts whose programs a verb refuses: they cross before they rise, can be left out by a switch, or end oddly."""
TURN_REFUSED = "an arc outside the XY plane cannot|with lines like this one left out"
BOWL = b"""%
OBOWL7A
g0g90g17g80g21g49g40g94
g91g28z0
g90
m6t6
m3s23800
g0z20.000
g0x18.500y7.500
f200
g1z-1.000
f1800
g1x38.000
g3x44.500y14.000i0.000j6.511
g1x18.500y7.500
g0z12.000
m5m9
m2
"""
PLAIN_VERBS = [verb for verb in JUDGES if verb not in ("hand", "check")]


def pair_of(name: str) -> list[bytes]:
    return FOLDER.joinpath(f"{name}.txt").read_bytes().split(b"\n; ---\n")


def refusal_or_fault(verb: str, text: bytes) -> tuple[str, str | None]:
    try:
        return "", JUDGES[verb](text)
    except flipreg.RefusedError as refusal:
        return refusal.message, None


def ends_of(text: str) -> list[tuple[float | str, ...]]:
    return [
        tuple(place.base or round(float(place.number), 4) for place in motion.end) for motion in motions(text.encode())
    ]


def test_the_outsider_drills_as_the_examples_of_the_report_say() -> None:
    assert ends_of("G0 X1 Y2 Z3\nG17 G90 G81 G98 X4 Y5 Z1.5 R2.8\n")[1:] == [
        (4, 5, 3),
        (4, 5, 2.8),
        (4, 5, 1.5),
        (4, 5, 3),
    ]
    holes = [((x, y, z)) for x, y in ((5, 7), (9, 12), (13, 17)) for z in (4.8, 4.2, 4.8)]
    assert ends_of("G0 X1 Y2 Z3\nG17 G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\n")[1:] == [(1, 2, 4.8), *holes]


@pytest.mark.parametrize(
    ("start", "block", "centre", "sweep_deg"),
    [
        ("X7 Y7 Z0", "G17 G2 x 10 y 16 i 3 j 4 z 9", (10, 11), -143.1301),
        ("X0 Y0 Z0", "G17 G2 x 10 y 15 r 20 z 5", (19.8551, -2.4034), -53.5764),
        ("X0 Y0 Z0", "G17 G3 x10 y15 r20", (-9.8551, 17.4034), 53.5764),
        ("X0 Y0 Z0", "G17 G2 x10 y15 r-20", (-9.8551, 17.4034), -306.4236),
        ("X0 Y0 Z0", "G17 G3 x10 y15 r-20", (19.8551, -2.4034), 306.4236),
        ("X5 Y5 Z0", "G17 G2 x5 y5 i2", (7, 5), -360),
    ],
)
def test_the_outsider_turns_as_worked_examples_say(
    start: str, block: str, centre: tuple[float, float], sweep_deg: float
) -> None:
    arc = motions(f"G0 {start}\n{block}\n".encode())[-1]
    assert arc.centre is not None
    assert [float(value) for value in arc.centre[:2]] == pytest.approx(centre, abs=1e-4)
    assert arc.sweep_deg == pytest.approx(sweep_deg, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("G0 X4 Y0\nG92 X7\nG92 X9\nX10\nG92.1\nX1\n", [(4, 0), (5, 0), (1, 0)]),
        ("G0 X1 Y1\nG28 G91 X0 Y0\nG90 X3\n", [(1, 1), (1, 1), ("home 28 X", "home 28 Y"), (3, "home 28 Y")]),
        ("G0 X1 Y1\nG53 X0\nY2\n", [(1, 1), ("machine 0", 1), ("machine 0", 2)]),
        ("G20 G0 X1 Y2\nG91 X1\n", [(25.4, 50.8), (50.8, 50.8)]),
    ],
)
def test_the_outsider_knows_axis_offsets_homes_and_units(text: str, ends: list[tuple[float | str, ...]]) -> None:
    assert [end[:2] for end in ends_of(text)] == ends


@pytest.mark.parametrize(
    "text", ["G90 G91 G0 X1\n", "G0 G1 X1\n", "G0 G80\nX1\n", "X1,5\n", "G0 X1\n%\nX2\n", "G5 X1\n", "G93 G94 G0 X1\n"]
)
def test_the_outsider_cannot_read_what_means_more_than_one_thing(text: str) -> None:
    with pytest.raises(Unreadable):
        motions(text.encode())


@pytest.mark.parametrize("name", CASES)
def test_a_case_is_read_as_the_outsider_reads_it(name: str) -> None:
    read = [motions(text) for text in pair_of(name)]
    assert apart(read[1], read[0], has_lines=False) is None
    for text, expected in zip(pair_of(name), read, strict=True):
        assert against_path(expected, flipreg.interpret(flipreg.parse(text, source=name))) is None


@pytest.mark.parametrize(("verb", "name"), [*zip(cycle(PLAIN_VERBS), CASES, strict=False)])
def test_what_is_made_of_a_case_does_what_the_outsider_expects(verb: str, name: str) -> None:
    try:
        assert JUDGES[verb](pair_of(name)[0]) is None
    except (flipreg.RefusedError, flipreg.ProofError):
        assert name.startswith(REFUSED.get(verb, ()))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_program_with_habits_is_read_told_and_flipped_as_the_outsider_expects(seed: int) -> None:
    program = random_program(seed)
    assert list(faults_of_reading(program)) == []
    verb = ("flip_x", "flip_y", "shift", "quarter_turn", "turn")[seed % 5]
    refusal, wrong = refusal_or_fault(verb, program.text)
    assert wrong is None
    assert not refusal or (verb == "turn" and re.match(TURN_REFUSED, refusal))


def test_the_random_programs_of_the_test_run_have_every_habit() -> None:
    shown = {each.habit for seed in SEEDS for each in random_program(seed).sprinkled}
    assert shown == {*HABITS}


@pytest.mark.parametrize(
    ("old", "new"),
    [(b"x18.5", b"x18.6"), (b"g3", b"g2"), (b"j6.5", b"j6.6"), (b"f1800", b"f180"), (b"s238", b"s23"), (b"t6", b"t7")],
)
def test_the_outsider_notices_another_program(old: bytes, new: bytes) -> None:
    other = BOWL.replace(old, new, 1)
    expected = motions(BOWL)
    assert apart(expected, _read_or_nothing(other)) is not None
    try:
        path = flipreg.interpret(flipreg.parse(other))
    except flipreg.ProgramError:
        return
    assert against_path(expected, path) is not None


def test_the_outsider_notices_another_machine_position() -> None:
    assert apart(motions(BOWL), motions(BOWL.replace(b"g28", b"g30", 1))) is not None


def _read_or_nothing(text: bytes) -> list[Motion]:
    try:
        return motions(text)
    except Unreadable:
        return []
