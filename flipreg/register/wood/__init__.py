"""What the shape of the wood shows: centre lines, walls, and the rim."""
