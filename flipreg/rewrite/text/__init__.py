"""What every edit of a text stands on: rows, spans, numbers, and what a block has to be told again."""
