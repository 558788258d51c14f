"""Values written as TOML, for tests that draw files."""

__all__ = ["toml_document", "toml_value"]


def toml_document(tables: dict[str, object]) -> str:
    """Return a file with one line a key of the top table."""
    return "".join(f"{toml_value(key)} = {toml_value(value)}\n" for key, value in tables.items())


def toml_value(value: object) -> str:
    """Return a value on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        return f'"{escaped}"'
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_value(key)} = {toml_value(part)}" for key, part in value.items()) + "}"
    return str(value)
