"""Several work offsets in one program."""

from tests.commands.laws import EXACT, assert_is_shift, moved, shifted
from tests.commands.programs import TWO_WORK_OFFSETS
from tests.motions import motions, sampled


def test_a_shift_keeps_every_work_offset() -> None:
    # Work offsets are translations, so a shift is the same shift in the numbers of each.
    before = motions(TWO_WORK_OFFSETS)
    after = motions(shifted(TWO_WORK_OFFSETS, ("1", "2", "3")).text)
    assert_is_shift(before, after, moved(sampled(before), ("1", "2", "3"), 0.0, ("0", "0")), EXACT)
    assert sorted(set(after.work_offset.tolist())) == [1, 2, 9]
