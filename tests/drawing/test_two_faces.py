"""The picture of two faces: what is on it, where it is, and that nothing is written over anything else."""

from decimal import Decimal

import numpy as np
import pytest

from flipreg.drawing.faces_panel import SHARED_INK
from flipreg.drawing.page import Area, Dash, Page, Stroke, Strokes
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK
from flipreg.drawing.two_faces import draw_two_faces, two_faces_page
from flipreg.errors import UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from tests.drawing.overlaps import overlaps
from tests.register.shapes import PADDLE, PADDLE_HOLES, Floats, Mill, offset_ring

PAGE = Isometry.mirror_x(datum_mm=(Decimal(205), Decimal(0)))


def _face(outline: Floats, holes: Floats, name: str, depth: float = 10.5) -> FaceProgram:
    mill = Mill()
    for x, y in holes.tolist():
        mill.drill(x, y, 21.0)
    return mill.contour(offset_ring(outline, 3.0), (depth,)).program(name)


def _pair(shift: tuple[float, float] = (0.0, 0.0)) -> tuple[FaceProgram, FaceProgram]:
    holes, off = np.array(PADDLE_HOLES), np.array(shift)
    front = _face(PADDLE, holes, "front.nc")
    return front, _face(PAGE.apply(PADDLE + off), PAGE.apply(holes + off), "back.nc")


def _checked(front: FaceProgram, back: FaceProgram, flip: Isometry | None = PAGE) -> Report:
    return check([front], [back], tolerance_mm=0.1, flip=flip)


def _page(shift: tuple[float, float] = (0.0, 0.0)) -> Page:
    front, back = _pair(shift)
    return two_faces_page([front], [back], _checked(front, back))


@pytest.fixture(scope="module")
def good() -> Page:
    return _page()


@pytest.fixture(scope="module")
def off() -> Page:
    return _page((0.6, -0.45))


@pytest.fixture(scope="module")
def unknown() -> Page:
    front = _face(PADDLE, np.empty((0, 2)), "front.nc")
    back = Mill().drill(3.0, 4.0).program("back.nc")
    return two_faces_page([front], [back], _checked(front, back, None))


def _texts(page: Page) -> list[str]:
    return [label.text for label in page.labels]


def _arrows(page: Page) -> list[Area]:
    return [item for item in page.items if isinstance(item, Area) and len(item.points) == 7 and item.grey == 0.0]


def _edges(page: Page, ink: str) -> list[Floats]:
    return [line for item in page.items if isinstance(item, Strokes) and item.ink == ink for line in item.lines]


def _outline(page: Page, ink: str) -> Floats:
    return max(_edges(page, ink), key=lambda line: float(np.ptp(line)))


def _shared_mm(page: Page) -> float:
    lines = [line for line in _edges(page, SHARED_INK) if len(line) > 2]
    return float(sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in lines))


def test_the_title_is_the_verdict_and_the_names_stand_beside_it(good: Page, off: Page, unknown: Page) -> None:
    for page, verdict in ((good, "IN REGISTER"), (off, "NOT IN REGISTER"), (unknown, "REGISTER NOT DETERMINED")):
        assert verdict in _texts(page)
        assert "front.nc | back.nc" in _texts(page)


def test_edges_that_coincide_have_a_band_under_them_all_round_and_others_none(good: Page, off: Page) -> None:
    front = _outline(good, FRONT_INK)
    length = float(np.hypot(*np.diff(front, axis=0).T).sum())
    assert _shared_mm(good) == pytest.approx(length, rel=0.02)
    # What runs the way the back is off stays one line.
    assert _shared_mm(off) < 0.3 * length


def test_the_back_lies_over_the_front_where_they_are_in_register(good: Page) -> None:
    front, back = (_outline(good, ink) for ink in (FRONT_INK, BACK_INK))
    assert front.min(axis=0) == pytest.approx(back.min(axis=0), abs=0.01)
    assert front.max(axis=0) == pytest.approx(back.max(axis=0), abs=0.01)


def test_arrows_lead_the_way_the_back_is_off_by_the_factor_that_is_named(good: Page, off: Page) -> None:
    assert _arrows(good) == []
    said = next(text for text in _texts(off) if "as long as it is" in text)
    factor = float(said.split(",")[1].split("×")[0])
    # All but the last one, which is the legend's.
    corners = np.array([area.points for area in _arrows(off)[:-1]])
    drawn = corners[:, 3] - (corners[:, 0] + corners[:, 6]) / 2
    # The paddle is 215 mm long.
    scale = float(np.ptp(_outline(off, FRONT_INK)[:, 0])) / 215.0
    assert len(drawn) > 5
    assert drawn == pytest.approx(np.tile(np.array([0.6, -0.45]) * factor * scale, (len(drawn), 1)), rel=0.02)


def test_the_flip_line_and_both_zeros_are_named_where_they_are(good: Page) -> None:
    assert {"front zero", "back zero", "flip line X 102.50"} <= set(_texts(good))
    lines = [item for item in good.items if isinstance(item, Stroke) and item.dash is Dash.CHAIN]
    front = _outline(good, FRONT_INK)
    upright = max(lines, key=lambda line: abs(line.points[1][1] - line.points[0][1]))
    low, high = front[:, 0].min(), front[:, 0].max()
    # The paddle goes from X -5 to 210.
    assert upright.points[0][0] == pytest.approx(low + (102.5 + 5.0) / 215.0 * (high - low), abs=0.3)


def test_faces_whose_flip_is_not_known_are_drawn_beside_each_other(unknown: Page) -> None:
    assert {"The front, in its own numbers", "The back, in its own numbers"} <= set(_texts(unknown))
    assert not any("flip line" in text for text in _texts(unknown))


@pytest.mark.parametrize("shift", [(0.0, 0.0), (0.6, -0.45), (0.0, 3.0)])
def test_nothing_is_written_over_anything_else_or_off_the_paper(shift: tuple[float, float]) -> None:
    page = _page(shift)
    for label in page.labels:
        x0, y0, x1, y1 = label.box
        assert 0.0 < x0 < x1 < page.width_mm
        assert 0.0 < y0 < y1 < page.height_mm
    assert overlaps(page.labels) == []


def test_faces_are_told_apart_without_colour(good: Page) -> None:
    strokes = [item for item in good.items if isinstance(item, Strokes) and np.ptp(item.lines[0]) > 40.0]
    assert {(item.ink, item.dash) for item in strokes} >= {(FRONT_INK, Dash.SOLID), (BACK_INK, Dash.DASHED)}


def test_the_same_check_gives_the_same_bytes() -> None:
    front, back = _pair()
    report = _checked(front, back)
    one, two = (draw_two_faces([front], [back], report, "faces.svg").data for _ in range(2))
    assert one == two
    assert one.startswith(b"<?xml")


def test_a_name_with_another_ending_is_refused() -> None:
    front, back = _pair()
    with pytest.raises(UsageError, match=r"a \.pdf, a \.svg or a \.png"):
        draw_two_faces([front], [back], _checked(front, back), "faces.gif")
