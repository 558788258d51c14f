"""Two machines side by side: one while their states are equal, and an error where a line would do something else."""

from dataclasses import replace

import pytest

from flipreg.errors import ProofError
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.history import History
from flipreg.prove.machine.machine import Machine
from tests.prove.machine.walks import at, line, lines, walked


def beside(source: str = "", output: str = "") -> Beside:
    """Return two machines, each after some blocks that the other does not have."""
    one, other = (walked(*filter(None, text.split("|")))[0] for text in (source, output))
    return Beside("front.nc", one, other, History())


def test_equal_machines_are_one_until_the_output_is_told_a_line_of_its_own() -> None:
    both = beside("G0 X1|M3 S5", "G0 X1|M3 S5")
    assert both.output is both.source
    assert both.output is both.source
    made = both.split()
    assert made is not both.source
    assert both.output is made
    assert both.split() is made
    assert both.output is not both.source
    both.merge()
    assert both.output is both.source


@pytest.mark.parametrize(
    "text",
    [
        *("G18", "G91", "G90.1", "G93", "G20", "G99", "G41 D1", "G43 H1", "G49", "G55", "G10 L2 P1 X1", "G92.1"),
        *("M3", "M7", "M8", "M49", "M30"),
    ],
)
def test_what_has_to_be_the_same_at_every_line_is_compared_at_every_line(text: str) -> None:
    both = beside("", text)
    assert both.output is not both.source
    with pytest.raises(ProofError, match=r"front.nc:7:1: the .* would be another one at this line; nothing was"):
        both.step(line("F5"))


@pytest.mark.parametrize(
    ("text", "used"),
    [
        ("G1", "motion code"),
        ("G64", "path control"),
        ("S5", "spindle speed"),
        ("F5", "feed"),
        ("T2", "tool in the spindle"),
    ],
)
def test_other_states_are_compared_where_something_depends_on_them(text: str, used: str) -> None:
    head = "G0 X1 Y1 Z1|M3"
    both = beside(head, f"{head}|{text}")
    assert both.output is not both.source
    both.step(line("G17"))
    leaning = {"feed": "G1 X5", "tool in the spindle": "M6"}.get(used, "X5")
    with pytest.raises(ProofError, match=f"the {used}.* would be another one"):
        both.step(line(leaning))


def test_a_traverse_by_the_machine_is_the_same_whatever_is_in_the_spindle() -> None:
    both = beside("G0 X1 Y1 Z1|T2 M6", "G0 X1 Y1 Z1|T3 M6|T2")
    both.step(line("G53 G0 Z0"))
    with pytest.raises(ProofError, match="the tool in the spindle would be another one"):
        both.step(line("G0 X5"))


def test_a_speed_counts_only_while_the_spindle_turns_and_a_feed_only_while_it_cuts() -> None:
    head = "G0 X1 Y1 Z1"
    both = beside(head, f"{head}|S5 F9")
    both.step(line("G0 X5"))
    with pytest.raises(ProofError, match="the feed would be"):
        both.step(line("G1 X6"))
    inverse = beside(f"{head}|G93", f"{head}|F9|G93")
    inverse.step(line("G1 X6 F2"))


def test_a_motion_that_leads_or_begins_somewhere_else_is_found() -> None:
    with pytest.raises(ProofError, match="this motion would lead somewhere else"):
        beside("G0 X1 Y1 Z1", "G0 X1 Y1 Z2").step(line("G0 X5"))
    both = beside("G0 X1 Y1 Z1", "G0 X2 Y1 Z1")
    with pytest.raises(ProofError, match="this motion would lead somewhere else"):
        both.step(line("G0 X5"))


def test_where_the_source_starts_anywhere_the_output_may_start_somewhere() -> None:
    both = beside("", "G0 X3")
    both.output.motion = both.source.motion
    both.step(line("G0 X5 Y5 Z5"))
    assert both.output is both.source


def test_a_cut_that_depends_on_the_start_is_refused() -> None:
    both = beside("", "G0 X3")
    with pytest.raises(ProofError, match="begins where nobody knows"):
        both.step(line("G1 X5"))


def test_freed_axes_are_compared_no_more_until_they_are_named() -> None:
    both = beside("G0 X1 Y1 Z1", "G0 X2 Y1 Z1")
    both.free(0)
    assert both.source.place == [Coordinate.start("anew X"), *both.output.place[1:]]
    both.step(line("G0 Y5"))
    both.step(line("G0 X5"))
    assert both.output is both.source


def test_acts_are_the_same_or_refused() -> None:
    both = beside("", "")
    made = both.split()
    made.speed = at(1).number_mm
    both.step(line("G4 P1"))
    made.ended = False
    other = beside("", "F5")
    other.step(line("M0"))
    ended = beside("", "F5")
    ended.output.ended = True
    with pytest.raises(ProofError, match="end would be another one"):
        ended.step(line("M0"))


def test_words_of_a_cycle_count_while_it_goes_on() -> None:
    head = "G0 X0 Y0 Z9|G81 X1 Z-3 R2"
    again = beside(f"{head}|G81 X1 Z-3 R2", f"{head}|G81 X1 Z-4 R2")
    assert again.output is not again.source
    with pytest.raises(ProofError, match="words of a canned cycle"):
        again.step(line("X5"))
    ended = beside(f"{head}|G80", f"{head}|G81 X1 Z-4 R2|G80")
    assert ended.output is ended.source


def test_ends_are_left_out_where_programs_are_joined() -> None:
    both = beside()
    both.step(line("M9 M30"), ends=False)
    assert not both.source.ended
    both.step(line("M30"))
    assert both.source.ended


def test_an_error_names_source_and_line() -> None:
    assert str(beside().error(3, "so")) == "front.nc:3:1: so; nothing was written"


def test_many_lines_at_once_are_as_one_after_the_other() -> None:
    text = (
        "G21 G90\nG43 H1\nG0 Z15\nX5 Y5\nG1 Z-1 F300\n"
        + "".join(f"X{number} Y{number % 3}\n" for number in range(40))
        + "G2 X49 Y0 I5 F200\nI5\nG1 Z-2\nG91 X1\nG90\nM5\nG53 G0 Z0\nM30\nX5\n"
    )
    chunk = lines(text)
    for output in ("", "G0"):
        one, both = beside("", output), beside()
        one.run(chunk, 0, len(chunk))
        for block in range(len(chunk)):
            both.step(chunk.line(block))
        assert one.output is one.source
        assert one.source == both.source
        assert one.history == both.history
    split = Beside("front.nc", Machine(), Machine(), History())
    split.run(chunk, 0, 20)
    split.run(chunk, 20, len(chunk))
    assert split.source == both.source


def test_a_history_remembers_frames_heights_and_where_it_ended() -> None:
    both = beside()
    seen = both.history
    both.step(line("G53 G0 Z0"))
    assert seen.machine_heights == {at(0)}
    assert (seen.is_parked, seen.begins_in, seen.has_moved_across) == (True, None, False)
    both.step(line("G43 H1"))
    both.step(line("G0 Z15"))
    high = both.source.frame()
    assert (seen.begins_in, seen.ends_in, seen.first_cut) == (high, high, None)
    both.step(line("X5"))
    assert (seen.has_moved_across, seen.is_parked) == (True, False)
    both.step(line("G55"))
    both.step(line("G0 X1 Y1 Z1"))
    both.step(line("G1 Z-1 F5"))
    cut = both.source.frame()
    assert (seen.begins_in, seen.ends_in, seen.ends_with_cut) == (cut, cut, True)
    assert (seen.first_height, seen.last_height) == (high, cut)
    both.step(line("G49"))
    both.step(line("G0 Z5"))
    assert (seen.last_cut, seen.last_motion, seen.ends_with_cut) == (cut, both.source.frame(), False)
    assert cut.same_zero(high, ())
    assert not cut.same_zero(high, (0,))
    assert not replace(cut, zero=(cut.zero[0], cut.zero[1], high.zero[2])).same_zero(cut, (2,))
