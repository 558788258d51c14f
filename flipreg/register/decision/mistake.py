"""A usual mistake, why it is believed, and the ways to mend it: in words, and as changes a script can make.

Whoever shows a mistake takes everything from its fields; nobody has to read its sentences.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from flipreg.findings import Finding
from flipreg.units import length_text, shown_now

__all__ = ["Change", "Mistake", "Way", "groups_sentence", "joined_sentence", "joined_words", "shift_words"]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing to change.

    Attributes
    ----------
    of : str
        What is changed: the options of a check of two faces, a setup of a job, the whole job, or programs.
    names : tuple of str
        The setup, or the programs; empty for the check and the job.
    values : mapping
        What to put there. Of the check `axis` and `datum_mm`; of a setup and a job the keys of the job file, lengths
        in its unit; of programs `unit`, `flip` (an axis and a datum, as `flipreg flip` takes them), `turn_deg` and
        `by_mm` (as `flipreg shift` takes them), in this order.
    """

    of: Literal["check", "setup", "job", "programs"]
    names: tuple[str, ...]
    values: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to mend a mistake: with all its changes, and nothing else, the faces are in register.

    Attributes
    ----------
    words : str
        What to do; an order, begins lower case, no full stop.
    changes : tuple of Change
        The same to be done by a script, in this order; empty where the words leave something to decide.
    """

    words: str
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake that explains what is seen.

    Attributes
    ----------
    code : str
        Its name; `docs/reference/findings.md` lists them. Two mistakes at once are joined by ' + '.
    reason : str
        What it is; begins lower case, no full stop.
    ways : tuple of Way
        How to mend it, the one that changes least first; each is enough alone.
    setup : str or None
        In a job, the setup it is made in.
    finding : Finding or None
        The finding that it tells again with what to do, where it does.
    is_small : bool
        A plain small shift or turn, which needs no further explanation.
    is_certain : bool
        Whether it disproves register even where the faces as they are share nothing.
    """

    code: str
    reason: str
    ways: tuple[Way, ...]
    setup: str | None = None
    is_small: bool = False
    is_certain: bool = False
    finding: Finding | None = None

    @property
    def sentence(self) -> str:
        """Reason and ways as one text, without a full stop."""
        return f"{self.reason}: {'; or '.join(way.words for way in self.ways)}"


def joined_words(mistakes: Sequence[Mistake]) -> str:
    """Return one text, without a full stop, for mistakes of which each alone would explain what is seen."""
    if len(mistakes) == 1:
        text = mistakes[0].sentence
        return f"{text[0].upper()}{text[1:]}"
    listed = "; ".join(f"({number}) {mistake.sentence}" for number, mistake in enumerate(mistakes, start=1))
    return (
        "Several mistakes would explain it, and what is compared cannot tell which was made; "
        f"mend one and check again. {listed}"
    )


def joined_sentence(mistakes: Sequence[Mistake]) -> str | None:
    """Return the same as a sentence, None where there is no mistake."""
    return f"{joined_words(mistakes)}." if mistakes else None


def groups_sentence(groups: Sequence[Sequence[Mistake]]) -> str | None:
    """Return one text for all groups of mistakes, None where there is none."""
    return " ".join(sentence for group in groups if (sentence := joined_sentence(group))) or None


def shift_words(dx_mm: float, dy_mm: float) -> str:
    """Say a shift of the back: '0.40 mm to the right along X and 0.30 mm down along Y'."""
    parts: list[str] = []
    if abs(dx_mm) >= 0.0005:
        parts.append(f"{_length(dx_mm)} to the {'right' if dx_mm > 0 else 'left'} along X")
    if abs(dy_mm) >= 0.0005:
        parts.append(f"{_length(dy_mm)} {'up' if dy_mm > 0 else 'down'} along Y")
    return " and ".join(parts) if parts else "where it should"


def _length(value_mm: float) -> str:
    coarse_mm = 0.1 if shown_now().inch else 0.01
    return length_text(abs(value_mm), 2 if abs(value_mm) >= coarse_mm else 4)
