"""A slow reading of programs with habits, by somebody outside: one dict of modes, exact decimals, block after block.

It is written from the report (NISTIR 6556) and from `docs/reference/language.md` alone, so that it can say of
`flipreg.interpret` and of every program that is written whether they mean what the source means. It has no parameters,
expressions and subprograms, no G10, G38.2, G87, G92.3 and G93.
"""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal, localcontext
from itertools import zip_longest

from tests.habits.slow_arcs import PLANES, WIDEST_MM, centre_of_radius, radii_apart, sweep_deg
from tests.habits.slow_codes import OFFSETS, Sorted, sort_words
from tests.habits.slow_cycles import Hole, ways
from tests.habits.slow_lines import Block, Unreadable, blocks
from tests.habits.slow_places import AXES, Motion, Place, Spot, known

__all__ = ["SlowMachine", "motions"]


def motions(text: bytes, *, is_switch_on: bool = False, passive: Iterable[str] = ()) -> list[Motion]:
    """Return what a program does; `is_switch_on` is the machine's switch that leaves lines with `/` out."""
    with localcontext() as context:
        context.prec = 40
        machine = SlowMachine([(code[0].upper(), Decimal(code[1:])) for code in passive])
        read = [block for block in blocks(text) if not (block.is_deletable and is_switch_on) and block.words]
        for block, after in zip_longest(read, read[1:]):
            machine.run(block, after)
            if machine.has_ended:
                break
        return machine.motions


class SlowMachine:
    """The modes, the place, and the motions so far."""

    def __init__(self, passive: list[tuple[str, Decimal]]) -> None:
        self.passive = passive
        self.motions: list[Motion] = []
        self.has_ended = False
        self.modes: dict[str, Decimal] = {
            "plane": Decimal(17), "distance": Decimal(90), "centres": Decimal("91.1"), "rate": Decimal(94),
            "unit": Decimal(21), "side": Decimal(40), "return": Decimal(98), "offset": Decimal(54),
        }  # fmt: skip
        self.length: tuple[str, int] = ("none", 0)
        self.feed: Decimal | None = None
        self.speed = Decimal(0)
        self.turning = 0
        self.tool = self.next_tool = -1
        self.changes = 0
        self.unknowns = 0
        self.place: list[Place] = [Place(f"start {axis}", Decimal(0)) for axis in AXES]
        self.axis_offset: list[Decimal] = [Decimal(0)] * 3
        """What is added to a number to make it one of those before any G92."""
        self.had_numbers = [False] * 3
        self.sticky: dict[str, Decimal] = {}
        self.block = Block(0, is_deletable=False, words=())
        self.words = Sorted()

    def run(self, block: Block, after: Block | None) -> None:
        """Do one block, in the order of execution (Table 8 of the report); `after` is the next one."""
        self.block = block
        self.words = sort_words(block, self.passive)
        self._set_words()
        for group in ("plane", "unit", "side", "centres", "rate", "return", "distance"):
            self.modes[group] = self.words.codes.get(group, self.modes[group])
        if "F" in self.words.values:
            self.feed = self.words.values["F"] * self._unit()
        self._set_length()
        self._set_offset()
        once = self.words.codes.get("once")
        if once in (28, 30, 53) and self.modes["side"] != 40:
            self._check_compensation_ends(after)
        if once in (28, 30):
            self._go_home(int(once))
        elif once in (92, Decimal("92.1"), Decimal("92.2")):
            self._set_axis_offset(once)
        self._set_motion_mode()
        if once not in (4, 28, 30, 92) and self._has_motion():
            self._move(is_at_machine=once == 53)
        if any(code in (2, 30) for code in self.words.m_codes):
            self.has_ended = True

    def _refuse(self, reason: str) -> Unreadable:
        return Unreadable(self.block.line, reason)

    def _unit(self) -> Decimal:
        """Return the millimetres of one unit."""
        return Decimal("25.4") if self.modes["unit"] == 20 else Decimal(1)

    def _set_words(self) -> None:
        """Speed, tool and spindle: items 4 to 7 of Table 8."""
        self.speed = self.words.values.get("S", self.speed)
        self.next_tool = int(self.words.values.get("T", self.next_tool))
        if 6 in self.words.m_codes:
            self.tool = self.next_tool
            self.changes += 1
            self.turning = 0
        for code in self.words.m_codes:
            if code in (3, 4, 5):
                self.turning = {3: 1, 4: -1, 5: 0}[int(code)]

    def _check_compensation_ends(self, after: Block | None) -> None:
        """Refuse a machine position under compensation, unless the next block ends that."""
        if after is None or ("G", Decimal(40)) not in [(word.letter, word.value) for word in after.words]:
            raise self._refuse("a machine position under cutter compensation")

    def _nobody_knows(self, axis: int, why: str) -> Place:
        self.unknowns += 1
        return Place(f"{why} {AXES[axis]} ({self.unknowns})", Decimal(0))

    def _set_length(self) -> None:
        code = self.words.codes.get("length")
        if code is None:
            return
        length = ("none", 0)
        if code == 43:
            length = ("table", int(self.words.values["H"])) if "H" in self.words.values else ("own", self.changes)
        if length in (("table", 0), ("none", 0)):
            length = ("none", 0)
        if length != self.length:
            self.place[2] = self._nobody_knows(2, "length")
            self.length = length

    def _set_offset(self) -> None:
        offset = self.words.codes.get("offset", self.modes["offset"])
        if offset != self.modes["offset"]:
            self.place = [self._nobody_knows(axis, "offset") for axis in range(3)]
            self.modes["offset"] = offset

    def _set_axis_offset(self, code: Decimal) -> None:
        """G92 and its cancels: numbers change and the place stays."""
        if code != 92:
            self.axis_offset = [Decimal(0)] * 3
            return
        for axis, letter in enumerate(AXES):
            if letter not in self.words.values:
                continue
            number = self.words.values[letter] * self._unit()
            if self.place[axis].base:
                if self.had_numbers[axis]:
                    raise self._refuse("G92 at a point that nobody knows")
                self.place[axis] = known(number)
                self.axis_offset[axis] = Decimal(0)
            else:
                self.axis_offset[axis] = self.place[axis].number - number
            self.had_numbers[axis] = True

    def _go_home(self, code: int) -> None:
        """Go to the intermediate point, then home along the axes that are named, or all."""
        named = [axis for axis, letter in enumerate(AXES) if letter in self.words.values]
        if named:
            self._add("traverse", self._target())
        end = list(self.place)
        for axis in named or range(3):
            end[axis] = Place(f"home {code} {AXES[axis]}", Decimal(0))
        self._add("traverse", end)

    def _set_motion_mode(self) -> None:
        if "motion" in self.words.codes:
            if self.words.codes["motion"] != self.modes.get("motion"):
                self.sticky = {}
            self.modes["motion"] = self.words.codes["motion"]
            if "end of cycle" in self.words.codes and not any(axis in self.words.values for axis in AXES):
                self.modes["motion"] = Decimal(80)
        elif "end of cycle" in self.words.codes:
            self.modes["motion"] = Decimal(80)

    def _has_motion(self) -> bool:
        """Whether the block moves: by axis words, or by the centre of a whole circle."""
        letters = AXES
        if self.modes.get("motion") in (2, 3):
            letters += "".join("IJK"[axis] for axis in PLANES[int(self.modes["plane"])][:2])
        return any(letter in self.words.values for letter in letters)

    def _target(self) -> list[Place]:
        """Return where the axis words lead, in G90 as numbers and in G91 as steps."""
        end = list(self.place)
        for axis, letter in enumerate(AXES):
            if letter not in self.words.values:
                continue
            number = self.words.values[letter] * self._unit()
            if self.modes["distance"] == 91:
                end[axis] = end[axis].further(number)
            else:
                end[axis] = known(number + self.axis_offset[axis])
                self.had_numbers[axis] = True
        return end

    def _move(self, *, is_at_machine: bool) -> None:
        mode = self.modes.get("motion", Decimal(80))
        if is_at_machine:
            if mode not in (0, 1) or self.modes["distance"] == 91:
                raise self._refuse("G53 beside another motion than G0 and G1, or under G91")
            end = list(self.place)
            for axis, letter in enumerate(AXES):
                if letter in self.words.values:
                    end[axis] = Place(f"machine {(self.words.values[letter] * self._unit()).normalize():f}", Decimal(0))
            self._add("traverse" if mode == 0 else "feed", end)
        elif mode in (0, 1):
            self._add("traverse" if mode == 0 else "feed", self._target())
        elif mode in (2, 3):
            self._arc(is_clockwise=mode == 2)
        elif mode == 80:
            raise self._refuse("axis words, and no motion in force")
        else:
            self._cycle(int(mode))

    def _arc(self, *, is_clockwise: bool) -> None:
        first, second, across = PLANES[int(self.modes["plane"])]
        end = self._target()
        if any(place.base for axis in (first, second) for place in (self.place[axis], end[axis])):
            raise self._refuse("an arc from or to a place that nobody knows")
        pair = (self.place[first].number, self.place[second].number)
        last = (end[first].number, end[second].number)
        if "P" in self.words.values and "path" not in self.words.codes:
            raise self._refuse("turns of a helix")
        if "R" in self.words.values:
            try:
                centre = centre_of_radius(pair, last, self.words.values["R"] * self._unit(), is_clockwise=is_clockwise)
            except ValueError as error:
                raise self._refuse(str(error)) from None
        else:
            letters = ("IJK"[first], "IJK"[second])
            if not any(letter in self.words.values for letter in letters):
                raise self._refuse("an arc without a centre")
            offsets = [self.words.values.get(letter, Decimal(0)) * self._unit() for letter in letters]
            centre = (pair[0] + offsets[0], pair[1] + offsets[1])
            if self.modes["centres"] == Decimal("90.1"):
                centre = (offsets[0] + self.axis_offset[first], offsets[1] + self.axis_offset[second])
            if radii_apart(pair, last, centre) > WIDEST_MM:
                raise self._refuse("radii that differ too much")
        whole = list(self.place)
        whole[first], whole[second] = known(centre[0]), known(centre[1])
        self._add(
            "arc", end, centre=(whole[0].number, whole[1].number, whole[2].number), normal=across,
            sweep_deg=sweep_deg(pair, last, centre, is_clockwise=is_clockwise),
        )  # fmt: skip

    def _cycle(self, code: int) -> None:
        """One line of a canned cycle: its words hold for the run of lines with the same cycle."""
        first, second, across = PLANES[int(self.modes["plane"])]
        letters = (AXES[first], AXES[second], AXES[across])
        for letter in (*"RPQ", letters[2]):
            if letter in self.words.values:
                self.sticky[letter] = self.words.values[letter]
        if "R" not in self.sticky or letters[2] not in self.sticky:
            raise self._refuse("a cycle without R or its depth")
        unit = self._unit()
        before = self.place[across]
        if self.modes["distance"] == 91:
            retract = before.further(self.sticky["R"] * unit)
            bottom = retract.further(self.sticky[letters[2]] * unit)
        else:
            retract = known(self.sticky["R"] * unit + self.axis_offset[across])
            bottom = known(self.sticky[letters[2]] * unit + self.axis_offset[across])
        repeats = int(self.words.values.get("L", 1))
        hole = Hole(
            code, self._spots(first, second, repeats), before, retract, bottom,
            self.modes["return"] == 98, self.sticky["Q"] * unit if "Q" in self.sticky else None,
        )  # fmt: skip
        for way in ways(hole):
            end = list(self.place)
            for axis, place in ((first, way.along), (second, way.across), (across, way.depth)):
                if place is not None:
                    end[axis] = place
            self._add(way.kind, end, cycle=code, is_unsaid=way.is_unsaid)

    def _spots(self, first: int, second: int, repeats: int) -> tuple[tuple[Place, Place], ...]:
        """Return where the holes of a cycle's line are; in G91 each repeat steps on."""
        found = []
        place = list(self.place)
        for _ in range(repeats):
            for axis in (first, second):
                number = self.words.values.get(AXES[axis])
                if number is not None and self.modes["distance"] == 91:
                    place[axis] = place[axis].further(number * self._unit())
                elif number is not None:
                    place[axis] = known(number * self._unit() + self.axis_offset[axis])
                    self.had_numbers[axis] = True
            found.append((place[first], place[second]))
        return tuple(found)

    def _add(self, kind: str, end: list[Place], **of_its_kind: object) -> None:
        start: Spot = (self.place[0], self.place[1], self.place[2])
        goal: Spot = (end[0], end[1], end[2])
        motion = Motion(
            kind, start, goal, self.block.line, None if kind == "traverse" else self.feed, self.tool,
            self.turning * self.speed, {40: 0, 41: 1, 42: -1}[int(self.modes["side"])],
            OFFSETS.index(self.modes["offset"]) + 1,
        )  # fmt: skip
        self.motions.append(replace(motion, **of_its_kind))  # type: ignore[arg-type]
        self.place = end
