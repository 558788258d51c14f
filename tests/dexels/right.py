"""Right jobs: nothing is wrong with the wood, however the job is written down."""

from collections.abc import Callable
from random import Random

from tests.dexels.board import Board, Contour, Job, Plan
from tests.dexels.paths import circle, length, point, region
from tests.dexels.writer import Lift, contour, levels


def plain(rng: Random) -> Job:
    """A part with pockets in both faces, tabs all round."""
    board = Board(rng)
    pockets(board)
    board.any_profile()
    return board.job("plain")


def pockets(board: Board) -> None:
    """One pocket in each face, at different places or above each other with a web between."""
    rng, depth = board.rng, board.thin - board.web - 0.5
    share = rng.uniform(0.3, 0.6)
    here = board.spot(4.0)
    there = here if rng.random() < 0.5 else board.spot(3.0)
    board.add("front", "front-pocket.nc", [(board.small, board.clear(*here, share * depth, board.small))])
    board.add("back", "back-pocket.nc", [(board.small, board.clear(*there, (1 - share) * depth, board.small))])


def blind_recesses(rng: Random) -> Job:
    """One round recess in each face, at different places, and a register that is perfect."""
    board = Board(rng, kind="rounded")
    for face in ("front", "back"):
        x, y, _ = board.spot(4.0)
        cut = board.clear(x, y, 4.0, 0.3 * board.thickness, board.small, square=False)
        board.add(face, f"{face}-recess.nc", [(board.small, cut)])
    board.both_faces()
    board.register_holes()
    return board.job("blind recesses")


def bowl(rng: Random) -> Job:
    """Concentric passes of a ball in the front, a recess in the back under it."""
    board = Board(rng, roomy=True)
    x, y, r = board.spot(6.5, 11.0)
    deep = min(0.5 * board.thin, r - 1, board.thin - board.web - 1.8)
    board.add("front", "front-bowl.nc", [(board.ball, board.bowl(x, y, r, deep))])
    back = board.clear(x, y, 3.2, board.thin - deep - board.web - 0.6, board.small, square=False)
    board.add("back", "back-recess.nc", [(board.small, back)])
    board.any_profile()
    return board.job("bowl")


def counterbored(rng: Random) -> Job:
    """A hole drilled from both faces, with a counterbore in the front."""
    board = Board(rng)
    x, y, r = board.spot(4.5)
    board.add("front", "front-counterbore.nc", [
        (board.small, board.clear(x, y, min(r, 5.0), 0.3 * board.thickness, board.small, square=False))])
    for face in ("front", "back"):
        board.add(face, f"{face}-bore.nc", [(board.drill, board.drilled([(x, y)], board.thickness / 2 + 1.5))])
    board.meant.append((x, y))
    board.any_profile()
    return board.job("counterbored hole")


def drilled(rng: Random) -> Job:
    """Holes drilled from both faces, and a blind one."""
    board = Board(rng)
    places = [board.spot(2.5, 2.5)[:2] for _ in range(rng.choice([1, 2, 3]))]
    blind = board.spot(2.5, 2.5)[:2]
    for face in ("front", "back"):
        board.add(face, f"{face}-bore.nc", [(board.drill, board.drilled(places, board.thickness / 2 + 1.5))])
    board.plans["front"][-1].cuts.append((board.drill, board.drilled([blind], 0.4 * board.thickness)))
    board.meant += places
    board.any_profile()
    return board.job("drilled holes")


def cleared_waste(rng: Random) -> Job:
    """A clearing cut in the waste of one face, deeper than the seam."""
    board = Board(rng)
    board.margin += 8
    x0, y0, *_ = board.box
    px0, py0, *_ = board.part.bounds
    width = min(px0 - x0, py0 - y0) - board.flat.diameter - 2.5
    y = py0 + 12
    strip = board.groove((x0 + 2 + width / 2, y), (x0 + 2 + width / 2, y + 14), 0.8 * board.thin)
    board.add("front", "front-clear.nc", [(board.small, strip)])
    board.both_faces()
    return board.job("cleared waste")


def joined(rng: Random) -> Job:
    """Pocket and profile in one program of each face, with one cutter or with two."""
    board = Board(rng)
    several = rng.random() < 0.5
    cutter = board.small if several else board.flat
    x, y, r = board.spot(cutter.radius + 1.2)
    depth = board.thin - board.web - 0.5
    tabs, lift = board.tab_places(), board.thickness / 2 - board.tab_thickness / 2
    for face, share in (("front", 0.55), ("back", 0.45)):
        cuts = [
            (cutter, board.clear(x, y, r, share * depth, cutter)),
            (board.flat, board.profile(tabs, lift, board.flat, board.thickness / 2 + 0.5)),
        ]
        board.add(face, f"{face}.nc", cuts, profile=True)
    return board.job("joined, two cutters" if several else "joined")


def window(rng: Random) -> Job:
    """A window whose inner piece stays on tabs, cut through from the front."""
    board = Board(rng)
    plan = add_window(board, tabs=2)
    plan.through = plan.profile = True
    board.any_profile()
    return board.job("window on tabs")


def falling_slug(rng: Random) -> Job:
    """A window without tabs, whose inner piece the job file says may fall."""
    board = Board(rng)
    plan = add_window(board, tabs=0)
    plan.through = True
    plan.may_fall.append(board.used[-1][:2])
    board.any_profile()
    return board.job("slug that may fall")


def add_window(board: Board, *, tabs: int, through: float | None = None) -> Plan:
    x, y, r = board.spot(6.5, 10.0)
    way = circle(x, y, r - board.small.radius)
    wide, total = board.tab_width - 1 + board.small.diameter, length(way)
    lifts = tuple(
        Lift(total * (0.25 + k / 2) - wide / 2, total * (0.25 + k / 2) + wide / 2,
             board.real - board.tab_thickness - 0.3)
        for k in range(tabs)
    )
    depth = board.through if through is None else through
    cut = contour(way, depth, board.step(depth), lifts)
    plan = board.add("front", "front-window.nc", [(board.small, cut)])
    board.meant += [point(way, total * k / 8) for k in range(8)]
    places = [point(way, (lift.low + lift.high) / 2) for lift in lifts]
    inner = region(circle(x, y, r - board.small.diameter))
    board.contours.append(Contour(inner, (0.0, board.small.diameter), places))
    return plan


def cleared_window(rng: Random) -> Job:
    """A window all of whose wood is cut away, level by level."""
    board = Board(rng)
    x, y, r = board.spot(5.0)
    cut = board.clear(x, y, r, board.through, board.small)
    board.add("front", "front-window.nc", [(board.small, cut)], through=True)
    board.meant.append((x, y))
    board.any_profile()
    return board.job("cleared window")


def two_kerfs(rng: Random) -> Job:
    """Kerfs of different width on the two faces, with lifts as long as each cutter wants."""
    board = Board(rng, kind=rng.choice(["rounded", "ellipse"]))
    board.margin += 6
    tabs, wide = board.tab_places(), rng.choice([8.0, 10.0])
    lift = board.thickness / 2 - board.tab_thickness / 2
    other = type(board.flat)(f"{wide:g} flat", "flat", wide)
    for face, cutter in (("front", other), ("back", board.flat)):
        cut = board.profile(tabs, lift, cutter, board.thickness / 2 + 0.5)
        board.add(face, f"{face}-profile.nc", [(cutter, cut)], profile=True)
    board.register_holes()
    return board.job("two kerfs")


def engraved(rng: Random) -> Job:
    """Letters of short strokes in the front, a groove of a vee in the back."""
    board = Board(rng)
    x, y, r = board.spot(5.0)
    size = r * 0.6
    strokes = [((-1, -1), (0, 1)), ((0, 1), (1, -1)), ((-0.5, 0), (0.5, 0))]
    letters = [
        (board.vee, board.groove((x + size * a, y + size * b), (x + size * c, y + size * d), 0.8))
        for (a, b), (c, d) in strokes
    ]
    board.add("front", "front-letters.nc", letters)
    u, v, r = board.spot(5.0)
    board.add("back", "back-groove.nc", [(board.vee, board.groove((u - r + 3, v), (u + r - 3, v), 2.5))])
    board.any_profile()
    return board.job("engraved")


def island(rng: Random) -> Job:
    """A pocket with an island left standing in it."""
    board = Board(rng)
    x, y, r = board.spot(6.0, 10.0)
    ways = [circle(x, y, r - 1.5)]
    board.add("front", "front-ring.nc", [(board.small, levels(ways, 0.6 * board.thin, 3.0))])
    board.any_profile()
    return board.job("island")


RIGHT: list[Callable[[Random], Job]] = [
    plain, blind_recesses, bowl, counterbored, drilled, cleared_waste, joined, window, falling_slug, cleared_window,
    two_kerfs, engraved, island,
]
