"""Holds the check's answer to what was planted.

A pass is wrong if what both faces share misses itself by clearly more than the tolerance, or if a part of which nothing
is shared lies clearly off; an alarm is false if all of it coincides; a flip is wrong if it is claimed as found and the
back doesn't lie there, unless the part fits itself so.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import flipreg
from tests.workshop.answer import Answer, ask
from tests.workshop.cuts import Cut, Drilled, Round, Straight
from tests.workshop.job import NONE, Job
from tests.workshop.placement import Placement
from tests.workshop.remedies import judge_remedies
from tests.workshop.truth import corner_off, misfit
from tests.workshop.wrong import Kind, Wrong

_HARMLESS = {NONE, "missing_hole", "extra_hole", "too_shallow"}
"""Nothing is displaced by them."""
_TURNS = {"small_turn", "tiny_turn", "large_turn", "turned_and_off"}
_SHIFTS = {"off_by_a_radius", "off_by_a_diameter", "off_by_millimetres", "slightly_off", "off_by_an_inch",
           "from_another_edge"}  # fmt: skip
_UNDECIDED = {"one_program_not_mirrored", "another_part", "stretched", "wrong_unit", "one_opening_mirrored"}
"""What they leave is of two minds: no flip is held against them."""
_FAR_MM = 12.0
"""Features may be off by as much, and a flip that is found by them too."""
_NEARLY, _CLEARLY, _SLACK_MM = 0.8, 1.25, 0.01
_STILL_MM = 0.005
"""What a turn moves no farther is round: it fits itself."""


@dataclass(frozen=True, slots=True)
class Judgement:
    said: str
    wrongs: tuple[Wrong, ...]

    @property
    def is_wrong(self) -> bool:
        return any(not wrong.counts_only for wrong in self.wrongs)


def judge(job: Job) -> Judgement:
    if not all(job.programs.values()):
        return Judgement("skipped", ())
    try:
        answer = ask(job)
    except flipreg.FlipregError as error:
        # Rounded for the one unit, arcs may not close in the other: to refuse them is never a pass.
        kind = Kind.REFUSED_FOR_ITS_UNIT if job.spoilt.wrong_unit else Kind.REFUSED
        return Judgement("refused", (Wrong(kind, f"{type(error).__name__}: {error}"),))
    except Exception as error:  # that anything else comes out is what is to be found
        return Judgement("crash", (Wrong(Kind.CRASH, f"{type(error).__name__}: {error}"),))
    said = {True: "in register", False: "not in register", None: "not determined"}[answer.verdict]
    looks = (_of_pass, _of_alarm, _of_flip, _of_shift, _of_depth, judge_remedies)
    return Judgement(said, tuple(wrong for look in looks for wrong in look(job, answer)))


def _of_pass(job: Job, answer: Answer) -> Iterator[Wrong]:
    if answer.verdict is not True:
        return
    claimed = answer.placement
    if claimed is None:
        yield Wrong(Kind.PASS, f"in register with the flip {answer.data['flip']}")
        return
    apart, kinds = misfit(job, claimed)
    off = corner_off(job, claimed)
    moved_or_found = job.spoilt.whole is not None or job.told.flip != "all"
    if job.spoilt.wrong_unit:
        yield Wrong(Kind.PASS, "the unit word is wrong")
    elif apart is not None and apart > job.tolerance * _CLEARLY + _SLACK_MM:
        yield Wrong(Kind.PASS, f"misses itself by {apart:.3f}, tolerance {job.tolerance}: {kinds}")
    elif apart is None and off > job.tolerance * 1.5 + 0.05 and moved_or_found:
        yield Wrong(Kind.PASS_WITHOUT_ANYTHING, f"corners off by {off:.3f}")
    elif job.fault == "tiny_turn" and job.told.flip == "all" and off > job.tolerance * 1.8 and (apart or 0) > _STILL_MM:
        said = answer.data["register"]["part_mm"]
        yield Wrong(Kind.PASS_OF_A_TURN, f"shared {apart}, corners off by {off:.3f}, said {said}")
    elif off > job.tolerance * 2 + 0.05 and job.spoilt.whole is not None and job.told.flip == "all":
        warned = any(f["check"] == "flip" and f["status"] == "warn" for f in answer.data["findings"])
        kind = Kind.PASS_OF_A_SYMMETRIC_PART if warned else Kind.PASS_OF_A_SYMMETRIC_PART_UNSAID
        yield Wrong(kind, f"shared {apart}, corners off by {off:.3f}")
    if answer.failures():
        yield Wrong(Kind.PASS_WITH_A_FAILURE, str(answer.failures()))
    if job.fault == "another_part" and None in kinds.values():
        yield Wrong(Kind.PASS_OF_ANOTHER_PART, str(kinds))


def _of_alarm(job: Job, answer: Answer) -> Iterator[Wrong]:
    if answer.verdict is not False:
        return
    if job.fault == NONE and job.told.flip != "all":
        yield Wrong(Kind.ALARM, "a right pair, its flip not told")
        return
    claimed = answer.placement
    if answer.found or claimed is None or job.fault in {"too_shallow", "wrong_unit", "another_part"}:
        return
    apart, kinds = misfit(job, claimed)
    off = corner_off(job, claimed)
    right = apart is not None and apart <= job.tolerance * _NEARLY
    if job.fault in _HARMLESS or (right and (job.spoilt.whole is None or off <= job.tolerance * _NEARLY)):
        yield Wrong(Kind.ALARM, f"shared {apart} {kinds}, corners off by {off:.3f}: {answer.failures()}")


def _of_flip(job: Job, answer: Answer) -> Iterator[Wrong]:
    if not answer.found or answer.data["flip"]["datum_mm"] is None or job.fault in _UNDECIDED:
        return
    whole = job.spoilt.whole
    claimed = answer.placement
    if whole is not None and whole.mirrors:
        if claimed is None:
            return
        apart, _ = misfit(job, claimed)
        fits = apart is not None and apart <= job.tolerance * _CLEARLY + _SLACK_MM
        kind = Kind.FLIP_OF_A_SYMMETRIC_PART if fits else Kind.FLIP
        yield Wrong(_settled(kind, answer), f"not mirrored, found {answer.data['flip']}, shared {apart}")
    elif claimed is None:
        yield Wrong(_settled(Kind.FLIP, answer), f"says that it isn't mirrored: {answer.data['flip']}")
    elif _lies_wrong(job, claimed):
        off = corner_off(job, claimed)
        said = answer.data["flip"]
        detail = f"found {said['axis']} {said['datum_mm']}, planted {job.axis} {job.datum}"
        vote = answer.data["vote"] or {}
        counts = f"{vote.get('coincide')} of {vote.get('features')}"
        yield Wrong(_settled(Kind.FLIP, answer), f"{detail}, corners off by {off:.2f}; {counts}")


def _lies_wrong(job: Job, claimed: Placement) -> bool:
    if job.fault in _TURNS:
        return False
    exact = job.fault in _HARMLESS or job.spoilt.whole is not None
    if corner_off(job, claimed) <= (max(2 * job.tolerance, 0.4) if exact else _FAR_MM):
        return False
    apart, _ = misfit(job, claimed)
    return job.fault == NONE or apart is None or apart > job.tolerance * _CLEARLY


def _settled(kind: Kind, answer: Answer) -> Kind:
    """Return the kind, or that the flip is only what fits best, where the report says so."""
    open_ = answer.verdict is None and not answer.failures("flip") and "fits best, not settled" in answer.text
    return Kind.FLIP_NOT_SETTLED if kind is Kind.FLIP and open_ else kind


def _of_shift(job: Job, answer: Answer) -> Iterator[Wrong]:
    """Hold the shift that is told to the one that was planted, where it is small enough to be told."""
    planted, said = job.spoilt.whole, answer.data["register"]
    if answer.verdict is not False or job.told.flip != "all" or planted is None or job.fault not in _SHIFTS:
        return
    if said["dx_mm"] is None or said["rotation_deg"] is None or math.hypot(planted.x0, planted.y0) >= 4:
        return
    if max(abs(said["dx_mm"] - planted.x0), abs(said["dy_mm"] - planted.y0)) > 0.03:
        told = (said["dx_mm"], said["dy_mm"], said["rotation_deg"], said["evidence"])
        yield Wrong(Kind.SHIFT, f"planted {planted.x0:.3f}, {planted.y0:.3f}, said {told}")


def _of_depth(job: Job, answer: Answer) -> Iterator[Wrong]:
    """Hold what is said of the thickness to how deep the faces cut what they share."""
    if not job.told.thickness or job.fault != "too_shallow":
        return
    said = {f["status"] for f in answer.data["findings"] if f["check"] == "thickness"}
    front, back = (_deepest(cuts) for cuts in (job.front, job.spoilt.back))
    if front + back < job.thickness and "pass" in said:
        yield Wrong(Kind.DEPTH, f"{front:.2f} and {back:.2f} of {job.thickness}, and all is said to meet")


def _deepest(cuts: tuple[Cut, ...]) -> float:
    moves = [move for cut in cuts if cut.shared for move in cut.moves]
    return max(-move.z for move in moves if isinstance(move, Straight | Round | Drilled))
