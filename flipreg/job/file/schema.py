"""The JSON Schema of the job file, for editors that complete and check TOML by one."""

from importlib.resources import files

__all__ = ["job_schema"]


def job_schema() -> str:
    """Return the JSON Schema of the job file, as text, as it comes with the package.

    It knows keys and types; rules that keys keep with one another are flipreg's alone.
    """
    return files("flipreg.job.file").joinpath("job.schema.json").read_text(encoding="utf-8")
