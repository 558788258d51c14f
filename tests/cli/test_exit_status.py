"""The page of exit statuses has those of the code, and no others."""

import re
import sys
from io import BytesIO
from pathlib import Path

import pytest

from flipreg.cli import exit_status, parser

PAGE = Path("docs/reference/exit-status.md")


def test_the_page_has_every_status_and_no_other() -> None:
    told = [int(number) for number in re.findall(r"^\| (\d+) \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)]
    assert told == sorted(getattr(exit_status, name) for name in exit_status.__all__)


@pytest.mark.parametrize(("raised", "status"), [(KeyboardInterrupt, 130), (BrokenPipeError, 2)])
def test_a_command_that_is_stopped_ends_without_a_traceback(
    raised: type[BaseException], status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> int:
        raise raised

    monkeypatch.setattr(parser, "main", stopped)
    monkeypatch.setattr(sys, "stdin", type("Stream", (), {"buffer": BytesIO()}))
    monkeypatch.setattr(sys, "stdout", type("Stream", (), {"buffer": BytesIO()}))
    assert parser.run() == status
