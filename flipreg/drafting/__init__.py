"""Jobs drafted from programs: what they show, and a guess wherever they show nothing.

Each guess is told as one, beside the value it made, so that a person looks at it. Nothing here reads or writes files.
"""
