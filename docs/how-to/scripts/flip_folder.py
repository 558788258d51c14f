"""Flip every program of a folder, and write the proved ones to another folder.

`python flip_folder.py FRONT BACK AT` flips each `*.nc` of FRONT about the line x = AT, in millimetres. A program that
cannot be flipped is named with its line and left out; the exit status is 1 then.
"""

import sys
from decimal import Decimal
from pathlib import Path

import flipreg


def flip_folder(fronts: Path, backs: Path, at_mm: Decimal) -> list[str]:
    """Flip the programs of a folder, and return what is wrong with those that cannot be flipped."""
    refused = []
    backs.mkdir(exist_ok=True)
    for front in sorted(fronts.glob("*.nc")):
        try:
            back = flipreg.flip(flipreg.read(front), axis=flipreg.FlipAxis.Y, datum_mm=(2 * at_mm, Decimal(0)))
        except flipreg.FlipregError as error:
            refused.append(str(error))
            continue
        (backs / front.name).write_bytes(back.text)
        print(f"{front.name}: {back.motions} motions, proved within {back.deviation} mm")
        for note in back.notes:
            print(f"  {note}")
    return refused


if __name__ == "__main__":
    problems = flip_folder(Path(sys.argv[1]), Path(sys.argv[2]), Decimal(sys.argv[3]))
    print(*problems, sep="\n", end="", file=sys.stderr)
    sys.exit(1 if problems else 0)
