"""The modules that mutation runs are about, in the driver and in DEVELOPERS.md: files that are there."""

import re

from tests.docs.examples import TOP
from tests.mutation.run import TESTS


def test_every_module_of_the_mutation_runs_is_a_file_and_so_are_its_tests() -> None:
    section = (TOP / "DEVELOPERS.md").read_text().partition("## Mutation testing")[2].partition("\n## ")[0]
    named = set(re.findall(r"^\| `([a-z_/]+)` \|", section, re.MULTILINE))
    assert len(named) > 30
    missing = [name for name in sorted(named | set(TESTS)) if not (TOP / f"flipreg/{name}.py").is_file()]
    missing += [test for tests in TESTS.values() for test in tests if not (TOP / test).is_file()]
    assert missing == []
