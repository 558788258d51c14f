"""Pages, panels, sheets and tiles, painted from values."""
