"""One floor of a program at another depth."""
