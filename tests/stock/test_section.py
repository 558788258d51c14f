"""What of a program is looked at: wherever it is below the face, however it comes there."""

import re
from itertools import pairwise

import numpy as np
import pytest
import shapely

from flipreg.cut.grid import Grid
from flipreg.findings import Status
from flipreg.job.limits import Limits
from flipreg.job.problem import JobFileError
from flipreg.stock.sections.reached import seen_over
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, profile, said, statuses

FLAT = "6 flat"


class TestWhatIsSeenFromAbove:
    @pytest.mark.parametrize("radius_mm", [0.6, 3.0])
    def test_cells_within_a_radius_of_ways_are_seen_over_wherever_the_ways_lie(self, radius_mm: float) -> None:
        # Short ways one after the other round a corner and to and fro, one alone, and one beside the grid.
        corners = np.array([[2.0, 3.0], [12.0, 3.0], [12.0, 9.0], [12.0, 5.0]])
        along = np.concatenate([np.linspace(a, b, 9)[:-1] for a, b in pairwise(corners)] + [corners[-1:]])
        starts = np.concatenate([along[:-1], [[20.0, 11.0], [-9.0, 40.0]]])
        ends = np.concatenate([along[1:], [[20.0, 11.0], [-9.0, 50.0]]])
        grid = Grid(0.1, 0.2, 0.5, (30, 60))
        places = shapely.points(*np.meshgrid(grid.xs_mm, grid.ys_mm))
        ways = shapely.MultiLineString([[a, b] for a, b in zip(starts, ends + 1e-9, strict=True)])
        away = shapely.distance(places, ways)
        start_mm, end_mm = (np.column_stack([part, np.zeros(len(part))]) for part in (starts, ends))
        seen = seen_over(grid, start_mm, end_mm, radius_mm)
        assert seen[away < radius_mm - 1e-4].all()
        assert not seen[away > radius_mm + 1e-4].any()
        assert 0 < seen.sum() < seen.size

    def test_no_ways_and_ways_far_off_are_over_no_cell(self) -> None:
        grid, far = Grid(0.0, 0.0, 1.0, (5, 5)), np.array([[90.0, 90.0, 0.0]])
        assert not seen_over(grid, far, far + 3.0, 2.0).any()
        assert not seen_over(grid, far[:0], far[:0], 2.0).any()


class TestWhereProgramsAreLookedAt:
    def test_a_traverse_into_wood_far_from_all_that_is_fed_is_found(self) -> None:
        text = f"{HEAD}G1 Z-3\nX5\nG0 Z5\nG0 X20 Y40\nG0 Z-5\nG0 Z5\n{TAIL}"
        programs = {"front-slot": (FLAT, text)}
        (found,) = said(checked(part(programs), programs), "rapid")
        assert (found.status, found.line, "5.00 mm deep" in found.message) == (Status.FAIL, 8, True)

    def test_a_program_of_traverses_only_is_looked_at(self) -> None:
        programs = {"front-slot": (FLAT, f"{HEAD}G0 Z-5\nX20\nG0 Z5\n{TAIL}")}
        assert statuses(checked(part(programs), programs), "rapid") == [Status.FAIL]

    def test_an_upright_arc_that_dips_between_ends_on_the_face_is_cut(self) -> None:
        # A circle of radius 26 about Z 24: 2 mm deep at X 0, and 10 mm off it on the face.
        text = f"{HEAD}G0 X-10 Y0\nG1 Z0\nG18 G2 X10 Z0 I10 K24\nG17\n{TAIL}"
        programs = {"front-arc": (FLAT, text)}
        (left,) = checked(part(programs), programs).left
        assert abs(float(left.faces.front_mm.min()) + 2.0) < 0.01

    def test_programs_all_under_cutter_compensation_are_told(self) -> None:
        text = profile(20.0, 30.0, -10.5).replace("G1 Z", "G41 D1 G1 Z")
        text = text.replace("G0 Z5\nG0 X0 Y0\nM30", "G0 Z5\nG40\nM30")
        programs = {"front-profile": (FLAT, text), "back-profile": (FLAT, text)}
        report = checked(part(programs), programs)
        assert statuses(report, "map") == [Status.NOT_DETERMINED] * 2
        # Nothing was cut in the maps, so that no check of the wood says anything, least of all that it passed.
        of_wood = {"breakthrough", "holding", "rapid", "release", "skin", "step", "web"}
        assert of_wood & {one.check for one in report.findings} == set()

    def test_a_profile_that_runs_in_the_air_cuts_no_edge(self) -> None:
        air = profile(20.0, 30.0, 1.0)
        programs = {"front-profile": (FLAT, air), "back-slot": (FLAT, f"{HEAD}G1 Z-3\nX5\n{TAIL}")}
        report = checked(part(programs), programs)
        assert (statuses(report, "skin"), statuses(report, "holding")) == ([], [Status.NOT_DETERMINED])


class TestGridsThatAreTooFine:
    @pytest.mark.parametrize("size_mm", [20.0, 28.0])
    def test_the_grid_that_a_refusal_names_is_not_refused(self, size_mm: float) -> None:
        text = f"{HEAD}G1 Z-3\nX{size_mm} Y{size_mm}\n{TAIL}"
        programs = {"front-slot": (FLAT, text)}
        with pytest.raises(JobFileError) as caught:
            checked(part(programs, limits=Limits(grid_mm=0.0005)), programs)
        named = re.search(r"take at least ([0-9.e-]+),", str(caught.value))
        assert named is not None
        least_mm = float(named[1])
        # A little finer than the next smaller number of one digit it would still be refused.
        assert 25e6 * 0.25 < ((size_mm + 6.0) / least_mm) ** 2 < 25e6
