"""The proof's machine: a program walked block after block, in the machine's frame, with what nobody knows as symbols.

It shares reading with the language - blocks, words, the values of expressions - and no decision: modes, offsets and
places are worked out here once more, in decimals (NISTIR 6556, 3.5 to 3.8).
"""
