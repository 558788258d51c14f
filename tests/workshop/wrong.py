"""What can be wrong with an answer."""

from dataclasses import dataclass
from enum import Enum


class Kind(Enum):
    PASS = "wrong pass"
    PASS_WITHOUT_ANYTHING = "wrong pass, nothing shared"
    PASS_OF_A_TURN = "wrong pass, corners off"
    PASS_OF_ANOTHER_PART = "wrong pass, another part"
    PASS_WITH_A_FAILURE = "pass with a failure"
    PASS_OF_A_SYMMETRIC_PART = "pass of a symmetric part"
    PASS_OF_A_SYMMETRIC_PART_UNSAID = "pass of a symmetric part, unsaid"
    ALARM = "false alarm"
    FLIP = "wrong flip"
    FLIP_NOT_SETTLED = "wrong flip, not settled"
    FLIP_OF_A_SYMMETRIC_PART = "flip of a symmetric part"
    SHIFT = "untrue shift"
    DEPTH = "untrue depth"
    REMEDY = "wrong remedy"
    REMEDY_LEFT_OPEN = "remedy leaves it open"
    REMEDY_FOR_A_RIGHT_JOB = "remedy for a right job"
    REFUSED = "refused"
    REFUSED_FOR_ITS_UNIT = "refused for its unit"
    CRASH = "crash"


COUNTED = frozenset({
    Kind.PASS_OF_ANOTHER_PART,
    Kind.PASS_OF_A_SYMMETRIC_PART,
    Kind.PASS_OF_A_SYMMETRIC_PART_UNSAID,
    Kind.FLIP_NOT_SETTLED,
    Kind.FLIP_OF_A_SYMMETRIC_PART,
    Kind.REMEDY_LEFT_OPEN,
    Kind.REFUSED_FOR_ITS_UNIT,
})
"""What is counted and isn't wrong: the documents say so, or no program shows otherwise."""


@dataclass(frozen=True, slots=True)
class Wrong:
    kind: Kind
    detail: str

    @property
    def counts_only(self) -> bool:
        return self.kind in COUNTED
