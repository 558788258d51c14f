"""Planted faults of single cuts: openings, webs and skins, and motions that no cutter should make."""

from dataclasses import replace
from random import Random

import shapely

from tests.dexels.bench import Cutter
from tests.dexels.board import Board, Job
from tests.dexels.paths import circle, region
from tests.dexels.right import pockets
from tests.dexels.writer import Writer, contour, levels


def too_deep(rng: Random) -> Job:
    """A pocket goes through the blank as it was measured, or even as it was planned."""
    board = Board(rng)
    if rng.random() < 0.5:
        board.measured = round(board.thickness - rng.uniform(0.8, 1.2), 2)
        board.front.z_zero = board.back.z_zero = "top"
        depth = board.thickness - 0.4
    else:
        depth = board.through
    x, y, r = board.spot(4.0)
    board.add("front", "front-pocket.nc", [(board.small, board.clear(x, y, r, depth, board.small))])
    board.any_profile(flagged=rng.random() < 0.7)
    return board.job("pocket too deep", "opening")


def drilled_through(rng: Random) -> Job:
    """A hole that was to be blind goes through."""
    board = Board(rng)
    x, y, _ = board.spot(3.0)
    face = rng.choice(["front", "back"])
    board.add(face, f"{face}-bore.nc", [(board.drill, board.drilled([(x, y)], board.through + 1.5))])
    board.any_profile(flagged=rng.random() < 0.7)
    return board.job("drilled through", "opening")


def meeting(rng: Random) -> Job:
    """Pockets of both faces meet; a hole from both faces may lie inside the opening."""
    board = Board(rng)
    x, y, r = board.spot(5.0)
    share = rng.uniform(0.35, 0.65)
    depth = max(board.thickness, board.real) + 1.0
    board.add("front", "front-pocket.nc", [(board.small, board.clear(x, y, r, share * depth, board.small))])
    board.add("back", "back-pocket.nc", [(board.small, board.clear(x, y, r, (1 - share) * depth, board.small))])
    if rng.random() < 0.6:
        for face in ("front", "back"):
            cut = board.drilled([(x, y)], board.thickness / 2 + 1.5)
            board.add(face, f"{face}-bore.nc", [(board.drill, cut)])
    board.any_profile(flagged=rng.random() < 0.7)
    return board.job("pockets meet", "opening")


def meeting_joined(rng: Random) -> Job:
    """Pockets of both faces meet inside the programs that cut the profile as well."""
    board = Board(rng)
    x, y, r = board.spot(board.flat.radius + 1.2)
    depth = max(board.thickness, board.real) + 1.0
    tabs, lift = board.tab_places(), board.thickness / 2 - board.tab_thickness / 2
    for face, share in (("front", 0.57), ("back", 0.43)):
        cuts = [
            (board.flat, board.clear(x, y, r, share * depth, board.flat)),
            (board.flat, board.profile(tabs, lift, board.flat, board.thickness / 2 + 0.5)),
        ]
        board.add(face, f"{face}.nc", cuts, profile=True)
    return board.job("pockets meet, joined", "opening")


def thin_web(rng: Random) -> Job:
    """A web of some tenths, in the middle or within a cutter's width of the profile."""
    board = Board(rng, kind="rounded")
    board.measured = None
    left, share = rng.choice([0.2, 0.3, 0.5]), rng.uniform(0.35, 0.65)
    depth = board.thickness - left
    beside = rng.random() < 0.6
    if beside:
        x0, y0, _, y1 = board.part.bounds
        shape = shapely.box(x0 + 1.0, (y0 + y1) / 2 - 5, x0 + 4.4, (y0 + y1) / 2 + 5)
        front, back = (board.clear_shape(shape, s * depth, board.small) for s in (share, 1 - share))
        tabs = [p for p in board.tab_places() if p[0] > x0 + 5]
    else:
        x, y, r = board.spot(4.0)
        front, back = (board.clear(x, y, r, s * depth, board.small) for s in (share, 1 - share))
        tabs = board.tab_places()
    board.add("front", "front-pocket.nc", [(board.small, front)])
    board.add("back", "back-pocket.nc", [(board.small, back)])
    board.any_profile(tabs, flagged=rng.random() < 0.7)
    return board.job("thin web beside the profile" if beside else "thin web", "web")


def thin_web_in_the_blank(rng: Random) -> Job:
    """A web of some tenths in a blank that nothing is cut out of."""
    board = Board(rng)
    board.measured = None
    left, share = rng.choice([0.2, 0.3, 0.5]), rng.uniform(0.35, 0.65)
    x, y, r = board.spot(4.0)
    for face, part in (("front", share), ("back", 1 - share)):
        cut = board.clear(x, y, r, part * (board.thickness - left), board.small)
        board.add(face, f"{face}-pocket.nc", [(board.small, cut)])
    board.register_holes()
    return board.job("thin web, no profile", "web")


def opening_in_the_blank(rng: Random) -> Job:
    """A pocket goes through a blank that nothing is cut out of."""
    board = Board(rng)
    x, y, r = board.spot(4.0)
    board.add("front", "front-pocket.nc", [(board.small, board.clear(x, y, r, board.through, board.small))])
    board.register_holes()
    return board.job("pocket too deep, no profile", "opening")


def vees_meet(rng: Random) -> Job:
    """Grooves of a vee in both faces that meet, in the same line or across each other."""
    board = Board(rng, thickness=rng.choice([8.0, 9.0, 10.0]))
    board.measured = None
    x, y, r = board.spot(6.0)
    over = rng.choice([0.08, 0.4, 1.0])
    ways = [((x - r + 1, y), (x + r - 1, y)), ((x, y - r + 1), (x, y + r - 1))]
    deep = board.thickness / 2 + over / 2
    board.add("front", "front-vee.nc", [(board.vee, board.groove(*ways[0], deep))])
    board.add("back", "back-vee.nc", [(board.vee, board.groove(*rng.choice(ways), deep))])
    board.any_profile(flagged=rng.random() < 0.7)
    return board.job("vees meet", "meet")


def second_tool(rng: Random) -> Job:
    """The second cutter of a file is wider than its first, and its pocket meets the other face's."""
    board = Board(rng)
    x, y, _ = board.spot(7.0)
    wide = Cutter("10 flat", "flat", 10.0)
    depth = max(board.thickness, board.real) + 1.0
    corner = board.groove((x - 0.5, y), (x + 0.5, y), 0.2 * depth)
    pocket = board.groove((x - 1, y), (x + 1, y), 0.55 * depth)
    board.add("front", "front-pocket.nc", [(board.small, corner), (wide, pocket)])
    # Beside the way of the wide cutter's middle, so that only its width makes the faces meet.
    over = board.groove((x - 1, y + 3.4), (x + 1, y + 3.4), 0.45 * depth)
    board.add("back", "back-groove.nc", [(Cutter("2 flat", "flat", 2.0), over)])
    board.any_profile()
    return board.job("wide second cutter", "opening")


def skin(rng: Random) -> Job:
    """One program cuts two contours, and the shallower leaves half a millimetre all round."""
    board = Board(rng)
    board.measured = None
    board.front.z_zero = "top"
    x, y, r = board.spot(7.0, 10.0)
    tabs = board.tab_places()
    cuts = [
        (board.small, contour(circle(x, y, r - 1.5), board.thickness - 0.5, board.step(board.thickness))),
        (board.small, board.profile(tabs, board.thickness - board.tab_thickness, board.small, board.through)),
    ]
    board.add("front", "front-contours.nc", cuts, profile=True)
    board.register_holes()
    return board.job("two depths", "skin")


def traverse_into_wood(rng: Random) -> Job:
    """A program's first motion is a traverse that ends in solid wood."""
    board = Board(rng)
    x, y, r = board.spot(4.0)
    board.add("front", "front-pocket.nc", [(board.small, board.clear(x, y, r, 0.4 * board.thin, board.small))])
    board.any_profile()
    job = board.job("first traverse ends in wood", "rapid")
    setup = job.bench.setups[0]
    entry = setup.programs[0]
    lines = entry.text.split("\n")
    u, v = setup.to_program(x, y)
    down = -2.0 + (board.thickness if setup.z_zero == "spoilboard" else 0.0)
    scale = 25.4 if lines[0].startswith("G20") else 1.0
    lines[3:5] = [f"G0 X{u / scale:.5f} Y{v / scale:.5f} Z{down / scale:.5f}"]
    entry.text = "\n".join(lines)
    return job


def low_traverse(rng: Random) -> Job:
    """A traverse between two pockets stays below the face."""
    board = Board(rng, kind="rounded")
    board.front.z_zero = "top"
    x, y, _ = board.spot(4.0)
    u, v, _ = board.spot(4.0)

    def low(writer: Writer) -> None:
        board.clear(x, y, 3.5, 4.0, board.small, square=False)(writer)
        writer.lines.append(f"G0 {writer.z(1.5)}")
        writer.traverse([(u, v)])

    board.add("front", "front-pocket.nc", [(board.small, low)])
    board.any_profile()
    return board.job("traverse below the face", "rapid")


def false_kerf(rng: Random) -> Job:
    """Pockets of both faces meet under a slanting traverse between two contours of a profile program."""
    board = Board(rng, kind="rounded", roomy=True)
    x0, y0, x1, y1 = board.part.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    deep = board.thickness / 2 + 0.5
    for face in ("front", "back"):
        cuts = [
            (board.small, board.groove((x - 13, y - 13), (x - 9, y - 9), deep)),
            (board.small, board.groove((x + 9, y + 9), (x + 13, y + 13), deep)),
        ]
        if face == "back":
            cuts = []
        tabs, lift = board.tab_places(), board.thickness / 2 - board.tab_thickness / 2
        cuts.append((board.flat, board.profile(tabs, lift, board.flat, deep)))
        board.add(face, f"{face}-profile.nc", cuts, profile=True)
        cut = board.groove((x - 4, y - 4), (x + 4, y + 4), deep)
        board.add(face, f"{face}-groove.nc", [(board.small, cut)], first=True)
    return board.job("breakthrough under a slanting traverse", "opening")


def deep_bite(rng: Random) -> Job:
    """A level is deeper than the cutter's flutes are long."""
    board = Board(rng, thickness=rng.choice([16.0, 20.0, 24.0]))
    depth = 0.6 * board.thin
    board.small = replace(board.small, flutes=round(depth - rng.uniform(0.5, 3.0), 1))
    x, y, r = board.spot(4.0)
    ways = [circle(x, y, min(r, 5.0) - 1.5)]
    board.add("front", "front-ring.nc", [(board.small, levels(ways, depth, depth))])
    board.any_profile()
    return board.job("bite deeper than the flutes", "bite")


def cannot_plunge(rng: Random) -> Job:
    """A cutter whose teeth don't reach its middle is fed straight down."""
    board = Board(rng)
    board.small = replace(board.small, plunge=False)
    pockets(board)
    board.any_profile()
    return board.job("plunge", "wrong way")


def drill_sideways(rng: Random) -> Job:
    """A drill is fed sideways in wood."""
    board = Board(rng)
    x, y, r = board.spot(4.0)
    cut = board.groove((x - r + 2, y), (x + r - 2, y), 2.0)
    board.add("front", "front-slot.nc", [(board.drill, cut)])
    board.any_profile()
    return board.job("drill fed sideways", "wrong way")


def profile_first(rng: Random) -> Job:
    """The profile goes through before the pocket inside it is cut, in one setup."""
    board = Board(rng)
    tabs = board.tab_places()
    cut = board.profile(tabs, board.real - board.tab_thickness - 0.3, board.flat, board.through)
    board.add("front", "front-profile.nc", [(board.flat, cut)], profile=True)
    x, y, r = board.spot(4.0)
    board.add("front", "front-pocket.nc", [(board.small, board.clear(x, y, r, 0.4 * board.thin, board.small))])
    board.register_holes()
    return board.job("profile before the pocket", "order")


def finish_first(rng: Random) -> Job:
    """The finish of a pocket, one level deep, runs before its rough, which is left with air."""
    board = Board(rng, thickness=rng.choice([16.0, 20.0, 24.0]))
    x, y, r = board.spot(5.5)
    depth = 0.5 * board.thin
    shape = region(circle(x, y, r))
    fine = board.clear_shape(shape, depth, board.small, step=depth)
    rough = board.clear_shape(shape.buffer(-0.5), depth - 0.4, board.small, step=2.0)
    board.add("front", "front-finish.nc", [(board.small, fine)])
    board.add("front", "front-rough.nc", [(board.small, rough)])
    board.any_profile()
    return board.job("finish before rough", "order")
