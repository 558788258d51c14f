"""From words to motions: modes carried forward, positions, arcs, cycles, subprograms."""
