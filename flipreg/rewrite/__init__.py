"""A program's text under an isometry: only the words that must change are touched."""
