"""Jobs with one fault planted each, known by how the job is made."""

from collections.abc import Callable
from random import Random

from tests.dexels import planted_cuts as cuts
from tests.dexels import planted_pieces as pieces
from tests.dexels.board import Job

PLANTED: list[Callable[[Random], Job]] = [
    pieces.slug,
    pieces.slug_in_slug,
    pieces.no_tabs,
    pieces.halved,
    pieces.trimmed,
    pieces.straight_kerf,
    pieces.removed_tabs,
    pieces.finished_away,
    pieces.misaligned,
    pieces.thin_tabs,
    pieces.narrow_tabs,
    pieces.narrow_by_kerf,
    cuts.too_deep,
    cuts.drilled_through,
    cuts.meeting,
    cuts.meeting_joined,
    cuts.thin_web,
    cuts.thin_web_in_the_blank,
    cuts.opening_in_the_blank,
    cuts.vees_meet,
    cuts.second_tool,
    cuts.skin,
    cuts.traverse_into_wood,
    cuts.low_traverse,
    cuts.false_kerf,
    cuts.deep_bite,
    cuts.cannot_plunge,
    cuts.drill_sideways,
    cuts.profile_first,
    cuts.finish_first,
]
