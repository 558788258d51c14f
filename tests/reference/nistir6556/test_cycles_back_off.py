"""Peck drilling (G83) comes down to just above the last depth: NISTIR 6556 section 3.5.16.4, C5 of the reference."""

import pytest

from tests.motions import motions, on_line


def test_every_peck_but_the_first_starts_above_the_last_depth() -> None:
    # The report gives no number for how far ("a bit"): more than nothing, less than the clear level.
    path = motions("G21 G17 G90 G99 F100\nG0 X0 Y0 Z0.2\ng83 x5 y6 r0.2 z-1.1 q0.21\nM2\n")
    peck = on_line(path, 3)
    feeds = peck.take(peck.is_cut)
    assert feeds.start[0, 2] == pytest.approx(0.2)
    for start, last_depth in zip(feeds.start[1:, 2], feeds.end[:-1, 2], strict=True):
        assert last_depth < start < 0.2
