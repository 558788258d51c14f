"""The workshop itself: its jobs are what they are said to be, before anything is judged by them."""

import hashlib
import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import flipreg
from tests.every import every
from tests.workshop.catalogue import KINDS
from tests.workshop.cuts import FACES, Face, reach
from tests.workshop.faults_of_all import OF_ALL
from tests.workshop.job import FAULTS, NONE, Job, make
from tests.workshop.placement import SAME, Placement, flip, shift, stretch, turn
from tests.workshop.show import command, write_job
from tests.workshop.truth import corner_off, misfit

_TOP = Path(__file__).parents[2]
_SOME = list(KINDS)[::5]


@every("kind", KINDS)
def test_what_both_faces_of_a_right_job_share_coincides(kind: str) -> None:
    job = make(kind, 1, NONE)
    apart, kinds = misfit(job, job.flip)
    assert apart is None or apart < 1e-9
    assert None not in kinds.values(), "nothing is shared by one face alone"
    assert corner_off(job, job.flip) < 1e-9


@every("kind", _SOME)
def test_the_programs_cut_where_the_plan_has_it(kind: str) -> None:
    job = make(kind, 2, NONE)
    for face, cuts, placement in zip(FACES, (job.front, job.spoilt.back), (SAME, job.flip), strict=True):
        found = [flipreg.bounds(flipreg.parse(text)).cutting for text in job.programs[face].values()]
        low = np.min([box.low_mm for box in found if box], axis=0)[:2]
        high = np.max([box.high_mm for box in found if box], axis=0)[:2]
        places = np.vstack([cut.in_chords().places() for cut in cuts])
        moved = placement.of(places)
        # Hundredths of a millimetre are the coarsest numbers, and chords stay within that of their arcs.
        assert np.abs(np.r_[low - moved.min(axis=0), high - moved.max(axis=0)]).max() < 0.03


@every("fault", ["off_by_a_pitch", "off_by_millimetres", "slightly_off", "off_by_an_inch", "from_another_edge"])
def test_a_shifted_back_lies_off_by_what_was_planted(fault: str) -> None:
    for kind in ("body", "coat_rack", "saw_cuts"):
        job = make(kind, 3, fault)
        planted = job.spoilt.whole
        assert planted is not None
        far = math.hypot(planted.x0, planted.y0)
        assert far >= job.tolerance
        assert corner_off(job, job.flip) == pytest.approx(far)
        # Told where the back really lies, all is well.
        assert (misfit(job, job.flip @ planted)[0] or 0) < 1e-9
        assert 0 < (misfit(job, job.flip)[0] or 0) <= far + 1e-9


def test_one_hole_is_off_by_what_was_planted_and_nothing_else_is() -> None:
    job, right = make("body", 4, "one_hole"), make("body", 4, NONE)
    moved = [
        float(np.abs(spoilt.places() - as_planned.places()).max())
        for spoilt, as_planned in zip(job.spoilt.back, right.spoilt.back, strict=True)
    ]
    assert len([far for far in moved if far > 0]) == 1
    assert job.tolerance < max(moved) <= (misfit(job, job.flip)[0] or 0) <= max(moved) * math.sqrt(2)


def test_the_part_is_the_same_with_every_fault() -> None:
    jobs = [make("shelf_with_unlike_rows", 5, fault) for fault in (NONE, *FAULTS)]
    assert len({str(job.front) for job in jobs}) == 1
    assert len({job.datum for job in jobs}) == len({job.tolerance for job in jobs}) == 1


@every("fault", [fault.__name__ for fault in OF_ALL if fault.__name__ not in ("wrong_unit", "stretched")])
def test_a_fault_of_all_says_how_all_was_moved(fault: str) -> None:
    job, right = make("bracket", 6, fault), make("bracket", 6, NONE)
    placement = job.spoilt.whole
    assert placement is not None
    assert placement != SAME
    for spoilt, as_planned in zip(job.spoilt.back, right.spoilt.back, strict=True):
        assert np.allclose(spoilt.places(), placement.of(as_planned.places()))


@every("fault", FAULTS)
def test_every_fault_can_be_planted_and_spoils_what_it_says(fault: str) -> None:
    kinds = ("strip_of_tags", "left_and_right_pair", "dog_boned_mortises", "unlike_parts_at_angles")
    jobs = (job for seed in range(3) for kind in kinds if (job := make(kind, seed, fault)).fault == fault)
    if fault in ("missing_hole", "extra_hole", "too_shallow", "wrong_unit"):
        job = next(jobs)
        assert misfit(job, job.flip)[0] == pytest.approx(0, abs=1e-9)
        assert job.programs["back"] != make(job.kind, job.seed, NONE).programs["back"]
    elif fault == "one_opening_mirrored":
        # Most openings are their own mirror image: the angle at which one lies tells.
        tilted = (make("angled_louvre", seed, fault) for seed in range(5))
        assert any((misfit(job, job.flip)[0] or 0) > job.tolerance for job in tilted)
    else:
        assert any((misfit(job, job.flip)[0] or math.inf) > job.tolerance for job in jobs)


def test_the_same_seed_gives_the_same_job_in_any_process() -> None:
    script = (
        "import hashlib; from tests.workshop.job import make\n"
        "texts = [str(make(kind, 7).programs) for kind in ('nest', 'dominoes', 'spoon', 'two_sided_sign')]\n"
        "print(hashlib.sha256(''.join(texts).encode()).hexdigest())"
    )
    told = [
        subprocess.run([sys.executable, "-c", script], cwd=_TOP, env=os.environ | {"PYTHONHASHSEED": seed},
                       capture_output=True, text=True, check=True).stdout.strip()
        for seed in ("1", "2")
    ]
    texts = [str(make(kind, 7).programs) for kind in ("nest", "dominoes", "spoon", "two_sided_sign")]
    assert told == [hashlib.sha256("".join(texts).encode()).hexdigest()] * 2


def test_another_seed_gives_another_job() -> None:
    assert len({str(make("bracket", seed).programs) for seed in range(20)}) == 20


def test_placements_are_put_together_as_they_are_written() -> None:
    both = shift(1, 2) @ turn(90)
    assert both((1, 0)) == (1, 3)
    assert (both.inverse() @ both)((5, 7)) == pytest.approx((5, 7))
    assert flip("y", (100, 10))((30, 40)) == (70, 30)
    assert flip("x", (100, 10))((30, 40)) == (-70, -30)
    assert stretch(2, 1, (10, 0))((11, 5)) == (12, 5)
    assert Placement(xx=-1).mirrors


def test_a_job_is_written_with_the_command_that_checks_it(tmp_path: Path) -> None:
    job = _told_all()
    write_job(job, tmp_path)
    names = {name for face in FACES for name in job.programs[face]}
    assert {path.name for path in tmp_path.iterdir()} == names | {"command.txt", "truth.txt"}
    words = command(job).split()
    assert names <= set(words)
    assert [word for word in words if word.startswith("--")][:2] == ["--front", "--back"]
    assert f"--datum={job.datum[0]},{job.datum[1]}" in words
    done = subprocess.run([sys.executable, "-m", *words], cwd=tmp_path, capture_output=True, check=False,
                          env=os.environ | {"PYTHONPATH": str(_TOP)})
    assert done.returncode in (0, 1), done.stderr


def _told_all() -> Job:
    face: Face = "front"
    return next(job for seed in range(100) if (job := make("bracket", seed)).told.flip == "all"
                and job.told.tools and job.told.thickness and len(job.programs[face]) > 1)


def test_cuts_reach_as_far_as_their_moves() -> None:
    job = make("bracket", 1, NONE)
    low, high = reach(job.front)
    assert (low < high).all()
