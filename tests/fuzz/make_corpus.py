"""Write the seed corpus: the programs of the tests and of the report, once for each thing to do with them."""

from hashlib import sha256
from pathlib import Path

from tests.commands.programs import CYCLES, INVERSE_TIME, OUTSIDE_XY, PLANE, TWO_WORK_OFFSETS

__all__ = ["seeds"]

_HERE = Path(__file__).parent

_MOVES, _EDIT = 4, 4
"""How many actions read or move a program, and the one that edits it, as the fuzz target counts them."""

_MORE = (
    "G21 G90\nG0 X1 Y2 Z5\nG92 X0 Y0\nG1 X3 F100\nG92.2\nX1\nG92.3\nX2\nG92.1\nM2\n",
    "G21 G90\nG91 G28 Z0\nG90 G0 X1 Y1\nG53 G0 Z0\nG30 Z5\nG38.2 Z-3 F10\nG10 L2 P2 Z1\nG55 X1 Y2 Z3\nM30\n",
    "%\nO1\nG21 G90 F100\nG0 X0 Y0 Z5\nM98 P2 L3\nG0 X9\nM98 P2\nM30\nO2\nG1 X1 Y1\nG2 X2 Y2 R1\nM99\n%\n",
    "#1=3 #2=[#1*2]\nG21 G90 F#1\nG1 X#1 Y[#2-1] Z[sin[30]]\n#3=#1 G91 X#3\nM2\n",
    "G21 G90 F9\nG0 X0 Y0 Z1\n/X5 Y5\nG1 X1 Y1\n/M2\nX[1+2] (a (b) c)\n;x\nM2\n",
)


def seeds() -> dict[str, bytes]:
    """Return the corpus by file name."""
    texts = [*PLANE.values(), *INVERSE_TIME.values(), *CYCLES.values(), *OUTSIDE_XY.values(), TWO_WORK_OFFSETS, *_MORE]
    reference = sorted((_HERE.parent / "reference" / "nistir6556").glob("*.ngc"))
    programs = [text.encode() for text in texts] + [path.read_bytes() for path in reference]
    inputs = [
        bytes([action]) + program
        for place, program in enumerate(programs)
        for action in (place % _MOVES, (place + 1) % _MOVES, _EDIT)
    ]
    habits = sorted((_HERE.parent / "cases" / "habits").glob("*-tray.txt"))
    for place, file in enumerate(habits):
        program = file.read_bytes().partition(b"\n; ---\n")[0]
        inputs += [bytes([action]) + program for action in (0, 1 + place % (_MOVES - 1), _EDIT)]
    return {sha256(data).hexdigest()[:16]: data for data in inputs}


def _main() -> None:
    for name, data in seeds().items():
        (_HERE / "corpus" / name).write_bytes(data)


if __name__ == "__main__":
    _main()
