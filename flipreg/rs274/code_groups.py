"""The modal groups of G and M codes (NISTIR 6556, 3.4 and table 4), and what sets some of them apart."""

from flipreg.rs274.code_numbers import HOMES, UNUSED_CANCELS, G, M

__all__ = ["APART_CODES", "AXIS_CODES", "G_GROUPS", "M_GROUPS", "WORK_OFFSETS", "Group", "is_known_code"]


class Group:
    """Numbers of the modal groups of G codes, after table 4 of the report."""

    NON_MODAL = 0
    MOTION = 1
    PLANE = 2
    DISTANCE = 3
    FEED_MODE = 5
    UNITS = 6
    CUTTER = 7
    LENGTH = 8
    RETURN = 10
    COORDINATES = 12
    PATH_CONTROL = 13
    ARC_CENTRES = 14
    """Not in the report: G90.1 and G91.1, a widespread habit."""
    IDLE = 15
    """Not in the report: cancels of what the language cannot set, and codes that were named as passive."""


G_GROUPS: dict[int, tuple[int, ...]] = {
    Group.NON_MODAL: (40, 100, 280, 300, 530, 920, 921, 922, 923),
    Group.MOTION: (0, 10, 20, 30, 382, *range(800, 900, 10)),
    Group.PLANE: (170, 180, 190),
    Group.DISTANCE: (900, 910),
    Group.FEED_MODE: (930, 940),
    Group.UNITS: (200, 210),
    Group.CUTTER: (400, 410, 420),
    Group.LENGTH: (430, 490),
    Group.RETURN: (980, 990),
    Group.COORDINATES: (540, 550, 560, 570, 580, 590, 591, 592, 593),
    Group.PATH_CONTROL: (610, 611, 640),
    Group.ARC_CENTRES: (G.CENTRE_POSITIONS, G.CENTRE_OFFSETS),
    Group.IDLE: UNUSED_CANCELS,
}

M_GROUPS: dict[int, tuple[int, ...]] = {
    4: (0, 1, 2, 30, 60),
    6: (6,),
    7: (3, 4, 5),
    8: (7, 8, 9),
    9: (48, 49),
    10: (M.CALL, M.RETURN),  # not in the report: calls of subprograms and the way back, a widespread habit
}

AXIS_CODES = frozenset({G.DATA, *HOMES, G.AXIS_OFFSET})
"""Codes of the non-modal group that use axis words; no motion may be named beside them (3.4)."""

APART_CODES = AXIS_CODES | {G.MACHINE}
"""Codes that make the axis words of their block something else than the end of a motion in program numbers."""

WORK_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
"""Names of the nine work offsets, which are numbered from 1."""


def is_known_code(name: str) -> bool:
    """Return whether a code such as `M6` or `G59.1` is one that the package knows."""
    groups, scale = (G_GROUPS, 10) if name[0] == "G" else (M_GROUPS, 1)
    code = round(float(name[1:]) * scale)
    return any(code in codes for codes in groups.values())
