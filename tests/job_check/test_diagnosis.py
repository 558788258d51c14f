"""What to do is told for what was done at the bench, by name, the same for two programs and for a job."""

from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

from tests.commands.blunders.bench import Told, pair_trial, said_badly, trial
from tests.commands.blunders.part import part
from tests.commands.blunders.plan import CUTTER, Place, Plan
from tests.commands.blunders.plant import BLUNDERS

ONE_UNIT = next(blunder for blunder in BLUNDERS if blunder.name == "unit of one back program")


def plan(name: str = "bracket", *, mirror: str = "y", jog: tuple[float, float] = (0.0, 0.0)) -> Plan:
    """Return a plan with both zeros on mark A, and a mark B 290 mm further."""
    marks = {"A": (0.0, 0.0), "B": (0.0, 290.0)}
    return Plan(part(name), marks, Place(None, "A", (0.0, 0.0)), Place(mirror, "A", jog))


def job(made: Plan, told: Plan, folder: File) -> Told:
    return trial(made, told, folder / "job", None, np.random.default_rng(0))


def codes(told: Told) -> list[object]:
    return [remedy["mistake"] for remedy in told.remedies]


def first_change(told: Told) -> dict[str, object]:
    return told.remedies[0]["ways"][0]["changes"][0]["set"]  # type: ignore[index, no-any-return]


class TestFlip:
    def test_programs_mirrored_about_the_other_axis_name_it_and_the_zero_for_it(self, tmp_path: File) -> None:
        made = plan(mirror="y", jog=(20.0, 280.0))
        told = job(made, plan(mirror="x", jog=(20.0, 280.0)), tmp_path)
        assert codes(told)[:1] == ["other axis"]
        assert first_change(told) == {"flip": "y", "zero": [20.0, 280.0]}
        assert "The programs of 'back' are mirrored about Y, but the job has the blank flipped about X" in told.text

    @pytest.mark.parametrize(("made", "told"), [(0, 2), (0, 1), (3, 0)])
    def test_quarter_turns_that_are_wrongly_set_are_named(self, made: int, told: int, tmp_path: File) -> None:
        right = plan(jog=(20.0, 280.0)).with_back(quarters=made)
        seen = job(right, right.with_back(quarters=told), tmp_path)
        assert codes(seen)[:1] == ["quarter turn"]
        assert first_change(seen) == {"quarter_turns": made, "zero": [20.0, 280.0]}

    @pytest.mark.parametrize("mirror", ["x", "y"])
    def test_a_back_that_is_not_mirrored_carries_the_fronts_own_numbers(self, mirror: str, tmp_path: File) -> None:
        right = plan(mirror=mirror)
        made = replace(right, back=right.front)
        told = job(made, right, tmp_path)
        assert codes(told) == ["not mirrored"]
        assert "they carry the front's own numbers: flip the programs of 'back' about" in told.text
        assert first_change(told)["flip"]["axis"] == mirror  # type: ignore[index]


class TestZero:
    def test_the_mark_whose_jog_it_would_be_is_named(self, tmp_path: File) -> None:
        right = plan(jog=(0.0, 10.0)).with_back(mark="B", jog=(0.0, 10.0))
        told = job(right, right.with_back(mark="A"), tmp_path)
        assert codes(told)[0] == "mark"
        assert first_change(told) == {"mark": "B"}

    @pytest.mark.parametrize("size", [CUTTER / 2, CUTTER])
    @pytest.mark.parametrize("pair", [False, True], ids=["job", "pair"])
    def test_zero_taken_at_the_cutters_edge_is_named(self, size: float, pair: bool, tmp_path: File) -> None:  # noqa: FBT001
        right = plan(jog=(5.0, 12.0))
        run = pair_trial if pair else trial
        told = run(right, right.with_back(jog=(5.0 + size, 12.0)), tmp_path / "it", None, np.random.default_rng(0))
        assert set(codes(told)) == {"cutter edge"}
        assert f"{size:g} mm) out along X, as if zero had been taken at the cutter's edge" in told.text

    @pytest.mark.parametrize("spoilt", ["front", "back"])
    def test_z_zero_on_the_wrong_side_is_named_before_what_it_makes_fail(self, spoilt: str, tmp_path: File) -> None:
        right = plan()
        place = replace(getattr(right, spoilt), z_zero="spoilboard")
        told = job(right, replace(right, **{spoilt: place}), tmp_path)
        assert codes(told) == ["z zero"]
        assert (told.remedies[0]["setup"], first_change(told)) == (spoilt, {"z_zero": "top"})


class TestUnits:
    @pytest.mark.parametrize("pair", [False, True], ids=["job", "pair"])
    def test_a_back_program_in_inches_is_named_with_its_unit_and_no_jog(self, pair: bool, tmp_path: File) -> None:  # noqa: FBT001
        right, run = plan("pocketed", jog=(7.0, 30.0)), pair_trial if pair else trial
        for seed in range(2):
            told = run(right, right, tmp_path / f"{seed}", ONE_UNIT, np.random.default_rng(seed))
            assert codes(told) == ["units"]
            (change,) = told.remedies[0]["ways"][0]["changes"]  # type: ignore[index]
            (name,) = change["names"]
            assert (File(name).read_text()[:3], change["set"]) == ("G20", {"unit": "mm"})
            assert name in told.text
            assert "zero = [" not in told.text

    def test_programs_that_stay_above_the_blank_in_the_wrong_unit_are_named(self, tmp_path: File) -> None:
        # From the spoilboard up, inches that are millimetres lie far above the blank: nothing is cut.
        right = plan("skew").with_back(z_zero="spoilboard")
        unit = next(blunder for blunder in BLUNDERS if blunder.name == "unit of all back programs")
        told = trial(right, right, tmp_path / "job", unit, np.random.default_rng(0))
        assert codes(told) == ["units"]
        assert "setup 'back' cuts nothing" in told.text

    def test_a_job_in_inches_with_programs_in_millimetres_is_no_wrong_jog(self, tmp_path: File) -> None:
        right = plan(jog=(7.0, 30.0))
        told = job(right, replace(right, units="inch"), tmp_path)
        assert codes(told) == ["job units"]
        assert first_change(told) == {"units": "mm"}


class TestOnlyWhatGoesThrough:
    @pytest.mark.parametrize("name", ["two recesses", "pockets alike", "bowl and foot", "dish"])
    @pytest.mark.parametrize("pair", [False, True], ids=["job", "pair"])
    def test_recesses_and_bowls_of_two_faces_are_nothing_that_they_share(
        self,
        name: str,
        pair: bool,  # noqa: FBT001
        tmp_path: File,
    ) -> None:
        right, run = plan(name), pair_trial if pair else trial
        told = run(right, right, tmp_path / "it", None, np.random.default_rng(0))
        assert told.status == 0
        assert "1 outline, 2 holes" in told.text

    def test_the_web_of_a_bowl_over_a_foot_is_that_of_the_map(self, tmp_path: File) -> None:
        told = job(plan("bowl and foot"), plan("bowl and foot"), tmp_path)
        assert "the thinnest web is 5.00 mm" in told.text
        thickness = next(one for one in told.report["findings"] if one["check"] == "thickness")  # type: ignore[attr-defined]
        assert thickness["status"] == "pass"


class TestWords:
    def test_a_failing_report_always_says_what_to_do_and_says_it_once(self, tmp_path: File) -> None:
        right = plan()
        for number, wrong in enumerate((right.with_back(jog=(3.3, -7.7)), right.with_back(mirror="x"))):
            for run in (trial, pair_trial):
                told = run(right, wrong, tmp_path / f"{number}{run.__name__}", None, np.random.default_rng(0))
                assert told.status == 1
                assert "What to do" in told.text
                assert said_badly(told.text) == []
