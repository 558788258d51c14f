import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipreg.job.file.read import parse_job
from flipreg.job.file.toml_text import load_toml
from flipreg.job.problem import JobFileError


def _refusal(data: bytes) -> str:
    with pytest.raises(JobFileError) as caught:
        parse_job(data, source="job.toml", folder="")
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('name = "part"\nunits = \n', "job.toml:2:9: this is not TOML: "),
        ('name = "part"\n[blank\n', "job.toml:2:7: this is not TOML: "),
        ("a = 1\r\n\r\na = 2\r\n", "job.toml:3:6: this is not TOML: "),
        ('name = "part', "job.toml:1:13: this is not TOML: "),
        ('a = 1\nname = """part', "job.toml:2:15: this is not TOML: "),
    ],
)
def test_text_that_is_not_toml_is_told_with_line_and_column(text: str, said: str) -> None:
    assert _refusal(text.encode()).startswith(said)


def test_a_letter_that_is_not_utf_8_is_told_with_line_and_column() -> None:
    message = _refusal('ü = 1\nname = "M'.encode() + b'\xfchle"\n')
    assert message == "job.toml:2:10: a job file is UTF-8 text, and this is not"


@pytest.mark.parametrize("opening", ["[", "{a="])
def test_brackets_within_brackets_without_end_are_told_at_the_first_that_is_too_deep(opening: str) -> None:
    inner = opening * 3000
    message = _refusal(f'a = "[[[["  # [[[\nmarks = {inner}'.encode())
    column = 9 + 100 * len(opening)
    assert message == f"job.toml:2:{column}: expected at most 100 brackets within each other, got more"


def test_every_depth_that_can_be_read_is_refused_for_what_it_is() -> None:
    for depth in (5, 90, 200, 320, 400, sys.getrecursionlimit()):
        text = f'name = "a"\nmarks = {"[" * depth}{"]" * depth}\n'
        assert _refusal(text.encode()).startswith("job.toml:")


def test_a_number_that_is_longer_than_any_is_told_at_its_place() -> None:
    message = _refusal(b'name = "a"\ntolerance = 0\nunits = ' + b"9" * 5000)
    assert message.startswith("job.toml:3:9: expected a number of at most 4300 digits")


@given(st.binary(max_size=40) | st.text(alphabet='a=[]{}"\'\n.#1 \\', max_size=40).map(str.encode))
def test_any_bytes_are_read_or_refused_with_a_line(data: bytes) -> None:
    try:
        load_toml(data, source="x")
    except JobFileError as error:
        (problem,) = error.problems
        lines = data.replace(b"\r\n", b"\n").split(b"\n")
        assert problem.line is not None
        assert 1 <= problem.line <= len(lines)
        assert problem.column is not None
        assert 1 <= problem.column <= len(lines[problem.line - 1]) + 2
