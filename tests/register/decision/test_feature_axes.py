"""Each face's own axis of symmetry, from holes and outlines that the faces do not share."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.register.check import check
from flipreg.register.decision.feature_axes import feature_axes
from flipreg.register.faces.features import face_features
from flipreg.register.report import Report
from tests.register.boards import drilled, profiled
from tests.register.shapes import PADDLE, PAGE, TRAY, ring, shift

OURS = np.array([[-60.0, 10.0], [60.0, 10.0], [-41.0, 120.0], [41.0, 120.0], [-20.0, 171.0], [20.0, 171.0]])
THEIRS = np.array([[-52.0, 30.0], [52.0, 30.0], [-33.0, 85.0], [33.0, 85.0], [-18.0, 140.0], [18.0, 140.0], [0.0, 90]])
"""Holes that mirror themselves in the line x = 0, and no others of the other face."""
BLADE = ring((-30, 0), (30, 0), (70, 60), (50, 150), (0, 190), (-50, 150), (-70, 60))


def states(report: Report) -> list[Status]:
    return [direction.status for direction in report.directions]


def test_two_faces_of_holes_about_one_line_are_in_register_across_it_and_in_turn_and_open_along_it() -> None:
    back = drilled(THEIRS, PAGE, name="back.nc", depth=6.0)
    report = check([drilled(OURS, depth=6.0)], [back], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is None
    assert states(report) == [Status.PASS, Status.NOT_DETERMINED, Status.PASS]
    assert "the front is symmetric about X 0.000" in str(report.directions[0].evidence)


def test_holes_about_a_line_beside_that_of_the_other_face_leave_register_open() -> None:
    back = drilled(THEIRS, shift("0.5", "0") @ PAGE, name="back.nc", depth=6.0)
    report = check([drilled(OURS, depth=6.0)], [back], flip=PAGE, tolerance_mm=0.1)
    assert states(report) == [Status.NOT_DETERMINED, Status.NOT_DETERMINED, Status.PASS]
    assert abs(report.directions[0].off or 0.0) == pytest.approx(0.5, abs=0.01)


def test_an_outline_has_an_axis_and_a_tray_has_two() -> None:
    blade, tray, paddle = (feature_axes(face_features([profiled(edge, 6.0)])) for edge in (BLADE, TRAY, PADDLE))
    assert [(round(axis.direction_deg), round(axis.point_mm[0], 3)) for axis in blade] == [(90, 0.0)]
    assert sorted(round(axis.direction_deg) for axis in tray) == [0, 90]
    assert paddle == []


def test_a_turned_face_has_a_turned_axis() -> None:
    turn = np.radians(0.1)
    spun = OURS @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    axis = feature_axes(face_features([drilled(np.round(spun, 3))]))[0]
    assert axis.direction_deg == pytest.approx(90.1, abs=3 * axis.uncertainty_deg)
    assert axis.uncertainty_deg < 0.01


@pytest.mark.parametrize(
    "holes",
    [
        np.random.default_rng(3).uniform(0.0, 200.0, (12, 2)),
        np.vstack([OURS, [[30.0, 60.0]], [[70.0, 140.0]]]),
        np.vstack([OURS[:4], [[0.0, 10.0]]]),
    ],
    ids=["scattered", "two besides", "two pairs"],
)
def test_what_is_not_symmetric_or_too_little_has_no_axis(holes: np.ndarray) -> None:
    assert feature_axes(face_features([drilled(holes)])) == []
