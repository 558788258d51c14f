"""A plain job file: a board, one mark at the origin, one tool, and a setup of one program for each face."""

__all__ = ["plain_job"]


def plain_job(
    size_mm: tuple[float, float, float],
    *,
    along: float,
    centre_line: float,
    tolerance: float,
    tool: str = "6 flat",
    more: str = "",
) -> str:
    """Return its text; the programs are called front.nc and back.nc.

    Parameters
    ----------
    size_mm : three floats
        Length, width and thickness of the board.
    along, centre_line : float
        Where the mark is, from the near end and from the left edge.
    tolerance : float
        What is in register.
    tool : str
        Diameter and shape; its name as well.
    more : str
        Lines of the job itself.
    """
    length, width, thickness = size_mm
    diameter, shape = tool.split()
    parts = [
        f'name = "board"\nunits = "mm"\ntolerance = {tolerance}\n{more}\n',
        f"[blank]\nlength = {length}\nwidth = {width}\nthickness = {thickness}\n",
        f'edge = "left"\ncentre_line = {centre_line}\n\n',
        f'[[marks]]\nname = "A"\nface = "both"\nalong = {along}\n\n',
        f'[[tools]]\nname = "{tool}"\nshape = "{shape}"\ndiameter = {diameter}\nplunge = true\n',
    ]
    for face in ("front", "back"):
        flip = 'flip = "y"\n' if face == "back" else ""
        parts.append(
            f'\n[[setups]]\nname = "{face}"\nup = "{face}"\n{flip}mark = "A"\nzero = [0, 0]\nz_zero = "top"\n'
            f'programs = [{{ file = "{face}.nc", tool = "{tool}" }}]\n'
        )
    return "".join(parts)
