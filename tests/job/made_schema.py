"""The JSON Schema that the job file's keys make, which the package ships as a file."""

import json

from flipreg.job.file.tables import FileTable

__all__ = ["schema_text"]


def schema_text() -> str:
    """Return the schema as it is shipped."""
    made = FileTable.model_json_schema(by_alias=True)
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **made, "title": "flipreg job file"}
    return json.dumps(_for_toml(schema), indent=2, ensure_ascii=False) + "\n"


def _for_toml(part: object) -> object:
    """Return a part of the schema without null, which TOML does not have, and without titles made of key names."""
    if isinstance(part, list):
        return [_for_toml(each) for each in part]
    if not isinstance(part, dict):
        return part
    kept = {
        key: _for_toml(value)
        for key, value in part.items()
        if not (key == "default" and value is None) and not (key == "title" and value != "flipreg job file")
    }
    choices = kept.get("anyOf")
    if isinstance(choices, list):
        real = [choice for choice in choices if choice != {"type": "null"}]
        del kept["anyOf"]
        kept = {**real[0], **kept} if len(real) == 1 else {**kept, "anyOf": real}
    return kept
