"""The families of parts, by name."""

from collections.abc import Callable
from random import Random

from tests.pairs.families.bodies import cavity_body, lettered_sign, like_recesses, twin_pockets
from tests.pairs.families.carved import bowl_and_foot, carved_board
from tests.pairs.families.joints import comb_board, slotted_frame
from tests.pairs.families.lattice import lattice_board, perforated_panel
from tests.pairs.families.outlines import profiled_outline
from tests.pairs.families.registered import registered_job
from tests.pairs.families.rows import drilled_board, shelf_side
from tests.pairs.part import Part

FAMILIES: dict[str, Callable[[Random], Part]] = {
    "lattice": lattice_board,
    "perforated": perforated_panel,
    "rows": shelf_side,
    "drilled": drilled_board,
    "body": cavity_body,
    "pockets": twin_pockets,
    "letters": lettered_sign,
    "slots": slotted_frame,
    "comb": comb_board,
    "outline": profiled_outline,
    "carved": carved_board,
    "bowl": bowl_and_foot,
    "registered": registered_job,
    "recesses": like_recesses,
}
