"""The public verbs that make a program of a program: rewritten, then proved."""
