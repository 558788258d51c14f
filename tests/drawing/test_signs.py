"""Signs on the map: each at its place, open in the middle, named once, and in the legend."""

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from flipreg.cut.thickness import Web
from flipreg.drawing.page import Page, Stroke, Strokes
from flipreg.drawing.picture import check_pages
from flipreg.drawing.signs import SIGN_MM, SignKind, draw_sign, section_clamps, signs_of
from flipreg.findings import Status
from flipreg.job.clamp import Clamp
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.station import Station
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from tests.drawing.board_job import write_board


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobReport]:
    job = write_board(tmp_path_factory.mktemp("board"))
    clamp = Clamp("left", (-40.0, -32.0), (-20.0, 0.0), 12.0)
    setups = (replace(job.setups[0], clamps=(clamp,)), *job.setups[1:])
    job = replace(job, setups=setups, stations=(Station("neck", 70.0, 5.0),))
    # Nothing of the board is thin; a web is told as if it were.
    web = Web(5.0, (7.0, 8.0), -5.0, -10.0)
    return job, replace(check_job(job), webs=(("straight", web),))


@pytest.mark.parametrize("kind", SignKind)
def test_no_sign_covers_the_place_that_it_is_for(kind: SignKind) -> None:
    page = Page(100.0, 100.0)
    draw_sign(page, kind, (50.0, 50.0))
    assert page.items
    for item in page.items:
        assert isinstance(item, Strokes)
        for line in item.lines:
            dense = np.concatenate([np.linspace(a, b, 20) for a, b in pairwise(line)])
            away = np.hypot(*(dense - 50.0).T)
            assert away.min() - item.width_mm / 2 > 0.1
            assert away.max() <= SIGN_MM + 0.2


def test_marks_zeros_stations_and_the_thinnest_web_are_where_the_job_and_the_report_have_them(
    checked: tuple[Job, JobReport],
) -> None:
    job, report = checked
    signs = signs_of(job, report, Layout.of(job), None, "straight")
    assert {(sign.kind, sign.at_mm) for sign in signs} == {
        (SignKind.MARK, (0.0, 0.0)),
        (SignKind.ZERO, (0.0, 0.0)),
        (SignKind.STATION, (5.0, 20.0)),
        (SignKind.WEB, (7.0, 8.0)),
    }
    assert {sign.text for sign in signs} == {"A", "zero", "neck 20.00", "web 5.00"}


def test_a_clamp_of_the_back_lies_where_it_stands_as_seen_from_the_front(checked: tuple[Job, JobReport]) -> None:
    _, report = checked
    front, back = report.faces
    (clamp,) = section_clamps([front])
    assert clamp.name == "left"
    assert clamp.corners_mm.min(axis=0).tolist() == [-40.0, -20.0]
    turned = replace(back, setup=replace(back.setup, clamps=front.setup.clamps))
    (_, other) = section_clamps([front, turned])
    assert other.name == "back: left"
    assert other.corners_mm.min(axis=0).tolist() == [32.0, -20.0]


def test_names_stand_beside_their_signs_once_and_the_legend_says_what_they_are(
    checked: tuple[Job, JobReport],
) -> None:
    texts = [label.text for label in check_pages(*checked)[0].labels]
    assert texts.count("A, zero") == texts.count("neck 20.00") == texts.count("left") == 1
    assert {*(kind.value for kind in SignKind), "clamp", "reference edge"} <= set(texts)


def test_names_without_room_are_told_in_words(checked: tuple[Job, JobReport]) -> None:
    job, report = checked
    first = job.marks[0]
    marks = [replace(first, name=f"dowel {n};", along_mm=20.0 + n / 7, across_mm=n / 9 - 15.0) for n in range(300)]
    pages = check_pages(replace(job, marks=(*job.marks, *marks)), report)
    shown = " ".join(f"{label.text};" for label in pages[0].labels)
    said = " ".join(label.text for page in pages[1:] for label in page.labels)
    lost = [mark.name for mark in marks if mark.name not in shown]
    assert lost
    assert all(name in said for name in lost)


def test_what_to_do_stands_before_the_numbers(checked: tuple[Job, JobReport]) -> None:
    job, report = checked
    fails = replace(report.findings[0], check="web", status=Status.FAIL, settle="")
    page = check_pages(job, replace(report, findings=(*report.findings, fails)))[3]
    texts = [label.text for label in page.labels]
    assert [text.startswith("What to do: ") for text in texts].index(True) < texts.index("1")


def test_the_reference_edge_is_the_thick_line_at_its_side(checked: tuple[Job, JobReport]) -> None:
    page = check_pages(*checked)[0]
    frame = next(item for item in page.items if isinstance(item, Stroke) and item.width_mm == 0.35)
    thick = next(item for item in page.items if isinstance(item, Strokes) and item.width_mm == 1.2)
    ends = thick.lines[0]
    x, y = zip(*frame.points, strict=True)
    assert np.ptp(ends, axis=0).max() == pytest.approx(max(max(x) - min(x), max(y) - min(y)))
    # Left of the front, as it stands; on top, as it lies.
    assert ends[0, 0] < min(x) or ends[0, 1] > max(y)


def test_twenty_tabs_lie_beside_the_part_and_over_nothing(checked: tuple[Job, JobReport]) -> None:
    job, report = checked
    (held,) = [one for one in report.held if one.setup == "back"]
    tab = held.tabs[0]
    # As many round the edge of the part, 40 by 60 mm about the origin.
    ways = [(side * 23.0, -27.0 + 6.0 * step) for side in (-1, 1) for step in range(10)]
    tabs = tuple(replace(tab, at_mm=at) for at in ways)
    page = check_pages(job, replace(report, held=(replace(held, tabs=tabs),)))[0]
    names = {f"K{number}" for number in range(1, 21)}
    boxes = [label.box for label in page.labels if label.text in names]
    # The legend has one more as a sample.
    assert len(boxes) >= 20
    for one, other in combinations(boxes, 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
    frame = next(item for item in page.items if isinstance(item, Stroke) and item.width_mm == 0.35)
    xs, ys = zip(*frame.points, strict=True)
    left, bottom, width, height = min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)
    # The part is 40 of the blank's 80 mm, and 60 of its 100 mm; it may lie or stand.
    shares = (0.2, 0.25) if width > height else (0.25, 0.2)
    sides = (left, width, shares[0]), (bottom, height, shares[1])
    over = [
        box
        for box in boxes
        if all(
            abs((box[axis] + box[axis + 2]) / 2 - start - size / 2) < (0.5 - share) * size - 2.1
            for axis, (start, size, share) in enumerate(sides)
        )
    ]
    assert over == []
