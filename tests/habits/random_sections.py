"""What random programs cut, one thing after the other: outlines, arcs, circles, holes, ways beside the cutter."""

from collections.abc import Callable

from tests.habits.random_hand import Lines, mark

__all__ = ["section"]

Point = tuple[float, float]


def section(lines: Lines) -> None:
    """Add one thing to be cut; it begins with traverses that name all axes, and ends above the work."""
    if lines.feels_like(lines.hand.has_loose_comments):
        lines.add("(next)", lines.rng.choice([
            f"{mark('open-comment')}(next", f"{mark('remark')}; next", f"{mark('nested-comment')}(next (2))",
        ]))  # fmt: skip
    if lines.rng.random() < 0.1:
        lines.add(lines.rng.choice(["M0", "M1 (turn the clamp)", f"G28 {lines.words(X=5, Y=5)}", "G53 G0 X0 Y0"]))
    kinds: list[Callable[[Lines], None]] = [_outline, _rounded, _rings, _long_arc, _holes, _beside_the_cutter, _helix]
    if lines.rng.random() < 0.2:
        kinds.append(_side_arc)
    if lines.hand.has_steps:
        kinds += [_steps, _holes_in_steps]
    lines.rng.choice(kinds)(lines)


def _start(lines: Lines) -> Point:
    return lines.step(-40, 60), lines.step(-40, 60)


def _down(lines: Lines, start: Point) -> None:
    """Go over a point and down."""
    _up(lines)
    lines.add(f"G0 {lines.words(X=start[0], Y=start[1])}")
    _feed(lines, lines.rng.randint(2, 8) * 100)
    lines.add(f"G1 {lines.words(Z=-lines.step(1, 12))}")
    _feed(lines, lines.rng.randint(9, 20) * 100)


def _feed(lines: Lines, feed: int) -> None:
    """Say a feed on a line of its own; the next line names its motion."""
    feed = feed // 20 if lines.hand.is_inch else feed
    alone = lines.rng.choice(["G1", "G01", "G0", "G3"])
    habit = f"{mark('mode-alone')}{alone} F{feed}" if lines.feels_like(lines.hand.says_mode_alone) else None
    lines.add(f"F{feed}", habit)


def _up(lines: Lines) -> None:
    lines.add(f"G0 {lines.words(Z=lines.step(20, 40))}")


def _straight(lines: Lines, code: str, words: str) -> None:
    """Add a straight move, sometimes with words that do nothing, or with one of them twice."""
    more = ""
    if lines.feels_like(lines.hand.has_idle_words):
        more = f" {mark('idle-words')}" + lines.rng.choice(["I0 J0", "K0", "R5", "J1.5"])
    elif lines.feels_like(lines.hand.says_twice, 0.2):
        more = f" {mark('said-twice')}{words.split()[0]}"
    lines.add(code + words, code + words + more)


def _outline(lines: Lines) -> None:
    x, y = _start(lines)
    wide, high = lines.step(10, 80), lines.step(10, 80)
    _down(lines, (x, y))
    _straight(lines, "G1 ", lines.words(X=x + wide))
    code = lines.rng.choice(["", "G1 ", "G01 "])
    for words in ({"Y": y + high}, {"X": x}, {"X": x, "Y": y}):
        slash = "/" if lines.feels_like(lines.hand.has_slashes, 0.2) and len(words) == 1 else ""
        _straight(lines, slash + code, lines.words(**words))
    _up(lines)


def _arc(lines: Lines, code: str, ends: tuple[Point, Point], centre: Point) -> None:
    """Add a quarter of a circle with its centre, which may be a little off."""
    start, end = ends
    offset = [centre[0] - start[0], centre[1] - start[1]]
    plain = f"{code} {lines.words(X=end[0], Y=end[1])} {lines.words(I=offset[0], J=offset[1])}"
    base = centre if lines.hand.has_absolute_centres else (offset[0], offset[1])
    written = [f"I{lines.number(base[0])}", f"J{lines.number(base[1])}"]
    before = ""
    if lines.feels_like(lines.hand.rounds_arcs):
        places, units, habit = lines.rng.choice(
            [(4, 3, "unequal-radii"), (4, 4, "unequal-radii")]
            if lines.hand.is_inch
            else [(3, 3, "unequal-radii"), (3, 11, "unequal-radii"), (2, 1, "rounded-radii")]
        )
        along = 0 if offset[0] else 1
        off = units * 10**-places * lines.rng.choice([-1, 1])
        # Other words of the block may not have more decimals, or rounding would explain less.
        if places >= lines.decimals or lines.look != "fixed":
            written[along] = f"{'IJ'[along]}{base[along] + off:.{places}f}"
            before = mark(habit)
            lines.loose_mm = 0.03
    lines.add(plain, f"{code} {lines.words(X=end[0], Y=end[1])} {before}{' '.join(written)}")


def _rounded(lines: Lines) -> None:
    """A rectangle with two rounded corners."""
    x, y = _start(lines)
    wide, high, radius = lines.step(20, 60), lines.step(20, 60), lines.step(4, 16)
    _down(lines, (x, y))
    _straight(lines, "G1 ", lines.words(X=x + wide))
    _arc(lines, "G3", ((x + wide, y), (x + wide + radius, y + radius)), (x + wide, y + radius))
    _straight(lines, "G1 ", lines.words(Y=y + high + radius))
    _arc(lines, "G2", ((x + wide + radius, y + high + radius), (x + wide + 2 * radius, y + high + 2 * radius)),
         (x + wide + 2 * radius, y + high + radius))  # fmt: skip
    _straight(lines, "G1 ", lines.words(X=x, Y=y))
    _up(lines)


def _rings(lines: Lines) -> None:
    """Circles about one middle, one larger than the other."""
    x, y = _start(lines)
    _down(lines, (x, y))
    for ring in range(1, lines.rng.randint(2, 4)):
        radius = ring * lines.step(4, 8)
        lines.add(f"G1 {lines.words(X=x + radius)}")
        offset = lines.words(I=-radius, J=0)
        centre = lines.words(I=x, J=y) if lines.hand.has_absolute_centres else offset
        whole = f"G2 {lines.words(X=x + radius, Y=y)} {centre}"
        short = f"{mark('whole-circle')}G2 {centre}"
        lines.add(f"G2 {lines.words(X=x + radius, Y=y)} {offset}",
                  short if lines.feels_like(lines.hand.has_whole_circles, 0.7) else whole)  # fmt: skip
    _up(lines)


def _long_arc(lines: Lines) -> None:
    """Arcs with R: three quarters of a circle, and a quarter."""
    x, y = _start(lines)
    radius = lines.step(6, 30)
    _down(lines, (x + radius, y))
    lines.add(f"G3 {lines.words(X=x, Y=y - radius, R=-radius)}")
    lines.add(f"G3 {lines.words(X=x + radius, Y=y, R=radius)}")
    _up(lines)


def _side_arc(lines: Lines) -> None:
    """A half circle that stands upright, along X or along Y."""
    start = _start(lines)
    radius = lines.step(4, 12)
    plane, along, centre = lines.rng.choice([("G18", 0, "I"), ("G19", 1, "J")])
    _down(lines, start)
    end = lines.words(**{"XY"[along]: start[along] + 2 * radius})
    lines.add(plane)
    code = lines.rng.choice(["G2", "G3"])
    if lines.hand.has_absolute_centres:
        lines.add(f"{code} {end} {lines.words(R=radius)}")
    else:
        lines.add(f"{code} {end} {lines.words(**{centre: radius})}")
    lines.add("G17")
    _up(lines)


def _helix(lines: Lines) -> None:
    x, y = _start(lines)
    radius = lines.step(4, 12)
    _down(lines, (x, y))
    for turn in (1, 2):
        centre = lines.words(I=x - radius, J=y) if lines.hand.has_absolute_centres else lines.words(I=-radius, J=0)
        depth = lines.words(Z=-lines.step(12, 14) - turn)
        lines.add(f"G3 {lines.words(X=x, Y=y)} {depth} {lines.words(I=-radius, J=0)}",
                  f"{mark('whole-circle')}G3 {depth} {centre}" if lines.feels_like(lines.hand.has_whole_circles)
                  else f"G3 {lines.words(X=x, Y=y)} {depth} {centre}")  # fmt: skip
    lines.add(f"G3 {lines.words(X=x, Y=y, I=-radius, J=0)}", f"G3 {lines.words(X=x, Y=y)} {centre}")
    _up(lines)


def _holes(lines: Lines) -> None:
    """A row of holes by canned cycles, named in G90."""
    x, y = _start(lines)
    peck = " " + lines.words(Q=lines.step(2, 3))
    code, more = lines.rng.choice([("G81", ""), ("G82", " P0.5"), ("G83", peck), ("G85", "")])
    back = lines.rng.choice(["G98 ", "G99 "])
    _up(lines)
    lines.add(f"G0 {lines.words(X=x, Y=y)}")
    feed = 20 if lines.hand.is_inch else 300
    lines.add(f"{back}{code} {lines.words(X=x, Y=y, Z=-lines.step(6, 20), R=lines.step(1, 4))}{more} F{feed}")
    for hole in range(1, lines.rng.randint(1, 4)):
        lines.add(lines.words(X=x + hole * lines.step(6, 12)))
    up = lines.words(Z=lines.step(20, 40))
    lines.add(f"G80\nG0 {up}", f"{mark('cancel-beside-motion')}G80 G0 {up}" if lines.rng.random() < 0.5 else None)


def _holes_in_steps(lines: Lines) -> None:
    """A row of holes by one line of a canned cycle in G91."""
    x, y = _start(lines)
    _up(lines)
    lines.add(f"G0 {lines.words(X=x, Y=y)}")
    feed = 20 if lines.hand.is_inch else 300
    retract = -lines.step(16, 18)
    words = lines.words(X=lines.step(6, 12), Z=retract, R=retract)
    lines.add(f"G91 G99 G81 {words} L{lines.rng.randint(1, 4)} F{feed}")
    lines.add("G80 G90 G98")
    _up(lines)


def _steps(lines: Lines) -> None:
    """An outline in increments."""
    _down(lines, _start(lines))
    wide, high = lines.step(4, 40), lines.step(4, 40)
    lines.add("G91")
    for code, words in (("G1 ", {"X": wide}), ("", {"Y": high}), ("", {"X": -wide}), ("", {"Y": -high})):
        _straight(lines, code, lines.words(**words))
    lines.add("G90")
    _up(lines)


def _beside_the_cutter(lines: Lines) -> None:
    """A contour with cutter compensation, at the end of which the machine may park."""
    x, y = _start(lines)
    wide, high = lines.step(30, 60), lines.step(30, 60)
    _down(lines, (x, y))
    lines.add(f"{lines.rng.choice(['G41', 'G42'])} D1 G1 {lines.words(X=x + 4, Y=y + 4)}")
    for words in ({"X": x + wide}, {"Y": y + high}, {"X": x + 4}):
        _straight(lines, "G1 ", lines.words(**words))
    park = lines.rng.choice(["G53 G0 Z0", "G28"])
    if lines.feels_like(lines.hand.parks_in_cut):
        lines.add(f"G40\n{park}", f"{mark('parked-beside-the-cutter')}{park}\nG40")
    else:
        lines.add(f"G40 G1 {lines.words(X=x, Y=y)}")
    _up(lines)
