"""Laying the blank right: where the marks go, how touched marks are fitted, how far apart the faces can end up."""
