"""Programs that the acceptance tests flip, shift and read: our own, one a habit of the language."""

from decimal import Decimal

from hypothesis import strategies as st

__all__ = ["CYCLES", "INVERSE_TIME", "NUMBER", "OUTSIDE_XY", "PLANE", "TWO_WORK_OFFSETS", "drawn_programs"]

TWO_WORK_OFFSETS = "G21 G90\nG54 G0 X1 Y1 Z1\nG55 X2 Y2 Z2\nG1 X3 F100\nG59.3 G0 X4 Y5 Z6\nX5\nM2\n"
"""How the second zero lies to the first is not in the program."""

PLANE = {
    "lines": "G21 G90 G17\nG0 X1.5 Y-2 Z5\nG1 Z-1 F300\nX10.25\nY7.125 F600\nX0 Y0\nG0 Z5\nM2\n",
    "arcs by centre": "G21 G90 G17\nG0 X7 Y7 Z0\nG2 X10 Y16 I3 J4 F100\nG3 X7 Y7 I-3 J-4\nG2 X12 I2.5\nM2\n",
    "arcs by radius": "G21 G90 G17\nG0 X0 Y0 Z0\nG2 X10 Y15 R20 F100\nG3 X0 Y0 R-20\nG2 X3 R4\nG3 Y5 R-4\nM2\n",
    "helices": "G21 G90 G17\nG0 X7 Y7 Z9\nG2 X10 Y16 Z5 I3 J4 F100\nG3 X10 Y16 Z-1 I5\nG2 X0 Y15 Z0 R20\nM2\n",
    "full circles": "G21 G90 G17\nG0 X5 Y5 Z0\nG2 X5 Y5 I2 F100\nG3 X5 J-2.125\nG2 Y5 I1 J1\nM2\n",
    "incremental": (
        "G21 G90 G17\nG0 X1 Y2 Z3\nG91\nG1 X0.3 F100\nY-.7 Z-1\nG2 X3 Y9 I3 J4\nG3 X-4 R2.5\nG2 I2 X0\n"
        "G90 G1 X5 Y5\nG91 X-.001\nM2\n"
    ),
    "cutter compensation": (
        "G21 G90 G17 T1 M6\nG0 X-5 Y6 Z0\nG41 D1 G1 X1 Y4 F100\nG3 X2 Y3 I1\nG2 X3 Y2 J-1\nG40 G0 X9\n"
        "g42 g1 x5 y1\ng1 y-3\ng40\nG0 X0 Y0\nM2\n"
    ),
    "inches": "G20 G90 G17\nG0 X.5 Y1 Z.1\nG1 Z-.05 F10\nG2 X1.5 Y1 I.5\nG3 X.5 Y1 R.6\nX1 Y1.5 R-.5\nM2\n",
    "both units": "G20 G90 G17\nG0 X1 Y1 Z1\nG1 X2 F10\nG21 X30\nG2 X40 I5 F300\nG20 G1 Y2\nM2\n",
    "a work offset": "G21 G90\nG59.2 G0 X1 Y1 Z1\nG1 X3 F100\nG0 X4 Y5 Z6\nM2\n",
    "odd spelling": (
        "%\nO1234\nn 1 0 g2 1 g 9 0(metric)\nN20 g0X 1 . 5y-2z5;up\n/ g0 z 9 X1.\n\nG01Z-1.F3 00 (down (a bit))\n"
        "x+0010.250\nM30\n%\nnot read\n"
    ),
    "words in any order": "G21 G90 G17\nX1 Y1 G0 Z1\nF100 J4 Y9 I3 X7 G2\nY1 X1 G1 S100 M3\nM2\n",
    "spindle and tools": "G21 G90\nT3 M6\nS8000 M3 G0 X1 Y1 Z1\nG1 X2 F100\nM4 X3\nM5\nG1 X4\nT5 M6\nX9 M3\nM2\n",
    "one axis at a time": (
        "G21 G90 G17\nG0 X10 Y20 Z5\nG1 X11 F10\nX12\nY21\nY22\nX13\nZ-1\nG3 X15 R1.5\nG2 Y24 R1.5\nM2\n"
    ),
}
"""Straight motions and arcs of the XY plane: every isometry of the plane can be written.

No radius-format half circles: their centres depend on the last bit of the chord (the accuracy warning of
NISTIR 6556 section 3.5.3.1) and would need a looser comparison.
"""

INVERSE_TIME = {
    "inverse time": "G21 G90 G93 G17\nG0 X0 Y0 Z0\nG1 X10 F2\nY10 F.5\nG2 X10 Y20 J5 F1\nG94 G1 X0 F100\nM2\n",
}
"""Feeds that are times: a turn's rounding changes a length and so, by as little, the feed along it."""

CYCLES = {
    "drilling": "G21 G90 G17 G98\nG0 X0 Y0 Z5\nG81 X10 Y4 Z-3 R1 F100\nX20\nY8\nG80\nG0 Z5\nM2\n",
    "pecking and dwelling": (
        "G21 G90 G17 G99 F100\nG0 X0 Y0 Z5\nG83 X10 Y4 Z-3 R1 Q0.7\nX2 Y3\nG82 X1 Y2 Z-1 R2 P.5\nG80\nM2\n"
    ),
    "incremental drilling": (
        "G21 G90 G17 G99 F100\nG0 X1 Y2 Z3\nG91 G81 X4 Y5 Z-0.6 R1.8 L3\nX1\nY-2\nG80\nG90 G0 X0 Y0 Z9\nM2\n"
    ),
    "boring": (
        "G21 G90 G17 G98 F100 S900 M3\nG0 X8 Y9 Z5\nG85 X1 Y2 Z-1 R1\nG86 X3 Y2 Z-1 R1 P1\nG89 X3 Y5 Z-1 R1 P1\n"
        "G84 X5 Y5 Z-2 R1\nG80\nG0 Z5\nM2\n"
    ),
    "back boring": (
        "G21 G90 G17 G99 F100 S900 M3\nG0 X8 Y9 Z0.2\nG87 X9 Y10 R0.2 Z-1.1 I0.231 J-.5 K0.1\nG80\nG0 Z5\nM2\n"
    ),
    "inch drilling": "G20 G90 G17 G98 F10\nG0 X0 Y0 Z.2\nG81 X.4 Y.25 Z-.12 R.04\nX.8\nG80\nG0 Z.2\nM2\n",
}
"""Canned cycles of the XY plane."""

OUTSIDE_XY = {
    "arcs in ZX": "G21 G90 G18\nG0 X10 Y0 Z0\nG2 X0 Z10 R10 F100\nG3 X-10 Z0 I0 K-10\nG3 X-5 Z0 I2.5 Y3\nM2\n",
    "arcs in YZ": "G21 G90 G19\nG0 X0 Y10 Z0\nG3 Y0 Z10 R10 F100\nG2 Y10 Z0 J0 K-10\nG3 Y5 Z0 J-2.5 X-3\nM2\n",
    "full circle in ZX": "G21 G90 G18\nG0 X10 Y0 Z0\nG2 X10 I-2 F100\nG3 Z0 K3\nM2\n",
    "incremental in ZX": "G21 G90 G18\nG0 X10 Y0 Z0\nG91 G2 X-10 Z10 R10 F100\nG3 X-10 Z-10 K-10\nM2\n",
}
"""Arcs of the other planes: a mirror or a quarter turn can be written, another turn cannot."""

NUMBER = st.integers(-99_999, 99_999).map(lambda value: Decimal(value) / 1000)
"""Lengths of at most three decimals, in millimetres."""


@st.composite
def drawn_programs(draw: st.DrawFn, distance_modes: list[str]) -> str:
    """Draw lines and exact quarter, half, three-quarter and full arcs, in the distance modes named."""
    x, y = draw(NUMBER), draw(NUMBER)
    blocks = ["G21 G17 G90 F100", f"G0 X{x:f} Y{y:f} Z0"]
    absolute = True
    for _ in range(draw(st.integers(1, 12))):
        mode = draw(st.sampled_from(distance_modes))
        if absolute != (mode == "G90"):
            absolute = mode == "G90"
            blocks.append(mode)
        if draw(st.booleans()):
            new_x, new_y, words, code = draw(NUMBER), draw(NUMBER), "", draw(st.sampled_from(["G0", "G1"]))
        else:
            # Radii from 0.1 mm: a circle no larger than the tolerance on its radius is none.
            i, j = draw(NUMBER), draw(NUMBER.filter(lambda offset: abs(offset) >= Decimal("0.1")))
            quarters, clockwise = draw(st.integers(1, 4)), draw(st.booleans())
            dx, dy = -i, -j  # from the centre to the start; turned exactly, in decimals
            for _ in range(quarters):
                dx, dy = (dy, -dx) if clockwise else (-dy, dx)
            new_x, new_y, words, code = x + i + dx, y + j + dy, f" I{i:f} J{j:f}", "G2" if clockwise else "G3"
        ends = (new_x, new_y) if absolute else (new_x - x, new_y - y)
        blocks.append(f"{code} X{ends[0]:f} Y{ends[1]:f}{words}")
        x, y = new_x, new_y
    return "\n".join([*blocks, "M2", ""])
