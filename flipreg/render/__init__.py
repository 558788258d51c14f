"""Reports for people and for scripts, all from the same findings."""
