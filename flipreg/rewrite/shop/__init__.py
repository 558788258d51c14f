"""Programs brought home, joined and taken apart: moves of our own before and after those of the source."""
