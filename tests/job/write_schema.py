"""Write the JSON Schema of the job file into the package: run this when a key has changed."""

from pathlib import Path

import flipreg.job.file.schema
from tests.job.made_schema import schema_text

if __name__ == "__main__":
    target = Path(flipreg.job.file.schema.__file__).with_name("job.schema.json")
    target.write_text(schema_text(), encoding="utf-8")
