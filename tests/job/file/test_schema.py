import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from flipreg.job.file.schema import job_schema
from tests.job.made_schema import schema_text

PADDLE = Path(__file__).parents[3] / "samples/paddle/job.toml"


@pytest.fixture
def paddle() -> dict[str, Any]:
    return tomllib.loads(PADDLE.read_text())


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = json.loads(job_schema())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def test_the_shipped_schema_is_the_one_that_the_keys_make() -> None:
    # If this fails after a key has changed: python -m tests.job.write_schema
    assert schema_text() == job_schema()


def test_the_paddles_job_file_keeps_to_the_schema(paddle: dict[str, Any], validator: Draft202012Validator) -> None:
    assert [error.message for error in validator.iter_errors(paddle)] == []


@pytest.mark.parametrize(
    ("table", "key", "value"),
    [
        ("blank", "thickness", 0),
        ("blank", "edge", "top"),
        ("blank", "colour", "red"),
        ("blank", "measured_thickness", "33.6"),
        ("blank", "measured_thickness", "1/3in"),
    ],
)
def test_wrong_values_and_unknown_keys_break_the_schema(
    paddle: dict[str, Any], validator: Draft202012Validator, table: str, key: str, value: object
) -> None:
    paddle[table][key] = value
    assert [[table] if key == "colour" else [table, key]] == [
        list(error.absolute_path) for error in validator.iter_errors(paddle)
    ]


@pytest.mark.parametrize("length", ["3/8in", "1 3/8 in", "-.5mm", "+20. mm"])
def test_a_length_with_its_unit_keeps_to_the_schema(
    paddle: dict[str, Any], validator: Draft202012Validator, length: str
) -> None:
    paddle["marks"][0]["across"] = length
    assert [error.message for error in validator.iter_errors(paddle)] == []


def test_a_tilt_without_hinge_breaks_the_schema(paddle: dict[str, Any], validator: Draft202012Validator) -> None:
    del paddle["setups"][2]["tilt"]["hinge"]
    (error,) = validator.iter_errors(paddle)
    assert list(error.absolute_path) == ["setups", 2, "tilt"]
    assert "'hinge' is a required property" in error.message


def test_every_key_says_what_it_is_for() -> None:
    schema = json.loads(job_schema())
    tables = [schema, *schema["$defs"].values()]
    keys = [(name, key) for table in tables for name, key in table.get("properties", {}).items()]
    assert len(keys) > 30
    assert [name for name, key in keys if "description" not in key] == []
