"""The job file: TOML in, a Job out, or every problem at once."""
