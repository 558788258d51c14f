"""Edits of a program's text: moved, deepened, joined, split, brought home; only what must change is touched."""
