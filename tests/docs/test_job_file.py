"""The reference of the job file names every key that the file may have, under the heading of its table."""

import json
import re

import pytest

from flipreg.job.file.schema import job_schema
from tests.docs.examples import TOP

PAGE = (TOP / "docs/reference/job-file.md").read_text()
HEADINGS = {
    "FileTable": "At the top",
    "BlankTable": "blank",
    "MarkTable": "marks",
    "CarriedTable": "marks.carried",
    "ToolTable": "tools",
    "SetupTable": "setups",
    "TiltTable": "setups.tilt",
    "ProgramTable": "setups.programs",
    "ClampTable": "setups.clamps",
    "MachineTable": "machine",
    "TravelTable": "machine.travel",
    "CheckTable": "check",
    "LeastTabTable": "check.least_tab",
    "StationTable": "stations",
    "StationThicknessTable": "stations.thickness",
    "FittedPartTable": "fitted_parts",
    "BudgetTable": "budget",
    "ErrorTable": "An error",
    "LengthErrorTable": "An error",
    "AirTable": "The air",
    "FeatureTable": "budget.features",
}
IN_WORDS = {"ReadingTable": "A reading", "HumidityTable": "A reading"}
"""Tables whose few keys are said in a sentence."""


def tables() -> dict[str, dict[str, dict[str, object]]]:
    schema = json.loads(job_schema())
    found = {"FileTable": schema["properties"]}
    found |= {name: table["properties"] for name, table in schema["$defs"].items()}
    return found


def section(heading: str) -> str:
    """Return the text between a heading and the next one of any level."""
    found = re.search(rf"^#+ {re.escape(heading)}\n(.*?)(?=^#|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found is not None, heading
    return found.group(1)


def test_every_table_has_a_place_on_the_page() -> None:
    assert set(tables()) == set(HEADINGS) | set(IN_WORDS)


@pytest.mark.parametrize("table", HEADINGS)
def test_every_key_has_a_row_and_every_row_a_key(table: str) -> None:
    rows = re.findall(r"^\| `([a-z_]+)` \|", section(HEADINGS[table]), re.MULTILINE)
    assert sorted(rows) == sorted(tables()[table])


@pytest.mark.parametrize("table", IN_WORDS)
def test_every_key_is_named_in_the_sentence(table: str) -> None:
    named = set(re.findall(r"`([a-z_]+)`", section(IN_WORDS[table])))
    assert named == set(tables()[table])


@pytest.mark.parametrize("table", HEADINGS)
def test_the_page_says_which_keys_are_needed(table: str) -> None:
    schema = json.loads(job_schema())
    part = schema if table == "FileTable" else schema["$defs"][table]
    said = re.findall(r"^\| `([a-z_]+)` \| yes \|", section(HEADINGS[table]), re.MULTILINE)
    assert sorted(said) == sorted(part.get("required", []))


def test_every_word_that_may_stand_for_a_value_is_on_the_page() -> None:
    for name, keys in tables().items():
        for key, about in keys.items():
            words = about.get("enum", [])
            assert isinstance(words, list)
            for word in words:
                assert f'`"{word}"`' in section(HEADINGS[name]), (name, key, word)
