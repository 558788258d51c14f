"""Write the JSON Schema of the job file into the package: run this when a key has changed."""

from pathlib import Path

import flipreg.job.file.schema

if __name__ == "__main__":
    target = Path(flipreg.job.file.schema.__file__).with_name("job.schema.json")
    target.write_text(flipreg.job.file.schema.schema_text(), encoding="utf-8")
