"""All kinds of parts, by name."""

from collections.abc import Callable

from tests.workshop.bench import Bench
from tests.workshop.kinds import (
    blanks_of_several,
    boards_and_signs,
    boxes_and_jigs,
    by_design,
    carved,
    frames,
    in_stages,
    instruments,
    joints,
    round_things,
    shelf_and_drawer,
    unusual_ways,
)

Kind = Callable[[Bench], None]

_ROOMS = (
    shelf_and_drawer, frames, joints, instruments, round_things, carved, boards_and_signs, boxes_and_jigs,
    blanks_of_several, by_design, in_stages, unusual_ways,
)  # fmt: skip

KINDS: dict[str, Kind] = {
    name: build
    for room in _ROOMS
    for name, build in vars(room).items()
    if callable(build) and getattr(build, "__module__", "") == room.__name__ and not name.startswith("_")
}
"""In the order of the rooms, and in each as it is written there."""
