"""The rigid fit against published registrations, scipy, and its own laws.

Marks of sources: S read in the source, R read in a secondary source, P recomputed, M from memory.
"""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from flipreg.geometry.fit import RigidFit, fit_rigid
from flipreg.geometry.isometry import Isometry

Floats = NDArray[np.float64]


def rows(*points: tuple[float, float]) -> Floats:
    return np.array(points, dtype=np.float64)


UMEYAMA_X = rows((0, 0), (1, 0), (0, 2))
UMEYAMA_Y = rows((0, 0), (-1, 0), (0, 2))


class TestPublishedRegistrations:
    def test_umeyamas_mirror_trap_gives_a_rotation(self) -> None:
        """Check value G1: Umeyama 1991, rotation R and P; shift with scale 1 and residual P."""
        fit = fit_rigid(UMEYAMA_X, UMEYAMA_Y)
        assert fit.isometry.determinant == 1
        assert fit.isometry.matrix.ravel().tolist() == pytest.approx([0.832, 0.555, -0.555, 0.832], abs=5e-4)
        assert fit.isometry.offset_mm.tolist() == pytest.approx([-0.98048356, 0.29686654, 0], abs=5e-9)
        assert fit.rms_mm**2 == pytest.approx(0.61975499, abs=5e-9)

    def test_umeyamas_mirror_trap_is_reported_as_mirrored_marks(self) -> None:
        """Check value G1: with a mirror the fit is exact, so silence would hide the blunder."""
        fit = fit_rigid(UMEYAMA_X, UMEYAMA_Y)
        assert fit.mirrored
        assert fit.mirror_rms_mm == pytest.approx(0, abs=1e-12)

    def test_umeyamas_scale_is_seen_but_not_used(self) -> None:
        """Check value G1: c = 0.721 (R), 0.72111026 (P); the fitted motion keeps distances all the same."""
        fit = fit_rigid(UMEYAMA_X, UMEYAMA_Y)
        assert fit.scale == pytest.approx(0.72111026, abs=5e-9)
        image = fit.isometry.apply(UMEYAMA_X)
        assert float(np.hypot(*(image[1] - image[0]))) == pytest.approx(1, abs=1e-12)

    def test_large_survey_coordinates_keep_their_digits(self) -> None:
        """Check value G2: Ghilani, Example 18.1; parameters and point 1 R, residuals M, all P."""
        measured = rows((1049422.40, 51089.20), (1049413.95, 49659.30), (1049244.95, 49884.95))
        planned = rows((121.622, -128.066), (141.228, 187.718), (175.802, 135.728))
        fit = fit_rigid(planned, measured)
        assert fit.scale == pytest.approx(4.51962, abs=5e-6)
        assert fit.turn_deg % 360 == pytest.approx(183 + 13 / 60 + 5 / 3600, abs=0.5 / 3600)
        scaled = fit_rigid(planned * fit.scale, measured)
        assert scaled.isometry.offset_mm[:2].tolist() == pytest.approx([1050003.715, 50542.131], abs=5e-4)
        residuals = -scaled.residuals_mm(planned * fit.scale, measured).ravel()
        expected = [0.004, -0.029, 0.101, -0.077, -0.105, 0.106]
        assert residuals.tolist() == pytest.approx(expected, abs=6e-4)
        point = scaled.isometry.apply(rows((174.148, -120.262)) * fit.scale)
        assert point[0].tolist() == pytest.approx([1049187.361, 51040.629], abs=1e-3)


POINTS = st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=3, max_size=8)
TURNS = st.floats(-180, 180)


def spread_of(points: Floats) -> float:
    """Return the smaller principal spread: 0 for points on a line."""
    return float(np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[-1])


class TestLaws:
    @given(POINTS, TURNS, st.floats(-500, 500), st.floats(-500, 500))
    def test_an_exact_motion_is_found_again(
        self, points: list[tuple[float, float]], turn: float, dx: float, dy: float
    ) -> None:
        planned = rows(*points)
        assume(spread_of(planned) > 1)
        moved = Isometry.translation(Decimal(dx), Decimal(dy)) @ Isometry.rotation(turn)
        fit = fit_rigid(planned, moved.apply(planned))
        assert fit.isometry.matrix.ravel().tolist() == pytest.approx(moved.matrix.ravel().tolist(), abs=1e-9)
        assert fit.isometry.offset_mm.tolist() == pytest.approx([dx, dy, 0], abs=1e-7)
        assert fit.worst_mm == pytest.approx(0, abs=1e-8)
        assert fit.rotation_determined
        assert not fit.mirrored

    @given(POINTS, TURNS)
    def test_a_mirror_image_is_called_mirrored_and_still_fitted_by_a_rotation(
        self, points: list[tuple[float, float]], turn: float
    ) -> None:
        planned = rows(*points)
        assume(spread_of(planned) > 1)
        flip = Isometry.rotation(turn) @ Isometry.mirror_x(datum_mm=(Decimal(40), Decimal(-7)))
        fit = fit_rigid(planned, flip.apply(planned))
        assert fit.mirrored
        assert fit.isometry.determinant == 1

    @given(POINTS, POINTS)
    def test_nearby_motions_fit_no_better(
        self, points: list[tuple[float, float]], others: list[tuple[float, float]]
    ) -> None:
        n = min(len(points), len(others))
        planned, measured = rows(*points[:n]), rows(*others[:n])
        fit = fit_rigid(planned, measured)
        assume(fit.rotation_determined)
        for nudge in (
            Isometry.translation(Decimal("0.01"), Decimal(0)),
            Isometry.translation(Decimal(0), Decimal("-0.01")),
            Isometry.rotation(0.01),
            Isometry.rotation(-0.01),
        ):
            off = measured - (nudge @ fit.isometry).apply(planned)
            assert float(np.sqrt((off**2).sum(axis=1).mean())) >= fit.rms_mm - 1e-9

    def test_agrees_with_scipys_rotation_and_its_general_optimiser(self) -> None:
        """Oracles: scipy Rotation.align_vectors on centred points, and least_squares from a cold start."""
        from scipy.optimize import least_squares

        planned = rows((0, 0), (300, 5), (290, 190), (12, 205))
        measured = rows((10.2, -5.1), (309.9, 8.0), (296.1, 192.7), (17.9, 199.6))
        weights = np.array([1.0, 2.0, 0.5, 3.0])
        share = weights / weights.sum()
        fit = fit_rigid(planned, measured, weights=weights)
        flat = np.zeros((4, 1))
        rotation, _ = Rotation.align_vectors(
            np.hstack([measured - share @ measured, flat]),
            np.hstack([planned - share @ planned, flat]),
            weights=weights,
        )
        assert fit.turn_deg == pytest.approx(rotation.as_euler("xyz", degrees=True)[2], abs=1e-9)

        def off(unknown: Floats) -> Floats:
            angle, dx, dy = unknown
            x, y = planned.T
            image = np.stack(
                [np.cos(angle) * x - np.sin(angle) * y + dx, np.sin(angle) * x + np.cos(angle) * y + dy],
                axis=1,
            )
            return np.asarray((measured - image) * np.sqrt(share)[:, np.newaxis], dtype=np.float64).ravel()

        best = least_squares(off, np.zeros(3), xtol=1e-15, ftol=1e-15, gtol=1e-15)
        assert fit.rms_mm == pytest.approx(float(np.sqrt(2 * best.cost)), rel=1e-9)
        assert fit.isometry.offset_mm[:2].tolist() == pytest.approx(best.x[1:].tolist(), abs=1e-5)


class TestWhatAFitSays:
    def test_shift_is_taken_at_the_centroid_and_not_at_a_far_origin(self) -> None:
        planned = rows((1000, 1000), (1100, 1000), (1000, 1100), (1100, 1100))
        centre = (Decimal(1050), Decimal(1050))
        moved = Isometry.translation(Decimal("0.3"), Decimal("-0.2")) @ Isometry.rotation(1, about_mm=centre)
        fit = fit_rigid(planned, moved.apply(planned))
        assert fit.centroid_mm == (1050, 1050)
        assert fit.shift_mm == pytest.approx((0.3, -0.2), abs=1e-9)
        assert fit.turn_deg == pytest.approx(1, abs=1e-9)

    def test_small_turn_over_a_long_part(self) -> None:
        """Check value R7 (P): 0.05 degrees over 300 mm is 0.2618 mm."""
        fit = fit_rigid(rows((0, 0), (300, 0)), rows((0, 0), (300, 0.2618)))
        assert fit.turn_deg == pytest.approx(0.05, abs=5e-6)

    def test_worst_point_is_named(self) -> None:
        planned = rows((0, 0), (100, 0), (100, 50), (0, 50))
        measured = planned + rows((0, 0), (0, 0), (0.4, 0), (0, 0))
        fit = fit_rigid(planned, measured)
        residuals = fit.residuals_mm(planned, measured)
        assert fit.worst_row == 2
        assert fit.worst_mm == pytest.approx(float(np.hypot(*residuals[2])))
        assert fit.rms_mm == pytest.approx(float(np.sqrt((residuals**2).sum(axis=1).mean())))

    def test_a_row_without_weight_moves_nothing_and_is_not_the_worst(self) -> None:
        planned = rows((0, 0), (100, 0), (0, 50), (7, 7))
        measured = planned + rows((1, 2), (1, 2), (1, 2), (90, 90))
        fit = fit_rigid(planned, measured, weights=np.array([1.0, 1.0, 1.0, 0.0]))
        assert fit.shift_mm == pytest.approx((1, 2))
        assert fit.worst_mm == pytest.approx(0, abs=1e-9)

    def test_marks_on_one_line_are_never_called_mirrored(self) -> None:
        fit = fit_rigid(rows((0, 0), (50, 0), (300, 0)), rows((0.1, 0.2), (50.2, -0.3), (299.8, 0.1)))
        assert not fit.mirrored
        assert fit.rms_mm > 0.1
        assert fit.mirror_rms_mm == pytest.approx(fit.rms_mm)

    def test_inches_read_as_millimetres_show_as_scale(self) -> None:
        planned = rows((0, 0), (100, 0), (0, 50))
        assert fit_rigid(planned / 25.4, planned).scale == pytest.approx(25.4)


class TestTooLittleToGoBy:
    def test_one_point_gives_a_shift_and_says_that_rotation_is_not_determined(self) -> None:
        fit = fit_rigid(rows((12, 7)), rows((12.3, 6.9)))
        assert fit.isometry.matrix.tolist() == [[1, 0], [0, 1]]
        assert fit.shift_mm == pytest.approx((0.3, -0.1))
        assert not fit.rotation_determined
        assert not fit.mirrored
        assert fit.worst_mm == 0

    @pytest.mark.parametrize(
        ("planned", "measured"),
        [
            (rows((5, 5), (5, 5)), rows((6, 5), (6, 7))),
            (rows((5, 5), (9, 5)), rows((6, 5), (6, 5))),
            (rows((1, 1), (-1, 1), (-1, -1), (1, -1)), rows((-1, 1), (1, 1), (1, -1), (-1, -1))),
        ],
        ids=["planned coincide", "measured coincide", "mirrored square favours no angle"],
    )
    def test_where_no_angle_is_better_than_another_the_fit_does_not_turn(
        self, planned: Floats, measured: Floats
    ) -> None:
        fit = fit_rigid(planned, measured)
        assert not fit.rotation_determined
        assert fit.turn_deg == 0
        assert fit.scale == 1
        assert fit.shift_mm == pytest.approx(tuple((measured - planned).mean(axis=0).tolist()))

    def test_float_noise_is_not_taken_for_a_favoured_angle(self) -> None:
        square = rows((1, 1), (-1, 1), (-1, -1), (1, -1)) * 123.4
        askew = Isometry.translation(Decimal("1000.1"), Decimal("-77.7")) @ Isometry.rotation(17)
        planned = askew.apply(square)
        fit = fit_rigid(planned, planned * [-1, 1])
        assert not fit.rotation_determined
        assert fit.turn_deg == 0
        assert fit.mirrored

    @pytest.mark.parametrize(
        ("planned", "measured", "weights", "message"),
        [
            (np.empty((0, 2)), np.empty((0, 2)), None, "at least one point"),
            (rows((0, 0)), rows((0, 0), (1, 1)), None, r"got \(1, 2\) and \(2, 2\)"),
            (np.zeros((2, 3)), np.zeros((2, 3)), None, r"got \(2, 3\)"),
            (rows((0, float("nan"))), rows((0, 0)), None, "finite"),
            (rows((0, 0)), rows((0, 0)), np.array([-1.0]), "not negative"),
            (rows((0, 0)), rows((0, 0)), np.array([0.0]), "not all 0"),
            (rows((0, 0)), rows((0, 0)), np.array([1.0, 1.0]), "one weight a point"),
        ],
    )
    def test_unusable_input_is_refused_with_what_was_wrong(
        self, planned: Floats, measured: Floats, weights: Floats | None, message: str
    ) -> None:
        with pytest.raises(ValueError, match=message):
            fit_rigid(planned, measured, weights=weights)

    def test_fits_are_values(self) -> None:
        first: RigidFit = fit_rigid(UMEYAMA_X, UMEYAMA_Y)
        assert first == fit_rigid(UMEYAMA_X, UMEYAMA_Y)
        assert hash(first) == hash(fit_rigid(UMEYAMA_X, UMEYAMA_Y))
