"""The numbers of G and M codes by name: the one place where they are written down.

G codes are ten times their number, so that G59.1 is 591; M codes are their number.
"""

__all__ = [
    "ARCS",
    "COMPENSATING",
    "CYCLES",
    "HOMES",
    "OFFSET_CODES",
    "PROGRAM_ENDS",
    "SPINDLE_CYCLES",
    "UNUSED_CANCELS",
    "WITH_MACHINE_COORDINATES",
    "G",
    "M",
]


class G:
    """Ten times the number of each G code that the package treats apart from others."""

    RAPID, LINE, CLOCKWISE, COUNTER_CLOCKWISE = 0, 10, 20, 30
    DWELL = 40
    DATA = 100
    XY, ZX, YZ = 170, 180, 190
    INCH, MILLIMETRE = 200, 210
    HOME, SECOND_HOME = 280, 300
    PROBE = 382
    CUTTER_OFF, CUTTER_LEFT, CUTTER_RIGHT = 400, 410, 420
    LENGTH_ON, LENGTH_OFF = 430, 490
    MACHINE = 530
    EXACT_PATH, EXACT_STOP, CONTINUOUS = 610, 611, 640
    NO_MOTION = 800
    PECK, BACK_BORING = 830, 870
    POSITIONS, STEPS = 900, 910
    CENTRE_POSITIONS, CENTRE_OFFSETS = 901, 911
    AXIS_OFFSET, RESET_AXIS_OFFSET, RESET_KEEPING_STORED, RESTORE_AXIS_OFFSET = 920, 921, 922, 923
    INVERSE_TIME, PER_MINUTE = 930, 940
    INITIAL_LEVEL, RETRACT_LEVEL = 980, 990


class M:
    """The number of each M code that the package treats apart from others."""

    END, END_AND_REWIND = 2, 30
    CLOCKWISE, COUNTER_CLOCKWISE, STOP_SPINDLE = 3, 4, 5
    CHANGE_TOOL = 6
    MIST, FLOOD, COOLANT_OFF = 7, 8, 9
    CALL, RETURN = 98, 99


ARCS = (G.CLOCKWISE, G.COUNTER_CLOCKWISE)

CYCLES = tuple(range(810, 900, 10))
"""The canned cycles G81 to G89."""

SPINDLE_CYCLES = (84, 86, 87)
"""The numbers of the canned cycles that stop or turn round the spindle by themselves."""

HOMES = (G.HOME, G.SECOND_HOME)

WITH_MACHINE_COORDINATES = (G.DATA, G.MACHINE)
"""Codes whose axis words are coordinates of the machine."""

COMPENSATING = (G.CUTTER_LEFT, G.CUTTER_RIGHT)

OFFSET_CODES = (*HOMES, G.MACHINE, G.AXIS_OFFSET, G.RESET_AXIS_OFFSET, G.RESET_KEEPING_STORED, G.RESTORE_AXIS_OFFSET)
"""Codes that go to machine positions or change the offsets of numbers."""

PROGRAM_ENDS = (M.END, M.END_AND_REWIND)
"""The M codes after which nothing is executed (NISTIR 6556, 3.6.1)."""

UNUSED_CANCELS = (131, 150, 401, 491, 500, 501, 670, 690, 970)
"""Cancels of what this language cannot set: polar coordinates, normal direction, tool length and scaling of other
kinds, a scaled or mirrored frame, modal macros, rotated frames, constant surface speed. Common practice, no source."""
