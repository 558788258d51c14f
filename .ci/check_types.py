"""Check the types as `mypy` does, in less time: mypy keeps what it makes, so that it isn't searched for garbage."""

import gc

from mypy.__main__ import console_entry

gc.disable()
gc.enable = lambda: None  # mypy turns it on by itself
console_entry()
