"""What is shown in each direction, and what speaks against it."""
