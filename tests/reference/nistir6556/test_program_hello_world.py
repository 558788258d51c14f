"""The engraving program: NISTIR 6556 appendix C.1 "Hello world", in millimetres (R and RI, see the checks)."""

from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

from flipreg.path import Kind, Path
from tests.motions import length, line_of, motions, sampled

TEXT = (File(__file__).parent / "hello_world.ngc").read_text()

ARCS = {
    # line: start, end, centre, radius, sweep, bounding box X then Y (RI)
    "0190": ((16, 2.5), (13.5, 0), (13.5, 2.5), 2.5, 270, (11, 16), (0, 5)),
    "0320": ((32.5, 0), (32.5, 0), (32.5, 2.5), 2.5, -360, (30, 35), (0, 5)),
    "0430": ((57.5, 0), (57.5, 0), (57.5, 2.5), 2.5, -360, (55, 60), (0, 5)),
    "0490": ((64, 4), (69, 4), (66.5, 0.877501), 4, -77.364375, (64, 69), (4, 4.877501)),
    "0590": ((79.5, 0), (79.5, 5), (79.5, 2.5), 2.5, -180, (77, 79.5), (0, 5)),
}

Pair = tuple[float, float]


@pytest.fixture(scope="module")
def path() -> Path:
    """Return the motions, with the start the lengths are counted from: (0, 0, 0)."""
    found = motions(TEXT)
    start = found.start.copy()
    # A Path does not know where the machine stands before the first move; the reference counts from zero.
    assert np.isnan(start[0]).all()
    start[0] = 0.0
    return replace(found, start=start)


def test_the_cut_spans_what_the_programs_own_comment_says(path: Path) -> None:
    # R: X0 to X81; RI: Y0 to Y10.
    points = sampled(path, steps=720)[path.is_cut & (path.end[:, 2] == -0.5)]
    assert pytest.approx([points[..., 0].min(), points[..., 0].max()], abs=1e-9) == [0, 81]
    assert pytest.approx([points[..., 1].min(), points[..., 1].max()], abs=1e-9) == [0, 10]


def test_the_program_makes_25_traverses_29_feeds_4_clockwise_arcs_and_1_counter_clockwise(path: Path) -> None:
    arcs = path.sweep_deg[path.is_arc]
    counted = [
        np.count_nonzero(path.kind == Kind.RAPID),
        np.count_nonzero(path.kind == Kind.LINE),
        np.count_nonzero(arcs < 0),
        np.count_nonzero(arcs > 0),
    ]
    assert counted == [25, 29, 4, 1]
    assert length(path).min() > 0


def test_the_lengths_of_each_kind_of_motion_are_as_computed(path: Path) -> None:
    along = length(path)
    expected = {"G0": 252.052801, "G1": 126.978534, "G2": 44.670960, "G3": 11.780972}
    assert expected == pytest.approx(
        {
            "G0": along[path.kind == Kind.RAPID].sum(),
            "G1": along[path.kind == Kind.LINE].sum(),
            "G2": along[path.is_arc & (path.sweep_deg < 0)].sum(),
            "G3": along[path.is_arc & (path.sweep_deg > 0)].sum(),
        },
        abs=1e-6,
    )


def test_the_feed_length_splits_into_depth_and_twelve_plunges(path: Path) -> None:
    along = length(path)
    plunge = path.is_cut & (path.start[:, 2] == 2) & (path.end[:, 2] == -0.5)
    assert np.count_nonzero(plunge) == 12
    assert along[plunge].sum() == pytest.approx(30)
    assert along[path.is_cut & ~plunge].sum() == pytest.approx(153.430466, abs=1e-6)


def test_the_program_ends_where_computed(path: Path) -> None:
    assert path.end[-1].tolist() == [81, 5, 50]


@pytest.mark.parametrize("number", ARCS)
def test_an_arc_is_the_one_of_the_table(path: Path, number: str) -> None:
    start, end, centre, radius, sweep_deg, box_x, box_y = ARCS[number]
    (row,) = np.flatnonzero(path.line == line_of(TEXT, number))
    assert path.kind[row] == Kind.ARC
    assert path.start[row, :2].tolist() == pytest.approx(start)
    assert path.end[row, :2].tolist() == pytest.approx(end)
    assert path.centre[row, :2].tolist() == pytest.approx(centre, abs=5e-7)
    assert path.sweep_deg[row] == pytest.approx(sweep_deg, abs=5e-7)
    points = sampled(path, steps=720)[row]
    assert np.hypot(*(points[:, :2] - path.centre[row, :2]).T) == pytest.approx(radius)
    # 720 steps hit the extreme of every full, half and three-quarter turn, and n0490's at its middle.
    assert [points[:, 0].min(), points[:, 0].max()] == pytest.approx(box_x, abs=5e-7)
    assert [points[:, 1].min(), points[:, 1].max()] == pytest.approx(box_y, abs=5e-7)


def test_every_feed_is_20_mm_a_minute_with_tool_1_at_4000_turns(path: Path) -> None:
    cut = path.take(path.is_cut)
    assert set(cut.feed_mm_per_min.tolist()) == {20}
    assert set(cut.tool.tolist()) == {1}
    assert set(cut.spindle_rpm.tolist()) == {4000}
