from tests.samples.script import SAMPLES, loaded

FOLDER = SAMPLES / "bracket"


def test_the_script_makes_exactly_the_committed_program() -> None:
    assert (FOLDER / "heel-pocket.nc").read_text() == loaded(FOLDER).program()
