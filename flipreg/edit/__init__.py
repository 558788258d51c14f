"""Edits of the shop: what people do to a program by hand between measuring a part and cutting the next one."""
