"""`flip`, `shift` and `--keep-climb` on machines with tools of any length."""

import pytest

from tests.machine.judge_climb import judge_climb
from tests.machine.judge_moved import flipped, judge_moved, shifted
from tests.machine.shops import places
from tests.machine.verbs import ran

TURNED = ["shift", "a", "--turn", "3.3", "--chords", "0.05", "--spell-cycles"]


@pytest.mark.parametrize("change", ["G43 H2", "G43 H3", "G49", "G43 H2\nG0 X9"])
@pytest.mark.parametrize("cut", ["G18 G2 X10 Z5 I5 K0 F600\nG17", "G17 G81 X4 Y4 Z-3 R2 F99\nG80"])
def test_chords_and_spelled_cycles_know_no_height_from_before_a_length_offset(change: str, cut: str) -> None:
    source = f"G21 G90 G17\nG43 H1\nG0 X0 Y0 Z5\n{change}\n{cut}\nG0 Z15\nM2\n"
    found = ran(TURNED, a=source)
    if cut.startswith("G18"):
        assert (found.status, found.out) == (2, {"-": ""})
        assert "an arc from a point whose Z is not known" in found.said
        return
    assert found.status == 0, found.said
    assert judge_moved(
        source,
        found.out["-"],
        lambda place: shifted((0, 0), 3.3, (0, 0), place.shop.origins[0]),
        places(),
        chords_mm=0.05,
    ) == []


@pytest.mark.parametrize("by", ["G0", "G1"])
def test_a_contour_whose_tab_is_crossed_is_turned_or_named(by: str) -> None:
    source = (
        "G21 G90\nM3 S9000\nG0 Z5\nX0 Y0\nG1 Z-4 F300\nX40 F900\nY10\n"
        f"{by} Z-3\nG1 Y15\nZ-4\nY30\nX0\nY0\nG0 Z5\nX60 Y0\nG1 Z-4\nX80\nY20\nX60\nY0\nG0 Z5\nM5\nM2\n"
    )
    found = ran(["flip", "a", "--axis", "y", "--at", "0", "--keep-climb"], a=source)
    if found.status == 0:
        assert judge_climb(source, found.out["-"], flipped("y", (0, 0)), places(), found.said) == []


def test_a_datum_with_a_unit_is_refused_in_a_program_that_names_none_and_what_was_taken_is_said() -> None:
    source = "G90\nM3 S9000\nG0 Z1\nX1 Y1\nG1 Z-.25 F30\nX3\nG0 Z1\nM2\n"
    with_unit = ran(["flip", "a", "--axis", "y", "--at", "12.7mm"], a=source)
    assert (with_unit.status, "--units" in with_unit.said) == (2, True)
    assert "--units" in ran(["flip", "a", "--axis", "y", "--at", "12.7"], a=source).said
    assert ran(["flip", "a", "--axis", "y", "--at", "0"], a=source).status == 0


@pytest.mark.parametrize("line", ["G81 X4 Y4 Z-3 R2 I1 F99", "G83 X4 Y4 Z-3 R2 Q1 J1 F99"])
def test_words_that_a_cycle_does_not_use_are_refused_wherever_they_stand(line: str) -> None:
    found = ran(["flip", "a", "--axis", "y", "--at", "0"], a=f"G21 G90 G17\nG0 Z5\nX0 Y0\n{line}\nG80\nG0 Z5\nM2\n")
    assert (found.status, found.said.split(":")[1]) == (2, "4")


@pytest.mark.parametrize(("line", "flips_to"), [("G0 X4 I1", "G0 X-4 I1"), ("G1 X4 K1 F9", "G1 X-4 K1 F9")])
def test_idle_words_of_a_straight_move_are_read_with_a_note_and_stay_as_written(line: str, flips_to: str) -> None:
    # By habit they do nothing, so that they are neither mirrored nor taken out; by the report they are an error.
    source = f"G21 G90 G17\nG0 Z5\nX0 Y0\n{line}\nG80\nG0 Z5\nM2\n"
    command = ["flip", "a", "--axis", "y", "--at", "0"]
    found = ran(command, a=source)
    assert found.status == 0, found.said
    assert flips_to in found.out["-"].split("\n")
    assert "I, J, K or R beside a straight move or no motion: kept as they are written" in found.said
    assert "(line 4)" in found.said
    assert judge_moved(source, found.out["-"], lambda _: flipped("y", (0, 0)), places()) == []
    strict = ran([*command, "--strict"], a=source)
    assert (strict.status, strict.said.split(":")[1]) == (2, "4")


@pytest.mark.parametrize("step", ["G91 G28 Z0\nZ-5", "G38.2 Z-9 F50\nG91\nG0 Z2", "G53 G0 Z0\nG91\nG1 Z-3 F9"])
def test_steps_from_places_that_nobody_knows_stay_as_they_are(step: str) -> None:
    source = f"G21 G90\nG43 H1\nG0 Z5\nX3 Y4\n{step}\nX2 Y-1\nG90\nM2\n"
    found = ran(["flip", "a", "--axis", "x", "--at", "5"], a=source)
    assert found.status == 0, found.said
    assert judge_moved(source, found.out["-"], lambda _: flipped("x", (0, 10)), places()) == []


def test_a_source_that_is_no_program_with_block_delete_on_is_moved_and_that_is_said() -> None:
    source = "G21 G90 G17\nM3 S9000\nG0 X44 Y3 Z5\n/G1 X44 Y18 F600\nG2 X49 Y23 R5 F600\nG0 Z9\nM5\nM2\n"
    found = ran(["flip", "a", "--axis", "x", "--at", "5"], a=source)
    assert found.status == 0, found.said
    assert "with block delete on the source itself is no program, and so is this one: line 5: " in found.said
    assert "block delete off and on" not in found.out["-"]
    sound = ran(["flip", "a", "--axis", "x", "--at", "5"], a=source.replace("R5", "R25"))
    assert "block delete off and on" in sound.out["-"]
    assert "no program" not in sound.said
