"""The time on a job's machine, and moves that the machine cannot make, from the command line."""

import json
from pathlib import Path

import pytest

from tests.commands.command import run
from tests.commands.paddle import PADDLE, coarse_paddle

JOB = str(PADDLE / "job.toml")
PROFILE = PADDLE / "shaft-front-profile.nc"


def test_bounds_tells_the_time_on_the_machine_of_a_job() -> None:
    status, out, err = run(["bounds", str(PROFILE), "--job", JOB])
    assert (status, err) == (0, "")
    assert "in all        0:02:56 h:min:s estimated, 0:02:51 least, 0:04:03 most" in out.decode()
    assert run(["bounds", "-", "--job", JOB, "--json"], PROFILE.read_bytes())[0] == 0


def test_the_times_of_bounds_and_of_the_check_agree(copied: Path) -> None:
    _, out, _ = run(["bounds", str(PROFILE), "--job", JOB, "--json"])
    alone = json.loads(out)["time"]
    _, out, _ = run(["check", str(copied / "job.toml"), "--json"])
    times = json.loads(out)["times"]
    assert [setup["setup"] for setup in times] == ["shaft front", "shaft back", "blade front", "blade back"]
    (found,) = [part for part in times[0]["programs"] if part["program"].endswith("shaft-front-profile.nc")]
    assert {key: found[key] for key in alone} == pytest.approx(alone, abs=6e-4)
    for setup in times:
        assert setup["estimate_s"] == pytest.approx(sum(part["estimate_s"] for part in setup["programs"]), abs=5e-3)


def test_without_a_job_there_is_no_such_time() -> None:
    _, out, _ = run(["bounds", str(PROFILE)])
    assert "in all" not in out.decode()
    _, out, _ = run(["bounds", str(PROFILE), "--json"])
    assert json.loads(out)["time"] is None


@pytest.mark.parametrize("lines", [("rapid = ", "acceleration = "), ("[machine]", "rapid = ", "acceler", "travel = ")])
def test_of_a_job_that_says_no_speed_no_such_time_is_told_but_why(lines: tuple[str, ...], copied: Path) -> None:
    kept = [line for line in (copied / "job.toml").read_text().splitlines() if not line.startswith(lines)]
    (copied / "job.toml").write_text("\n".join(kept))
    status, out, err = run(["bounds", str(PROFILE), "--job", str(copied / "job.toml")])
    assert (status, "in all" in out.decode()) == (0, False)
    assert "its machine table needs rapid and acceleration" in err


def test_a_job_file_that_is_wrong_is_told() -> None:
    status, out, err = run(["bounds", str(PROFILE), "--job", str(PADDLE / "none.toml")])
    assert (status, out) == (2, b"")
    assert "none.toml: cannot be read" in err


def test_moves_that_cannot_be_made_fail_the_check_of_a_job_in_register(tmp_path: Path) -> None:
    copied = coarse_paddle(tmp_path / "carved")
    text = (copied / "job.toml").read_text()
    clamp = 'clamps = [{ name = "c", x = [-140, -104], y = [-300, -250], top = 50 }]'
    for old, new in (
        ("over_zero_at = 20", "over_zero_at = 20.5"),
        ("machine_zero = [300, 690, -94]", clamp),
        ("machine_zero = [300, 700, -60]", "machine_zero = [300, 400, -60]"),
        ("rapid = 5000", "#"),
        ("acceleration = 250", "#"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    (copied / "job.toml").write_text(text)
    status, out, _ = run(["check", str(copied / "job.toml"), "--json"])
    report = json.loads(out)
    assert (status, report["in_register"], report["times"]) == (1, True, None)
    failed = [one for one in report["findings"] if one["status"] == "fail"]
    assert {one["check"] for one in failed} == {"travel", "clamp", "zero"}
    assert all(one["program"] and one["line"] for one in failed)
    # In the three setups with Z zero on top all programs start at 20; in the fourth at 54.
    assert sum(one["check"] == "zero" for one in failed) == 2 * 3 * 4
    travel = {
        one["status"] for one in report["findings"] if one["check"] == "travel" and "blade back" in one["message"]
    }
    assert travel == {"not determined"}


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """Return a folder with a copy of the paddle's files, whose jobs have holes and profiles only."""
    return coarse_paddle(tmp_path / "paddle", carved=False)
