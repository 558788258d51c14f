"""The plan as values: the blank, its marks, the tools, the setups in order, and the rules that they keep.

Millimetres and degrees; positions are in the blank frame unless they say otherwise. Nothing here knows programs:
a setup names its program files and does not read them.
"""
