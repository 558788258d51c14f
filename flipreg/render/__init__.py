"""Reports as text and JSON, all from the same findings."""
