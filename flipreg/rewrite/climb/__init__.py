"""Closed contours run the other way round."""
