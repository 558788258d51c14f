"""Planted faults of pieces and tabs: wood that comes loose, or that is held by too little."""

from random import Random

from tests.dexels.bench import Cutter
from tests.dexels.board import Board, Job
from tests.dexels.paths import circle
from tests.dexels.right import add_window, pockets
from tests.dexels.writer import contour


def slug(rng: Random) -> Job:
    """A ring cut through by a program that nobody flagged: what it goes round comes free."""
    board = Board(rng)
    plan = add_window(board, tabs=0)
    plan.profile, plan.through = rng.random() < 0.3, rng.random() < 0.5
    board.any_profile(flagged=rng.random() < 0.7)
    return board.job("slug", "loose")


def slug_in_slug(rng: Random) -> Job:
    """A slug inside another one comes free first."""
    board = Board(rng, kind="rounded", roomy=True)
    x, y, _ = board.spot(11.0, 12.0)
    cuts = [
        (board.small, contour(circle(x, y, radius), board.through, board.step(board.through)))
        for radius in (4.5, 9.5)
    ]
    board.add("front", "front-rings.nc", cuts)
    board.meant += [(x + 4.5, y), (x + 9.5, y)]
    board.any_profile()
    return board.job("slug in slug", "loose")


def no_tabs(rng: Random) -> Job:
    """The profile goes round without tabs; the flags may be forgotten as well."""
    board = Board(rng)
    pockets(board)
    board.any_profile(tabs=[], flagged=rng.random() < 0.4)
    return board.job("no tabs", "loose")


def halved(rng: Random) -> Job:
    """A slot through the part from edge to edge, and tabs on one side of it only."""
    board = Board(rng, kind="rounded")
    x0, y0, x1, y1 = board.part.bounds
    x = (x0 + x1) / 2 + rng.uniform(3, 8)
    cut = board.groove((x, y0 - 2), (x, y1 + 2), board.through)
    board.add("front", "front-slot.nc", [(board.small, cut)])
    board.meant.append((x, (y0 + y1) / 2))
    tabs = [(x0, y0 + (y1 - y0) * share) for share in (0.3, 0.7)]
    board.any_profile(tabs=tabs, flagged=rng.random() < 0.7)
    return board.job("halved", "loose")


def trimmed(rng: Random) -> Job:
    """A corner of the blank is cut off by a straight kerf."""
    board = Board(rng)
    board.margin += 8
    x0, y0, *_ = board.box
    size = rng.uniform(22, 28)
    board.any_profile()
    cut = board.groove((x0 + size, y0 - 4), (x0 - 4, y0 + size), board.through)
    board.add("front", "front-trim.nc", [(board.small, cut)])
    return board.job("trimmed blank", "loose")


def straight_kerf(rng: Random) -> Job:
    """A straight kerf across the blank cuts off one end of it, part and all."""
    board = Board(rng, kind="rounded")
    board.margin += 6
    pockets(board)
    board.register_holes()
    x0, _, x1, _ = board.box
    y = board.part.bounds[3] + 5
    cut = board.groove((x0 - 4, y), (x1 + 4, y), board.through)
    board.add(rng.choice(["front", "back"]), "cross.nc", [(board.flat, cut)], profile=rng.random() < 0.3)
    return board.job("straight kerf", "loose")


def removed_tabs(rng: Random) -> Job:
    """The other face's pass goes over some tabs, or all of them, and takes them away."""
    board = Board(rng)
    tabs = board.tab_places()
    gone = rng.choice([1, 2, len(tabs)])
    depth = board.thickness / 2 + board.tab_thickness / 2 + 0.9
    lift = board.thickness / 2 - board.tab_thickness / 2
    first = board.profile(tabs, lift, board.flat, depth)
    second = board.profile(tabs[gone:], lift, board.flat, depth)
    for face, cut in zip(rng.sample(["front", "back"], 2), (first, second), strict=True):
        board.add(face, f"{face}-profile.nc", [(board.flat, cut)], profile=rng.random() < 0.7)
    board.register_holes()
    return board.job("all tabs removed" if gone == len(tabs) else "some tabs removed",
                     "loose" if gone == len(tabs) else "tab gone")


def finished_away(rng: Random) -> Job:
    """A finishing pass after the profile runs over the tabs at full depth."""
    board = Board(rng)
    board.any_profile()
    face = rng.choice(["front", "back"])
    cut = board.profile([], 0.0, board.flat, board.through)
    board.add(face, f"{face}-finish.nc", [(board.flat, cut)], profile=rng.random() < 0.5)
    return board.job("tabs finished away", "loose")


def misaligned(rng: Random) -> Job:
    """The lifts of the faces are beside each other, so that each face thins what the other one leaves."""
    board = Board(rng)
    left = rng.uniform(0.15, 0.6)
    board.measured = None
    tabs = board.tab_places()
    others = [board.tab_places(8)[k] for k in (1, 3, 5, 7)]
    board.tab_thickness = 2 * (left + 0.5)
    lift = board.thickness / 2 - board.tab_thickness / 2
    for face, places in (("front", tabs), ("back", others)):
        cut = board.profile(places, lift, board.flat, board.thickness / 2 + 0.5, width=2.5)
        board.add(face, f"{face}-profile.nc", [(board.flat, cut)], profile=True)
    board.register_holes()
    return board.job("misaligned lifts", "tab")


def thin_tabs(rng: Random) -> Job:
    """All tabs are hardly there: a tenth or some tenths thick."""
    board = Board(rng)
    board.measured = None
    board.tab_thickness = rng.choice([0.1, 0.25, 0.5])
    board.both_faces()
    return board.job("thin tabs", "tab")


def narrow_tabs(rng: Random) -> Job:
    """The lifts are hardly longer than the cutter is wide."""
    board = Board(rng)
    board.tab_width = rng.choice([0.5, 0.7, 1.0])
    board.grid = 0.2
    board.both_faces()
    return board.job("narrow tabs", "tab")


def narrow_by_kerf(rng: Random) -> Job:
    """Lifts as long as the narrow cutter wants, with a wide cutter on one face."""
    board = Board(rng, kind=rng.choice(["rounded", "ellipse"]))
    board.margin += 6
    wide = Cutter("10 flat", "flat", 10.0)
    # Deep enough that nothing is left where only one face has a tab.
    depth = board.thickness / 2 + board.tab_thickness / 2 + 0.9
    lift = board.thickness / 2 - board.tab_thickness / 2
    tabs, left = board.tab_places(), rng.choice([0.6, 0.9])
    board.grid = 0.2
    for face, cutter in zip(rng.sample(["front", "back"], 2), (wide, board.flat), strict=True):
        cut = board.profile(tabs, lift, cutter, depth, width=left + wide.diameter - cutter.diameter)
        board.add(face, f"{face}-profile.nc", [(cutter, cut)], profile=True)
    board.register_holes()
    return board.job("tabs narrow by the other kerf", "tab")
