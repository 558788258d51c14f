from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from flipreg.job.layout import Layout
from flipreg.job_check.check import _read
from flipreg.job_check.displacement import displacements
from flipreg.program.setup_face import SetupFace, setup_face
from tests.drawing.board_job import write_board


@pytest.fixture
def faces(tmp_path: Path) -> tuple[SetupFace, SetupFace]:
    job = write_board(tmp_path)
    front, back = (setup_face(Layout.of(job), setup, _read) for setup in job.setups)
    return front, back


def test_faces_in_register_are_nowhere_displaced(faces: tuple[SetupFace, SetupFace]) -> None:
    found = displacements(*faces, tolerance_mm=0.1)
    assert len(found.at_mm) > 10
    assert found.size_mm.max() == pytest.approx(0.0, abs=1e-6)


def test_a_shift_is_found_at_every_hole_and_all_along_the_outline(faces: tuple[SetupFace, SetupFace]) -> None:
    front, back = faces
    # Seen from the front, the back's X runs to the left.
    x_mm, y_mm = back.setup.zero_mm
    found = displacements(front, back.with_jog((x_mm - 0.3, y_mm + 0.4)), tolerance_mm=0.1)
    assert [[0.3, 0.4]] * len(found.by_mm) == pytest.approx(found.by_mm, abs=2e-3)
    at = found.at_mm
    for hole in ((-10.0, 20.0), (10.0, -20.0)):
        assert np.hypot(*(at - hole).T).min() == pytest.approx(0.0, abs=1e-6)
    # All four sides of the part.
    assert (at.min(axis=0) < (-19.0, -29.0)).all()
    assert (at.max(axis=0) > (19.0, 29.0)).all()


def test_the_place_that_is_asked_for_is_among_them(faces: tuple[SetupFace, SetupFace]) -> None:
    front, back = faces
    asked = (20.0, 17.3)
    found = displacements(front, back, tolerance_mm=0.1, worst_at_mm=asked)
    assert np.hypot(*(found.at_mm - asked).T).min() < 1.0


def test_faces_that_share_nothing_have_none(faces: tuple[SetupFace, SetupFace]) -> None:
    front, back = faces
    assert (
        len(
            displacements(
                replace(front, programs=front.programs[1:]), replace(back, programs=()), tolerance_mm=0.1
            ).at_mm
        )
        == 0
    )
