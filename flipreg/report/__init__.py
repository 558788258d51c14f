"""Reports as text for people and as JSON for scripts, all from the same findings."""
