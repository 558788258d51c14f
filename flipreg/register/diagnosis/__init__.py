"""Which mistake would explain what was found, and how it is mended."""
