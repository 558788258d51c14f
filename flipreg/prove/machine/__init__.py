"""The machine of the proof: what each block does to places and states, with symbols for what no program says.

It shares reading with the language - blocks, words, the values of expressions - and no decision: modes, offsets and
places are worked out here once more, in decimals (NISTIR 6556, 3.5 to 3.8).
"""
