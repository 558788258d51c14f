"""Panels on a page: as large as the paper allows, and with room beside a narrow one for its names."""

import pytest

from flipreg.drawing.paper import MARGIN_MM
from flipreg.drawing.spread import best_spread
from flipreg.drawing.view import PageBox

PAGES = ((297.0, 210.0), (210.0, 297.0))
RAIL, BOARD = (-45.0, 0.0, 45.0, 3000.0), (-100.0, 0.0, 100.0, 300.0)
LEGEND_MM = 25.0


@pytest.mark.parametrize("boxes", [(RAIL,), (RAIL, RAIL), (RAIL, RAIL, RAIL, RAIL, RAIL), (BOARD, RAIL)])
def test_names_of_a_narrow_panel_have_room_beside_it_that_no_other_panel_takes(boxes: tuple[PageBox, ...]) -> None:
    spread = best_spread(boxes, PAGES, lambda _: LEGEND_MM)
    for number, (room, view) in enumerate(zip(spread.rooms, spread.views, strict=True)):
        x0, y0, x1, y1 = view.page_box
        if min(x1 - x0, y1 - y0) < 25.0:
            assert max(y0 - room[1], room[2] - x1) >= 10.0
        assert room[0] >= MARGIN_MM
        assert room[1] >= MARGIN_MM + LEGEND_MM
        assert room[2] <= spread.page_mm[0] - MARGIN_MM + 1e-9
        for other in (*spread.rooms[:number], *spread.rooms[number + 1 :]):
            apart = other[0] >= room[2] or other[2] <= room[0] or other[1] >= room[3] or other[3] <= room[1]
            assert apart, (room, other)


def test_names_of_a_wide_panel_stay_on_it() -> None:
    spread = best_spread((BOARD,), PAGES, lambda _: LEGEND_MM)
    assert spread.rooms == (spread.views[0].page_box,)
