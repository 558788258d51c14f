"""A board of a fine lattice: holes drilled from the front, rings cut round them on either face."""

from random import Random

from tests.pairs.operations import Contour, Hole, Operation
from tests.pairs.part import Part, corners_of, pick
from tests.pairs.rings import Circle, RoundedRectangle

PITCH_MM = 2.54


def lattice_board(random: Random) -> Part:
    across, along = random.randrange(10, 26), random.randrange(8, 18)
    sites = [(round(PITCH_MM * (i - (across - 1) / 2), 3), round(PITCH_MM * (j - (along - 1) / 2), 3))
             for i in range(across) for j in range(along)]  # fmt: skip
    # Rows of holes as they stand on such boards: strips that start anywhere, and single ones.
    used = set(random.sample(sites, random.randrange(8, 20)))
    for _ in range(random.randrange(2, 6)):
        i, j, length = random.randrange(across), random.randrange(along), random.randrange(4, 12)
        run = [(i + k, j) if random.random() < 0.5 else (i, j + k) for k in range(length)]
        used |= {sites[a * along + b] for a, b in run if a < across and b < along}
    thickness = 1.6
    width, height = round(PITCH_MM * across + 6, 2), round(PITCH_MM * along + 6, 2)
    board = RoundedRectangle(0, 0, width, height, 0)
    # The holes' name for what stands on the lattice: a ring round a hole is at the same site as the hole.
    front: list[Operation] = [Hole(x, y, thickness + 0.4, 0.8, "site") for x, y in sorted(used)]
    back: list[Operation] = []
    radii = (0.9, 1.0) if random.random() < 0.5 else (0.95,)
    for face, share in ((front, 0.6), (back, 0.9)):
        for x, y in sorted(used):
            if random.random() < share:
                face.append(_Ring(Circle(x, y, random.choice(radii)), 0, 0.12, 1.0, 0.2, "site", "rings"))
    rim = random.random() < 0.5
    back.append(Contour(board, 1, thickness + 0.2, 0.6, 1.5, "edge", "profile"))
    if rim:
        front.append(Contour(board, 1, 0.8, 0.8, 1.5, "edge", "profile"))
    random.shuffle(front)
    random.shuffle(back)
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, PITCH_MM, has_rim=rim)


class _Ring(Contour):
    """A ring round a site: it shows where the site is, whatever its size."""

    __slots__ = ()

    def shown(self) -> list[tuple[str, float, float]]:
        return [("site", *self.shape.signature()[1][0])]


def perforated_panel(random: Random) -> Part:
    """A panel of bored holes in rows or in staggered rows, all of them or with some left out."""
    pitch = pick(random, 8, 20, 0.5)
    across, along = random.randrange(4, 13), random.randrange(4, 10)
    staggered = random.random() < 0.5
    radius = round(pitch * random.choice((0.2, 0.25, 0.3)), 1)
    sites = []
    for j in range(along):
        for i in range(across):
            x = pitch * (i - (across - 1) / 2) + (pitch / 2 if staggered and j % 2 else 0)
            sites.append((round(x, 3), round(pitch * (j - (along - 1) / 2), 3)))
    if random.random() < 0.6:
        sites = [site for site in sites if random.random() < 0.8]
    thickness = pick(random, 6, 18)
    tool = (3.0, random.choice((2.0, 3.0)))
    width, height = pitch * (across + 2), pitch * (along + 1)
    half = round(thickness / 2 + 0.5, 2)
    front: list[Operation] = [Contour(Circle(x, y, radius), -1, half, 4.0, tool[0], "bore", "bores") for x, y in sites]
    back: list[Operation] = [Contour(Circle(x, y, radius), -1, half, 4.0, tool[1], "bore", "bores") for x, y in sites]
    rim = random.random() < 0.4
    board = RoundedRectangle(0, 0, width, height, pick(random, 2, 6))
    front.append(Contour(board, 1, half, 4.0, 6.0, "edge"))
    if rim:
        back.append(Contour(board, 1, half, 4.0, 6.0, "edge"))
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, pitch, has_rim=rim)
