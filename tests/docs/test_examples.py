from collections.abc import Iterator
from doctest import ELLIPSIS, NORMALIZE_WHITESPACE, OutputChecker
from pathlib import Path

import pytest

from tests.docs.examples import BLOCK, TOP, Shell, pages, steps
from tests.docs.forking import Forking

# Where argparse breaks its lines differs between versions of Python, so white space is not compared.
HOW = ELLIPSIS | NORMALIZE_WHITESPACE


@pytest.fixture(scope="module")
def flipreg() -> Iterator[str]:
    with Forking() as forking:
        yield forking.command


@pytest.fixture
def shell(tmp_path: Path, flipreg: str) -> Shell:
    return Shell(tmp_path, flipreg)


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.relative_to(TOP).as_posix())
def test_examples_print_what_the_page_says_and_leave_the_samples_alone(page: Path, shell: Shell) -> None:
    for block in BLOCK.findall(page.read_text()):
        for command, expected in steps(block):
            printed = shell.run(command)
            if not OutputChecker().check_output(expected, printed, HOW):
                difference = f"expected:\n{expected}\nprinted:\n{printed}"
                pytest.fail(f"{page.name}: $ {command}\n{difference}", pytrace=False)
    assert shell.touched == []


def test_a_wrong_output_would_be_noticed(shell: Shell) -> None:
    printed = shell.run("echo 'in register'; echo talk >&2")
    assert OutputChecker().check_output("in register\ntalk\n", printed, HOW)
    assert not OutputChecker().check_output("out of register\n", printed, HOW)
    assert not OutputChecker().check_output("in register\n", printed, HOW)


def test_samples_that_a_command_touches_are_told(shell: Shell) -> None:
    shell.run("echo >> samples/tray/front-holes.nc; rm samples/tray/job.toml; touch samples/new; cp -r samples mine")
    assert shell.touched == ["samples/new", "samples/tray/front-holes.nc", "samples/tray/job.toml"]


def test_a_command_that_prints_nothing_is_told_from_one_that_does(shell: Shell) -> None:
    assert not OutputChecker().check_output("", shell.run("echo talk"), HOW)
