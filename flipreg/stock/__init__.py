"""What is left of the wood, program after program: pieces and what holds them, openings, webs, collisions."""
