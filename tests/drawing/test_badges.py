from hypothesis import given
from hypothesis import strategies as st

from flipreg.drawing.badges import Badge, BadgeKind, place_badges

ROOM = (10.0, 20.0, 110.0, 90.0)
_PLACES = st.tuples(st.floats(ROOM[0], ROOM[2]), st.floats(ROOM[1], ROOM[3]))
_BADGES = st.builds(Badge, st.sampled_from(BadgeKind), st.from_regex(r"[1-9][0-9]{0,2}", fullmatch=True), _PLACES)


@given(st.lists(_BADGES, max_size=25))
def test_badges_neither_overlap_nor_leave_the_room_nor_cover_a_place(badges: list[Badge]) -> None:
    middles = place_badges(badges, ROOM)
    assert len(badges) == len(middles)
    boxes = [box(one, middle) for one, middle in zip(badges, middles, strict=True) if middle is not None]
    for number, (x0, y0, x1, y1) in enumerate(boxes):
        assert ROOM[0] <= x0 <= x1 <= ROOM[2]
        assert ROOM[1] <= y0 <= y1 <= ROOM[3]
        assert not any(x0 < one.at[0] < x1 and y0 < one.at[1] < y1 for one in badges)
        for a, b, c, d in boxes[:number]:
            assert x1 <= a or c <= x0 or y1 <= b or d <= y0


def test_a_badge_is_close_to_its_place_where_there_is_room() -> None:
    (middle,) = place_badges([Badge(BadgeKind.LOOK, "7", (60.0, 55.0))], ROOM)
    assert middle is not None
    assert 3.0 < ((middle[0] - 60.0) ** 2 + (middle[1] - 55.0) ** 2) ** 0.5 < 6.0


def test_a_badge_keeps_off_what_is_drawn_already() -> None:
    badge = Badge(BadgeKind.TAB, "K1", (60.0, 55.0))
    (free,) = place_badges([badge], ROOM)
    (moved,) = place_badges([badge], ROOM, [(60.0, 50.0, 70.0, 70.0)])
    assert free is not None
    assert moved is not None
    assert free[0] > 60.0
    assert box(badge, moved)[2] <= 60.0 or box(badge, moved)[3] <= 50.0


def test_without_room_there_is_no_place() -> None:
    badge = Badge(BadgeKind.LOOK, "7", (60.0, 55.0))
    assert place_badges([badge], ROOM, [(0.0, 0.0, 200.0, 200.0)]) == [None]


def box(badge: Badge, middle: tuple[float, float]) -> tuple[float, float, float, float]:
    half_x, half_y = badge.half_size
    return middle[0] - half_x, middle[1] - half_y, middle[0] + half_x, middle[1] + half_y
