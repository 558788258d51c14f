"""How random programs begin, change tools and end."""

from tests.habits.random_hand import HABITS, Lines, mark

__all__ = ["ending", "head", "tool_change"]

_MARKS = "".join(map(mark, HABITS))


def head(lines: Lines) -> None:
    """Add the head: modes in any order, and path control."""
    rng, hand = lines.rng, lines.hand
    comment = rng.choice(["(bowl)", "(lid of the box, oak)", "(MSG, clamp the far end)", "( tool 3 \xd8 6 )"])
    lines.add(comment, rng.choice([
        comment, comment, f"{mark('remark')}; side 1", f"{mark('open-comment')}(bowl for the kitchen",
        f"{mark('nested-comment')}(bowl (oak) 2)", f"{mark('program-number')}O1234",
        f"{mark('program-name')}OBOWL7A", f"{mark('long-line')}(" + "-" * 300 + ")",
    ]))  # fmt: skip
    safe = ["G20" if hand.is_inch else "G21", "G17", "G40", "G49", "G80", "G90", *rng.sample(["G94", "G54", "M5"], 2)]
    rng.shuffle(safe)
    loose = list(safe)
    if rng.random() < 0.5:
        traverse = rng.randint(0, len(loose))
        loose.insert(traverse, "G0")
        loose[loose.index("G80")] = mark("cancel-beside-motion") + "G80"
    if rng.random() < 0.5:
        loose.insert(rng.randint(0, len(loose)), mark("unused-cancel") + rng.choice(["G15", "G50", "G69"]))
    if hand.says_twice:
        loose.append(mark("said-twice") + loose[0].strip(_MARKS))
    lines.add(" ".join(safe), " ".join(loose))
    if hand.has_later_of_two:
        first, later = rng.choice([("G61", "G64"), ("G99", "G98"), ("G64", "G61.1")])
        lines.add(later, f"{first} {mark('later-of-two')}{later}")
    if hand.has_path_words:
        code, words = rng.choice([("G64", "P0.005 Q0.005"), ("G61.1", "R0.1 L2"), ("G64", "P.01"), ("G61", "L1")])
        lines.add(code, f"{code} {mark('path-words')}{words}")
    if hand.has_absolute_centres:
        lines.add(None, f"{mark('arc-centres')}G90.1")
    if rng.random() < 0.05 and not hand.has_length:
        lines.add(f"G92 {lines.words(X=1, Y=2)}")


def tool_change(lines: Lines, number: int) -> None:
    """Add a tool, its speed, coolant and length offset, and go up."""
    rng, hand = lines.rng, lines.hand
    if rng.random() < 0.5:
        home = rng.choice(["G91 G28 Z0", "G53 G0 Z0", "G30 G91 Z0"])
        beside = f"G91 G28 {mark('home-beside-traverse')}G0 Z0" if "G28" in home and rng.random() < 0.5 else None
        lines.add(home, beside)
    lines.add("G90")
    lines.add(rng.choice([f"T{number} M6", f"M06 T0{number}", f"M6 T{number}"]))
    speed = rng.randint(60, 240) * 100
    if rng.random() < 0.2:
        lines.add(f"M3 M8 S{speed}\nM48 M1", f"M3 M8 M48 M6 {mark('many-m-codes')}M1 S{speed}")
    elif lines.feels_like(hand.says_mode_alone):
        lines.add(f"S{speed} M3", f"{mark('mode-alone')}G0 S{speed} M3")
    else:
        lines.add(f"M3 S{speed}")
    if rng.random() < 0.3:
        lines.add("M7\nM8", f"M7 {mark('both-coolants')}M8")
    if hand.has_slashes:
        lines.add("/M8")
    if hand.has_dwell_by_x:
        lines.add("G4 P2.", f"G4 {mark('dwell-by-x')}X2.")
    if lines.feels_like(hand.has_machine_codes):
        lines.add(None, mark("passive-code") + rng.choice(["M62 P1", "M25", "G187 Q3"]))
    _length(lines, number)


def _length(lines: Lines, number: int) -> None:
    """Go up, with the tool's length offset or without one."""
    up, hand = lines.words(Z=lines.step(20, 40)), lines.hand
    if not hand.has_length:
        lines.add(f"G0 {up}")
    elif hand.has_own_length:
        lines.add(f"G43 H{number} G0 {up}", f"{mark('own-length')}G43 G0 {up}")
    elif hand.has_later_of_two:
        lines.add(f"G43 H{number} G0 {up}", f"G49 {mark('later-of-two')}G43 H{number} G0 {up}")
    else:
        lines.add(f"G0 G43 {up} H{number}")


def ending(lines: Lines) -> None:
    """Park, or not, and end."""
    by_way_of = f"G28 {lines.words(X=5, Y=5)}"
    park = lines.rng.choice([None, None, "G28 G91 X0 Y0", "G53 G0 X0 Y0", "G28", by_way_of, "G30 G91 Z0"])
    if park is not None:
        lines.add(park)
    lines.add("M5 M9")
    lines.add(lines.rng.choice(["M30", "M2", "M02"]))
    if lines.rng.random() < 0.1:
        lines.add("(left over)\nG1 X1 Z-9")
