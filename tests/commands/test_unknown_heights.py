"""Another tool length gives the place another number and moves nothing: no number from before is written after it."""

from decimal import Decimal

import pytest

import flipreg
from flipreg.rewrite.isometry.rewriter import Rewriter
from tests.commands.command import run
from tests.motions import motions

HEAD = "G21 G90 G17 F100\nT1 M6\nG43 H1\nG0 X0 Y0 Z5\nG1 Z-1\n"


def shifted(text: str, *options: str) -> tuple[int, bytes, str]:
    return run(["shift", "-", *options], text.encode())


@pytest.mark.parametrize("change", ["G43 H2", "G49", "G43 H0", "G43 H[1+1]"])
@pytest.mark.parametrize(
    "block",
    ["G18 G2 X4 I2 K0", "G18 G2 X4 Z-1 I2 K0", "G18 G2 X4 Z-1 R3", "G18 G99 G81 X1 Y-3 R-2"],
)
def test_chords_and_spelled_cycles_after_another_length_are_refused(change: str, block: str) -> None:
    text = f"{HEAD}{change}\n{block}\nM2\n"
    status, out, err = shifted(text, "--turn", "3", "--chords", "0.01", "--spell-cycles")
    assert (status, out) == (2, b"")
    assert "<stdin>:7:" in err
    assert "Z" in err
    assert "not known" in err


@pytest.mark.parametrize("change", ["G43 H1", "M6", "G43 H1 Z5", "G43 H2 Z5", "G49\nG0 Z5", "T2 M6\nG43 H2\nG0 Z5"])
def test_they_are_written_where_the_length_stays_or_z_is_named_again(change: str) -> None:
    text = f"{HEAD}{change}\nG1 Z-1\nG18 G2 X4 I2 K0\nM2\n"
    status, out, _ = shifted(text, "--turn", "3", "--chords", "0.01")
    assert status == 0
    assert out.count(b"\nG1 X") > 3


@pytest.mark.parametrize("change", ["G43 H2", "G49", "G43 H0"])
def test_z_is_not_known_after_another_length_until_it_is_named(change: str) -> None:
    path = motions(f"{HEAD}{change}\nG0 X7\nG91 Z2\nG90 Z5\nM2\n")
    assert path.end[-3:, 2].tolist() == pytest.approx([float("nan")] * 2 + [5.0], nan_ok=True)
    assert path.end[-3:, 0].tolist() == [7, 7, 7]


def test_the_same_length_said_again_changes_nothing() -> None:
    assert motions(f"{HEAD}G43 H1\nG0 X7\nM2\n").end[-1].tolist() == [7, 0, -1]


def test_a_length_before_z_was_ever_named_changes_nothing() -> None:
    assert motions("G21 G90 G0 X1 Y1\nG43 H1 Z5\nG91 Z1\nM2\n").end[-1].tolist() == [1, 1, 6]


def test_a_hole_is_drilled_from_a_height_that_is_not_known_and_left_for_it() -> None:
    path = motions(f"{HEAD}G43 H2\nG98 G83 X3 Z-4 R1 Q2\nX5\nG80\nM2\n")
    holes = path.take(path.cycle > 0)
    assert holes.end[holes.is_cut, 2].tolist() == [-1, -3, -4] * 2
    assert sum(z != z for z in holes.end[:, 2].tolist()) == 2 * (1 + 3)
    rapid_to_r = holes.take((~holes.is_cut) & (holes.end[:, 2] == 1))
    assert rapid_to_r.end[:, 0].tolist() == [3, 5]


STEPS = {
    "home along Z": "G21 G90 G0 X1 Y2 Z5\nG91 G28 Z0\nG1 Z-5 F100\nG90 G0 Z5\nM2\n",
    "home over a step": "G21 G90 G0 X1 Y2 Z5\nG91 G28 Z3\nG28 Z2\nG90 G0 Z5\nM2\n",
    "a probe trip": "G21 G90 G0 X1 Y2 Z5\nG38.2 Z-9 F20\nG91 G0 Z2\nG90 G0 Z5\nM2\n",
    "a probe trip sideways": "G21 G90 G0 X1 Y2 Z5\nG38.2 X-9 F20\nG91 G0 X2\nX3 Y1\nG90 G0 X5\nM2\n",
    "another length": "G21 G90 G0 X1 Y2 Z5\nG43 H2\nG91 G0 Z2\nG90 G0 Z5\nM2\n",
    "machine height": "G21 G90 G0 X1 Y2 Z5\nG53 G0 Z-1\nG91 G18 G1 Z-2 F50\nG17\nG90 G0 Z5\nM2\n",
}
"""Increments from places that nobody knows."""


def planted(text: str, old: str, new: str, monkeypatch: pytest.MonkeyPatch, *, axis: flipreg.FlipAxis) -> None:
    """Flip a program with a fault in the output; the fault has to be there."""
    rewrite = Rewriter.rewrite
    done: list[bool] = []

    def faulty(self: Rewriter, *args: object, **options: object) -> object:
        made = rewrite(self, *args, **options)  # type: ignore[arg-type]
        done.append(old.encode() in made.text)
        return made._replace(text=made.text.replace(old.encode(), new.encode(), 1))

    monkeypatch.setattr(Rewriter, "rewrite", faulty)
    try:
        flipreg.flip(flipreg.parse(text), axis=axis, datum_mm=(Decimal(0), Decimal(0)))
    finally:
        assert any(done), "the fault is not in the output"


@pytest.mark.parametrize(
    ("what", "old", "new"),
    [
        ("home along Z", "G1 Z-5", "G1 Z-50"),
        ("home along Z", "G1 Z-5", "G1 Z5"),
        ("home along Z", "G28 Z0", "G28 Z-50"),
        ("home over a step", "G28 Z2", "G28 Z-2"),
        ("a probe trip", "G0 Z2", "G0 Z-2"),
        ("a probe trip", "G0 Z2", "G0 Z2.002"),
        ("a probe trip sideways", "G0 X-2", "G0 X2"),
        ("a probe trip sideways", "X-3 Y1", "X-3.5 Y1"),
        ("a probe trip sideways", "X-3 Y1", "X-3 Y1.5"),
        ("another length", "G0 Z2", "G0 Z-2"),
        ("machine height", "Z-2 F", "Z-20 F"),
    ],
)
def test_another_step_from_a_place_that_is_not_known_is_a_fault(
    what: str, old: str, new: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(flipreg.ProofError, match=r"off in the output"):
        planted(STEPS[what], old, new, monkeypatch, axis=flipreg.FlipAxis.Y)


@pytest.mark.parametrize("what", [*STEPS])
def test_steps_from_places_that_are_not_known_are_turned_with_the_program(what: str) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], STEPS[what].encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    assert (b"X-3 Y1" in out) == (what == "a probe trip sideways")


@pytest.mark.parametrize(
    ("blocks", "letter"),
    [
        ("G87 X1 Y1 Z-3 R1 I1 J1 K-1\nG91 X5 Y1", "R"),
        ("G87 X1 Y1 Z-3 R1 I1 J1 K-1\nG91 X5 Y1 Z-2 R-1", "K"),
        ("G91 G87 X1 Y1 Z-3 R-1 I1 J1 K1\nG90 X5 Y1 Z-3 R1", "K"),
        ("G81 X1 Y1 Z-3 R1\nG91 X5 Y1 R-1", "Z"),
        ("G81 X1 Y1 Z-3 R1\nG0 X9\nG81 X1 Y1 Z-3 R1\nG91 X5 Y1 Z-3", "R"),
    ],
)
def test_a_cycle_that_takes_a_number_over_from_the_other_distance_mode_is_not_shifted_along_the_hole(
    blocks: str, letter: str
) -> None:
    text = f"G21 G90 G17 F100\nG0 X0 Y0 Z5\n{blocks}\nG80\nM2\n"
    status, out, err = shifted(text, "--by", "0,0,2")
    assert (status, out) == (2, b"")
    assert f"takes {letter} from a block before it" in err
    assert f"<stdin>:{text.count(chr(10)) - 2}:1" in err
    assert shifted(text, "--by", "1,2")[0] == 0


@pytest.mark.parametrize(
    "block",
    [
        "G80 K1", "G81 X1 Z-1 R1 I2", "G83 X1 Z-1 R1 Q1 J2", "G82 X1 Z-1 R1 P1 K2",
        "G85 X1 Z-1 R1 I0", "G38.2 X9 I1", "G81 X1 Z-1 R1 Q1", "G81 X1 Z-1 R1 P1", "G83 X1 Z-1 R1 Q1 P1", "G1 X1 Q1",
        "G1 X1 P1", "G0 X1 L2",
    ],
)  # fmt: skip
def test_a_word_that_no_code_of_its_block_uses_is_an_error_everywhere(block: str) -> None:
    text = f"G21 G90 F100\nG0 X0 Y0 Z5\n{block}\nM2\n"
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], text.encode())
    assert (status, out) == (2, b"")
    assert "in a block without" in err
    assert "<stdin>:3:" in err


def test_back_boring_uses_i_j_and_k() -> None:
    text = "G21 G90 F100\nG0 X0 Y0 Z5\nG87 X1 Y1 Z-3 R1 I1 J2 K-1\nG80\nM2\n"
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "0"], text.encode())
    assert status == 0
    assert b"G87 X-1 Y1 Z-3 R1 I-1 J2 K-1" in out
