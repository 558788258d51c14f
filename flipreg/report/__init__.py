"""Reports as text for people and as JSON for scripts, both made from the same values."""
