"""Plane geometry that knows nothing of programs or workpieces: isometries, arcs, fits."""
