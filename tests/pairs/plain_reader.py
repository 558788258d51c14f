"""Where a made program takes the tool: a reader of just the words that the made programs have."""

import re
from dataclasses import dataclass

from tests.pairs.program import INCH_MM

WORD = re.compile(r"([A-Z])(-?[0-9]*\.?[0-9]+)")


@dataclass(frozen=True, slots=True)
class Step:
    """A motion to a point, in millimetres; `cx`, `cy` is the centre of an arc."""

    code: str
    x: float
    y: float
    z: float
    cx: float | None = None
    cy: float | None = None


def steps(text: str) -> list[Step]:
    """Return the motions of a program, one for each line that has any."""
    at = {"X": 0.0, "Y": 0.0, "Z": 0.0}
    unit, code = 1.0, "0"
    found: list[Step] = []
    for line in text.splitlines():
        words = [(letter, float(value)) for letter, value in WORD.findall(re.sub(r"\(.*?\)|^N[0-9]+", "", line))]
        codes = [f"{value:g}" for letter, value in words if letter == "G"]
        unit = INCH_MM if "20" in codes else 1.0 if "21" in codes else unit
        code = next((c for c in codes if c in ("0", "1", "2", "3", "81", "80")), code)
        values = {letter: unit * value for letter, value in words}
        start = dict(at)
        at |= {letter: values[letter] for letter in "XYZ" if letter in values}
        if code == "80" or not set(values) & set("XYZ"):
            continue
        centre = (start["X"] + values["I"], start["Y"] + values["J"]) if "I" in values else (None, None)
        found.append(Step(code, at["X"], at["Y"], at["Z"], *centre))
        if code == "81":
            at["Z"] = start["Z"]
    return found
