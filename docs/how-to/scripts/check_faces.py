"""Check the programs of two faces, and say where to look at the wood first: the worst point.

`python check_faces.py FRONT BACK AT TOLERANCE` takes one program of each face, turned over about x = AT; lengths are
millimetres. The exit status is 0 only if register was shown.
"""

import sys
from decimal import Decimal

import flipreg


def check_faces(front: str, back: str, at_mm: Decimal, tolerance_mm: float) -> bool:
    """Print what the check found out, and tell whether both faces are in register."""
    plan = flipreg.flip_isometry(flipreg.FlipAxis.Y, (2 * at_mm, Decimal(0)))
    faces = [[flipreg.face_program(flipreg.read(name))] for name in (front, back)]
    report = flipreg.check(*faces, flip=plan, tolerance_mm=tolerance_mm)
    worst_mm, place = report.register.worst_mm, report.register.worst_at_mm
    if worst_mm is None or place is None:
        print("nothing that both faces share was found: not determined")
    else:
        print(f"the faces are {worst_mm:.3f} mm apart at X {place[0]:.2f} Y {place[1]:.2f} of the front")
    for finding in report.findings:
        if finding.status is flipreg.Status.FAIL:
            print(f"{finding.check}: {finding.message}")
    # None means that it was not determined, which is not a pass either.
    return report.in_register is True


if __name__ == "__main__":
    shown = check_faces(sys.argv[1], sys.argv[2], Decimal(sys.argv[3]), float(sys.argv[4]))
    sys.exit(0 if shown else 1)
