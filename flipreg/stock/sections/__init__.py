"""The sections of a blank, and what is left of each: surfaces, what hangs together, and the kerfs."""
