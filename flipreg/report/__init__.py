"""Reports as text for people, made from the same values as those for scripts."""
