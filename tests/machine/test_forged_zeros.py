"""Places of random programs that are said to become zero, right or wrong: what the proof lets pass is right."""

from dataclasses import replace
from decimal import Decimal
from random import Random
from unittest.mock import patch

import flipreg
from flipreg.errors import FlipregError
from flipreg.rewrite.shop.home import HomeSurvey, survey_home
from flipreg.rewrite.shop.instead import Stop
from tests.machine.judge_home import judge_home
from tests.machine.programs import write
from tests.machine.reader import blocks
from tests.machine.shops import places


def forged(random: Random, program: flipreg.Program, safe: Decimal) -> tuple[HomeSurvey, frozenset[int]]:
    """Return a survey with places at random near both ends, and the lines that lead there."""
    survey = survey_home(program, safe)
    own = [one for one in blocks(program.text.decode()) if not one.deletable]
    both = [one.line for one in own if one.codes("X") and one.codes("Y")]
    ends = [*both[:2], *both[-2:]]
    lines = sorted(set(random.sample(ends, min(len(ends), random.choice([1, 1, 2])))))
    start = replace(survey.start, is_home=survey.start.is_home or random.random() < 0.5)
    end = replace(survey.end, is_home=survey.end.is_home or random.random() < 0.5)
    stops = tuple(Stop(line, (1.0, 1.0)) for line in lines)
    return replace(survey, start=start, end=end, stops=stops), frozenset(lines)


def test_a_place_that_the_proof_lets_become_zero_is_reached_and_left_high() -> None:
    passed = stopped = 0
    for seed in range(6):
        random = Random(f"zeros {seed}")
        program = flipreg.parse(write(random).text)
        safe = Decimal(random.choice(["2", "5", "10"]))
        for _ in range(4):
            try:
                survey, lines = forged(random, program, safe)
                with patch("flipreg.produce.home.survey_home", lambda *_, survey=survey: survey):
                    made = flipreg.home(program, safe_z_mm=safe)
            except FlipregError:
                stopped += 1
                continue
            passed += bool(lines)
            faults = judge_home(program.text.decode(), made.text.decode(), float(safe), places(seed), "park", led=lines)
            assert faults == [], f"seed {seed}, lines {sorted(lines)}: {faults[:2]}"
    assert passed
    assert stopped
