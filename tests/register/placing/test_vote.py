"""Features of any kind vote for where the back lies, and many of them do so in time."""

from time import process_time

import numpy as np
import pytest

from flipreg.register.faces.features import face_features
from flipreg.register.faces.landmarks import Landmarks, of_holes
from flipreg.register.placing.agreement import Comparable
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.vote import candidates
from tests.register.shapes import PAGE, Mill, ring

FLIP = np.diag([-1.0, 1.0])


def holes(points: np.ndarray) -> Landmarks:
    count = len(points)
    numbers = np.zeros(count, np.int64)
    return of_holes(points, np.full(count, 5.0), np.full(count, -20.0), numbers, numbers)


def test_the_planted_shift_has_most_votes_among_noise() -> None:
    random = np.random.default_rng(5)
    shared = random.uniform(0.0, 300.0, (12, 2))
    front = np.concatenate([shared, random.uniform(0.0, 300.0, (60, 2))])
    back = np.concatenate([shared, random.uniform(0.0, 300.0, (60, 2))])
    both = Comparable(holes(front), holes((back - (250.0, 40.0)) @ FLIP.T), 0.2, np.full(2, 300.0))
    best = candidates(both, FLIP)[0]
    assert best.count >= 12
    assert best.placement.offset_mm == pytest.approx([250.0, 40.0], abs=1e-6)


def test_a_hundred_thousand_holes_vote_within_two_seconds() -> None:
    points = np.random.default_rng(3).uniform(0.0, 3000.0, (100_000, 2))
    both = Comparable(holes(points), holes((points - (70.0, 30.0)) @ FLIP.T), 0.2, np.full(2, 3000.0))
    begin = process_time()
    best = candidates(both, FLIP)[0]
    assert best.placement.offset_mm == pytest.approx([70.0, 30.0], abs=1e-6)
    assert process_time() - begin < 1.5


@pytest.mark.parametrize("kind", ["slots", "notches", "hooks", "pockets"])
def test_slots_notches_corners_and_pockets_are_features(kind: str) -> None:
    places = ((20.0, 30.0, 18.0), (75.0, 22.0, 25.0), (140.0, 60.0, 14.0), (90.0, 90.0, 31.0), (30.0, 110.0, 22.0))
    faces = []
    for move in (None, PAGE):
        mill = Mill()
        for x, y, long in places:
            way = {
                "slots": ring((x, y), (x + long, y + 7)),
                "notches": ring((x, y), (x, y + long), (x + 5, y + long), (x + 5, y)),
                "hooks": ring((x, y), (x + 30, y), (x + 30, y + 30), (x + 60, y + 30)),
                "pockets": ring((x, y), (x + long, y), (x + long, y + 9), (x, y + 14), (x, y)),
            }[kind]
            way = way if move is None else move.apply(way)
            mill.lines(np.column_stack([way, np.full(len(way), -4.0)]))
        faces.append(face_features([mill.program()]))
    both = Faces.of(faces[0], faces[1], 0.1).comparable
    best = candidates(both, FLIP)[0]
    assert best.count == both.features >= 5
    assert best.placement.offset_mm == pytest.approx([205.0, 0.0], abs=0.002)
    assert all(ballot.count < 5 for ballot in candidates(both, np.eye(2)))


def test_lines_of_a_raster_are_no_slots() -> None:
    mill = Mill()
    for y in np.arange(0.0, 40.0, 3.0):
        mill.lines(np.array([[0.0, y, -2.0], [60.0, y, -2.0]]))
    assert len(face_features([mill.program(tool=6.0)]).marks) == 0
