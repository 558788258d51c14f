"""Programs with habits do what the same programs do without them, whatever is done with them."""

import functools
from collections.abc import Callable
from dataclasses import fields, replace
from decimal import Decimal

import numpy as np
import pytest

import flipreg
from flipreg.findings import Status
from flipreg.path import Path
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.subprograms import executed
from flipreg.rs274.read import lines as lines_module
from tests.habits.posts import FOLDER, PARTS, POSTS, Part, written

CASES = sorted(FOLDER.glob("*.txt"))

ZERO = Decimal(0)
DATUM = (Decimal("203.2"), Decimal("25.4"))

WORK: dict[str, Callable[[flipreg.Program], flipreg.Produced]] = {
    "flip about X": lambda p: flipreg.flip(p, axis=flipreg.FlipAxis.X, datum_mm=DATUM),
    "flip about Y": lambda p: flipreg.flip(p, axis=flipreg.FlipAxis.Y, datum_mm=DATUM),
    "shift": lambda p: flipreg.shift(p, by_mm=(Decimal("1.27"), Decimal("-2.54"), Decimal("0.5"))),
    "quarter turn": lambda p: flipreg.shift(p, turn_deg=90),
    "turn": lambda p: flipreg.shift(p, turn_deg=-31.5, about_mm=DATUM),
}


@functools.cache
def pair_of(name: str) -> tuple[flipreg.Program, flipreg.Program]:
    with_habits, _, without = FOLDER.joinpath(f"{name}.txt").read_bytes().partition(b"\n; ---\n")
    return flipreg.parse(with_habits, source="habits.nc"), flipreg.parse(without, source="plain.nc")


@functools.cache
def motions_of(text: bytes) -> Path:
    return flipreg.interpret(flipreg.parse(text))


def assert_same_motions(one: Path, other: Path, what: str = "") -> None:
    assert len(one) == len(other) > 0, what
    for field in fields(Path):
        if field.name != "line":
            mine, theirs = getattr(one, field.name), getattr(other, field.name)
            np.testing.assert_allclose(mine, theirs, rtol=0, atol=1e-9, err_msg=f"{what} {field.name}")


def test_there_are_cases() -> None:
    assert len(CASES) >= 60


@pytest.mark.parametrize("name", [file.stem for file in CASES])
def test_a_program_makes_the_motions_that_it_makes_without_its_habits(name: str) -> None:
    with_habits, without = pair_of(name)
    assert_same_motions(motions_of(with_habits.text), motions_of(without.text))


MADE = [
    (post.name, part.name, [[*WORK][(row + column + turn) % len(WORK)] for turn in (0, 2)])
    for row, post in enumerate(POSTS)
    for column, part in enumerate(PARTS)
]
"""Each post and each part meets each kind of work; `python -m tests.habits verbs --cases` does all to all."""


@pytest.mark.parametrize(("post", "part", "works"), MADE)
def test_what_is_made_of_it_makes_the_motions_of_what_is_made_without_its_habits(
    post: str, part: str, works: list[str]
) -> None:
    programs = pair_of(f"{post}-{part}")
    for what in works:
        made, plain = (flipreg.interpret(flipreg.parse(WORK[what](program).text)) for program in programs)
        assert_same_motions(made, plain, what)


@pytest.mark.parametrize("name", [file.stem for file in CASES])
def test_every_habit_is_told_with_its_line_and_is_an_error_where_the_program_is_held_to_the_report(name: str) -> None:
    with_habits, without = pair_of(name)
    found = [each for each in flipreg.bounds(with_habits).findings if each.check == "habit"]
    assert len({each.message.split(":")[0] for each in found}) == len(found) >= 2
    assert all(each.status is Status.WARN and each.line for each in found)
    assert not [each for each in flipreg.bounds(without).findings if each.check == "habit"]
    notes = flipreg.flip(with_habits, axis=flipreg.FlipAxis.Y, datum_mm=(ZERO, ZERO)).notes
    assert {each.message.split(" (line")[0] for each in found} <= {note.split(" (line")[0] for note in notes}
    strict = replace(with_habits, dialect=with_habits.dialect._replace(strict=True))
    with pytest.raises(flipreg.ProgramError, match="NISTIR 6556 does not have") as caught:
        flipreg.interpret(strict)
    assert caught.value.location.line <= min(each.line or 0 for each in found)
    assert len(flipreg.interpret(replace(without, dialect=strict.dialect))) > 0


@pytest.mark.parametrize("name", [file.stem for file in CASES])
def test_where_nothing_moves_the_text_stays_as_it_is(name: str) -> None:
    with_habits, _ = pair_of(name)
    kept = flipreg.shift(with_habits).text
    lines = kept.splitlines(keepends=True)
    made = [line for line in lines if line.startswith((b"(made by", b"(lengths in", b"(proved", b"(try this"))]
    says_inch = any(line.startswith(b"(lengths in") for line in made)
    assert len(made) == 3 + says_inch
    assert b"".join(line for line in lines if line not in made) == with_habits.text


def sentences_of(text: bytes) -> tuple[str, ...]:
    counted = HabitCount()
    for step in executed(flipreg.parse(text)):
        counted.add_step(step)
    return counted.sentences()


def test_long_programs_count_their_habits_and_name_the_first_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    cuts = tuple(cut for index in range(100) for cut in (("line", (float(index % 500), 1.0)), ("ring", (1.0, 0.0))))
    part = Part("floor", "G21", 1000, (("to", (0.0, 0.0)), ("down", (-1.0,)), *cuts, ("up", ())))
    at_once = {post.name: sentences_of(written(post, part)[0]) for post in POSTS}
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 1024)
    for post in POSTS:
        with_habits, without = written(post, part)
        assert_same_motions(flipreg.interpret(flipreg.parse(with_habits)), flipreg.interpret(flipreg.parse(without)))
        found = sentences_of(with_habits)
        assert found == at_once[post.name]
        shown = " ".join(found)
        if post.name in ("by-hand", "wordy", "exact", "numbered"):
            assert " more)" in shown


def test_the_cases_are_what_the_posts_write() -> None:
    for post in POSTS:
        for part in PARTS:
            text = b"\n; ---\n".join(written(post, part))
            assert FOLDER.joinpath(f"{post.name}-{part.name}.txt").read_bytes() == text
