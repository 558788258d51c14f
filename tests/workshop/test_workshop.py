"""The check of two faces on a few of the workshop's jobs; ``campaign.py`` runs thousands."""

from tests.every import every
from tests.workshop.job import NONE, make
from tests.workshop.judge import judge

_IN_REGISTER = [
    ("hinged_door", 1), ("cup_hinged_door", 2), ("finger_joint", 2), ("half_laps", 1), ("cross_lap_stand", 2),
    ("fretboard", 1), ("scroll_head", 1), ("rosette", 1), ("dished_handle", 1), ("tool_holder", 2), ("nest", 618),
    ("angled_louvre", 708), ("fretboard", 771), ("bottle_rack", 2), ("beam", 2), ("chamfered", 2), ("coarse_bores", 1),
]  # fmt: skip
_SPOILT = [
    ("lattice_trivet", 1, "slightly_one_feature"), ("dovetails", 1, "one_program_turned"),
    ("puzzle", 1, "not_mirrored"), ("staggered_rows", 2, "off_by_a_radius"), ("coat_rack", 2, "stretched"),
    ("jig", 2, "one_feature"),
    ("coarse_bores", 2, "off_by_a_radius"), ("tabbed_cutouts", 2, "profiles_on_the_wrong_side"),
    ("neck", 2, "another_part"), ("body", 1, "one_program_not_mirrored"),
    ("cup_hinged_door", 630, "one_program_not_mirrored"), ("drilled_in_steps", 631, "one_program_not_mirrored"),
    ("mirror_frame", 630, "one_opening_turned"), ("stepped_round_over", 630, "one_program"),
    ("rounded_corners_only", 630, "one_program"), ("divider", 630, "another_part"),
    ("mirror_frame", 780, "one_program"), ("stepped_round_over", 801, "one_feature"),
    ("puzzle", 803, "one_program_not_mirrored"), ("wavy_strips", 705, "slightly_one_feature"),
    ("dividing_plate", 703, "one_program_not_mirrored"), ("keyhole_plate", 632, "one_feature"),
]  # fmt: skip
_BY_DESIGN = [("housed_side", 1), ("finished_from_the_front", 1), ("bending_kerfs", 617), ("one_word_on_both_faces", 1)]
"""Of these most is in one face alone, or in both at other places."""


@every("kind, seed", _IN_REGISTER)
def test_a_right_job_is_in_register(kind: str, seed: int) -> None:
    judgement = judge(make(kind, seed, NONE))
    assert (judgement.said, judgement.wrongs) == ("in register", ())


@every("kind, seed, fault", _SPOILT)
def test_a_spoilt_job_is_not_passed_and_nothing_untrue_is_said_of_it(kind: str, seed: int, fault: str) -> None:
    job = make(kind, seed, fault)
    judgement = judge(job)
    assert job.fault == fault
    assert judgement.said in ("not in register", "not determined")
    assert not judgement.is_wrong, judgement.wrongs


@every("kind, seed", _BY_DESIGN)
def test_faces_that_differ_by_design_are_not_called_wrong(kind: str, seed: int) -> None:
    judgement = judge(make(kind, seed, NONE))
    assert judgement.said in ("in register", "not determined")
    assert not judgement.is_wrong, judgement.wrongs
