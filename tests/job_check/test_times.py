"""Time of programs and of setups: the machine of the job, dwells, and what is not known."""

from pathlib import Path

import pytest

from flipreg import parse
from flipreg.job.machine import Machine
from flipreg.job_check.times import setup_times
from flipreg.program.duration import Duration
from flipreg.program.face_program import face_program
from flipreg.program.summary import summarise
from flipreg.program.time import MachineSpeed, program_time
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.read import lines as lines_module
from tests.job_check.motion_jobs import one_setup

MACHINE = Machine(6000.0, 250.0, 25.0)
HEAD = "G21 G90 G17\nG0 X0 Y0 Z0\n"

SAMPLE = Path(__file__).parents[2] / "samples/paddle/shaft-front-profile.nc"


def duration(text: str, *, block_delete: BlockDelete = BlockDelete.OFF) -> Duration:
    time = summarise(parse(text), machine=MACHINE, block_delete=block_delete).time
    assert time is not None
    return time


class TestOfAProgram:
    def test_a_traverse_and_a_feed_take_the_textbook_time(self) -> None:
        # 100 mm at 100 mm/s and 100 mm at 50 mm/s, both at 250 mm/s²: L/v + v/a.
        time = duration(HEAD + "X100\nG1 X0 F3000\n")
        assert (time.least_s, time.estimate_s, time.most_s) == pytest.approx((3.6, 3.6, 3.6))
        assert time.rapid_s == pytest.approx(1.4)
        assert (time.dwell_s, time.unknown) == (0.0, 0)

    def test_the_stop_angle_is_the_machines(self) -> None:
        text = HEAD + "G1 F6000 X40\nX80 Y16\n"  # turns by 21.8 degrees
        assert duration(text).estimate_s == pytest.approx(duration(text).least_s)
        sharp = summarise(parse(text), machine=Machine(6000.0, 250.0, 20.0)).time
        assert sharp is not None
        assert sharp.estimate_s == pytest.approx(sharp.most_s)

    def test_nothing_is_told_without_a_machines_speed(self) -> None:
        assert summarise(parse(HEAD)).time is None
        assert summarise(parse(HEAD), machine=Machine()).time is None

    @pytest.mark.parametrize("size", [1, 1000])
    def test_it_takes_as_long_in_chunks_of_any_size(self, size: int, monkeypatch: pytest.MonkeyPatch) -> None:
        program = parse(SAMPLE.read_text())
        whole = program_time(face_program(program).path, MachineSpeed(6000.0, 250.0), stop_deg=25.0)
        monkeypatch.setattr(lines_module, "CHUNK_BYTES", size)
        time = summarise(program, machine=MACHINE).time
        assert time is not None
        seconds = (time.least_s, time.estimate_s, time.most_s, time.rapid_s)
        assert seconds == pytest.approx((whole.least_s, whole.estimate_s, whole.most_s, whole.rapid_s), rel=1e-9)


class TestDwells:
    def test_they_are_in_all_figures(self) -> None:
        time = duration(HEAD + "X100\nG4 P2.5\nG1 X0 F3000\nG4 P.5\n")
        assert time.dwell_s == 3.0
        assert (time.least_s, time.most_s) == pytest.approx((6.6, 6.6))
        assert time.rapid_s == pytest.approx(1.4)

    def test_those_that_are_not_executed_do_not_count(self) -> None:
        text = HEAD + "/G4 P2\nG4 P1\nM2\nG4 P4\n"
        assert duration(text).dwell_s == 3.0
        assert duration(text, block_delete=BlockDelete.ON).dwell_s == 1.0

    def test_those_of_a_subprogram_count_each_time(self) -> None:
        text = HEAD + "M98 P100 L3\nM2\nO100\nG4 P2\nG91 G0 X1\nG90\nM99\n"
        assert duration(text).dwell_s == 6.0

    def test_the_p_of_another_block_is_none(self) -> None:
        assert duration(HEAD + "G82 X0 Y0 Z-1 R1 P7 F100\nG80\nG4 P1\n").dwell_s == 1.0

    def test_a_program_of_a_face_knows_them(self) -> None:
        assert face_program(parse("G21 G90\nG4 P2\nG0 X1\nG4 P[1+2]\n")).dwell_s == 5.0


class TestOfSetups:
    def test_every_program_has_its_time_and_the_setup_their_sum(self) -> None:
        faces, _ = one_setup(HEAD + "X100\n", HEAD + "X100\nG4 P2\nX0\n")
        (setup,) = setup_times(faces, MACHINE)
        assert setup.setup == "front"
        assert [program.program for program in setup.programs] == ["front 0.nc", "front 1.nc"]
        assert [program.duration.most_s for program in setup.programs] == pytest.approx([1.4, 4.8])
        assert setup.duration.most_s == pytest.approx(6.2)
        assert (setup.duration.rapid_s, setup.duration.dwell_s) == pytest.approx((4.2, 2.0))

    def test_motions_without_a_feed_are_counted_and_left_out(self) -> None:
        faces, _ = one_setup(HEAD + "X100\nG1 X0\n")
        (setup,) = setup_times(faces, MACHINE)
        assert setup.duration.unknown == 1
        assert setup.duration.most_s == pytest.approx(1.4)

    @pytest.mark.parametrize("machine", [None, Machine()])
    def test_there_are_none_without_a_machines_speed(self, machine: Machine | None) -> None:
        assert setup_times(one_setup(HEAD)[0], machine) == ()
