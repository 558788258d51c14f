"""Write the program of the bracket's pocket next to this file.

The pocket is cut in loops from its middle outwards, level after level, straight down in the middle.
"""

from pathlib import Path

LENGTH_MM, WIDTH_MM = 60.0, 36.0
"""The pocket."""
CUTTER_MM = 8.0
STEPOVER_MM = 3.5
FLOOR_MM, STEP_DOWN_MM = -15.5, 4.0
SAFE_MM = 15.0


def levels() -> list[float]:
    """Return the levels: the step-down as often as it fits, then the floor."""
    count = int(-FLOOR_MM // STEP_DOWN_MM)
    return [-STEP_DOWN_MM * number for number in range(1, count + 1)] + [FLOOR_MM]


def loops() -> list[tuple[float, float]]:
    """Return half the length and half the width of each loop of the cutter's centre, from the middle outwards."""
    insets, inset = [], CUTTER_MM / 2
    while inset < WIDTH_MM / 2:
        insets.append(inset)
        inset += STEPOVER_MM
    return [(LENGTH_MM / 2 - inset, WIDTH_MM / 2 - inset) for inset in reversed(insets)]


def program() -> str:
    """Return the program, counter-clockwise and so climbing."""
    lines = ["%", "(BRACKET: POCKET OF THE HEEL)", "G21 G90 G17 G94", "T1 M6", "S18000 M3", f"G0 Z{SAFE_MM:.3f}"]
    for number, level in enumerate(levels(), 1):
        lines.append(f"(LEVEL {number})")
        for place, (x, y) in enumerate(loops()):
            if place == 0:
                lines += [f"G0 X{-x:.3f} Y{-y:.3f}", "Z2.000", f"G1 Z{level:.3f} F400", f"X{x:.3f} F1800"]
            else:
                lines += [f"X{-x:.3f} Y{-y:.3f}", f"X{x:.3f}"]
            lines += [f"Y{y:.3f}", f"X{-x:.3f}", f"Y{-y:.3f}"]
        lines.append(f"G0 Z{SAFE_MM:.3f}")
    return "\n".join([*lines, "X0.000 Y0.000", "M5", "M30", "%", ""])


if __name__ == "__main__":
    Path(__file__).with_name("heel-pocket.nc").write_text(program())
